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
	m := &maker{w: w, b: w.Board, list: &Checklist{Walk: w, Order: o.Name()}, asked: map[int]bool{}, reach: map[int][]int{}}
	m.gate()
	m.cold()
	m.contacts()
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
	asked map[int]bool  // steps of the walk that a powered probe asks for
	reach map[int][]int // goals that a goal needs, by goal
}

// neighbourOhms is the least resistance in Ω between a backlight pin and its
// neighbour on a board without leakage. Common practice, no source.
const neighbourOhms = 100e3

// highRail is the voltage in V above which a pin destroys its neighbours: no
// logic input stands it. Common practice, no source.
const highRail = 10.0

// gate asks for the resistance between each backlight pin of a connector and
// its neighbours, before anything is powered. A pin beyond an empty place counts
// as a neighbour too.
func (m *maker) gate() {
	for i := range m.b.Parts {
		p := &m.b.Parts[i]
		if !p.Kind.Plugs {
			continue
		}
		pins := rowPins(p)
		for k := 0; k+1 < len(pins); k++ {
			a, z := pins[k], pins[k+1]
			if z.number-a.number > 2 || a.net == z.net || !m.high(a.net) && !m.high(z.net) {
				continue
			}
			if m.high(a.net) && m.high(z.net) || m.b.Nets[a.net].Ground || m.b.Nets[z.net].Ground {
				continue
			}
			rail, other := a, z
			if m.high(z.net) {
				rail, other = z, a
			}
			m.list.Probes = append(m.list.Probes, Probe{
				Method: Between, Target: m.b.Nets[rail.net].Name + " to " + m.b.Nets[other.net].Name,
				Place: Place{Name: fmt.Sprintf("%s pin %s to pin %s", p.Name, rail.num, other.num), Side: side(p), At: at(p)},
				Meter: "ohms, highest range, one lead on each pin; then the leads exchanged", State: coldState,
				Expect: "above " + netlist.FormatValue(neighbourOhms, netlist.Ohm) + " both ways", Low: neighbourOhms, Role: "neighbour of the backlight rail",
				Outcomes: []Outcome{
					{Reading: "in range", Means: "no bridge between these pins"},
					{Reading: "near zero", Means: "a bridge or corrosion between the pins: clean or repair, and do not power the board before this reads right"},
				},
				Cautions: []string{cautionCold, cautionCable}, parent: -1,
			})
		}
	}
}

type rowPin struct {
	number int
	num    string
	net    netlist.NetID
}

// rowPins returns the board-side pins of a connector by number.
func rowPins(p *netlist.Part) []rowPin {
	var pins []rowPin
	for _, c := range p.Conns {
		if n, ok := pinNumber(c); ok && c.Pin == 0 {
			pins = append(pins, rowPin{n, c.Num, c.Net})
		}
	}
	slices.SortFunc(pins, func(a, b rowPin) int { return a.number - b.number })
	return pins
}

func (m *maker) high(n netlist.NetID) bool {
	return slices.ContainsFunc(m.b.Nets[n].Expect, func(e netlist.Expect) bool { return e.Value >= highRail })
}

