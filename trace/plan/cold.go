package plan

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
)

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
			least := m.apart(rail.net, other.net)
			m.list.Probes = append(m.list.Probes, Probe{
				Method: Between, Target: m.b.Nets[rail.net].Name + " to " + m.b.Nets[other.net].Name,
				Place: Place{Name: fmt.Sprintf("%s pin %s to pin %s", p.Name, rail.num, other.num), Side: side(p), At: at(p)},
				Meter: "ohms, highest range, one lead on each pin; then the leads exchanged", State: coldState,
				Expect: "above " + netlist.FormatValue(least, netlist.Ohm) + " both ways", Low: least, Role: "neighbour of the backlight rail",
				Outcomes: []Outcome{
					{Reading: "in range", Means: "no bridge between these pins"},
					{Reading: "near zero", Means: "a bridge or corrosion between the pins: clean or repair, and do not power the board before this reads right"},
				},
				Cautions: []string{cautionCold, cautionCable}, parent: -1,
			})
		}
	}
}

// apart returns the least resistance in Ω to expect between two nets. Through
// ground they are joined by what each has to ground, so where that is declared,
// half of their sum is still a healthy board.
func (m *maker) apart(a, z netlist.NetID) float64 {
	sum := m.b.Nets[a].Cold.Value + m.b.Nets[z].Cold.Value
	if sum == 0 {
		return neighbourOhms
	}
	return min(neighbourOhms, sum/2)
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
		if s.Net == netlist.None || s.Again != 0 || s.Proven || seen[s.Net] || m.b.Nets[s.Net].Cold.Value == 0 || s.Parent != 0 && m.isAgainst(s.ID) {
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
		place, _ := m.place(s)
		means := "a short, or below the band a leak, on " + n.Name + ": one of " + strings.Join(m.on(s.Net), ", ") + ", or what hangs behind them"
		m.list.Probes = append(m.list.Probes, Probe{
			Method: Ohms, Target: n.Name, Place: place, Meter: "ohms, black lead on ground, red on the point; wait until it settles", State: coldState,
			Expect: expect, Low: n.Cold.Low(), High: n.Cold.High(), Role: m.role(s), step: s.ID, parent: -1,
			Outcomes: []Outcome{
				{Reading: "in range", Means: "no short on " + n.Name},
				{Reading: "near zero", Means: means + ". Find and clear it before power is put on; when the panel is plugged, unplug it first"},
				{Reading: "above range", Means: "a load or a divider on " + n.Name + " is open, or the point is not joined to the net"},
			},
			Cautions: []string{cautionCold},
		})
	}
}

// on names the parts on a net.
func (m *maker) on(n netlist.NetID) []string {
	var names []string
	for _, t := range m.b.Taps(n) {
		if p := &m.b.Parts[t.Part]; p.Kind.Form != netlist.SingleForm && !slices.Contains(names, p.Name) {
			names = append(names, p.Name)
		}
	}
	return names
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
		if s.Net == netlist.None || s.Again != 0 || s.Proven || done[s.Net] || !m.unsafe(s) || m.isAgainst(s.ID) {
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
		Meter: "ohms, lowest range, one lead on each; move the cable while you watch", State: contactState,
		Expect: "below " + netlist.FormatValue(contactOhms, netlist.Ohm) + ", steady", High: contactOhms, Role: m.role(far), step: far.ID, parent: -1,
		Outcomes: []Outcome{
			{Reading: "in range", Means: "the contacts and conductors on the way are good"},
			{Reading: "above range", Means: "open or poor: suspect " + strings.Join(through, ", ")},
		},
		Cautions: []string{cautionCold, cautionCable},
	})
}

// across asks for the resistance across the series parts of the power path, or
// for diode mode where a part conducts one way only.
func (m *maker) across() {
	seen := map[netlist.PartID]bool{}
	for i := range m.w.Steps {
		s := &m.w.Steps[i]
		if s.Part == netlist.None || s.Proven || s.At != netlist.High || s.From.Net == netlist.None || seen[s.Part] || m.isAgainst(s.ID) {
			continue
		}
		p := &m.b.Parts[s.Part]
		power := p.Kind.Bears == netlist.BearsAll || p.Kind.Bears == netlist.BearsSteady || oneWay(p.Kind)
		if p.Kind.Form != netlist.ArrowForm || !power {
			continue
		}
		seen[s.Part] = true
		q := Probe{
			Method: Between, Target: "across " + p.Name, Place: Place{"the two ends of " + p.Name, side(p), at(p)}, State: coldState,
			Role: p.Kind.Name + " between " + m.b.Nets[s.From.Net].Name + " and " + m.b.Nets[s.To.Net].Name, step: s.ID, parent: -1,
			Cautions: []string{cautionCold},
		}
		if oneWay(p.Kind) {
			q.Meter, q.Expect = "diode mode, red on "+m.b.Nets[s.From.Net].Name+"; then the leads exchanged", "a forward drop one way, far more or open the other way"
			q.Outcomes = []Outcome{
				{Reading: "in range", Means: p.Name + " is good"},
				{Reading: "near zero", Means: "shorted both ways: replace " + p.Name + ", and seek what killed it"},
				{Reading: "above range", Means: "open both ways: " + p.Name + " is open or lifted"},
			}
		} else {
			ohms := contactOhms + 2*p.Ohms(&p.Kind.Passes[0])
			q.Meter, q.Expect, q.High = "ohms, lowest range, one lead on each end", "below "+netlist.FormatValue(ohms, netlist.Ohm), ohms
			open := p.Name + " is open or lifted"
			if p.Kind.Victim {
				open += ". " + cautionFuse
			}
			q.Outcomes = []Outcome{{Reading: "in range", Means: p.Name + " conducts"}, {Reading: "above range", Means: open}}
		}
		m.list.Probes = append(m.list.Probes, q)
	}
}

