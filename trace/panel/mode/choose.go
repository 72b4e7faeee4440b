package mode

import (
	"fmt"
	"math"
	"strings"

	"example.org/walkback/netlist/mistake"
)

// choice says which of the modes of a size and a rate is meant. The zero choice is what
// notebook panels have: reduced blanking, as DMT prints it or else by CVT.
type choice struct {
	standard string // dmt or cvt; "" for DMT where it has a mode that CVT does not make, else CVT
	kind     string // rb, rb2 or full, which DMT alone has; "" for rb
}

// choiceWords are the words of a choice.
var choiceWords = []string{"rb", "rb2", "full", "cvt", "dmt"}

// take reads a word that says which mode is meant.
func (c *choice) take(p *parser, t token) {
	word := strings.ToLower(t.text)
	slot := &c.kind
	switch word {
	case "cvt", "dmt":
		slot = &c.standard
	case "rbv2":
		word = "rb2"
	case "rb", "rb2", "full":
	default:
		p.unexpected(t, "one of "+strings.Join(choiceWords, ", ")+" or the end", mistake.Nearest(t.text, choiceWords))
		return
	}
	if *slot != "" && *slot != word {
		p.unexpected(t, "a word that does not contradict the one before", "")
	}
	*slot = word
}

// choose gives the mode of a size and a rate in Hz. dmt without a blanking takes the
// reduced mode first and then the full one.
func choose(w, h int, rate float64, c choice) (Mode, error) {
	kinds := map[string][]blanking{"rb": {reduced}, "rb2": {reduced2}, "full": {full}, "": {reduced, full}}[c.kind]
	if c.standard == "" && c.kind == "" {
		kinds = kinds[:1]
	}
	if c.standard != "cvt" {
		for _, kind := range kinds {
			if m, ok := find(w, h, rate, kind); ok {
				return m, nil
			}
		}
	}
	if c.standard == "dmt" || c.kind == "full" {
		return Mode{}, fmt.Errorf("there is no mode of %dx%d at %g Hz that panels have by DMT and not by CVT with reduced blanking; "+
			"leave dmt and full out", w, h, rate)
	}
	return cvt(w, h, rate, kinds[0])
}

// Alternatives lists the modes of all standards for a size and a rate in Hz: DMT with
// reduced and full blanking, then CVT with the two reduced blankings. It is empty
// for what is out of range.
func Alternatives(w, h int, rate float64) []Mode {
	var all []Mode
	for _, kind := range []blanking{reduced, full} {
		if m, ok := find(w, h, rate, kind); ok {
			all = append(all, m)
		}
	}
	for _, kind := range []blanking{reduced, reduced2} {
		if m, err := cvt(w, h, rate, kind); err == nil {
			all = append(all, m)
		}
	}
	return all
}

// rateSlack is how far, in Hz, the rate of a DMT mode may lie from the rate that
// is asked for: names such as 60 Hz stand for 59.79 Hz. Common practice, no source.
const rateSlack = 0.5

// find is the DMT mode of a size, a rate in Hz and a blanking, of those in the table.
func find(w, h int, rate float64, kind blanking) (m Mode, ok bool) {
	for _, r := range dmtRows {
		if m = r.mode(); r.kind == kind && m.H.Active == w && m.V.Active == h && math.Abs(m.Rate()-rate) <= rateSlack {
			return m, true
		}
	}
	return Mode{}, false
}

// dmtRow is a row of the standard as it prints it.
type dmtRow struct {
	id   byte
	kHz  int  // pixel clock
	h, v Axis // borders belong to the porches
	sync string
	kind blanking
}

func (r dmtRow) mode() Mode {
	return Mode{
		Clock: float64(r.kHz) * 1e3, H: r.h, V: r.v, HPos: r.sync[0] == '+', VPos: r.sync[1] == '+',
		Origin: fmt.Sprintf("DMT 1.13, id %02Xh", r.id),
	}
}

// dmtRows are the modes of VESA DMT 1.13 (8 February 2013) at 60 Hz that CVT does not
// make: the others of the standard that panels have are those of CVT with reduced
// blanking. Nothing writes to it.
var dmtRows = [...]dmtRow{
	{0x04, 25175, Axis{640, 16, 96, 48}, Axis{480, 10, 2, 33}, "--", full},
	{0x09, 40000, Axis{800, 40, 128, 88}, Axis{600, 1, 4, 23}, "++", full},
	{0x0e, 33750, Axis{848, 16, 112, 112}, Axis{480, 6, 8, 23}, "++", full},
	{0x10, 65000, Axis{1024, 24, 136, 160}, Axis{768, 3, 6, 29}, "--", full},
	{0x20, 108000, Axis{1280, 96, 112, 312}, Axis{960, 1, 3, 36}, "++", full},
	{0x23, 108000, Axis{1280, 48, 112, 248}, Axis{1024, 1, 3, 38}, "++", full},
	{0x27, 85500, Axis{1360, 64, 112, 256}, Axis{768, 3, 6, 18}, "++", full},
	{0x33, 162000, Axis{1600, 64, 192, 304}, Axis{1200, 1, 3, 46}, "++", full},
	{0x51, 85500, Axis{1366, 70, 143, 213}, Axis{768, 3, 3, 24}, "++", full},
	{0x52, 148500, Axis{1920, 88, 44, 148}, Axis{1080, 4, 5, 36}, "++", full},
	{0x53, 108000, Axis{1600, 24, 80, 96}, Axis{900, 1, 3, 96}, "++", reduced},
	{0x54, 162000, Axis{2048, 26, 80, 96}, Axis{1152, 1, 3, 44}, "++", reduced},
	{0x55, 74250, Axis{1280, 110, 40, 220}, Axis{720, 5, 5, 20}, "++", full},
	{0x56, 72000, Axis{1366, 14, 56, 64}, Axis{768, 1, 3, 28}, "++", reduced},
}