// cold asks for the resistance to ground of the nets on the walk that have a
// value for it, in walking order.
func (m *maker) cold() {
	seen := map[netlist.NetID]bool{}
	for i := range m.w.Steps {
		s := &m.w.Steps[i]
		if s.Net == netlist.None || s.Again != 0 || s.Proven || seen[s.Net] || m.b.Nets[s.Net].Cold.Value == 0 {
			continue
		}
		n := &m.b.Nets[s.Net]
		if n.Like != netlist.None && seen[n.Like] {
			continue
		}
		seen[s.Net] = true
		expect := netlist.FormatValue(n.Cold.Value, netlist.Ohm) + " ±" + netlist.FormatValue(n.Cold.Tol, netlist.Percent)
		if n.Diode.Value != 0 {
			expect += fmt.Sprintf("; diode mode %s ±%s, red lead on ground", netlist.FormatValue(n.Diode.Value, netlist.Volt), netlist.FormatValue(n.Diode.Tol, netlist.Percent))
		}
		loads := m.loadNames(s)
		place, _ := m.place(s)
		means := "a short or a leak on " + n.Name
		if len(loads) > 0 {
			means += ", in one of " + strings.Join(loads, ", ") + ", or in a part that the path goes through"
		}
		m.list.Probes = append(m.list.Probes, Probe{
			Method: Ohms, Target: n.Name, Place: place, Meter: "ohms, black lead on ground, red on the point; wait until it settles", State: coldState,
			Expect: expect, Low: n.Cold.Low(), High: n.Cold.High(), Role: m.role(s), step: s.ID, parent: -1,
			Outcomes: []Outcome{
				{Reading: "in range", Means: "no short on " + n.Name},
				{Reading: "near zero", Means: means + ": find and clear it before power is put on; unplug the panel first to halve the suspects"},
				{Reading: "above range", Means: "a load or a divider on " + n.Name + " is open, or the point is not joined to the net"},
			},
			Cautions: []string{cautionCold},
		})
	}
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
		if m.unsafe(s) {
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
	e, known := m.b.ExpectIn(s.Net, m.w.Setting)
	place, _ := m.place(s)
	p := Probe{Place: place, Method: Volts, Meter: "DC volts, black lead on ground", Expect: "no value in the board file; should be " + s.At.String()}
	if known {
		p.Expect, p.Low, p.High = trace.ExpectText(e), e.Low(), e.High()
		p.Meter = fmt.Sprintf("DC volts, %g V range, black lead on ground", meterRange(e.Value))
	}
	switch {
	case s.At == netlist.Toggling:
		p.Method = Bursts
		p.Meter = "scope, 10:1 probe; a meter on DC volts shows only the mean"
		if e.Rate == 0 || e.Rate >= switchNode {
			p.Cautions = append(p.Cautions, cautionFast)
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

// contactOhms is the most that a good row of contacts and conductors reads in
// Ω, meter leads included. Common practice, no source.
const contactOhms = 1.0

// contacts asks, with all power out, for the resistance along the stretches
// that are not safe to probe under power.
func (m *maker) contacts() {
	done := map[netlist.NetID]bool{}
	for i := range m.w.Steps {
		s := &m.w.Steps[i]
		if s.Net == netlist.None || s.Again != 0 || s.Proven || done[s.Net] || !m.unsafe(s) {
			continue
		}
		done[s.Net] = true
		var through []string
		for k := i + 1; k < len(m.w.Steps) && m.w.Steps[k].Depth >= s.Depth; k++ {
			t := &m.w.Steps[k]
			if t.Part != netlist.None {
				through = append(through, partAndPin(t))
				continue
			}
			if t.Net == netlist.None {
				continue
			}
			if m.unsafe(t) {
				done[t.Net] = true
				continue
			}
			m.contact(s, t, through)
			break
		}
	}
}

func partAndPin(s *trace.Step) string {
	if s.To.Label == "" {
		return s.Name
	}
	return s.Name + " " + s.To.Label
}

func (m *maker) contact(far, near *trace.Step, through []string) {
	a, _ := m.place(near)
	z, _ := m.place(far)
	m.list.Probes = append(m.list.Probes, Probe{
		Method: Between, Target: near.Name + " to " + far.Name, Place: Place{a.Name + " to " + z.Name, a.Side, a.At},
		Meter: "ohms, lowest range, one lead on each; move the cable while you watch", State: coldState,
		Expect: "below " + netlist.FormatValue(contactOhms, netlist.Ohm) + ", steady", High: contactOhms, Role: m.role(far), step: far.ID, parent: -1,
		Outcomes: []Outcome{
			{Reading: "in range", Means: "the contacts and conductors on the way are good"},
			{Reading: "above range", Means: "open or poor: suspect " + strings.Join(through, ", ")},
		},
		Cautions: []string{cautionCold, cautionCable},
	})
}

// role says what the point is for: "supply of U9".
func (m *maker) role(s *trace.Step) string {
	if s.Parent == 0 {
		return "the symptom"
	}
	owner := &m.w.Steps[s.Parent-1]
	word := s.Reason.String()
	if s.Reason == netlist.Series || word == "" {
		word = "input"
	}
	// The reason of a branch is that of its first step; further on it is the
	// level that the part before it carries.
	return word + " of " + owner.Name
}