// isAgainst tells whether a step belongs to a symptom that no missing need
// explains. What brings its point is not in question.
func (m *maker) isAgainst(step int) bool {
	root := m.root(step)
	goal := m.w.Steps[root-1].Goal
	return slices.ContainsFunc(m.w.Against, func(a trace.Against) bool { return a.Root == goal })
}

// against asks for each suspect of such a symptom, with all power out.
func (m *maker) against() {
	seen := map[netlist.PartID]bool{}
	var swaps []Probe // these need power, and come last
	for _, a := range m.w.Against {
		root := m.w.Graph.Goals[a.Root]
		for _, id := range a.Suspects {
			if seen[id] {
				continue
			}
			seen[id] = true
			p := &m.b.Parts[id]
			q := Probe{
				Method: Between, Target: "suspect " + p.Name, Place: Place{p.Name, side(p), at(p)}, State: coldState, Net: netlist.None,
				Role: p.Kind.Name + ", for " + a.Name, parent: -1, Cautions: []string{cautionCold},
			}
			m.suspectProbe(&q, p, root.Net)
			if q.Method == Look {
				swaps = append(swaps, q)
			} else {
				m.list.Probes = append(m.list.Probes, q)
			}
		}
	}
	m.list.Probes = append(m.list.Probes, swaps...)
}

// suspectProbe fills in how a suspect is checked cold.
func (m *maker) suspectProbe(q *Probe, p *netlist.Part, root netlist.NetID) {
	good, bad := Outcome{Reading: "in range", Means: p.Name + " is not it"}, Outcome{Reading: "above range"}
	switch {
	case p.Kind.EitherWay:
		r := p.Ohms(&p.Kind.Passes[0])
		q.Place.Name = "the two ends of " + p.Name
		q.Meter, q.Expect, q.High = "ohms, one lead on each end", "at most "+netlist.FormatValue(r, netlist.Ohm)+"; less through other paths", 1.1*r
		bad.Means = p.Name + " is open or has risen: do not power the board before it is replaced"
		q.Outcomes = []Outcome{good, bad, {Reading: "near zero", Means: p.Name + " is bridged"}}
	case p.Kind.Form == netlist.RowsForm:
		var pins []string
		for _, c := range p.Conns {
			if m.onChain(c.Net, root) && c.Num != "" && !slices.Contains(pins, c.Num) {
				pins = append(pins, c.Num)
			}
		}
		q.State = contactState
		q.Place.Name = p.Name + " pin " + strings.Join(pins, ", ")
		q.Meter, q.Expect, q.High = "ohms, lowest range, one lead on each end of the contact; move the cable while you watch", "below "+netlist.FormatValue(contactOhms, netlist.Ohm)+", steady", contactOhms
		bad.Means = "open or poor: " + q.Place.Name
		q.Outcomes = []Outcome{good, bad}
	case len(p.Kind.Passes) > 0 && p.Kind.Passes[0].Control != "":
		q.Meter, q.Expect = "ohms between its switched ends, both ways", "no short either way"
		q.Outcomes = []Outcome{good, {Reading: "near zero", Means: p.Name + " is shorted: always on"}}
	case p.Kind.InPanel:
		q.State = m.b.SettingText(m.w.Setting) + ", known-good panel plugged with all power out before"
		q.Cautions = []string{cautionCable}
		q.Method, q.Place.Name, q.Meter, q.Expect = Look, "no probe", "no meter: a known-good panel, once all cold checks have passed", "the symptom is gone"
		q.Outcomes = []Outcome{{Reading: "yes", Means: "suspect " + p.Name}, {Reading: "no", Means: p.Name + " is not it"}}
	default:
		q.Meter, q.Expect = "diode mode at its pins, against a board that works", "as on the good board"
		q.Outcomes = []Outcome{good, {Reading: "near zero", Means: p.Name + " is shorted at that pin"}, {Reading: "above range", Means: p.Name + " or its joint is open at that pin"}}
	}
}

// onChain tells whether a net is a point of a symptom or what carries it on.
func (m *maker) onChain(n, root netlist.NetID) bool {
	for n != netlist.None && root != netlist.None {
		if n == root {
			return true
		}
		n = m.b.Nets[n].Like
	}
	return false
}
