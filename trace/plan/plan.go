package plan

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
)

// Method is how a probe is made.
type Method string

// The methods.
const (
	Look    Method = "look"           // no meter: see, or ask the operating system
	Ohms    Method = "ohms"           // resistance, all power out
	Volts   Method = "DC volts"       // against ground
	Bursts  Method = "scope or volts" // activity; a meter shows the mean
	Between Method = "ohms between"   // resistance between two pins, all power out
)

// Cold tells whether a method needs all power out.
func (m Method) Cold() bool { return m == Ohms || m == Between }

// Place is where the probe lands.
type Place struct {
	Name string // TP4, or the part and its pin
	Side string // top, bottom, panel, cable, or empty
	At   string // where to find it, or empty
}

// Probe is one step of a checklist.
type Probe struct {
	Number   int
	Method   Method
	Target   string        // the net or the fact
	Net      netlist.NetID // None for a fact
	Place    Place
	Meter    string // how to set the meter and where the leads go
	State    string // of the board
	Expect   string // what a healthy board shows
	Low      float64
	High     float64 // the band in V or Ω; both 0 when there is no number
	Role     string  // why the point matters: "supply of U9"
	Outcomes []Outcome
	Cautions []string

	step   int // ID of the step of the walk, 0 for a gate
	parent int // index of the probe whose point needs this one, or -1
}

// Outcome is what a reading means.
type Outcome struct {
	Reading string // "in range", "near zero", "at input level", "above range", "alive", "quiet", "yes", "no"
	Means   string
	Next    int // number of the next step, 0 when the search ends here
}

// Checklist is a plan for the bench.
type Checklist struct {
	Walk     *trace.Walk
	Order    string
	Cautions []string
	Probes   []Probe
	Skipped  []string // points that an observation has already shown to be right
}

// Orderer puts powered probes in order. It gets them in walking order and
// returns the order as indices; each index stands in it once.
type Orderer interface {
	Name() string
	Order(w *trace.Walk, probes []Probe) []int
}

// WalkOrder is the order of the walk, from the symptom to the source.
type WalkOrder struct{}

// Name returns "walk".
func (WalkOrder) Name() string { return "walk" }

// Order returns the probes as they came.
func (WalkOrder) Order(_ *trace.Walk, probes []Probe) []int {
	order := make([]int, len(probes))
	for i := range order {
		order[i] = i
	}
	return order
}

// Make writes the checklist of a walk. Cold checks come first, since a short
// must be found before power is put on it.
func Make(w *trace.Walk, o Orderer) *Checklist {
	m := &maker{w: w, b: w.Board, list: &Checklist{Walk: w, Order: o.Name()}, asked: map[int]bool{}, reach: map[int][]int{}, rails: map[*netlist.Part]bool{}}
	m.gate()
	m.cold()
	m.contacts()
	m.across()
	m.against()
	first := len(m.list.Probes)
	hot := m.powered()
	m.list.Probes = append(m.list.Probes, reorder(hot, o.Order(w, hot), first)...)
	for i := range m.list.Probes {
		m.list.Probes[i].Number = i + 1
	}
	m.outcomes(first)
	m.list.Cautions = generalCautions(m.list.Probes)
	return m.list
}

// reorder puts probes into an order and keeps their parents right. Offset is
// where the first of them will stand.
func reorder(probes []Probe, order []int, offset int) []Probe {
	at := make([]int, len(probes))
	for to, from := range order {
		at[from] = to
	}
	out := make([]Probe, len(probes))
	for to, from := range order {
		out[to] = probes[from]
		if p := out[to].parent; p >= 0 {
			out[to].parent = at[p] + offset
		}
	}
	return out
}

type maker struct {
	w     *trace.Walk
	b     *netlist.Board
	list  *Checklist
	asked map[int]bool           // steps of the walk that a powered probe asks for
	reach map[int][]int          // goals that a goal needs, by goal
	rails map[*netlist.Part]bool // connectors known to carry a high rail, or not
}

