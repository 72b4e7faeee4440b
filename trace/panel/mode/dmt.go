package mode

import (
	"fmt"
	"math"
)

// rateSlack is how far, in Hz, the rate of a DMT mode may lie from the rate that
// is asked for: names such as 60 Hz stand for 59.79 Hz. Common practice, no source.
const rateSlack = 0.5

// find is the DMT mode of a size and a blanking, with the rate nearest to the one asked
// for, in Hz. It fits within half a hertz, or by the rate in its name.
func find(w, h int, rate float64, reduced bool) (best Mode, ok bool) {
	bestOff := math.Inf(1)
	for _, r := range dmtRows {
		if r.reduced != reduced || r.h.Active != w || r.v.Active != h {
			continue
		}
		m := r.mode()
		if off := math.Abs(m.Rate() - rate); (off <= rateSlack || rate == r.rate) && off < bestOff {
			best, bestOff = m, off
		}
	}
	return best, !math.IsInf(bestOff, 1)
}

func (r dmtRow) mode() Mode {
	return Mode{
		Clock: float64(r.kHz) * 1e3, H: r.h, V: r.v, HPos: r.sync[0] == '+', VPos: r.sync[1] == '+',
		Origin: fmt.Sprintf("DMT 1.13, id %02Xh", r.id),
	}
}

// dmtRow is a row of the standard as it prints it.
type dmtRow struct {
	id      byte
	rate    float64 // Hz, as the standard names the mode
	kHz     int     // pixel clock
	h, v    Axis    // borders belong to the porches
	sync    string  // polarity of hsync and vsync
	reduced bool    // blanking
}

