// Package plan fills a checklist by a walk: it asks for every point between the symptom
// and its sources, says why it matters, and what a reading leaves as suspects.
//
//	list := plan.Make(walk, bench, probe.UsualCosts())
//
// It needs no simulation of faults. Cold checks come before powered ones, since a short
// must be found before power is put on it; where one was read, they are all.
package plan

import (
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/probe"
)

// entry is a step of the list with its place in the walk.
type entry struct {
	checklist.Step
	step   int // ID of the step of the walk, 0 for a check before it
	parent int // index of the entry whose point needs this one, or -1
}

type maker struct {
	w     *trace.Walk
	b     *netlist.Board
	x     *probe.Bench
	list  *checklist.List
	all   []entry
	goOn  map[int]bool  // cold entries whose "near zero" does not end the search
	asked map[int]bool  // steps of the walk that a powered probe asks for
	reach map[int][]int // goals that a goal needs, by goal
}

// Make fills the checklist of a walk.
func Make(w *trace.Walk, x *probe.Bench, costs probe.Costs) *checklist.List {
	m := newMaker(w, x)
	last := netlist.Probe{Method: netlist.Look, State: netlist.Condition{Setting: w.Board.Usual()}}
	for i := range m.all {
		s := m.all[i].Step
		s.Seconds, s.Change = costs.Probe(x, s.Probe), costs.Change(w.Board, last, s.Probe)
		last = s.Probe
		m.list.Steps = append(m.list.Steps, s)
	}
	return m.list
}

func newMaker(w *trace.Walk, x *probe.Bench) *maker {
	m := &maker{w: w, b: w.Board, x: x, list: checklist.New(w, x), goOn: map[int]bool{}, asked: map[int]bool{}, reach: map[int][]int{}}
	m.list.Order, m.list.Note = checklist.Walk, "cold checks first"
	m.gate()
	m.cold()
	m.contacts()
	m.across()
	m.against()
	first := len(m.all)
	if w.PowerOff() {
		m.list.Note, m.list.Last = "cold checks alone, since no power may come before what was read cold is found", m.last()
	} else {
		m.powered()
	}
	for i := range m.all {
		m.all[i].Number = i + 1
	}
	m.outcomes(first)
	return m
}

// add appends a cold check that belongs to a step of the walk.
func (m *maker) add(s checklist.Step, step int) { m.all = append(m.all, entry{s, step, -1}) }

func (m *maker) loadNames(s *trace.Step) []string {
	var names []string
	for _, l := range s.Loads {
		if name := m.b.Parts[l.Part].Name; !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// powered asks, with the board on, for each net of the walk and each fact on the way,
// once.
func (m *maker) powered() {
	probeOf := map[int]int{} // step to entry
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
		if m.outOfReach(s) || m.isAgainst(s.ID) {
			continue
		}
		m.asked[s.ID] = true
		probeOf[s.ID] = len(m.all)
		m.all = append(m.all, entry{m.list.Step(m.hot(s)), s.ID, parent})
	}
}

// hot is the probe of a point with power on.
func (m *maker) hot(s *trace.Step) netlist.Probe {
	p := netlist.Probe{Net: s.Net, Other: netlist.None, Part: netlist.None, Fact: netlist.None, State: netlist.Condition{Setting: m.w.Setting}}
	switch {
	case s.Kind == trace.FactStep:
		p.Method, p.Fact = netlist.Look, m.w.Graph.Goals[s.Goal].Index
	case s.At == netlist.Toggling, m.x.Switches(s.Net):
		p.Method = netlist.Activity
	default:
		p.Method = netlist.Volts
	}
	return p
}

// outOfReach reports whether no probe can land on a point with power on.
func (m *maker) outOfReach(s *trace.Step) bool {
	return s.Kind == trace.NetStep && !m.x.Asks(m.hot(s))
}
