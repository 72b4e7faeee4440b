package view

import "slices"

// curve is what becomes of one colour while grey goes from black to white.
type curve struct {
	min, max int  // 0 to 255
	steps    int  // different values
	back     int  // its largest step down
	step     int  // its largest step up or down
	down     bool // it ends darker than it began, without jumps
}

// jumpLimit is the step, of 255, that is not yet seen as a jump in a ramp. Invented.
const jumpLimit = 32

func curveOf(line []uint32, shift int) curve {
	value := func(i int) int { return int(line[i] >> shift & 255) }
	c := curve{min: 255}
	var seen [256]bool
	for i := range line {
		v := value(i)
		c.min, c.max = min(c.min, v), max(c.max, v)
		if !seen[v] {
			seen[v] = true
			c.steps++
		}
		if i > 0 {
			fall := value(i-1) - v
			c.back, c.step = max(c.back, fall), max(c.step, fall, -fall)
		}
	}
	c.down = c.back <= jumpLimit && value(len(line)-1) < value(0)
	return c
}

// flat reports that nothing of a ramp is left that can be seen: a sixteenth of the
// scale, which is the low four bits, or less. Invented.
func (c curve) flat() bool { return c.max-c.min <= 16 }

// ramp is a ramp of grey as the panel shows it.
type ramp struct {
	curves [3]curve // red, green and blue, in the wrong columns
	steps  int      // different colours
	of     int      // those of a healthy panel
	tinted bool
}

// Limits for a ramp, invented: how far the colours of a grey may be apart, of 255, before a
// person sees a tint; the number of steps below which bands jump to the eye; the number from
// which on a person may well see none.
const (
	tintLimit   = 28
	posterLimit = 32
	fineLimit   = 48
)

func rampOf(line []uint32, of int) ramp {
	r := ramp{of: of}
	seen := map[uint32]bool{}
	for _, px := range line {
		seen[px] = true
		red, green, blue := parts(px)
		r.tinted = r.tinted || max(red, green, blue)-min(red, green, blue) > tintLimit
	}
	r.steps = len(seen)
	for i, shift := range []int{16, 8, 0} {
		r.curves[i] = curveOf(line, shift)
	}
	return r
}

func (r ramp) any(is func(curve) bool) bool { return slices.ContainsFunc(r.curves[:], is) }

// flat reports whether nothing is left of a ramp, blocky whether one jumps, coarse whether
// one has few steps.
func (r ramp) flat() bool   { return !r.any(func(c curve) bool { return !c.flat() }) }
func (r ramp) blocky() bool { return r.any(func(c curve) bool { return c.step > jumpLimit }) }
func (r ramp) coarse() bool {
	return r.any(func(c curve) bool { return !c.flat() && c.steps < posterLimit })
}

// brightest and darkest are of the three colours together.
func (r ramp) brightest() int { return max(r.curves[0].max, r.curves[1].max, r.curves[2].max) }
func (r ramp) darkest() int   { return min(r.curves[0].min, r.curves[1].min, r.curves[2].min) }

// greyWords are those for a ramp of grey.
var greyWords = []string{"ok", "banded", "posterised", "tinted", "upside down", "dark", "bright"}

// word is the one that says most of a ramp.
func (r ramp) word() string {
	switch {
	case r.tinted:
		return "tinted"
	case r.any(func(c curve) bool { return c.down }):
		return "upside down"
	case !r.flat() && (r.blocky() || r.steps < posterLimit):
		return "posterised"
	case r.brightest() < 128:
		return "dark"
	case r.darkest() > 127 || r.flat():
		return "bright"
	case r.steps < r.of:
		return "banded"
	}
	return "ok"
}

// cost is how badly a word fits the ramp, 0 to 1.
func (r ramp) cost(word string) float64 {
	own := r.word()
	switch {
	case word == own:
		return 0
	case word == "ok" && own == "banded" && r.steps >= fineLimit:
		return 0.3 // who counts the steps?
	case word == "posterised" && own == "banded":
		return 0.4
	case (word == "banded" || word == "posterised") && r.tinted:
		if r.blocky() || r.coarse() {
			return 0.1 // a person who sees the tint says that first
		}
	case word == "banded" || word == "posterised":
		return unless(!r.flat() && (r.steps < r.of || r.blocky()))
	case word == "dark":
		return unless(r.brightest() < 200)
	case word == "bright":
		return unless(r.darkest() > 55)
	}
	return 1
}
