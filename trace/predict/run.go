package predict

import (
	"iter"
	"math"
	"slices"

	"example.org/walkback/netlist"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"
)

func stateKey(st State) string {
	k := make([]byte, 0, 16)
	if st.Unplugged {
		k = append(k, 'u')
	}
	for _, v := range st.Setting {
		k = append(k, byte(v), byte(v>>8))
	}
	return string(k)
}

// States yields every setting of a board with the panel plugged, the usual one
// first, the last state changing slowest.
func States(b *netlist.Board) iter.Seq[State] {
	return func(yield func(State) bool) {
		set := b.Usual()
		for {
			if !yield(State{Setting: slices.Clone(set)}) {
				return
			}
			k := 0
			for ; k < len(set); k++ {
				if set[k]++; set[k] < len(b.States[k].Values) {
					break
				}
				set[k] = 0
			}
			if k == len(set) {
				return
			}
		}
	}
}

// Hypothesis is a set of faults with what they led to: fuses that the current
// opened while the board ran in its usual state. A blown fuse stays blown, so
// each reading in another state, and each with the power out, has it too.
type Hypothesis struct {
	Faults []Fault
	Blown  []Blown
}

// Suppose finds the consequences of faults.
func (m *Simulator) Suppose(faults ...Fault) Hypothesis {
	h := Hypothesis{Faults: faults}
	if len(faults) == 0 || len(m.fuses) == 0 {
		return h
	}
	m.try(m.work, State{Setting: m.Board.Usual()}, h)
	h.Blown = slices.Clone(m.work.blown)
	return h
}

// base returns the healthy run of a state.
func (m *Simulator) base(st State) *sim {
	key := stateKey(st)
	if s := m.healthy[key]; s != nil {
		return s
	}
	s := m.newSim()
	s.start(st.Setting, st.Unplugged)
	s.run()
	for _, n := range s.moved {
		s.isMove[n] = false
	}
	s.moved = s.moved[:0]
	m.healthy[key] = s
	return s
}

// try runs a hypothesis in a state, beginning where the healthy board is. Where
// what a board did before matters it begins with the board off: so it does where a
// converter comes to rest over a bridge, which may be for what happened on the way.
func (m *Simulator) try(s *sim, st State, h Hypothesis) {
	if !m.latches {
		healthy := m.base(st)
		s.copySim(healthy)
		s.charge()
		s.suffer(h)
		if !h.bridges() || !s.stopped(healthy) {
			return
		}
	}
	*s = *m.newSim()
	s.start(st.Setting, st.Unplugged)
	s.suffer(h)
}

// bridges reports whether two nets are joined that a sound board keeps apart.
func (h Hypothesis) bridges() bool {
	return slices.ContainsFunc(h.Faults, func(f Fault) bool { return f.Mode.Does == netlist.Bridges })
}

// stopped reports whether a converter rests that runs on another board.
func (s *sim) stopped(o *sim) bool {
	for i := range s.dev {
		if runs(o.dev[i].mode) && !runs(s.dev[i].mode) {
			return true
		}
	}
	return false
}

// suffer puts the faults of a hypothesis in and runs.
func (s *sim) suffer(h Hypothesis) {
	for _, f := range h.Faults {
		s.apply(f)
	}
	for _, b := range h.Blown {
		s.open(b.Part)
	}
	s.run()
}

// resist finds the resistance to ground of the nodes that moved, and of all that
// hang together with them.
func (s *sim) resist() {
	if len(s.moved) == 0 || s.failed {
		return
	}
	for _, n := range s.lab.solver.Resistances(&s.Circuit, s.moved, s.ohms) {
		s.note(n)
	}
	for _, n := range s.moved {
		if s.Held[n] {
			s.ohms[n] = 0
		}
	}
}

// remembers reports whether what a board does can depend on what it did before: a
// condition that hangs on its own outcome. Levels are followed from the higher
// net to the lower one, as they stand on the healthy board; the sense inputs of
// converters are left out, since those settle wherever they begin.
func (m *Simulator) remembers() bool {
	s := m.base(State{Setting: m.Board.Usual()})
	g := simple.NewDirectedGraph()
	facts, lanes := int64(m.nodes), int64(m.nodes+len(m.Board.Facts))
	link := func(a, b int64) {
		if a != b && a != 0 && b != 0 {
			g.SetEdge(simple.Edge{F: simple.Node(a), T: simple.Node(b)})
		}
	}
	for i, b := range m.branches {
		if s.Law[i] == nil && m.farads[i] == 0 {
			continue
		}
		if s.V[b.A] >= s.V[b.B] {
			link(int64(b.A), int64(b.B))
		}
		if s.V[b.B] >= s.V[b.A] {
			link(int64(b.B), int64(b.A))
		}
	}
	for i, l := range m.lanes {
		for _, n := range l.nodes {
			link(int64(n), lanes+int64(i))
		}
	}
	type edge struct{ from, to int64 }
	var acts []edge
	self := false
	for i := range m.sights {
		d := &m.sights[i]
		var from, to []int64
		for _, n := range d.by {
			from = append(from, int64(n))
		}
		if d.rule != nil {
			d.rule.When.Targets(func(t netlist.Target) bool {
				switch {
				case t.Fact >= 0:
					from = append(from, facts+int64(t.Fact))
				case t.Lane >= 0:
					from = append(from, lanes+int64(t.Lane))
				default:
					from = append(from, int64(m.node(t.Net)))
				}
				return true
			})
		}
		if d.fact >= 0 {
			to = append(to, facts+int64(d.fact))
		}
		for _, n := range d.on {
			to = append(to, int64(n))
		}
		for _, a := range from {
			for _, b := range to {
				self = self || a == b
				acts = append(acts, edge{a, b})
				link(a, b)
			}
		}
	}
	part := map[int64]int{}
	for k, comp := range topo.TarjanSCC(g) {
		for _, n := range comp {
			part[n.ID()] = k + 1
		}
	}
	return self || slices.ContainsFunc(acts, func(e edge) bool { return part[e.from] != 0 && part[e.from] == part[e.to] })
}

