// Package mode gives the timing of a display mode: pixel clock, blanking and sync.
//
//	m, err := mode.Parse("1920x1080@60")
package mode

import (
	"fmt"
	"math"
	"strconv"
)

// Axis is one direction of a mode: pixels for the horizontal one, lines for the
// vertical one. The order in time is active, front porch, sync, back porch.
type Axis struct {
	Active int `json:"active"`
	Front  int `json:"front_porch"`
	Sync   int `json:"sync"`
	Back   int `json:"back_porch"`
}

// Blank is all that is not picture.
func (a Axis) Blank() int { return a.Front + a.Sync + a.Back }

// Total is picture and blanking.
func (a Axis) Total() int { return a.Active + a.Blank() }

// String is such as "1366+14+56+64": active, front porch, sync, back porch.
func (a Axis) String() string {
	return fmt.Sprintf("%d+%d+%d+%d", a.Active, a.Front, a.Sync, a.Back)
}

// Mode is a display mode.
type Mode struct {
	Clock  float64 `json:"clock_hertz"` // pixels a second, in Hz
	H      Axis    `json:"horizontal"`  // pixels
	V      Axis    `json:"vertical"`    // lines
	HPos   bool    `json:"hsync_positive"`
	VPos   bool    `json:"vsync_positive"`
	Origin string  `json:"origin"`         // where the numbers come from: a standard with its id, or a block of a file
	Note   string  `json:"note,omitempty"` // what the reader has to know, such as a width that was rounded
}

// LineRate is the number of lines a second, in Hz; 0 for a mode without pixels.
func (m Mode) LineRate() float64 {
	if m.H.Total() <= 0 {
		return 0
	}
	return m.Clock / float64(m.H.Total())
}

// Rate is the number of frames a second, in Hz; 0 for a mode without lines.
func (m Mode) Rate() float64 {
	if m.V.Total() <= 0 {
		return 0
	}
	return m.LineRate() / float64(m.V.Total())
}

// String is such as "1920x1080 at 60.02 Hz".
func (m Mode) String() string {
	return fmt.Sprintf("%dx%d at %.2f Hz", m.H.Active, m.V.Active, m.Rate())
}

// Timings writes all numbers in the form of a data sheet, as Parse reads them:
// "72 MHz 1366+14+56+64 768+1+3+28 +hsync +vsync".
func (m Mode) Timings() string {
	return fmt.Sprintf("%s MHz %v %v %shsync %svsync", megahertz(m.Clock), m.H, m.V, sign(m.HPos), sign(m.VPos))
}

// megahertz writes a clock in Hz as MHz, to the Hz.
func megahertz(clock float64) string {
	return strconv.FormatFloat(math.Round(clock)/1e6, 'f', -1, 64)
}

func sign(positive bool) string {
	if positive {
		return "+"
	}
	return "-"
}
