package circuit

import (
	"math"
	"slices"
)

// Circuit is a network with laws on its branches and its operating point.
type Circuit struct {
	*Network
	Law    []*Law    // of each branch; nil conducts nothing
	V      []float64 // of each node, V; V[0] is 0
	Held   []bool    // an ideal source holds the node at V; never ground, which needs none
	Inject []float64 // A into each node
	Shunt  []float64 // S from each node to ground beside its branches; above -Insulation
}

// New makes a circuit in which nothing conducts and every node is at 0 V.
func New(n *Network) *Circuit {
	return &Circuit{
		Network: n, Law: make([]*Law, len(n.Branches)),
		V: make([]float64, n.Nodes), Held: make([]bool, n.Nodes), Inject: make([]float64, n.Nodes), Shunt: make([]float64, n.Nodes),
	}
}

// CopyFrom makes c equal to another circuit of the same network.
func (c *Circuit) CopyFrom(o *Circuit) {
	c.Network = o.Network
	copy(c.Law, o.Law)
	copy(c.V, o.V)
	copy(c.Held, o.Held)
	copy(c.Inject, o.Inject)
	copy(c.Shunt, o.Shunt)
}

// Across returns the voltage across a branch.
func (c *Circuit) Across(b int32) float64 { return c.V[c.Branches[b].A] - c.V[c.Branches[b].B] }

// Current returns the current through a branch from its first end to its second, in A.
func (c *Circuit) Current(b int32) float64 {
	if c.Law[b] == nil {
		return 0
	}
	return c.Law[b].At(c.Across(b))
}

// Leaving returns the current that a node's source must supply: what its branches
// take, less what is injected.
func (c *Circuit) Leaving(node int32) float64 {
	i := c.Shunt[node]*c.V[node] + Insulation*c.V[node] - c.Inject[node]
	for _, b := range c.At(node) {
		if c.Branches[b].A == node {
			i += c.Current(b)
		}
		if c.Branches[b].B == node {
			i -= c.Current(b)
		}
	}
	return i
}

// Solver is the scratch memory of solving; it belongs to one goroutine and to one
// network. What it holds of the last solution lasts until the next one.
type Solver struct {
	stamp  int       // of the region that is gathered now
	region []int32   // its nodes, in the order of elimination; no held node, not ground
	member []int     // of a node: the stamp of the last region that it was in
	list   []int32   // branches of the region, no loops
	used   []int     // of a branch: the stamp of the last region that it was in
	seg    []int8    // of a branch of the region: the segment of this step
	g      []float64 // by slot: S between two nodes; after factor, when the first of them went
	excess []float64 // by node: S to held nodes and to ground
	rhs    []float64 // by node: A into it
	star   []float64 // by node: sum of its conductances when it was eliminated, above 0
	next   []float64 // by node: the solution
	z      []float64 // by slot: entry of the inverse between two nodes, once inverted
	zdiag  []float64 // by node: Ω to ground, once inverted
	admit  []float64 // of list, in Changes: S
}

// NewSolver makes the scratch memory for circuits of a network.
func NewSolver(n *Network) *Solver {
	float := func(n int) []float64 { return make([]float64, n) }
	return &Solver{
		member: make([]int, n.Nodes), used: make([]int, len(n.Branches)), seg: make([]int8, len(n.Branches)),
		g: float(n.slots), z: float(n.slots), excess: float(n.Nodes), rhs: float(n.Nodes),
		star: float(n.Nodes), next: float(n.Nodes), zdiag: float(n.Nodes),
	}
}

// Region lists the nodes that were gathered last, until the next time.
func (s *Solver) Region() []int32 { return s.region }

// Has reports whether a node is among those that were gathered last.
func (s *Solver) Has(node int32) bool { return node != 0 && s.member[node] == s.stamp }

