package mode

import (
	"fmt"
	"math"
	"slices"
)

// DMTMode is a mode of the VESA Display Monitor Timing standard.
type DMTMode struct {
	ID      byte    `json:"dmt_id"`
	Nominal float64 `json:"nominal_rate_hertz"` // Hz, as the standard names the mode
	Mode    Mode    `json:"mode"`
	Reduced bool    `json:"reduced_blanking"`
	Std     [2]byte `json:"standard_code"` // code among the EDID standard timings; zeros for none
	CVT     [3]byte `json:"cvt_code"`      // code among the EDID CVT timings; zeros for none
}

// DMT is the table of VESA DMT 1.13, ids 01h to 58h in order. The slice is the
// caller's own.
func DMT() []DMTMode {
	all := make([]DMTMode, len(dmtRows))
	for i, r := range dmtRows {
		all[i] = r.mode()
	}
	return all
}

// ByID is the DMT mode with this id.
func ByID(id byte) (Mode, bool) {
	return first(func(r dmtRow) bool { return r.id == id })
}

// ByStd is the DMT mode with this two-byte code of the EDID standard timings.
func ByStd(code [2]byte) (Mode, bool) {
	std := uint16(code[0])<<8 | uint16(code[1])
	return first(func(r dmtRow) bool { return std != 0 && r.std == std })
}

// ByCVT is the DMT mode with this three-byte code of CVT.
func ByCVT(code [3]byte) (Mode, bool) {
	cvt := uint32(code[0])<<16 | uint32(code[1])<<8 | uint32(code[2])
	return first(func(r dmtRow) bool { return cvt != 0 && r.cvt == cvt })
}

func first(is func(dmtRow) bool) (Mode, bool) {
	i := slices.IndexFunc(dmtRows[:], is)
	if i < 0 {
		return Mode{}, false
	}
	return dmtRows[i].mode().Mode, true
}

// rateSlack is how far, in Hz, the rate of a DMT mode may lie from the rate that
// is asked for: names such as 60 Hz stand for 59.79 Hz. Common practice, no source.
const rateSlack = 0.5

// Find is the progressive DMT mode of a size, with the rate nearest to the one
// asked for, in Hz. It fits within half a hertz, or by the rate in its name.
func Find(w, h int, rate float64, reduced bool) (DMTMode, bool) {
	var kind dmtKind
	if reduced {
		kind = rb
	}
	return find(w, h, rate, kind)
}

func find(w, h int, rate float64, kind dmtKind) (DMTMode, bool) {
	var best DMTMode
	bestOff := math.Inf(1)
	for _, r := range dmtRows {
		if r.kind != kind || r.h.Active != w || r.height() != h {
			continue
		}
		d := r.mode()
		off := math.Abs(d.Mode.Rate() - rate)
		if (off <= rateSlack || rate == r.rate) && off < bestOff {
			best, bestOff = d, off
		}
	}
	return best, !math.IsInf(bestOff, 1)
}

func (r dmtRow) height() int {
	if r.kind == inter {
		return 2 * r.v.Active
	}
	return r.v.Active
}

func (r dmtRow) mode() DMTMode {
	return DMTMode{
		ID:      r.id,
		Nominal: r.rate,
		Mode: Mode{
			Clock: float64(r.kHz) * 1e3, H: r.h, V: r.v,
			HPos: r.sync[0] == '+', VPos: r.sync[1] == '+',
			Interlaced: r.kind == inter,
			Origin:     fmt.Sprintf("DMT 1.13, id %02Xh", r.id),
		},
		Reduced: r.kind == rb,
		Std:     [2]byte{byte(r.std >> 8), byte(r.std)},
		CVT:     [3]byte{byte(r.cvt >> 16), byte(r.cvt >> 8), byte(r.cvt)},
	}
}
