package predict

import (
	"math"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// The meter with all power out, common practice: its ohms range stays below what
// opens a junction, its diode range drives 1 mA out of the black lead, which
// stands on the point, into the red one, which stands on ground.
const (
	testAmps   = 1e-3 // A in diode mode
	compliance = 2.5  // V up to which a meter shows a diode
)

// MostMeter is the resistance in Ω up to which a meter shows one. Common practice, no source.
const MostMeter = 50e6

// calibration makes cold readings agree with those that a board file gives as
// measured on a good board: what the parts in the file do not explain is in the
// chips.
type calibration struct {
	shunt    []float64 // S from a node to ground
	branch   []int32   // of a node: the junction that explains its diode reading, or -1
	mistakes []coldMistake
}

// coldMistake is a measured value that the parts in the file rule out.
type coldMistake struct {
	net      netlist.NetID
	diode    bool
	declared float64
	computed float64
}

// reserve makes room for the junctions of measured diode readings.
func (m *Model) reserve() {
	m.cal.shunt = make([]float64, m.nodes)
	m.cal.branch = make([]int32, m.nodes)
	for n := range m.cal.branch {
		m.cal.branch[n] = -1
	}
	for i := range m.Board.Nets {
		if n := &m.Board.Nets[i]; n.Diode.Value > 0 && n.Declared && !n.Ground {
			m.cal.branch[i+1] = m.add(0, int32(i)+1, nil, nil)
		}
	}
}

// sweeps over the measured nets: each moves its neighbours a little.
const sweeps = 4

// ruledOut is the share of a measured value below which the parts in the file
// leave no room for it.
const ruledOut = 0.8

func (m *Model) calibrate(sv *circuit.Solver) {
	c := circuit.New(m.net)
	m.coldInto(c, true)
	ohms := make([]float64, m.nodes)
	for range sweeps {
		m.cal.mistakes = m.cal.mistakes[:0]
		for i := range m.Board.Nets {
			n := &m.Board.Nets[i]
			if !n.Declared || n.Ground || n.Cold.Value <= 0 {
				continue
			}
			node := int32(i) + 1
			sv.Resistances(c, []int32{node}, ohms)
			z := ohms[node]
			add := 1/n.Cold.Value - 1/z
			if m.cal.shunt[node]+add < 0 {
				add = -m.cal.shunt[node]
			}
			m.cal.shunt[node] += add
			c.Shunt[node] = m.cal.shunt[node]
			if z < ruledOut*n.Cold.Value && add == 0 {
				m.cal.mistakes = append(m.cal.mistakes, coldMistake{netlist.NetID(i), false, n.Cold.Value, z})
			}
		}
	}
	for range sweeps {
		for i := range m.Board.Nets {
			if b := m.cal.branch[i+1]; b >= 0 {
				m.cold[b] = m.explain(sv, c, int32(i)+1, b)
				c.Law[b] = m.cold[b]
			}
		}
	}
	for i := range m.Board.Nets {
		if m.cal.branch[i+1] < 0 {
			continue
		}
		if v, want := diode(sv, c, int32(i)+1), m.Board.Nets[i].Diode.Value; v < ruledOut*want {
			m.cal.mistakes = append(m.cal.mistakes, coldMistake{netlist.NetID(i), true, want, v})
		}
	}
}

// explain returns the junction that makes a node read what was measured in diode
// mode, or nil when the parts in the file take all of the meter's current.
func (m *Model) explain(sv *circuit.Solver, c *circuit.Circuit, node, b int32) *circuit.Law {
	c.Law[b] = nil
	want := m.Board.Nets[node-1].Diode.Value
	c.Held[node], c.V[node] = true, -want
	ok := sv.Solve(c, m.neighbouring(c, node))
	rest := -c.Leaving(node)
	c.Held[node] = false
	clear(c.V)
	amps := testAmps - rest
	if !ok || amps < 0.02*testAmps {
		return nil
	}
	r := min(chipOhms, 0.2*want/amps)
	return circuit.Junction(want-r*amps, r)
}

// neighbouring lists the nodes at the other ends of a node's branches.
func (m *Model) neighbouring(c *circuit.Circuit, node int32) []int32 {
	var list []int32
	for _, b := range c.At(node) {
		if c.Law[b] != nil {
			list = append(list, c.Other(b, node))
		}
	}
	return list
}

// coldInto makes a circuit the board with all power out.
func (m *Model) coldInto(c *circuit.Circuit, unplug bool) {
	copy(c.Law, m.cold)
	copy(c.Shunt, m.cal.shunt)
	clear(c.V)
	clear(c.Inject)
	clear(c.Held)
	if unplug {
		for b, is := range m.plug {
			if is {
				c.Law[b] = nil
			}
		}
	}
}

// diode returns what a meter in diode mode shows at a node, in V; +Inf for open.
func diode(sv *circuit.Solver, c *circuit.Circuit, node int32) float64 {
	c.Inject[node] -= testAmps
	ok := sv.Solve(c, []int32{node})
	c.Inject[node] += testAmps
	v := c.V[node]
	for _, n := range sv.Region() {
		c.V[n] = 0
	}
	return shown(v, ok)
}

// coldOf returns the healthy board with all power out, solved once.
func (m *Simulator) coldOf(unplug bool) *coldBase {
	k := 0
	if unplug {
		k = 1
	}
	if m.colds[k] == nil {
		c := circuit.New(m.net)
		m.coldInto(c, unplug)
		m.colds[k] = &coldBase{c, circuit.NewInverse(c, testAmps)}
	}
	return m.colds[k]
}

// coldBase is a healthy board with all power out.
type coldBase struct {
	*circuit.Circuit
	inverse *circuit.Inverse
}

// Cold is a board with all power out, under a hypothesis.
type Cold struct {
	Unplugged bool
	Hypothesis
	m      *Model
	change *circuit.Change
}

// Cold simulates a hypothesis with all power out. Readings are found when they
// are asked for, until the next call of Cold.
func (m *Simulator) Cold(unplug bool, h Hypothesis) *Cold {
	s, base := m.coldSim, m.coldOf(unplug)
	s.copySim(m.blank)
	copy(s.Law, base.Law)
	copy(s.Shunt, base.Shunt)
	s.unplug = unplug
	for _, f := range h.Faults {
		s.applyCold(f)
	}
	for _, x := range h.Blown {
		s.open(x.Part)
	}
	s.rest()
	return &Cold{unplug, h, m.Model, base.inverse.Change(&s.Circuit)}
}

// applyCold puts a fault into the circuit with all power out. A contact that is
// unplugged anyway stays open, and a sink that draws nothing is like any other.
func (s *sim) applyCold(f Fault) {
	p := &s.m.Board.Parts[f.Part]
	if s.unplug && p.Kind.Plugs && f.Mode.Does == netlist.Opens || f.Mode.Does == netlist.Frees {
		return
	}
	s.apply(f)
}

// rest drops what was queued and touched.
func (s *sim) rest() {
	for _, d := range s.queue {
		s.queued[d] = false
	}
	s.queue = s.queue[:0]
	for _, n := range s.dirty {
		s.isDirt[n] = false
	}
	s.dirty = s.dirty[:0]
	for _, i := range s.isles {
		s.acDue[i] = false
	}
	s.isles = s.isles[:0]
}

// Ohms returns what a meter reads from a net to ground, in Ω; +Inf above its range.
func (c *Cold) Ohms(n netlist.NetID) float64 { return c.between(c.m.node(n), 0) }

// Across returns what a meter reads from end to end of a channel of a part while
// the part is in the board, in Ω; +Inf above its range.
func (c *Cold) Across(id netlist.PartID, channel int) float64 {
	b := &c.m.branches[c.m.units[int(c.m.unitOf[id])+channel].main]
	return c.between(b.A, b.B)
}

// Between returns what a meter reads between two nets, in Ω; +Inf above its range.
func (c *Cold) Between(a, b netlist.NetID) float64 { return c.between(c.m.node(a), c.m.node(b)) }

func (c *Cold) between(a, b int32) float64 {
	if ohms := c.change.Ohms(a, b); ohms <= MostMeter {
		return ohms
	}
	return math.Inf(1)
}

// diodeKept is the current in A by which a fault may move the circuit in diode mode
// while the healthy reading is kept. No law of a board with its power out is flatter
// than the chord to the reading, so 1 A into any branch moves it by less than
// compliance / testAmps: this keeps it within 2.5 µV.
const diodeKept = 2.5e-6 * testAmps / compliance

// Diode returns what a meter in diode mode shows at a net, red lead on ground,
// black lead on the net, in V; +Inf for open.
func (c *Cold) Diode(n netlist.NetID) float64 {
	k := c.m.node(n)
	if k == 0 {
		return 0
	}
	return shown(c.change.Take(k, diodeKept))
}

// shown is what a meter in diode mode makes of a point that it draws to volts.
func shown(volts float64, ok bool) float64 {
	if !ok || -volts > compliance {
		return math.Inf(1)
	}
	return -volts
}
