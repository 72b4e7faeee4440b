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
	Parts int  `json:"parts"` // pieces between which it jumps so far that it is seen
	Falls int  `json:"falls"` // times where it goes back by more than a tenth; 0 when upside down
	Back  bool `json:"back"`  // it falls for longer than it rises: sawteeth that run backwards
	Down  bool `json:"down"`  // upside down as a whole
}

// Invented: a swing of less than a tenth is no tooth of a ramp; a ramp whose
// correlation with grey is below upsideLimit is upside down, whatever small teeth
// it has; up to blockLimit pieces are seen as blocks.
const (
	swingLimit  = 25
	upsideLimit = -0.9
	blockLimit  = 16
)

func curveOf(line []uint32, shift int) Curve {
	at := func(i int) int { return int(line[i] >> shift & 255) }
	c := Curve{Min: 255, Parts: 1}
	var seen [256]bool
	for i := range line {
		v := at(i)
		c.Min, c.Max = min(c.Min, v), max(c.Max, v)
		if !seen[v] {
			seen[v] = true
			c.Steps++
		}
		if d := v - at(max(i-1, 0)); max(d, -d) > faintLimit {
			c.Parts++ // less is the step of a healthy panel, or one that nobody sees
		}
	}
	if c.Down = correlation(len(line), at) < upsideLimit; c.Down {
		return c
	}
	turns := turnsOf(len(line), at)
	rising, falling := 0, 0
	for i := 1; i < len(turns); i++ {
		from, to := turns[i-1], turns[i]
		if at(to) < at(from) {
			c.Falls++
			falling += to - from
		} else {
			rising += to - from
		}
	}
	c.Back = falling > rising
	return c
}

// correlation of a curve of n values with a rising line, -1 to 1; 0 when it is flat.
func correlation(n int, at func(int) int) float64 {
	mean := 0.0
	for i := range n {
		mean += float64(at(i)) / float64(n)
	}
	var xy, xx, yy float64
	for i := range n {
		x, y := float64(i)-float64(n-1)/2, float64(at(i))-mean
		xy, xx, yy = xy+x*y, xx+x*x, yy+y*y
	}
	if yy < 1e-6 {
		return 0
	}
	return xy / math.Sqrt(xx*yy)
}

// turnsOf gives the extremes between which a curve swings by more than swingLimit.
func turnsOf(n int, at func(int) int) []int {
	var turns []int
	low, high, up := 0, 0, 0 // extremes since the last turn; up is +1, -1 or not known
	for i := range n {
		if at(i) < at(low) {
			low = i
		}
		if at(i) > at(high) {
			high = i
		}
		switch {
		case up >= 0 && at(high)-at(i) > swingLimit:
			turns = append(turns, high)
			low, high, up = i, i, -1
		case up <= 0 && at(i)-at(low) > swingLimit:
			turns = append(turns, low)
			low, high, up = i, i, 1
		}
	}
	switch up {
	case 1:
		turns = append(turns, high)
	case -1:
		turns = append(turns, low)
	}
	return turns
}

// flat tells that nothing of a ramp is left that can be seen: a sixteenth of the
// scale, which is the low four bits, or less. Invented.
func (c Curve) flat() bool { return c.Max-c.Min <= 16 }

// blocky tells that a ramp is broken into pieces that jump to the eye.
func (c Curve) blocky() bool {
	return c.Max-c.Min > 2*swingLimit && (c.Parts < posterLimit && c.Parts > 1 || c.Falls > 0)
}

// blocks tells that a ramp that only rises is seen as a few flat pieces.
func (c Curve) blocks() bool { return c.Parts > 1 && c.Parts <= blockLimit }

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
	case c.Falls > 0:
		return c.teeth()
	}
	span := ""
	if c.Max < 200 {
		span = fmt.Sprintf("stops at %d %%", c.Max*100/255)
	} else if c.Min > 55 {
		span = fmt.Sprintf("stays above %d %%", (c.Min-1)*100/255)
	}
	switch {
	case c.blocks() && span != "":
		return fmt.Sprintf("falls into %d blocks instead of %d steps and %s", c.Parts, of, span)
	case c.blocks():
		return fmt.Sprintf("falls into %d blocks instead of %d steps", c.Parts, of)
	case span != "":
		return span
	case c.Steps < of:
		return fmt.Sprintf("has %d steps instead of %d", c.Steps, of)
	}
	return ""
}

// teeth is said of a ramp that goes back.
func (c Curve) teeth() string {
	switch {
	case c.Back && c.Falls == 1:
		return "runs backwards in part"
	case c.Back:
		return fmt.Sprintf("falls into %d teeth that run backwards", c.Falls)
	case c.Max < 128:
		return "is dark and jumps back to dark " + times(c.Falls)
	case c.Min >= 128:
		return "is bright and jumps back " + times(c.Falls)
	}
	return "jumps back to dark " + times(c.Falls)
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
