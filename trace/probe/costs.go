package probe

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// Costs are what probes and changes of the board cost, in s. Risk is counted as
// the time that a slip would cost, times its chance.
type Costs struct {
	Look, Volts, Activity, Ohms, Diode, Across float64 // a probe
	Contact                                    float64 // more, for a point without a test point
	HighRail                                   float64 // more, beside a voltage that destroys what it touches
	PowerUp, PowerDown                         float64 // from all power out to running, and back to discharged
	Plug                                       float64 // the panel, with all power out
	State                                      float64 // from one state of the running board to another
}

// costWords is the table of what can be set, with its meaning. Sizes are common
// practice, no source.
var costWords = []struct {
	name, doc string
	of        func(*Costs) *float64
	usual     float64
}{
	{"look", "look, or ask the operating system", func(c *Costs) *float64 { return &c.Look }, 10},
	{"volts", "DC volts at a point", func(c *Costs) *float64 { return &c.Volts }, 20},
	{"activity", "a scope at a point", func(c *Costs) *float64 { return &c.Activity }, 60},
	{"ohms", "ohms to ground", func(c *Costs) *float64 { return &c.Ohms }, 25},
	{"diode", "diode mode at a point", func(c *Costs) *float64 { return &c.Diode }, 25},
	{"across", "ohms across a part or between two points", func(c *Costs) *float64 { return &c.Across }, 30},
	{"pad", "more, where there is no test point", func(c *Costs) *float64 { return &c.Contact }, 10},
	{"highrail", "more, where a slip destroys what is beside the point", func(c *Costs) *float64 { return &c.HighRail }, 20},
	{"powerup", "put power on and wait until the board runs", func(c *Costs) *float64 { return &c.PowerUp }, 120},
	{"powerdown", "take all power and the battery out, discharge", func(c *Costs) *float64 { return &c.PowerDown }, 60},
	{"plug", "plug or unplug the panel, with all power out", func(c *Costs) *float64 { return &c.Plug }, 40},
	{"state", "bring the running board into another state", func(c *Costs) *float64 { return &c.State }, 20},
}

// UsualCosts returns the costs that count unless a shop sets its own.
func UsualCosts() Costs {
	var c Costs
	for _, w := range costWords {
		*w.of(&c) = w.usual
	}
	return c
}

// CostTable lists what can be set: word, seconds and meaning.
func CostTable() [][3]string {
	var list [][3]string
	for _, w := range costWords {
		list = append(list, [3]string{w.name, fmt.Sprintf("%gs", w.usual), w.doc})
	}
	return list
}

// ParseCosts reads a file of a shop: a line WORD TIME each, such as "powerup 90s",
// with # comments; what it does not name keeps its usual value.
func ParseCosts(name, text string) (Costs, []mistake.Mistake) {
	c := UsualCosts()
	var problems []mistake.Mistake
	var words []string
	for _, w := range costWords {
		words = append(words, w.name)
	}
	for i, line := range strings.Split(text, "\n") {
		bare, _, _ := strings.Cut(line, "#")
		fields := strings.Fields(bare)
		fail := func(at, msg, want, near string) {
			column := max(strings.Index(line, at), 0)
			problems = append(problems, mistake.Mistake{
				File: name, Line: i + 1, Column: len([]rune(line[:column])) + 1, Width: max(len([]rune(at)), 1),
				Text: line, Code: "costs", Msg: msg, Want: want, Near: near,
			})
		}
		switch {
		case len(fields) == 0:
			continue
		case len(fields) != 2:
			fail(fields[0], "this is not a word and a time", "as in: powerup 90s", "")
			continue
		}
		k := slices.Index(words, fields[0])
		if k < 0 {
			fail(fields[0], fmt.Sprintf("no cost is called %q", fields[0]), "one of "+strings.Join(words, ", "),
				mistake.Nearest(fields[0], words))
			continue
		}
		v, err := netlist.ParseValue(fields[1], netlist.Second)
		switch {
		case err != nil:
			fail(fields[1], err.Error(), "a time such as 90s", "")
		case v < 0 || v > 1e6:
			fail(fields[1], "a cost is between 0 s and 1000000 s", "", "")
		default:
			*costWords[k].of(&c) = v
		}
	}
	return c, problems
}

// Handling is what it takes in s to find a place and to write down what the meter
// showed. It is the same for every probe, and is counted where probes are weighed by
// what they tell for their time. Common practice, no source.
const Handling = 40.0

// Probe is what a probe itself takes, in s.
func (c *Costs) Probe(x *Bench, p netlist.Probe) float64 {
	s := map[netlist.Method]float64{
		netlist.Look: c.Look, netlist.Volts: c.Volts, netlist.Activity: c.Activity,
		netlist.Ohms: c.Ohms, netlist.Diode: c.Diode, netlist.Across: c.Across,
	}[p.Method]
	if p.Method == netlist.Look || p.Net == netlist.None {
		return s
	}
	for _, n := range []netlist.NetID{p.Net, p.Other} {
		if n == netlist.None {
			continue
		}
		if !x.pointed(n) {
			s += c.Contact
		}
	}
	if !p.Cold() && x.slip(p) != "" {
		s += c.HighRail
	}
	return s
}

// pointed reports whether a net has a test point.
func (x *Bench) pointed(n netlist.NetID) bool {
	for range x.b.Points(n) {
		return true
	}
	return false
}

// Change is what it takes to bring the board from the state of one probe into that
// of another, in s. Power goes on with the panel plugged, into the usual state.
func (c *Costs) Change(b *netlist.Board, from, to netlist.Probe) float64 {
	s := 0.0
	if from.State.Unplugged != to.State.Unplugged {
		s += c.Plug
	}
	switch {
	case from.Cold() && to.Cold():
	case to.Cold():
		s += c.PowerDown
	case from.Cold():
		s += c.PowerUp + c.State*float64(b.Usual().Distance(to.State.Setting))
	default:
		s += c.State * float64(from.State.Setting.Distance(to.State.Setting))
	}
	return s
}