// Run is a board with power on, simulated.
type Run struct {
	State State
	Hypothesis
	s *sim
}

// Run simulates a hypothesis in a state. The result keeps its own memory.
func (m *Simulator) Run(st State, h Hypothesis) *Run {
	s := m.newSim()
	m.try(s, st, h)
	return &Run{st, h, s}
}

// Sweep simulates one hypothesis after the other in a state. The run that is
// yielded is valid until the next one.
func (m *Simulator) Sweep(st State, list []Hypothesis) iter.Seq2[int, *Run] {
	return func(yield func(int, *Run) bool) {
		r := &Run{State: st, s: m.work}
		for i, h := range list {
			m.try(m.work, st, h)
			r.Hypothesis = h
			if !yield(i, r) {
				return
			}
		}
	}
}

// meterOhms is the resistance of a voltmeter: common practice.
const meterOhms = 10e6

// floatsAbove is the resistance to anything that holds a net above which it
// counts as floating: half of the meter's own.
const floatsAbove = meterOhms / 2

// Volts returns what a meter of 10 MΩ reads at a net against ground, in V.
func (r *Run) Volts(n netlist.NetID) float64 {
	k := r.s.m.node(n)
	if k == 0 || r.s.Held[k] {
		return r.s.V[k]
	}
	return r.s.V[k] * meterOhms / (meterOhms + r.s.ohms[k])
}

// Level returns the voltage of a net when no meter loads it, in V.
func (r *Run) Level(n netlist.NetID) float64 { return r.s.V[r.s.m.node(n)] }

// Ohms returns the resistance from a net to all that holds it, in Ω.
func (r *Run) Ohms(n netlist.NetID) float64 {
	k := r.s.m.node(n)
	if k == 0 || r.s.Held[k] {
		return 0
	}
	return r.s.ohms[k]
}

// Floats reports whether nothing holds a net but leaks.
func (r *Run) Floats(n netlist.NetID) bool { return r.Ohms(n) > floatsAbove }

// Swing returns how far a net moves, in V peak to peak.
func (r *Run) Swing(n netlist.NetID) float64 { return math.Abs(r.s.ac[r.s.m.node(n)]) }

// Alive reports whether a lane reaches the panel.
func (r *Run) Alive(lane int) bool { return r.s.lane[lane] }

// Holds reports whether a fact holds.
func (r *Run) Holds(fact int) bool { return r.s.fact[fact] }

// Blew lists the fuses that open in this run, those of the hypothesis first.
func (r *Run) Blew() []Blown { return append(slices.Clone(r.Blown), r.s.blown...) }

// Moved yields the nets that may read otherwise than on the healthy board.
func (r *Run) Moved() iter.Seq[netlist.NetID] {
	return func(yield func(netlist.NetID) bool) {
		for _, n := range r.s.moved {
			if n != 0 && !yield(netlist.NetID(n-1)) {
				return
			}
		}
	}
}

// Regime is how a source, a regulator or a converter works in a run.
type Regime struct {
	Part netlist.PartID
	Text string
}

// Regimes lists how supplies, regulators and converters work.
func (r *Run) Regimes() []Regime {
	var list []Regime
	for _, i := range r.s.m.sources {
		text := r.s.dev[i].mode.String()
		if r.s.dev[i].mode == holding && r.s.dev[i].sags {
			text = "at its drop-out"
		}
		list = append(list, Regime{r.s.m.sights[i].part, text})
	}
	return list
}

// Unsteady lists the parts that never come to rest; empty when all do.
func (r *Run) Unsteady() []netlist.PartID {
	var list []netlist.PartID
	for _, d := range r.s.unsteady {
		if p := r.s.m.sights[d].part; !slices.Contains(list, p) {
			list = append(list, p)
		}
	}
	return list
}

// Between returns the lowest and the highest voltage of a net while the board
// does not come to rest; both are its level when it does.
func (r *Run) Between(n netlist.NetID) (low, high float64) {
	k := r.s.m.node(n)
	if r.s.lowest == nil {
		return r.s.V[k], r.s.V[k]
	}
	return r.s.lowest[k], r.s.highest[k]
}