// Gather collects the free nodes that are joined to some given ones, up to
// ground and to nodes that sources hold.
func (s *Solver) Gather(c *Circuit, from []int32) {
	s.stamp++
	s.region, s.list = s.region[:0], s.list[:0]
	add := func(n int32) {
		if n != 0 && !c.Held[n] && s.member[n] != s.stamp {
			s.member[n] = s.stamp
			s.region = append(s.region, n)
		}
	}
	for _, n := range from {
		add(n)
	}
	for i := 0; i < len(s.region); i++ {
		n := s.region[i]
		for _, b := range c.At(n) {
			if x := &c.Branches[b]; c.Law[b] == nil || x.A == x.B || s.used[b] == s.stamp {
				continue
			}
			s.used[b] = s.stamp
			s.list = append(s.list, b)
			add(c.Branches[b].A)
			add(c.Branches[b].B)
		}
	}
	s.sort(c)
}

// sort puts the region into the order of elimination.
func (s *Solver) sort(c *Circuit) {
	if len(s.region) < len(c.order)/8 {
		slices.SortFunc(s.region, func(a, b int32) int { return int(c.place[a] - c.place[b]) })
		return
	}
	s.region = s.region[:0]
	for _, n := range c.order {
		if s.member[n] == s.stamp {
			s.region = append(s.region, n)
		}
	}
}

// Solve finds the voltages of all nodes that the given ones touch, all else
// being as it is. It reports whether all are finite and the currents balance.
func (s *Solver) Solve(c *Circuit, from []int32) bool {
	s.Gather(c, from)
	return s.Relax(c)
}

// maxSteps bounds Newton's method. Each step that is not the last one changes a
// segment and lowers a convex function, so that it ends by itself; the bound is
// for the limits of arithmetic, and what stands then is looked at.
const maxSteps = 200

// Relax solves the region that was gathered last by Newton's method with a line search on the
// derivative of the content.
func (s *Solver) Relax(c *Circuit) bool {
	if len(s.region) == 0 {
		return true
	}
	for step := range maxSteps {
		s.assemble(c)
		s.sweep(c)
		for _, n := range s.region {
			if math.IsNaN(s.next[n]) || math.IsInf(s.next[n], 0) {
				return false
			}
		}
		if s.settled(c, roomFor(step)) {
			for _, n := range s.region {
				c.V[n] = s.next[n]
			}
			return true
		}
		t := s.search(c)
		for _, n := range s.region {
			c.V[n] += t * (s.next[n] - c.V[n])
		}
	}
	return s.balanced(c)
}

// balanced reports whether the currents at every node of the region cancel, within
// what rounding leaves.
func (s *Solver) balanced(c *Circuit) bool {
	most := 0.0
	for _, b := range s.list {
		most = max(most, math.Abs(c.Current(b)))
	}
	for _, n := range s.region {
		if math.Abs(c.Leaving(n)) > 1e-9*(1+most) {
			return false
		}
	}
	return true
}

// assemble sums conductances and currents in the segments that hold now.
func (s *Solver) assemble(c *Circuit) {
	for _, n := range s.region {
		s.excess[n] = Insulation + c.Shunt[n]
		s.rhs[n] = c.Inject[n]
		for _, slot := range c.later[n].slot {
			s.g[slot] = 0
		}
	}
	for _, b := range s.list {
		x, l := &c.Branches[b], c.Law[b]
		k := l.segment(c.V[x.A] - c.V[x.B])
		s.seg[b] = int8(k)
		s.conduct(c, x, l.g[k], l.i[k])
	}
}

// conduct adds a conductance in S and a current in A from a to b.
func (s *Solver) conduct(c *Circuit, x *Branch, g, i float64) {
	ina, inb := s.member[x.A] == s.stamp && x.A != 0, s.member[x.B] == s.stamp && x.B != 0
	switch {
	case ina && inb:
		s.g[x.slot] += g
	case ina:
		s.excess[x.A] += g
		s.rhs[x.A] += g * c.V[x.B]
	case inb:
		s.excess[x.B] += g
		s.rhs[x.B] += g * c.V[x.A]
	}
	if i != 0 {
		if ina {
			s.rhs[x.A] -= i
		}
		if inb {
			s.rhs[x.B] += i
		}
	}
}

// sweep eliminates the nodes in order and substitutes back.
func (s *Solver) sweep(c *Circuit) {
	s.factor(c)
	s.forward(c)
	s.back(c)
}

