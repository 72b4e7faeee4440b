package predict

import (
	"math"
	"slices"
)

// circuit is a network with laws on its branches and its operating point.
type circuit struct {
	*network
	law    []*law // of each branch, nil for none
	v      []float64
	pinned []bool    // the node is held at v by an ideal source
	inject []float64 // A into the node
	shunt  []float64 // S from the node to ground beside its branches
}

func newCircuit(n *network) circuit {
	return circuit{
		network: n, law: make([]*law, len(n.branches)),
		v: make([]float64, n.nodes), pinned: make([]bool, n.nodes), inject: make([]float64, n.nodes), shunt: make([]float64, n.nodes),
	}
}

// copyFrom makes c equal to another circuit of the same network.
func (c *circuit) copyFrom(o *circuit) {
	c.network = o.network
	copy(c.law, o.law)
	copy(c.v, o.v)
	copy(c.pinned, o.pinned)
	copy(c.inject, o.inject)
	copy(c.shunt, o.shunt)
}

// across returns the voltage across a branch.
func (c *circuit) across(b int32) float64 { return c.v[c.branches[b].a] - c.v[c.branches[b].b] }

// current returns the current through a branch from its first end to its second, in A.
func (c *circuit) current(b int32) float64 {
	if c.law[b] == nil {
		return 0
	}
	return c.law[b].at(c.across(b))
}

// leaving returns the current that a node's source must supply: what its branches
// take, less what is injected.
func (c *circuit) leaving(node int32) float64 {
	i := c.shunt[node]*c.v[node] + insulation*c.v[node] - c.inject[node]
	for _, b := range c.at(node) {
		if c.branches[b].a == node {
			i += c.current(b)
		}
		if c.branches[b].b == node {
			i -= c.current(b)
		}
	}
	return i
}

// solver is the scratch memory of solving.
type solver struct {
	region []int32 // nodes, in the order of elimination
	member []int   // stamp of the region that a node is in
	used   []int   // stamp of the region that a branch is in
	list   []int32 // branches of the region
	stamp  int
	g      []float64 // by slot
	excess []float64 // conductance to held nodes, by node
	rhs    []float64
	star   []float64 // sum of conductances at elimination
	next   []float64 // solution
	z      []float64 // by slot: inverse, where it is asked for
	zdiag  []float64
	seg    []int8 // of a branch, for one step
}

func newSolver(n *network) *solver {
	return &solver{
		member: make([]int, n.nodes), used: make([]int, len(n.branches)), g: make([]float64, n.slots), excess: make([]float64, n.nodes), rhs: make([]float64, n.nodes),
		star: make([]float64, n.nodes), next: make([]float64, n.nodes), z: make([]float64, n.slots), zdiag: make([]float64, n.nodes), seg: make([]int8, len(n.branches)),
	}
}

// gather collects the free nodes that are joined to some given ones, up to
// ground and to nodes that sources hold.
func (s *solver) gather(c *circuit, from []int32) {
	s.stamp++
	s.region, s.list = s.region[:0], s.list[:0]
	add := func(n int32) {
		if n != 0 && !c.pinned[n] && s.member[n] != s.stamp {
			s.member[n] = s.stamp
			s.region = append(s.region, n)
		}
	}
	for _, n := range from {
		add(n)
	}
	for i := 0; i < len(s.region); i++ {
		n := s.region[i]
		for _, b := range c.at(n) {
			if x := &c.branches[b]; c.law[b] == nil || x.a == x.b || s.used[b] == s.stamp {
				continue
			}
			s.used[b] = s.stamp
			s.list = append(s.list, b)
			add(c.branches[b].a)
			add(c.branches[b].b)
		}
	}
	s.sort(c)
}

// sort puts the region into the order of elimination.
func (s *solver) sort(c *circuit) {
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

// solve finds the voltages of all nodes that the given ones touch, all else
// being as it is. It returns false when a number is not finite.
func (s *solver) solve(c *circuit, from []int32) bool {
	s.gather(c, from)
	return s.relax(c)
}

// maxSteps bounds Newton's method. Each step that is not the last one changes a
// segment and lowers a convex function, so that it ends by itself; the bound is
// for the limits of arithmetic, and what stands then is looked at.
const maxSteps = 200

// relax solves the gathered region by Newton's method with a line search on the
// derivative of the content.
func (s *solver) relax(c *circuit) bool {
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
				c.v[n] = s.next[n]
			}
			return true
		}
		t := s.search(c)
		for _, n := range s.region {
			c.v[n] += t * (s.next[n] - c.v[n])
		}
	}
	return s.balanced(c)
}

