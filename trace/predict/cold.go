package predict

import (
	"math"

	"example.org/walkback/netlist"
)

// The meter with all power out, common practice: its ohms range stays below what
// opens a junction, its diode range drives 1 mA out of the black lead, which
// stands on the point, into the red one, which stands on ground.
const (
	testAmps   = 1e-3 // A in diode mode
	compliance = 2.5  // V up to which a meter shows a diode
	mostMeter  = 50e6 // Ω up to which a meter shows a resistance
)

// calibration makes cold readings agree with those that a board file gives as
// measured on a good board: what the parts in the file do not explain is in the
// chips.
type calibration struct {
	shunt    []float64 // S from a node to ground
	branch   []int32   // of a node: the junction that explains its diode reading, or -1
	mistakes []mistake
}

// mistake is a measured value that the parts in the file rule out.
type mistake struct {
	net      netlist.NetID
	diode    bool
	declared float64
	computed float64
}

// reserve makes room for the junctions of measured diode readings.
func (m *Model) reserve() {
	m.cal.shunt = make([]float64, m.net.nodes)
	m.cal.branch = make([]int32, m.net.nodes)
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

func (m *Model) calibrate() {
	c := newCircuit(&m.net)
	m.coldInto(&c, true)
	for range sweeps {
		m.cal.mistakes = m.cal.mistakes[:0]
		for i := range m.Board.Nets {
			n := &m.Board.Nets[i]
			if !n.Declared || n.Ground || n.Cold.Value <= 0 {
				continue
			}
			node := int32(i) + 1
			m.s.gather(&c, []int32{node})
			m.s.assemble(&c)
			m.s.factor(&c)
			m.s.invert(&c)
			z := m.s.zdiag[node]
			add := 1/n.Cold.Value - 1/z
			if m.cal.shunt[node]+add < 0 {
				add = -m.cal.shunt[node]
			}
			m.cal.shunt[node] += add
			c.shunt[node] = m.cal.shunt[node]
			if z < ruledOut*n.Cold.Value && add == 0 {
				m.cal.mistakes = append(m.cal.mistakes, mistake{netlist.NetID(i), false, n.Cold.Value, z})
			}
		}
	}
	for range sweeps {
		for i := range m.Board.Nets {
			if b := m.cal.branch[i+1]; b >= 0 {
				m.cold[b] = m.explain(&c, int32(i)+1, b)
				c.law[b] = m.cold[b]
			}
		}
	}
	for i := range m.Board.Nets {
		if m.cal.branch[i+1] < 0 {
			continue
		}
		if v, want := m.diode(&c, int32(i)+1), m.Board.Nets[i].Diode.Value; v < ruledOut*want {
			m.cal.mistakes = append(m.cal.mistakes, mistake{netlist.NetID(i), true, want, v})
		}
	}
}

// explain returns the junction that makes a node read what was measured in diode
// mode, or nil when the parts in the file take all of the meter's current.
func (m *Model) explain(c *circuit, node, b int32) *law {
	c.law[b] = nil
	want := m.Board.Nets[node-1].Diode.Value
	c.pinned[node], c.v[node] = true, -want
	ok := m.s.solve(c, m.neighbouring(c, node))
	rest := -c.leaving(node)
	c.pinned[node] = false
	c.clear()
	amps := testAmps - rest
	if !ok || amps < 0.02*testAmps {
		return nil
	}
	r := min(chipOhms, 0.2*want/amps)
	return junction(want-r*amps, r)
}

// neighbouring lists the nodes at the other ends of a node's branches.
func (m *Model) neighbouring(c *circuit, node int32) []int32 {
	var list []int32
	for _, b := range c.at(node) {
		if c.law[b] != nil {
			list = append(list, c.branches[b].a+c.branches[b].b-node)
		}
	}
	return list
}

// clear puts every node back to 0 V.
func (c *circuit) clear() {
	clear(c.v)
}

// coldInto makes a circuit the board with all power out.
func (m *Model) coldInto(c *circuit, unplug bool) {
	copy(c.law, m.cold)
	copy(c.shunt, m.cal.shunt)
	clear(c.v)
	clear(c.inject)
	clear(c.pinned)
	if unplug {
		for b, is := range m.plug {
			if is {
				c.law[b] = nil
			}
		}
	}
}

// diode returns what a meter in diode mode shows at a node, in V; +Inf for open.
func (m *Model) diode(c *circuit, node int32) float64 {
	c.inject[node] -= testAmps
	ok := m.s.solve(c, []int32{node})
	c.inject[node] += testAmps
	v := -c.v[node]
	for _, n := range m.s.region {
		c.v[n] = 0
	}
	if !ok || v > compliance {
		return math.Inf(1)
	}
	return v
}

// coldBase is the healthy board with all power out, solved once.
type coldBase struct {
	circuit
	sv    *solver // holds the factors
	diode map[int32]*diodeBase
	pairs map[[2]int32]float64 // Ω between two nodes
}

// diodeBase is what a meter in diode mode makes of the healthy board from one net.
type diodeBase struct {
	volts float64   // the reading, V; +Inf for open
	v     []float64 // of every node
	ok    bool
}

func (m *Model) coldOf(unplug bool) *coldBase {
	k := 0
	if unplug {
		k = 1
	}
	if m.colds[k] != nil {
		return m.colds[k]
	}
	b := &coldBase{circuit: newCircuit(&m.net), sv: newSolver(&m.net), diode: map[int32]*diodeBase{}, pairs: map[[2]int32]float64{}}
	m.coldInto(&b.circuit, unplug)
	b.sv.gather(&b.circuit, m.all)
	b.sv.assemble(&b.circuit)
	b.sv.factor(&b.circuit)
	b.sv.invert(&b.circuit)
	m.colds[k] = b
	return b
}

// response fills next with the voltages that a current of 1 A into a and out of b
// makes, from the factors.
func (s *solver) response(c *circuit, a, b int32) {
	for _, n := range s.region {
		s.rhs[n] = 0
	}
	s.next[0] = 0
	if a != 0 {
		s.rhs[a]++
	}
	if b != 0 {
		s.rhs[b]--
	}
	s.forward(c)
	s.back(c)
}

// Cold is a board with all power out, under a hypothesis.
type Cold struct {
	Unplugged bool
	Hypothesis
	m       *Model
	base    *coldBase
	own     *sim      // the circuit with the faults in it, nil when they change nothing
	changed []int32   // branches that differ from the healthy board
	y       []float64 // response of the one branch that differs
	scale   float64   // of the update by that response
	full    *solver   // factors of the faulty circuit, when no update was exact
	ready   int       // stamp under which the model's solver holds this circuit
}

// Cold simulates a hypothesis with all power out. Readings are found when they
// are asked for, until the next call of Cold.
func (m *Model) Cold(unplug bool, h Hypothesis) *Cold {
	c := &Cold{Unplugged: unplug, Hypothesis: h, m: m, base: m.coldOf(unplug)}
	if len(h.Faults) == 0 && len(h.Blown) == 0 {
		return c
	}
	if m.coldSim == nil {
		m.coldSim = m.newSim()
	}
	s := m.coldSim
	c.own = s
	s.copySim(m.blank)
	copy(s.law, c.base.law)
	copy(s.shunt, c.base.shunt)
	s.unplug = unplug
	for _, f := range h.Faults {
		s.applyCold(f)
	}
	for _, x := range h.Blown {
		for _, f := range m.fuses {
			if f.part == x.Part {
				s.cut(f.branch)
			}
		}
	}
	s.rest()
	for b := range s.law {
		if s.law[b] != c.base.law[b] {
			c.changed = append(c.changed, int32(b))
		}
	}
	if len(c.changed) == 0 {
		c.own = nil
	}
	c.update()
	return c
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

// exactEnough bounds what an update may lose: the share of the old resistance
// that must be left.
const exactEnough = 1e-5

// update prepares the resistances under the faults: by one update of the healthy
// inverse (Sherman and Morrison 1950) when one branch differs and little is lost
// to rounding, else by new factors.
func (c *Cold) update() {
	if c.own == nil {
		return
	}
	sv := c.base.sv
	if len(c.changed) == 1 {
		b := c.changed[0]
		x := &c.m.net.branches[b]
		dg := c.own.slope0(b) - c.base.slope0(b)
		sv.response(&c.base.circuit, x.a, x.b)
		across := sv.next[x.a] - sv.next[x.b]
		if x.a == 0 {
			across = -sv.next[x.b]
		} else if x.b == 0 {
			across = sv.next[x.a]
		}
		if left := 1 + dg*across; left > exactEnough && dg > 0 || left > exactEnough*10 {
			c.m.yBuf = append(c.m.yBuf[:0], sv.next...)
			c.y, c.scale = c.m.yBuf, dg/left
			return
		}
	}
	c.refactor()
}

func (c *Cold) refactor() {
	if c.m.coldSolver == nil {
		c.m.coldSolver = newSolver(&c.m.net)
	}
	c.full = c.m.coldSolver
	clear(c.own.v)
	c.full.gather(&c.own.circuit, c.m.all)
	c.full.assemble(&c.own.circuit)
	c.full.factor(&c.own.circuit)
	c.full.invert(&c.own.circuit)
}

// slope0 is the conductance of a branch at 0 V.
func (c *circuit) slope0(b int32) float64 {
	l := c.law[b]
	if l == nil {
		return 0
	}
	return l.g[l.segment(0)]
}

// Ohms returns what a meter reads from a net to ground, in Ω; +Inf above its range.
func (c *Cold) Ohms(n netlist.NetID) float64 {
	k := c.m.node(n)
	if k == 0 {
		return 0
	}
	return meterRange(c.resistance(k, 0))
}

func meterRange(ohms float64) float64 {
	if ohms > mostMeter {
		return math.Inf(1)
	}
	return ohms
}

// Across returns what a meter reads from end to end of a channel of a part while
// the part is in the board, in Ω; +Inf above its range.
func (c *Cold) Across(id netlist.PartID, channel int) float64 {
	b := &c.m.net.branches[c.m.units[int(c.m.unitOf[id])+channel].main]
	return meterRange(c.resistance(b.a, b.b))
}

// Between returns what a meter reads between two nets, in Ω; +Inf above its range.
func (c *Cold) Between(a, b netlist.NetID) float64 {
	return meterRange(c.resistance(c.m.node(a), c.m.node(b)))
}

// resistance between two nodes; 0 is ground.
func (c *Cold) resistance(a, b int32) float64 {
	if c.full != nil {
		return between(c.full, &c.own.circuit, a, b)
	}
	z, ok := c.base.pairs[[2]int32{a, b}]
	if !ok {
		z = between(c.base.sv, &c.base.circuit, a, b)
		c.base.pairs[[2]int32{a, b}] = z
	}
	if c.own == nil {
		return z
	}
	var ya, yb float64
	if a != 0 {
		ya = c.y[a]
	}
	if b != 0 {
		yb = c.y[b]
	}
	d := c.scale * (ya - yb) * (ya - yb)
	if z-d < exactEnough*z {
		c.refactor()
		return between(c.full, &c.own.circuit, a, b)
	}
	return z - d
}

// between returns the resistance between two nodes from the factors.
func between(sv *solver, c *circuit, a, b int32) float64 {
	switch {
	case a == b:
		return 0
	case a == 0:
		return sv.zdiag[b]
	case b == 0:
		return sv.zdiag[a]
	}
	sv.response(c, a, b)
	return sv.next[a] - sv.next[b]
}

// Diode returns what a meter in diode mode shows at a net, red lead on ground,
// black lead on the net, in V; +Inf for open.
func (c *Cold) Diode(n netlist.NetID) float64 {
	k := c.m.node(n)
	if k == 0 {
		return 0
	}
	d := c.base.probe(c.m, k)
	if c.own == nil {
		return d.volts
	}
	if d.ok && c.unmoved(d) {
		return d.volts
	}
	sv, own := c.m.s, &c.own.circuit
	if c.ready != sv.stamp {
		sv.gather(own, c.m.all)
		c.ready = sv.stamp
	}
	copy(own.v, d.v)
	own.inject[k] -= testAmps
	ok := sv.relax(own)
	own.inject[k] += testAmps
	if v := -own.v[k]; ok && v <= compliance {
		return v
	}
	return math.Inf(1)
}

// unmoved tells whether the changed branches carry the currents that they carried
// on the healthy board, measured from the same net: its solution then still holds.
func (c *Cold) unmoved(d *diodeBase) bool {
	// No law of a board with its power out is flatter than the chord to the reading,
	// so 1 A into any branch moves it by less than compliance / testAmps: this keeps
	// it within 2.5 µV.
	const least = 2.5e-6 * testAmps / compliance
	for _, b := range c.changed {
		x := &c.m.net.branches[b]
		v := d.v[x.a] - d.v[x.b]
		i := 0.0
		if l := c.own.law[b]; l != nil {
			i += l.at(v)
		}
		if l := c.base.law[b]; l != nil {
			i -= l.at(v)
		}
		if math.Abs(i) > least {
			return false
		}
	}
	return true
}

// probe measures the healthy board in diode mode, once for each net.
func (b *coldBase) probe(m *Model, k int32) *diodeBase {
	if d, ok := b.diode[k]; ok {
		return d
	}
	d := &diodeBase{v: make([]float64, m.net.nodes)}
	sv := m.s
	b.inject[k] -= testAmps
	d.ok = sv.solve(&b.circuit, []int32{k})
	b.inject[k] += testAmps
	for _, n := range sv.region {
		d.v[n], b.v[n] = b.v[n], 0
	}
	d.volts = -d.v[k]
	if !d.ok || d.volts > compliance {
		d.volts = math.Inf(1)
	}
	b.diode[k] = d
	return d
}