// dmtRows is the table of VESA DMT 1.13 (8 February 2013), in the order of the ids, as
// far as panels have it: without the interlaced mode 0Fh, rates from 56 to 85 Hz that
// only tubes have, and 1792x1344, 1856x1392 and 1920x1440. Nothing writes to it.
var dmtRows = [...]dmtRow{
	{0x04, 60, 25175, Axis{640, 16, 96, 48}, Axis{480, 10, 2, 33}, "--", false},
	{0x09, 60, 40000, Axis{800, 40, 128, 88}, Axis{600, 1, 4, 23}, "++", false},
	{0x0d, 120, 73250, Axis{800, 48, 32, 80}, Axis{600, 3, 4, 29}, "+-", true},
	{0x0e, 60, 33750, Axis{848, 16, 112, 112}, Axis{480, 6, 8, 23}, "++", false},
	{0x10, 60, 65000, Axis{1024, 24, 136, 160}, Axis{768, 3, 6, 29}, "--", false},
	{0x14, 120, 115500, Axis{1024, 48, 32, 80}, Axis{768, 3, 4, 38}, "+-", true},
	{0x16, 60, 68250, Axis{1280, 48, 32, 80}, Axis{768, 3, 7, 12}, "+-", true},
	{0x17, 60, 79500, Axis{1280, 64, 128, 192}, Axis{768, 3, 7, 20}, "-+", false},
	{0x1a, 120, 140250, Axis{1280, 48, 32, 80}, Axis{768, 3, 7, 35}, "+-", true},
	{0x1b, 60, 71000, Axis{1280, 48, 32, 80}, Axis{800, 3, 6, 14}, "+-", true},
	{0x1c, 60, 83500, Axis{1280, 72, 128, 200}, Axis{800, 3, 6, 22}, "-+", false},
	{0x1f, 120, 146250, Axis{1280, 48, 32, 80}, Axis{800, 3, 6, 38}, "+-", true},
	{0x20, 60, 108000, Axis{1280, 96, 112, 312}, Axis{960, 1, 3, 36}, "++", false},
	{0x22, 120, 175500, Axis{1280, 48, 32, 80}, Axis{960, 3, 4, 50}, "+-", true},
	{0x23, 60, 108000, Axis{1280, 48, 112, 248}, Axis{1024, 1, 3, 38}, "++", false},
	{0x26, 120, 187250, Axis{1280, 48, 32, 80}, Axis{1024, 3, 7, 50}, "+-", true},
	{0x27, 60, 85500, Axis{1360, 64, 112, 256}, Axis{768, 3, 6, 18}, "++", false},
	{0x28, 120, 148250, Axis{1360, 48, 32, 80}, Axis{768, 3, 5, 37}, "+-", true},
	{0x29, 60, 101000, Axis{1400, 48, 32, 80}, Axis{1050, 3, 4, 23}, "+-", true},
	{0x2a, 60, 121750, Axis{1400, 88, 144, 232}, Axis{1050, 3, 4, 32}, "-+", false},
	{0x2d, 120, 208000, Axis{1400, 48, 32, 80}, Axis{1050, 3, 4, 55}, "+-", true},
	{0x2e, 60, 88750, Axis{1440, 48, 32, 80}, Axis{900, 3, 6, 17}, "+-", true},
	{0x2f, 60, 106500, Axis{1440, 80, 152, 232}, Axis{900, 3, 6, 25}, "-+", false},
	{0x32, 120, 182750, Axis{1440, 48, 32, 80}, Axis{900, 3, 6, 44}, "+-", true},
	{0x33, 60, 162000, Axis{1600, 64, 192, 304}, Axis{1200, 1, 3, 46}, "++", false},
	{0x38, 120, 268250, Axis{1600, 48, 32, 80}, Axis{1200, 3, 4, 64}, "+-", true},
	{0x39, 60, 119000, Axis{1680, 48, 32, 80}, Axis{1050, 3, 6, 21}, "+-", true},
	{0x3a, 60, 146250, Axis{1680, 104, 176, 280}, Axis{1050, 3, 6, 30}, "-+", false},
	{0x3d, 120, 245500, Axis{1680, 48, 32, 80}, Axis{1050, 3, 6, 53}, "+-", true},
	{0x44, 60, 154000, Axis{1920, 48, 32, 80}, Axis{1200, 3, 6, 26}, "+-", true},
	{0x45, 60, 193250, Axis{1920, 136, 200, 336}, Axis{1200, 3, 6, 36}, "-+", false},
	{0x48, 120, 317000, Axis{1920, 48, 32, 80}, Axis{1200, 3, 6, 62}, "+-", true},
	{0x4c, 60, 268500, Axis{2560, 48, 32, 80}, Axis{1600, 3, 6, 37}, "+-", true},
	{0x4d, 60, 348500, Axis{2560, 192, 280, 472}, Axis{1600, 3, 6, 49}, "-+", false},
	{0x50, 120, 552750, Axis{2560, 48, 32, 80}, Axis{1600, 3, 6, 85}, "+-", true},
	{0x51, 60, 85500, Axis{1366, 70, 143, 213}, Axis{768, 3, 3, 24}, "++", false},
	{0x52, 60, 148500, Axis{1920, 88, 44, 148}, Axis{1080, 4, 5, 36}, "++", false},
	{0x53, 60, 108000, Axis{1600, 24, 80, 96}, Axis{900, 1, 3, 96}, "++", true},
	{0x54, 60, 162000, Axis{2048, 26, 80, 96}, Axis{1152, 1, 3, 44}, "++", true},
	{0x55, 60, 74250, Axis{1280, 110, 40, 220}, Axis{720, 5, 5, 20}, "++", false},
	{0x56, 60, 72000, Axis{1366, 14, 56, 64}, Axis{768, 1, 3, 28}, "++", true},
	{0x57, 60, 556744, Axis{4096, 8, 32, 40}, Axis{2160, 48, 8, 6}, "+-", true},
	{0x58, 59.94, 556188, Axis{4096, 8, 32, 40}, Axis{2160, 48, 8, 6}, "+-", true},
}
