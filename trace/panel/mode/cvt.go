package mode

import (
	"fmt"
	"math"
	"strings"
)

// blanking is the kind of blanking of a mode.
type blanking int

// The kinds of blanking. CVT makes full blanking too, for cathode ray tubes; panels have
// it in modes of DMT alone.
const (
	full     blanking = iota
	reduced           // CVT-RB, version 1: 160 pixels
	reduced2          // CVT-RBv2: 80 pixels, and widths that are no multiple of 8
)

// String is such as "reduced blanking".
func (b blanking) String() string {
	return []string{"full blanking", "reduced blanking", "reduced blanking version 2"}[b]
}

// What a mode may have. A number beyond them is a slip of the finger: no panel
// and no standard goes there.
const (
	MaxSize  = 16384 // pixels and lines, from 1
	MinRate  = 1.0   // Hz
	MaxRate  = 1000  // Hz
	MinClock = 0.1e6 // Hz
	MaxClock = 10e9  // Hz
)

// Constants of the VESA CVT Standard 1.2 (8 February 2013), section 5.
const (
	cvtCell     = 8    // pixels; one for version 2 of reduced blanking
	cvtFront    = 3    // lines of front porch
	cvtMinBack  = 6    // lines of back porch at least; exactly so in version 2
	cvtMinBlank = 460  // us of vertical blanking at least
	cvtStep     = 25e4 // Hz, step of the pixel clock
	cvtStepRB2  = 1e3  // Hz, of version 2
)

// cvt computes a mode by the VESA Coordinated Video Timings Standard, version
// 1.2, section 5 (common parameters, reduced blanking timing; the section number is
// from memory), progressive and without margins. The rate is in Hz, from MinRate to
// MaxRate, and the mode runs at most at that rate: the clock is rounded down.
//
// Version 1 of reduced blanking counts pixels in cells of 8 and rounds the width down,
// so that 1366 becomes 1360; Mode.Note says so.
func cvt(w, h int, rate float64, b blanking) (Mode, error) {
	if err := checkAsked(w, h, rate); err != nil {
		return Mode{}, fmt.Errorf("CVT: %w", err)
	}
	width := w
	if b == reduced {
		width -= w % cvtCell
	}
	m := cvtReduced(width, h, rate, b == reduced2)
	if width < 1 {
		return Mode{}, fmt.Errorf("CVT: %d pixels are too narrow for %v: no room is left for the sync", w, b)
	}
	if err := checkClock(m.Clock); err != nil {
		return Mode{}, fmt.Errorf("CVT: %dx%d at %g Hz with %v: %w", w, h, rate, b, err)
	}
	// The clock is rounded down; at the least rates this may lead out of the range.
	if err := checkRate(m.Rate()); err != nil {
		return Mode{}, fmt.Errorf("CVT: %dx%d at %g Hz with %v: after rounding the clock down to %s MHz the %w", w, h, rate, b,
			megahertz(m.Clock), err)
	}
	m.Origin = "CVT 1.2, " + b.String()
	m.Note = cvtNote(w, m.H.Active, rate, b)
	return m, nil
}

// cvtReduced is for panels. Version 2 puts all spare lines before the sync: 8 lines of
// sync and 6 of back porch are fixed.
func cvtReduced(w, h int, rate float64, second bool) Mode {
	m := Mode{H: Axis{w, 48, 32, 80}, V: Axis{h, cvtFront, cvtSync(w, h), cvtMinBack}, HPos: true}
	step, spare := float64(cvtStep), &m.V.Back
	if second {
		m.H, m.V = Axis{w, 8, 32, 40}, Axis{h, 1, 8, cvtMinBack}
		step, spare = cvtStepRB2, &m.V.Front
	}
	// So many lines last longer than the least vertical blanking.
	lines := int(float64(cvtMinBlank*h)*rate/(1e6-cvtMinBlank*rate)) + 1
	*spare += max(0, lines-m.V.Blank())
	m.Clock = step * math.Floor(float64(m.H.Total()*m.V.Total())*rate/step)
	return m
}

// cvtSync is the width of the vertical sync in lines; it tells a receiver the
// aspect ratio. The ratio is met when the height gives the width after rounding
// down to whole cells, so 1360x768 is 16:9.
func cvtSync(w, h int) int {
	for _, r := range []struct{ w, h, sync int }{
		{4, 3, 4}, {16, 9, 5}, {16, 10, 6}, {5, 4, 7}, {15, 9, 7},
	} {
		if w == h*r.w/r.h/cvtCell*cvtCell {
			return r.sync
		}
	}
	return 10
}

func cvtNote(asked, got int, rate float64, b blanking) string {
	var notes []string
	if asked != got {
		notes = append(notes, fmt.Sprintf("CVT counts in cells of %d pixels: %d became %d; rb2 keeps %d", cvtCell, asked, got, asked))
	}
	// xcvt refuses other rates; the standard's text on it is from memory.
	if times := math.Round(rate / 60); b == reduced && math.Abs(rate-60*times) > 0.1*times {
		notes = append(notes, "CVT reduced blanking version 1 is meant for 60 Hz and its multiples")
	}
	return strings.Join(notes, "; ")
}

func checkAsked(w, h int, rate float64) error {
	what, n := "width", w
	if w >= 1 && w <= MaxSize {
		what, n = "height", h
	}
	if n < 1 || n > MaxSize {
		return fmt.Errorf("%s %d is out of range, 1 to %d", what, n, MaxSize)
	}
	return checkRate(rate)
}

// checkRate refuses NaN as well.
func checkRate(rate float64) error {
	if rate >= MinRate && rate <= MaxRate {
		return nil
	}
	return fmt.Errorf("rate %.6g Hz is out of range, %g to %d Hz", rate, MinRate, MaxRate)
}

func checkClock(clock float64) error {
	if clock >= MinClock && clock <= MaxClock {
		return nil
	}
	return fmt.Errorf("pixel clock %.6g MHz is out of range, %g to %g MHz", clock/1e6, MinClock/1e6, MaxClock/1e6)
}