// factor replaces stars by meshes.
func (s *Solver) factor(c *Circuit) {
	for _, n := range s.region {
		l := &c.later[n]
		sum := s.excess[n]
		for _, slot := range l.slot {
			sum += s.g[slot]
		}
		s.star[n] = sum
		p := 0
		for i, a := range l.node {
			g := s.g[l.slot[i]]
			if g == 0 {
				p += i
				continue
			}
			w := g / sum
			s.excess[a] += w * s.excess[n]
			for j := range i {
				if h := s.g[l.slot[j]]; h != 0 {
					s.g[l.pair[p+j]] += w * h
				}
			}
			p += i
		}
	}
}

// forward moves the currents of eliminated nodes to their neighbours.
func (s *Solver) forward(c *Circuit) {
	for _, n := range s.region {
		if s.rhs[n] == 0 {
			continue
		}
		l := &c.later[n]
		w := s.rhs[n] / s.star[n]
		for i, a := range l.node {
			if g := s.g[l.slot[i]]; g != 0 {
				s.rhs[a] += w * g
			}
		}
	}
}

// back finds the voltages, the last node first.
func (s *Solver) back(c *Circuit) {
	for i := len(s.region) - 1; i >= 0; i-- {
		n := s.region[i]
		l := &c.later[n]
		sum := s.rhs[n]
		for k, a := range l.node {
			if g := s.g[l.slot[k]]; g != 0 {
				sum += g * s.next[a]
			}
		}
		s.next[n] = sum / s.star[n]
	}
}

// settled reports whether every branch is in the segment for which the step was made.
func (s *Solver) settled(c *Circuit, room float64) bool {
	for _, b := range s.list {
		l := c.Law[b]
		if l.n == 1 {
			continue
		}
		x := &c.Branches[b]
		if !l.holds(int(s.seg[b]), s.after(c, x.A)-s.after(c, x.B), room) {
			return false
		}
	}
	return true
}

// roomFor is the room at the ends of a segment in a step, as a share: none at
// first, since a net that leaks alone hold would stay wherever a steep segment
// left it; later some, so that rounding cannot go back and forth between two.
func roomFor(step int) float64 {
	if step < 30 {
		return 0
	}
	return 1e-12
}

// holds reports whether v lies in a segment.
func (l *Law) holds(k int, v, room float64) bool {
	return (k == 0 || v >= l.from[k-1]-room*(1+math.Abs(v))) && (k == l.n-1 || v <= l.from[k]+room*(1+math.Abs(v)))
}

func (s *Solver) after(c *Circuit, n int32) float64 {
	if s.member[n] == s.stamp && n != 0 {
		return s.next[n]
	}
	return c.V[n]
}

// search returns how much of the step to take: all of it, unless the content
// rises before its end. The derivative rises with the step, so false position
// with the Illinois rule closes in on where it is 0 (Dowell and Jarratt 1971,
// from memory).
func (s *Solver) search(c *Circuit) float64 {
	low, high := 0.0, 1.0
	at, to := 0.0, s.slope(c, 1)
	if to <= 0 {
		return 1
	}
	at = s.slope(c, 0)
	side := 0
	for round := range 120 {
		if at >= 0 || high-low < 1e-15*high {
			break
		}
		t := low + (high-low)*at/(at-to)
		if round >= 20 {
			t = (low + high) / 2 // slopes of 10¹² to 1 tire the rule
		}
		v := s.slope(c, t)
		switch {
		case v > 0:
			if high, to = t, v; side > 0 {
				at /= 2
			}
			side = 1
		default:
			if low, at = t, v; side < 0 {
				to /= 2
			}
			side = -1
		}
		if v == 0 {
			return t
		}
	}
	return high
}

// slope is the derivative of the content along the step, at the share t of it.
func (s *Solver) slope(c *Circuit, t float64) float64 {
	sum := 0.0
	for _, n := range s.region {
		d := s.next[n] - c.V[n]
		sum += d * ((Insulation+c.Shunt[n])*(c.V[n]+t*d) - c.Inject[n])
	}
	for _, b := range s.list {
		x := &c.Branches[b]
		v := c.V[x.A] - c.V[x.B]
		d := s.after(c, x.A) - s.after(c, x.B) - v
		if d != 0 {
			sum += d * c.Law[b].At(v+t*d)
		}
	}
	return sum
}
