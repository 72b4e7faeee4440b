package predict

import (
	"slices"

	"example.org/walkback/netlist"
)

// Distinct lists one state of each class of states in which the board does the
// same, whatever has failed, because no rule can tell them apart: when all rules
// ask for power=run only, sleep and off are one class. The first state of the
// first class is the usual one.
func (m *Model) Distinct() []State { return m.distinct() }

func (m *Model) classes() (list []State) {
	seen := map[string]bool{}
	for st := range States(m.Board) {
		if key := m.told(st.Setting); !seen[key] {
			seen[key] = true
			list = append(list, st)
		}
	}
	return list
}

// Same returns the state of Distinct in which the board does the same as in st.
func (m *Model) Same(st State) State {
	key := m.told(st.Setting)
	for _, x := range m.Distinct() {
		if m.told(x.Setting) == key {
			return State{Setting: x.Setting, Unplugged: st.Unplugged}
		}
	}
	return st
}

// told is what the rules of a board see of a setting: the truth of every largest
// condition over states alone.
func (m *Model) told(set netlist.Setting) string {
	var key []byte
	note := func(v bool) {
		if v {
			key = append(key, '1')
		} else {
			key = append(key, '0')
		}
	}
	for i := range m.Board.Parts {
		for r := range m.Board.Parts[i].Rules {
			tellStates(m.Board.Parts[i].Rules[r].When, set, note)
		}
	}
	return string(key)
}

func tellStates(e *netlist.Expr, set netlist.Setting, note func(bool)) {
	if e == nil {
		return
	}
	if v, ok := stateTruth(e, set); ok {
		note(v)
		return
	}
	if e.Op != netlist.AndExpr && e.Op != netlist.OrExpr {
		for _, k := range e.Kids {
			tellStates(k, set, note)
		}
		return
	}
	// The terms over states of one chain count together.
	all, some, states := true, false, false
	for _, k := range e.Kids {
		v, ok := stateTruth(k, set)
		if !ok {
			continue
		}
		states, all, some = true, all && v, some || v
	}
	decided := false
	if states {
		v := all
		if e.Op == netlist.OrExpr {
			v = some
		}
		note(v)
		decided = v == (e.Op == netlist.OrExpr)
	}
	if decided {
		return // the other terms no longer count
	}
	for _, k := range e.Kids {
		if _, ok := stateTruth(k, set); !ok {
			tellStates(k, set, note)
		}
	}
}

// stateTruth is the truth of a condition that names states alone.
func stateTruth(e *netlist.Expr, set netlist.Setting) (truth, ok bool) {
	switch e.Op {
	case netlist.NeverExpr:
		return false, true
	case netlist.StateExpr:
		return set[e.State.State] == e.State.Value, true
	case netlist.NotExpr:
		v, ok := stateTruth(e.Kids[0], set)
		return !v, ok
	case netlist.AndExpr, netlist.OrExpr:
		truth = e.Op == netlist.AndExpr
		for _, k := range e.Kids {
			v, ok := stateTruth(k, set)
			if !ok {
				return false, false
			}
			if e.Op == netlist.AndExpr {
				truth = truth && v
			} else {
				truth = truth || v
			}
		}
		return truth, true
	}
	return false, false
}

// Every simulates single faults one after the other: for each it gives the runs
// in all Distinct states, the usual one first, and then the board with all power
// out. What is given is valid until the function returns; i is the fault's place
// in the list, -1 for the healthy board, which comes first.
func (m *Simulator) Every(list []Fault, hot func(i int, r *Run), cold func(i int, c *Cold)) {
	states := m.Distinct()
	r := &Run{s: m.work}
	for i := -1; i < len(list); i++ {
		var h Hypothesis
		if i >= 0 {
			h.Faults = list[i : i+1]
		}
		for k, st := range states {
			m.try(m.work, st, h)
			if k == 0 {
				// What blows in the usual state stays blown.
				h.Blown = slices.Clone(m.work.blown)
				m.work.blown = m.work.blown[:0]
			}
			r.State, r.Hypothesis = st, h
			if hot != nil {
				hot(i, r)
			}
		}
		if cold != nil {
			for _, unplug := range []bool{true, false} {
				cold(i, m.Cold(unplug, h))
			}
		}
	}
}