// balanced tells whether the currents at every node of the region cancel, within
// what rounding leaves.
func (s *solver) balanced(c *circuit) bool {
	most := 0.0
	for _, b := range s.list {
		most = max(most, math.Abs(c.current(b)))
	}
	for _, n := range s.region {
		if math.Abs(c.leaving(n)) > 1e-9*(1+most) {
			return false
		}
	}
	return true
}

// assemble sums conductances and currents in the segments that hold now.
func (s *solver) assemble(c *circuit) {
	for _, n := range s.region {
		s.excess[n] = insulation + c.shunt[n]
		s.rhs[n] = c.inject[n]
		for _, slot := range c.later[n].slot {
			s.g[slot] = 0
		}
	}
	for _, b := range s.list {
		x, l := &c.branches[b], c.law[b]
		k := l.segment(c.v[x.a] - c.v[x.b])
		s.seg[b] = int8(k)
		s.conduct(c, x, l.g[k], l.i[k])
	}
}

// conduct adds a conductance in S and a current in A from a to b.
func (s *solver) conduct(c *circuit, x *branch, g, i float64) {
	ina, inb := s.member[x.a] == s.stamp && x.a != 0, s.member[x.b] == s.stamp && x.b != 0
	switch {
	case ina && inb:
		s.g[x.slot] += g
	case ina:
		s.excess[x.a] += g
		s.rhs[x.a] += g * c.v[x.b]
	case inb:
		s.excess[x.b] += g
		s.rhs[x.b] += g * c.v[x.a]
	}
	if i != 0 {
		if ina {
			s.rhs[x.a] -= i
		}
		if inb {
			s.rhs[x.b] += i
		}
	}
}

// sweep eliminates the nodes in order and substitutes back.
func (s *solver) sweep(c *circuit) {
	s.factor(c)
	s.forward(c)
	s.back(c)
}

// factor replaces stars by meshes.
func (s *solver) factor(c *circuit) {
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
func (s *solver) forward(c *circuit) {
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
func (s *solver) back(c *circuit) {
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

// invert finds, from the factors, the resistance from each node of the region to
// ground (the diagonal of the inverse) and the entries between neighbours, after
// Takahashi, Fagan and Chin 1973. Sources count as shorts, as Thévenin's theorem
// has it.
func (s *solver) invert(c *circuit) {
	for i := len(s.region) - 1; i >= 0; i-- {
		n := s.region[i]
		l := &c.later[n]
		diag := 1 / s.star[n]
		for k, a := range l.node {
			if s.member[a] != s.stamp {
				continue
			}
			sum, p := 0.0, k*(k-1)/2
			for j := range l.node {
				g := s.g[l.slot[j]]
				switch {
				case g == 0:
				case j == k:
					sum += g * s.zdiag[a]
				case j < k:
					sum += g * s.z[l.pair[p+j]]
				default:
					sum += g * s.z[l.pair[j*(j-1)/2+k]]
				}
			}
			sum /= s.star[n]
			s.z[l.slot[k]] = sum
			diag += s.g[l.slot[k]] / s.star[n] * sum
		}
		s.zdiag[n] = diag
	}
}

// settled tells whether every branch is in the segment for which the step was made.
func (s *solver) settled(c *circuit, room float64) bool {
	for _, b := range s.list {
		l := c.law[b]
		if l.n == 1 {
			continue
		}
		x := &c.branches[b]
		if !l.holds(int(s.seg[b]), s.after(c, x.a)-s.after(c, x.b), room) {
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

// holds tells whether v lies in a segment.
func (l *law) holds(k int, v, room float64) bool {
	return (k == 0 || v >= l.from[k-1]-room*(1+math.Abs(v))) && (k == l.n-1 || v <= l.from[k]+room*(1+math.Abs(v)))
}

func (s *solver) after(c *circuit, n int32) float64 {
	if s.member[n] == s.stamp && n != 0 {
		return s.next[n]
	}
	return c.v[n]
}

// search returns how much of the step to take: all of it, unless the content
// rises before its end. The derivative rises with the step, so false position
// with the Illinois rule closes in on where it is 0 (Dowell and Jarratt 1971,
// from memory).
func (s *solver) search(c *circuit) float64 {
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
func (s *solver) slope(c *circuit, t float64) float64 {
	sum := 0.0
	for _, n := range s.region {
		d := s.next[n] - c.v[n]
		sum += d * ((insulation+c.shunt[n])*(c.v[n]+t*d) - c.inject[n])
	}
	for _, b := range s.list {
		x := &c.branches[b]
		v := c.v[x.a] - c.v[x.b]
		d := s.after(c, x.a) - s.after(c, x.b) - v
		if d != 0 {
			sum += d * c.law[b].at(v+t*d)
		}
	}
	return sum
}
