package mode

import (
	"fmt"
	"math"
)

// gtf computes a mode by the VESA Generalized Timing Formula, version 1.1, with
// the default curve, progressive and without margins. An EDID before version 1.4
// means it by a standard timing that DMT does not have. The rate is in Hz and is
// met: the clock has no step, and is given here to the Hz.
//
// GTF counts pixels in cells of 8 and rounds the width to the nearest, so that
// 1366 becomes 1368; Mode.Note says so.
func gtf(w, h int, rate float64) (Mode, error) {
	if err := checkAsked(w, h, rate); err != nil {
		return Mode{}, fmt.Errorf("GTF: %w", err)
	}
	// From memory: front porch of 1 line, sync of 3, 550 us of sync and back
	// porch, C' = 30 percent, M' = 300 percent/kHz, sync of 8 percent of a line.
	const cell, front, sync, syncShare = 8, 1, 3, 0.08
	width := cell * nearestInt(float64(w)/cell)
	syncBack := nearestInt(550 * float64(h+front) * rate / (1e6 - 550*rate))
	v := Axis{h, front, sync, syncBack - sync}
	duty := 30 - 300*1e3/(rate*float64(v.Total()))
	blank := 2 * cell * nearestInt(float64(width)*duty/(100-duty)/(2*cell))
	hsync := cell * nearestInt(syncShare*float64(width+blank)/cell)
	m := Mode{
		H:      Axis{width, blank/2 - hsync, hsync, blank / 2},
		V:      v,
		VPos:   true,
		Origin: "GTF 1.1",
	}
	if m.H.Front <= 0 || m.H.Sync <= 0 || m.V.Back < 0 {
		return Mode{}, fmt.Errorf("GTF: %dx%d at %g Hz is too small: no room is left for the sync", w, h, rate)
	}
	m.Clock = math.Round(rate * float64(m.H.Total()*m.V.Total()))
	if err := checkClock(m.Clock); err != nil {
		return Mode{}, fmt.Errorf("GTF: %dx%d at %g Hz: %w", w, h, rate, err)
	}
	if width != w {
		m.Note = fmt.Sprintf("GTF counts in cells of %d pixels: %d became %d", cell, w, width)
	}
	return m, nil
}

func nearestInt(x float64) int { return int(math.Round(x)) }
