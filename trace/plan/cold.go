package plan

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/probe"
)

// gate asks, before anything is powered, for the resistance from each high rail at a
// connector to its neighbours and to ground.
func (m *maker) gate() {
	for _, p := range m.x.Gate() {
		if m.short(p) {
			continue
		}
		s := m.list.Step(p)
		if p.Method == netlist.Ohms {
			s.Outcomes = m.shortOf(p.Net)
		} else {
			s.Outcomes = []checklist.Outcome{
				{Reading: "in range", Healthy: true, Means: "no bridge between these pins"},
				{Reading: "near zero", Means: "a bridge or corrosion between the pins: clean or repair; " + probe.NoPower},
			}
		}
		m.add(s, m.stepOf(p.Net))
	}
}

// stepOf returns the ID of the step of the walk at a net, or 0.
func (m *maker) stepOf(n netlist.NetID) int {
	for i := range m.w.Steps {
		if s := &m.w.Steps[i]; s.Net == n && s.Again == 0 {
			return s.ID
		}
	}
	return 0
}

// short reports whether a probe only shows again the load or the bridge that was read.
func (m *maker) short(p netlist.Probe) bool {
	return slices.ContainsFunc(m.w.Symptoms, func(o netlist.Observation) bool {
		return o.Cold != nil && o.Below && o.Cold.Part == netlist.None && o.Cold.Net == p.Net && o.Cold.Other == p.Other
	})
}

// cold asks for the resistance to ground of the nets on the walk that have a
// value for it, in walking order.
func (m *maker) cold() {
	seen := map[netlist.NetID]bool{}
	for i := range m.w.Steps {
		s := &m.w.Steps[i]
		if s.Net == netlist.None || s.Again != 0 || s.Proven || seen[s.Net] || m.b.Nets[s.Net].Cold.Value == 0 ||
			s.Parent != 0 && m.isAgainst(s.ID) {
			continue
		}
		n := &m.b.Nets[s.Net]
		if n.Like != netlist.None && seen[n.Like] { // the same rail behind a contact
			continue
		}
		seen[s.Net] = true
		p := netlist.ColdProbe(netlist.Ohms, s.Net, netlist.None)
		if m.x.Gates(p) || m.short(p) {
			continue
		}
		q := m.list.Step(p)
		q.AddWhy("a short must be found before power is put on")
		q.Outcomes = m.shortOf(s.Net)
		m.add(q, s.ID)
	}
}

