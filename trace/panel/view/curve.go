package view

import (
	"fmt"
	"math"
)

// Curve is what becomes of one colour while grey goes from black to white.
type Curve struct {
	Min   int  `json:"min"` // 0 to 255
	Max   int  `json:"max"`
	Steps int  `json:"steps"` // different values, of 64 or 256
	Jumps int  `json:"jumps"` // times where it jumps back by more than jumpLimit
	Back  bool `json:"back"`  // it falls for longer than it rises, though not as a whole
	Down  bool `json:"down"`  // upside down as a whole
}

// Invented: a jump back of less than a tenth is not seen; a ramp whose correlation with
// grey is below upsideLimit is upside down, whatever small teeth it has.
const (
	jumpLimit   = 25
	upsideLimit = -0.9
)

func curveOf(line []uint32, shift int) Curve {
	c := Curve{Min: 255}
	var seen [256]bool
	last := 0
	for i, px := range line {
		v := int(px >> shift & 255)
		c.Min, c.Max = min(c.Min, v), max(c.Max, v)
		if !seen[v] {
			seen[v] = true
			c.Steps++
		}
		if i > 0 && last-v > jumpLimit {
			c.Jumps++
		}
		last = v
	}
	c.Down = correlation(line, shift) < upsideLimit
	c.Back = !c.Down && backwards(line, shift)
	return c
}

// backwards reports whether a curve falls more often than it rises, looked at in steps
// that are large enough to be seen.
func backwards(line []uint32, shift int) bool {
	const step = 8
	balance := 0
	for i := step; i < len(line); i += step {
		switch d := int(line[i]>>shift&255) - int(line[i-step]>>shift&255); {
		case d > faintLimit:
			balance++
		case d < -faintLimit:
			balance--
		}
	}
	return balance < 0
}

// correlation of a curve with a rising line, -1 to 1; 0 when it is flat.
func correlation(line []uint32, shift int) float64 {
	n, mean := float64(len(line)), 0.0
	for _, px := range line {
		mean += float64(px>>shift&255) / n
	}
	var xy, xx, yy float64
	for i, px := range line {
		x, y := float64(i)-(n-1)/2, float64(px>>shift&255)-mean
		xy, xx, yy = xy+x*y, xx+x*x, yy+y*y
	}
	if yy < 1e-6 {
		return 0
	}
	return xy / math.Sqrt(xx*yy)
}

// flat reports that nothing of a ramp is left that can be seen: a sixteenth of the
// scale, which is the low four bits, or less. Invented.
func (c Curve) flat() bool { return c.Max-c.Min <= 16 }

// words is what follows "red"; of is the number of steps of a healthy panel.
func (c Curve) words(of int) string {
	switch {
	case c.flat() && c.Max <= 40:
		return "is missing"
	case c.flat() && c.Min >= 215:
		return "is always full"
	case c.flat():
		return "stays at one level"
	case c.Down:
		return "is upside down (dark is bright)"
	case c.Back:
		return "runs backwards in part"
	case c.Jumps > 0 && c.Max < 128:
		return "is dark and jumps back to dark"
	case c.Jumps > 0 && c.Min >= 128:
		return "is bright and jumps back"
	case c.Jumps > 0:
		return "jumps back to dark"
	}
	text := ""
	if c.Steps < of {
		text = fmt.Sprintf("has %d steps instead of %d", c.Steps, of)
	}
	switch {
	case c.Max < 200:
		text = fmt.Sprintf("%s and stops at %d %%", text, c.Max*100/255)
	case c.Min > 55:
		text = fmt.Sprintf("%s and stays above %d %%", text, (c.Min-1)*100/255)
	}
	return text
}
