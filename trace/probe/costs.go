package probe

import (
	"fmt"
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

// ParseCosts reads a file of a shop: a line WORD TIME each, such as "powerup 90s" or
// "powerup 2 min", with # comments; what it does not name keeps its usual value.
func ParseCosts(name, text string) (Costs, []mistake.Mistake) {
	c := UsualCosts()
	set := map[string]int{} // a word to its line
	problems := netlist.ListLines(name, text, func(number int, line string) *mistake.Mistake {
		bare, _, _ := strings.Cut(line, "#")
		word, time, _ := strings.Cut(strings.TrimSpace(strings.ReplaceAll(bare, "\t", " ")), " ")
		time = strings.TrimSpace(time)
		if word == "" {
			return nil
		}
		m := c.set(word, time)
		if first := set[word]; m == nil && first > 0 {
			m = &mistake.Mistake{Text: word, Msg: fmt.Sprintf("%s is set already, in line %d", word, first), Want: "each cost once"}
		}
		if m == nil {
			set[word] = number
			return nil
		}
		return netlist.Point(*m, "costs", name, number, line)
	})
	return c, problems
}

// set sets one cost. What is wrong with it has the word in question for its text.
func (c *Costs) set(word, time string) *mistake.Mistake {
	var words []string
	for _, w := range costWords {
		words = append(words, w.name)
		if w.name != word {
			continue
		}
		if time == "" {
			return &mistake.Mistake{Text: word, Msg: "this is not a word and a time", Want: "as in: powerup 90s"}
		}
		v, err := seconds(time)
		switch {
		case err != nil:
			return &mistake.Mistake{Text: time, Msg: err.Error(), Want: "a time such as 90s, 2min or 1h"}
		case v < 0 || v > 1e6:
			return &mistake.Mistake{Text: time, Msg: "a cost is between 0 s and 1000000 s"}
		}
		*w.of(c) = v
		return nil
	}
	return &mistake.Mistake{Text: word, Msg: fmt.Sprintf("no cost is called %q", word), Want: "one of " + strings.Join(words, ", "),
		Near: mistake.Nearest(word, words)}
}

// seconds reads a time in s, min or h, also with a blank before the unit.
func seconds(text string) (float64, error) {
	number := strings.TrimRight(text, "abcdefghijklmnopqrstuvwxyz")
	unit := text[len(number):]
	number = strings.TrimRight(number, " ")
	each := map[string]float64{"": 1, "s": 1, "ms": 1e-3, "min": 60, "h": 3600}
	factor, ok := each[unit]
	switch {
	case unit == "m":
		return 0, fmt.Errorf("%q may be minutes or thousandths of a second: min or ms?", text)
	case !ok:
		_, err := netlist.ParseValue(text, netlist.Second)
		if err == nil {
			err = fmt.Errorf("%q is not a time", text)
		}
		return 0, err
	}
	v, err := netlist.ParseValue(number, netlist.Second)
	if err != nil {
		return 0, fmt.Errorf("%q is not a time", text)
	}
	return factor * v, nil
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
