package mode

import (
	"fmt"
	"math"
	"slices"
)

// dmtMode is a mode of the VESA Display Monitor Timing standard.
type dmtMode struct {
	ID      byte
	Nominal float64 // Hz, as the standard names the mode
	Mode    Mode
	Reduced bool // blanking
}

// dmtByID is the DMT mode with this id.
func dmtByID(id byte) (Mode, bool) {
	i := slices.IndexFunc(dmtRows[:], func(r dmtRow) bool { return r.id == id })
	if i < 0 {
		return Mode{}, false
	}
	return dmtRows[i].mode().Mode, true
}

// rateSlack is how far, in Hz, the rate of a DMT mode may lie from the rate that
// is asked for: names such as 60 Hz stand for 59.79 Hz. Common practice, no source.
const rateSlack = 0.5

// find is the DMT mode of a size and a blanking, with the rate nearest to the one asked
// for, in Hz. It fits within half a hertz, or by the rate in its name.
func find(w, h int, rate float64, reduced bool) (dmtMode, bool) {
	var best dmtMode
	bestOff := math.Inf(1)
	for _, r := range dmtRows {
		if r.reduced != reduced || r.h.Active != w || r.v.Active != h {
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

func (r dmtRow) mode() dmtMode {
	return dmtMode{
		ID:      r.id,
		Nominal: r.rate,
		Mode: Mode{
			Clock: float64(r.kHz) * 1e3, H: r.h, V: r.v,
			HPos: r.sync[0] == '+', VPos: r.sync[1] == '+',
			Origin: fmt.Sprintf("DMT 1.13, id %02Xh", r.id),
		},
		Reduced: r.reduced,
	}
}
