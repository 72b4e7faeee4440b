package edid

import (
	"fmt"
	"strings"

	"example.org/walkback/trace/panel/mode"
)

// Descriptor is one of the four 18-byte places of the base block that holds no
// timing.
type Descriptor struct {
	Slot     int          `json:"slot"` // 1 to 4
	Tag      int          `json:"tag"`
	Name     string       `json:"name"`
	Text     string       `json:"text,omitempty"` // of a string, fit to be printed: bytes outside ASCII as \xNN
	Range    *RangeLimits `json:"range_limits,omitempty"`
	Standard []Resolution `json:"standard_timings,omitempty"`
	White    []WhitePoint `json:"white_points,omitempty"`
	Data     Hex          `json:"data"` // the 13 bytes behind the tag
}

// RangeLimits is what a display can follow.
type RangeLimits struct {
	MinRate     float64 `json:"min_refresh_hertz"`
	MaxRate     float64 `json:"max_refresh_hertz"`
	MinLineRate float64 `json:"min_line_rate_hertz"`
	MaxLineRate float64 `json:"max_line_rate_hertz"`
	MaxClock    float64 `json:"max_clock_hertz,omitempty"` // 0 is not told
	Formula     string  `json:"formula"`                   // default GTF, bare limits, secondary GTF, CVT
	MaxActive   int     `json:"max_active_pixels,omitempty"`
}

// WhitePoint is a further white with its gamma, 0 when not told.
type WhitePoint struct {
	Index int     `json:"index"`
	White Point   `json:"white"`
	Gamma float64 `json:"gamma,omitempty"`
}

// NotebookData is what notebook panels by the SPWG notebook panel specification
// put into the third and fourth descriptor and at the end of the second.
type NotebookData struct {
	PCMakerPart    string `json:"pc_maker_part"`
	SupplierRev    int    `json:"supplier_revision"`
	Part           string `json:"part"`
	Brightness     Hex    `json:"smbus_brightness"` // eight steps from dark to bright
	LVDSChannels   int    `json:"lvds_channels"`
	SelfTest       bool   `json:"self_test"`
	ModuleRevision int    `json:"module_revision"`
}

// Tags of display descriptors (VESA E-EDID A.2, section 3.10.3).
const (
	tagSerial   = 0xFF
	tagText     = 0xFE
	tagRange    = 0xFD
	tagName     = 0xFC
	tagColour   = 0xFB
	tagStandard = 0xFA
	tagDummy    = 0x10
)

func descriptorName(tag byte) string {
	switch tag {
	case tagSerial:
		return "serial"
	case tagText:
		return "text"
	case tagRange:
		return "range limits"
	case tagName:
		return "name"
	case tagColour:
		return "white points"
	case tagStandard:
		return "standard timings"
	case 0xF9:
		return "colour management"
	case 0xF8:
		return "CVT timing codes"
	case 0xF7:
		return "established timings III"
	case tagDummy:
		return "unused"
	}
	if tag < tagDummy {
		return "of the maker's own"
	}
	return "reserved"
}

// decodeSlot reads one 18-byte place: a timing when it starts with a pixel clock.
func (e *EDID) decodeSlot(slot int, d []byte) {
	if d[0] != 0 || d[1] != 0 {
		t := decodeDTD(d)
		t.Origin = fmt.Sprintf("base block, detailed timing %d", len(e.Timings)+1)
		t.Preferred = slot == 1 && e.Features.FirstIsPreferred
		t.Native = slot == 1 && e.Features.PreferredIsNative
		e.Timings = append(e.Timings, t)
		return
	}
	out := Descriptor{Slot: slot, Tag: int(d[3]), Name: descriptorName(d[3]), Data: Hex(d[5:])}
	switch d[3] {
	case tagSerial, tagText, tagName:
		out.Text = stringOf(d[5:])
	case tagRange:
		out.Range = e.decodeRange(d)
	case tagStandard:
		out.Standard = e.decodeStandard(d[5:17])
	case tagColour:
		out.White = decodeWhite(d)
	}
	e.Descriptors = append(e.Descriptors, out)
}

// stringOf is a text that ends with a line feed, without the spaces that pad it.
func stringOf(b []byte) string {
	text, _, _ := strings.Cut(string(b), "\n")
	return printable(strings.TrimRight(text, " \x00"))
}

// printable writes every byte outside printable ASCII as \xNN, so that a text out
// of a chip can neither steer a terminal nor break a line.
func printable(s string) string {
	var b strings.Builder
	for i := range len(s) {
		if c := s[i]; c < 0x20 || c > 0x7E {
			fmt.Fprintf(&b, `\x%02X`, c)
		} else {
			b.WriteByte(c)
		}
	}
	return b.String()
}