func (m *maker) loadNames(s *trace.Step) []string {
	var names []string
	for _, l := range s.Loads {
		if name := m.b.Parts[l.Part].Name; !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// powered makes the probes with the board on: each net of the walk, and each
// fact on the way, once.
func (m *maker) powered() []Probe {
	var list []Probe
	probeOf := map[int]int{} // step to probe
	state := "panel plugged"
	if len(m.w.Setting) > 0 {
		state = m.b.SettingText(m.w.Setting) + ", " + state
	}
	for i := range m.w.Steps {
		s := &m.w.Steps[i]
		parent := -1
		if s.Parent != 0 {
			if p, ok := probeOf[s.Parent]; ok {
				parent = p
			}
		}
		probeOf[s.ID] = parent
		if s.Kind != trace.NetStep && s.Kind != trace.FactStep || s.Again != 0 || s.Source {
			continue
		}
		if s.Proven {
			m.list.Skipped = append(m.list.Skipped, s.Name)
			continue
		}
		if m.unsafe(s) || m.isAgainst(s.ID) {
			continue
		}
		m.asked[s.ID] = true
		var p Probe
		if s.Kind == trace.NetStep {
			p = m.reading(s)
		} else {
			p = Probe{Method: Look, Place: Place{Name: "no probe"}, Meter: "no meter: " + lookHint, Expect: "yes"}
		}
		p.Target, p.Net, p.State, p.Role, p.step, p.parent = s.Name, s.Net, state, m.role(s), s.ID, parent
		probeOf[s.ID] = len(list)
		list = append(list, p)
	}
	return list
}

const lookHint = "look at the panel, ask the operating system, read its log"

// reading makes the probe of a net.
func (m *maker) reading(s *trace.Step) Probe {
	e, known := m.w.Expect(s.Net)
	place, _ := m.place(s)
	p := Probe{Place: place, Method: Volts, Meter: "DC volts, black lead on ground", Expect: "no value in the board file; should be " + s.At.String()}
	if known {
		p.Expect, p.Low, p.High = m.w.ExpectText(s.Net), e.Low(), e.High()
		p.Meter = fmt.Sprintf("DC volts, %g V range, black lead on ground", meterRange(m.highest(s.Net)))
	}
	switch {
	case m.sinks(s):
		// With a string open or LEDs shorted it can stand at many volts.
		p.Meter = "DC volts, 60 V range, black lead on ground"
	case known && s.At == netlist.Low:
		p.Cautions = append(p.Cautions, cautionLow)
	}
	switch {
	case s.At == netlist.Toggling:
		p.Method = Bursts
		p.Meter = "scope, 10:1 probe; a meter on DC volts shows only the mean"
		switch {
		case e.Rate >= tooFast || e.Rate == 0 && e.Swing > 0 && e.Swing < pairSwing:
			p.Meter = "DC volts through 1 kΩ at the tip: compare the two legs and the other pairs; a missing leg shows, a frozen pair does not"
			p.Cautions = append(p.Cautions, cautionFast)
		case e.Rate == 0 || e.Rate >= bursts:
			p.Cautions = append(p.Cautions, cautionBurst)
		}
	case known && e.Swing != 0 && e.Rate >= switchNode:
		// The mean of a switch node is its input, whether it switches or not.
		p.Method = Bursts
		p.Meter = "scope, 10:1 probe; a meter on DC volts shows the mean, which is there without switching too"
		p.Cautions = append(p.Cautions, cautionSwitch)
	}
	if known && e.Value >= highRail {
		p.Cautions = append(p.Cautions, fmt.Sprintf("%s stands at %s", m.b.Nets[s.Net].Name, netlist.FormatValue(e.Value, netlist.Volt))+m.neighbours(s.Net))
	}
	return p
}

// switchNode is the rate in Hz above which a swing on a power net is that of a
// converter. Common practice: converters of panels run at 300 kHz and more.
const switchNode = 100e3

// Rates in Hz. A line between them is alive for a moment only, while something
// is read over it; one above them is too fast for a plain scope. Common practice,
// no source.
const (
	bursts  = 10e3
	tooFast = 20e6
)

// pairSwing is the swing in V under which a line without a rate is a leg of a
// fast pair: 247 to 454 mV in TIA/EIA-644-A, from memory.
const pairSwing = 1.0

// highest returns the highest voltage that a net has in any state, so that a
// meter is not set too low for a fault.
func (m *maker) highest(n netlist.NetID) float64 {
	v := 0.0
	for _, e := range m.b.Nets[n].Expect {
		v = max(v, e.Value)
	}
	return v
}

// meterRange returns the range of a common 6000-count meter in V.
func meterRange(v float64) float64 {
	for _, r := range []float64{6, 60, 600} {
		if v < r*0.95 {
			return r
		}
	}
	return 1000
}

// neighbours names the pins beside a high rail at connectors.
func (m *maker) neighbours(n netlist.NetID) string {
	var names []string
	for _, t := range m.b.Taps(n) {
		p := &m.b.Parts[t.Part]
		if !p.Kind.Plugs {
			continue
		}
		pins := rowPins(p)
		for k, x := range pins {
			if x.net != n {
				continue
			}
			for _, j := range []int{k - 1, k + 1} {
				if j >= 0 && j < len(pins) && pins[j].net != n {
					name := fmt.Sprintf("%s at %s pin %s", m.b.Nets[pins[j].net].Name, p.Name, pins[j].num)
					if !slices.Contains(names, name) {
						names = append(names, name)
					}
				}
			}
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "; its neighbours are " + strings.Join(names, " and ") + ": one slip destroys what they lead to, so do not probe the connector"
}

// role says what the point is for: "supply of U9".
func (m *maker) role(s *trace.Step) string {
	if s.Parent == 0 {
		return "the symptom"
	}
	owner := &m.w.Steps[s.Parent-1]
	for owner.Kind == trace.ChoiceStep && owner.Parent != 0 {
		owner = &m.w.Steps[owner.Parent-1]
	}
	word := s.Reason.String()
	if s.Reason == netlist.Series || word == "" {
		word = "input"
	}
	// The reason of a branch is that of its first step; further on it is the
	// level that the part before it carries.
	return word + " of " + owner.Name
}