// shortOf says what ohms from a net to ground mean.
func (m *maker) shortOf(n netlist.NetID) []checklist.Outcome {
	name := m.b.Nets[n].Name
	means := "a short, or below the band a leak, on " + name + ": one of " + strings.Join(m.on(n), ", ") +
		", or what hangs behind them; find and clear it: " + probe.NoPower
	return []checklist.Outcome{
		{Reading: "in range", Healthy: true, Means: "no short on " + name},
		{Reading: "near zero", Means: means},
		{Reading: "above range", Means: "a load or a divider on " + name + " is open, or the point is not joined to the net"},
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

// contacts asks, with all power out, for the resistance along the stretches
// that are not safe to probe under power.
func (m *maker) contacts() {
	done := map[netlist.NetID]bool{}
	for i := range m.w.Steps {
		s := &m.w.Steps[i]
		if s.Net == netlist.None || s.Again != 0 || s.Proven || done[s.Net] || !m.outOfReach(s) || m.isAgainst(s.ID) {
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
			if m.outOfReach(t) {
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
	p := netlist.ColdProbe(netlist.Across, near.Net, far.Net)
	p.State.Unplugged = false
	if _, ok := m.x.Place(p); !ok {
		return
	}
	s := m.list.Step(p)
	s.AddWhy("end to end, since its points are out of reach with power on")
	s.Outcomes = []checklist.Outcome{
		{Reading: "in range", Healthy: true, Means: "the contacts and conductors on the way are good"},
		{Reading: "above range", Means: "open or poor: suspect " + strings.Join(through, ", ")},
	}
	m.add(s, far.ID)
}

// acrossPart is the probe from end to end of a part.
func acrossPart(id netlist.PartID) netlist.Probe {
	p := netlist.ColdProbe(netlist.Across, netlist.None, netlist.None)
	p.Part = id
	return p
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
		q := m.list.Step(acrossPart(s.Part))
		q.AddWhy("in series with the power")
		if oneWay(p.Kind) {
			q.Outcomes = []checklist.Outcome{
				{Reading: "in range", Healthy: true, Means: p.Name + " is good"},
				{Reading: "near zero", Means: "shorted both ways: replace " + p.Name + ", and seek what killed it"},
				{Reading: "above range", Means: "open both ways: " + p.Name + " is open or lifted"},
			}
		} else {
			open := p.Name + " is open or lifted"
			if p.Kind.Victim {
				open += "; " + probe.Fuse
			}
			q.Outcomes = []checklist.Outcome{
				{Reading: "in range", Healthy: true, Means: p.Name + " conducts"}, {Reading: "above range", Means: open},
			}
		}
		m.add(q, s.ID)
	}
}

// isAgainst reports whether a step belongs to a symptom that no missing need
// explains. What brings its point is not in question.
func (m *maker) isAgainst(step int) bool {
	root := m.root(step)
	goal := m.w.Steps[root-1].Goal
	return slices.ContainsFunc(m.w.Against, func(a trace.Against) bool { return a.Root == goal })
}

// against asks for each suspect of such a symptom, with all power out.
func (m *maker) against() {
	seen := map[netlist.PartID]bool{}
	var swaps []checklist.Step // these need power, and come last
	for _, a := range m.w.Against {
		root := m.w.Graph.Goals[a.Root]
		for _, id := range a.Suspects {
			if seen[id] {
				continue
			}
			seen[id] = true
			q := m.suspect(id, root.Net)
			q.AddWhy("suspect for " + a.Name)
			if a.Kind == trace.Loaded && m.againstGood(id) {
				q.Outcomes[1].Means = fmt.Sprintf("at a pin on %s it may be another's short: lift %s and measure %s again; where that reads as "+
					"before, go on", a.Name, m.b.Parts[id].Name, a.Name)
				m.goOn[len(m.all)] = true
			}
			if q.Probe.Method == netlist.Look {
				swaps = append(swaps, q)
			} else {
				m.add(q, 0)
			}
		}
	}
	if m.w.PowerOff() {
		return
	}
	for _, q := range swaps {
		m.add(q, 0)
	}
}

// last is what to do with the board in hand where no step finds what was read.
func (m *maker) last() string {
	var points, names []string
	for _, a := range m.w.Against {
		if a.Kind != trace.Loaded && a.Kind != trace.Bridged {
			continue
		}
		points = append(points, a.Name)
		for _, id := range a.Suspects {
			if name := m.b.Parts[id].Name; !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if len(points) == 0 {
		return ""
	}
	way := probe.Separate
	if slices.ContainsFunc(names, m.plugged) {
		way = probe.Unplug + "; " + way
	}
	text := "Where no step finds it on " + strings.Join(points, ", ") + ": " + way + "."
	if len(names) > 0 {
		text += " Suspects: " + strings.Join(names, ", ") + "."
	}
	return text
}

// plugged reports whether a part goes when the panel is unplugged.
func (m *maker) plugged(name string) bool {
	id, _ := m.b.Part(name)
	return m.b.Parts[id].Kind.InPanel || m.b.Parts[id].Kind.Form == netlist.RowsForm
}

// againstGood reports whether a suspect is checked pin by pin against a board that
// works, where all that share a pin show the same.
func (m *maker) againstGood(id netlist.PartID) bool {
	k := m.b.Parts[id].Kind
	return !k.EitherWay && k.Form != netlist.RowsForm && !k.InPanel && (len(k.Passes) == 0 || k.Passes[0].Control == "")
}

// suspect makes the step by which a suspect is checked.
func (m *maker) suspect(id netlist.PartID, root netlist.NetID) checklist.Step {
	p := &m.b.Parts[id]
	probeOf := acrossPart(id)
	if p.Kind.Form == netlist.RowsForm {
		probeOf.State.Unplugged = false
	}
	if p.Kind.InPanel {
		probeOf.Method, probeOf.State = netlist.Look, netlist.Condition{Setting: m.w.Setting}
	}
	q := m.list.Step(probeOf)
	q.Target = p.Name
	good := checklist.Outcome{Reading: "in range", Healthy: true, Means: p.Name + " is not it"}
	bad := checklist.Outcome{Reading: "above range"}
	zero := checklist.Outcome{Reading: "near zero", Means: p.Name + " is shorted"}
	switch {
	case p.Kind.EitherWay:
		bad.Means = p.Name + " is open or has risen; " + probe.NoPower
		zero.Means = p.Name + " is bridged"
		q.Outcomes = []checklist.Outcome{good, bad, zero}
	case p.Kind.Form == netlist.RowsForm:
		var pins []string
		for _, c := range p.Conns {
			if m.onChain(c.Net, root) && c.Num != "" && !slices.Contains(pins, c.Num) {
				pins = append(pins, c.Num)
			}
		}
		q.Place.Name = p.Name + " pin " + strings.Join(pins, ", ")
		q.Leads = "one lead on each end of the contact; move the cable while you watch"
		q.Cautions = append(q.Cautions, probe.Cable)
		bad.Means = "open or poor: " + q.Place.Name
		q.Outcomes = []checklist.Outcome{good, bad}
	case len(p.Kind.Passes) > 0 && p.Kind.Passes[0].Control != "":
		q.Expect, q.High, q.Leads = "no short either way", 0, "between its switched ends, both ways"
		zero.Means += ": always on"
		q.Outcomes = []checklist.Outcome{good, zero}
	case p.Kind.InPanel:
		q.Place, q.Meter, q.Leads = probe.Place{}, "no meter", "a known-good panel, plugged with all power out, once all cold checks have passed"
		q.Cautions = append(q.Cautions, probe.Cable, probe.GoodPanel)
		q.Expect = "the symptom is gone"
		q.Outcomes = []checklist.Outcome{
			{Reading: "yes", Means: "suspect " + p.Name}, {Reading: "no", Healthy: true, Means: p.Name + " is not it"},
		}
	default:
		q.Place.Name = "the pins of " + p.Name
		q.Meter, q.Leads, q.Expect = "diode mode", "red on ground, black on each of its pins, against a board that works", "as on the good board"
		zero.Means += " at that pin"
		bad.Means = p.Name + " or its joint is open at that pin"
		q.Outcomes = []checklist.Outcome{good, zero, bad}
	}
	return q
}

// onChain reports whether a net is a point of a symptom or what carries it on.
func (m *maker) onChain(n, root netlist.NetID) bool {
	for n != netlist.None && root != netlist.None {
		if n == root {
			return true
		}
		n = m.b.Nets[n].Like
	}
	return false
}
