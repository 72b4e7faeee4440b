package predict

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// signals finds what moves, and how far: each driver of a fast line is a source
// behind its own resistance; levels, supplies and ground stand still, capacitors
// and coils count with the size of their impedance at the rate of the signal.
// Phases are left out. Each island of nets is solved by itself; what lies outside
// it, such as the ground wires of a cable, stands still for it.
func (s *sim) signals() {
	for len(s.isles) > 0 {
		group := s.linked(s.isles[0])
		for _, i := range group {
			for _, n := range s.m.isles[i] {
				if s.ac[n] != 0 {
					s.ac[n] = 0
					s.changed(n)
				}
			}
		}
		if from := s.senders(group); len(from) > 0 {
			s.solveSignals(from, group)
		}
		for _, i := range group {
			s.acDue[i] = false
		}
		s.isles = slices.DeleteFunc(s.isles, func(i int32) bool { return !s.acDue[i] })
	}
	for i := range s.m.lanes {
		s.judge(i)
	}
}

// linked returns an island with those that branches of faults join to it.
func (s *sim) linked(first int32) []int32 {
	s.group = append(s.group[:0], first)
	group := s.group
	for again := true; again; {
		again = false
		for _, b := range s.bridged {
			x, y := s.Branches[b].A, s.Branches[b].B
			if x == 0 || y == 0 {
				continue
			}
			i, j := slices.Contains(group, s.m.isle[x]), slices.Contains(group, s.m.isle[y])
			switch {
			case i && !j:
				group, again = append(group, s.m.isle[y]), true
			case j && !i:
				group, again = append(group, s.m.isle[x]), true
			}
		}
	}
	s.group = group
	return group
}

// senders lists what is sent into a group of islands.
func (s *sim) senders(group []int32) []signal {
	from := s.from[:0]
	for _, list := range s.sending {
		for _, x := range list {
			if slices.Contains(group, s.m.isle[x.node]) {
				from = append(from, x)
			}
		}
	}
	s.from = from
	return from
}

func (s *sim) solveSignals(from []signal, group []int32) {
	sv := s.lab.solver
	rate := 0.0
	s.moving = s.moving[:0]
	for _, x := range from {
		s.moving = append(s.moving, circuit.Drive{Node: x.node, Volts: x.swing, Ohms: x.ohms, Loose: x.loose})
		rate = max(rate, x.rate)
	}
	sv.Changes(&s.Circuit, s.moving, func(b int32) float64 { return s.admits(b, rate) },
		func(n int32) bool { return slices.Contains(group, s.m.isle[n]) })
	for _, n := range sv.Region() {
		if v := sv.Moves(n); math.Abs(v) > 1e-9 {
			s.ac[n] = v
			s.changed(n)
		}
	}
}

// admits returns the conductance of a branch for changes, in S.
func (s *sim) admits(b int32, rate float64) float64 {
	g := 0.0
	if l := s.Law[b]; l != nil {
		if g = l.Slope(s.Across(b)); g <= 2*circuit.OffLeak {
			g = s.shifted(b)
		}
		if h := s.m.henries[b]; h != 0 && g > 0 {
			g = 1 / (1/g + 2*math.Pi*rate*h)
		}
	}
	if f := s.m.farads[b]; f != 0 && !slices.Contains(s.broken, b) {
		g += 2 * math.Pi * rate * f
	}
	return g
}

// shifted returns the conductance for changes of a pass that rests open and that each
// edge closes; 0 for any other.
func (s *sim) shifted(b int32) float64 {
	x := s.m.shifts[b]
	if x == nil || s.forced[b] || s.V[x.gate] < x.volts {
		return 0
	}
	return 1 / x.ohms
}

// judge decides whether a lane is alive at the panel: its conductors move against
// each other by enough, and rest so near to each other that they cross; with one
// held at ground the receiver sees one level for ever.
func (s *sim) judge(i int) {
	l := &s.m.lanes[i]
	x := math.Abs(s.ac[l.nodes[0]])
	least := pairLeast * l.swing
	if len(l.nodes) == 2 {
		x, least = math.Abs(s.ac[l.nodes[0]]-s.ac[l.nodes[1]]), 2*least
	}
	alive := x >= least
	if len(l.nodes) == 2 {
		alive = alive && math.Abs(s.V[l.nodes[0]]-s.V[l.nodes[1]]) <= (x-least)/2
	}
	if alive != s.lane[i] {
		s.lane[i] = alive
		s.tell(func(t netlist.Target) bool { return t.Lane == i })
	}
}