// syncSeparate is the kind of sync that panels have.
const syncSeparate = "digital separate"

// decodeDTD reads an 18-byte detailed timing (VESA E-EDID A.2, section 3.10.2). The
// blanking of a timing with borders holds both of them; they stay in the back porch
// here, so that the totals are right.
func decodeDTD(d []byte) Timing {
	wide := func(low, high byte) int { return int(low) | int(high)<<8 }
	t := Timing{
		WidthMM:  wide(d[12], d[14]>>4),
		HeightMM: wide(d[13], d[14]&15),
		BorderH:  int(d[15]),
		BorderV:  int(d[16]),
	}
	t.Clock = float64(le16(d)) * 10e3
	t.H = mode.Axis{Active: wide(d[2], d[4]>>4), Front: wide(d[8], d[11]>>6), Sync: wide(d[9], d[11]>>4&3)}
	t.V = mode.Axis{
		Active: wide(d[5], d[7]>>4),
		Front:  int(d[10]>>4) | int(d[11]>>2&3)<<4,
		Sync:   int(d[10]&15) | int(d[11]&3)<<4,
	}
	t.H.Back = wide(d[3], d[4]&15) - t.H.Front - t.H.Sync
	t.V.Back = wide(d[6], d[7]&15) - t.V.Front - t.V.Sync
	flags := d[17]
	t.Interlaced = flags&0x80 != 0
	t.Sync = []string{"analog composite", "bipolar analog composite", "digital composite", syncSeparate}[flags>>3&3]
	t.HPos = flags&0x10 != 0 && flags&2 != 0
	t.VPos = flags&0x18 == 0x18 && flags&4 != 0
	t.Stereo = stereoName(flags)
	return t
}

func stereoName(flags byte) string {
	switch flags & 0x61 {
	case 0x20:
		return "field sequential, right image at sync 1"
	case 0x40:
		return "field sequential, left image at sync 1"
	case 0x21:
		return "two way interleaved, right eye on even lines"
	case 0x41:
		return "two way interleaved, left eye on even lines"
	case 0x60:
		return "four way interleaved"
	case 0x61:
		return "side by side interleaved"
	}
	return ""
}

// decodeRange reads a range limits descriptor (VESA E-EDID A.2, section 3.10.3.3).
func (e *EDID) decodeRange(d []byte) *RangeLimits {
	var offset byte
	if e.is14() {
		offset = d[4]
	}
	// Two bits: 2 adds 255 to the maximum, 3 to both.
	limits := func(at int, bits byte) (low, high float64) {
		low, high = float64(d[at]), float64(d[at+1])
		if bits&2 != 0 {
			high += 255
			if bits&1 != 0 {
				low += 255
			}
		}
		return low, high
	}
	r := &RangeLimits{}
	r.MinRate, r.MaxRate = limits(5, offset)
	r.MinLineRate, r.MaxLineRate = limits(7, offset>>2)
	r.MinLineRate *= 1e3
	r.MaxLineRate *= 1e3
	if d[9] != 0 {
		r.MaxClock = float64(d[9]) * 10e6
	}
	switch d[10] {
	case 0:
		r.Formula = "default GTF"
	case 1:
		r.Formula = "bare limits"
	case 2:
		r.Formula = "secondary GTF"
	case 4:
		r.Formula = "CVT"
		r.MaxClock -= float64(d[12]>>2) * 0.25e6
		r.MaxActive = 8 * (int(d[12]&3)<<8 | int(d[13]))
	default:
		r.Formula = fmt.Sprintf("unknown (0x%02X)", d[10])
	}
	return r
}

// decodeWhite reads up to two white points (VESA E-EDID A.2, section 3.10.3.5).
func decodeWhite(d []byte) []WhitePoint {
	var out []WhitePoint
	for at := 5; at <= 10; at += 5 {
		if d[at] == 0 {
			continue
		}
		w := WhitePoint{Index: int(d[at])}
		w.White.X = float64(int(d[at+2])<<2|int(d[at+1]>>2&3)) / 1024
		w.White.Y = float64(int(d[at+3])<<2|int(d[at+1]&3)) / 1024
		if d[at+4] != 0xFF {
			w.Gamma = gamma(d[at+4])
		}
		out = append(out, w)
	}
	return out
}

// decodeNotebook reads the places that checkSPWG has recognized.
func decodeNotebook(b []byte) *NotebookData {
	third, fourth := b[90:108], b[108:126]
	return &NotebookData{
		PCMakerPart:    stringOf(third[5:10]),
		SupplierRev:    int(third[10]),
		Part:           stringOf(third[11:]),
		Brightness:     Hex(fourth[5:13]),
		LVDSChannels:   int(fourth[13]),
		SelfTest:       fourth[14] == 1,
		ModuleRevision: int(b[89]),
	}
}
