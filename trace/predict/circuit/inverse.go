package circuit

import "math"

// Inverse is a circuit with its sources out, each branch counting by its slope at
// 0 V, solved once for all pairs of nodes. It belongs to one goroutine.
type Inverse struct {
	base   *Circuit // nothing held, nothing injected, every node at 0 V
	amps   float64  // A that Take takes
	all    []int32  // every node but ground
	sv     *Solver  // holds the factors and the inverse of base, and solves nothing else
	pairs  map[[2]int32]float64
	taken  map[int32]*taken // by node
	full   *Solver          // for changes that no update does justice; nil until then
	sweep  *Solver          // for Take
	column []float64        // of the latest change
}

// taken is what taking a current out of one node makes of the circuit.
type taken struct {
	v  []float64 // of every node
	ok bool      // a solution was found
}

// NewInverse solves a circuit, which must not be changed afterwards. Take will take
// amps out of a node.
func NewInverse(c *Circuit, amps float64) *Inverse {
	v := &Inverse{
		base:  c,
		amps:  amps,
		sv:    NewSolver(c.Network),
		sweep: NewSolver(c.Network),
		pairs: map[[2]int32]float64{},
		taken: map[int32]*taken{},
	}
	for n := int32(1); n < int32(c.Nodes); n++ {
		v.all = append(v.all, n)
	}
	v.sv.Gather(c, v.all)
	v.sv.assemble(c)
	v.sv.factor(c)
	v.sv.invert(c)
	return v
}

// Ohms returns the resistance between two nodes.
func (v *Inverse) Ohms(a, b int32) float64 {
	z, ok := v.pairs[[2]int32{a, b}]
	if !ok {
		z = v.sv.between(v.base, a, b)
		v.pairs[[2]int32{a, b}] = z
	}
	return z
}

// Take returns the voltage of a node while a current is taken out of it, and
// whether there is a solution.
func (v *Inverse) Take(node int32) (volts float64, ok bool) {
	t := v.take(node)
	return t.v[node], t.ok
}

func (v *Inverse) take(node int32) *taken {
	if t, ok := v.taken[node]; ok {
		return t
	}
	t := &taken{v: make([]float64, v.base.Nodes)}
	v.base.Inject[node] -= v.amps
	t.ok = v.sweep.Solve(v.base, []int32{node})
	v.base.Inject[node] += v.amps
	for _, n := range v.sweep.region {
		t.v[n], v.base.V[n] = v.base.V[n], 0
	}
	v.taken[node] = t
	return t
}

// Change is a circuit beside the one of an Inverse: some branches have other laws.
// It is valid until the next Change of that Inverse.
type Change struct {
	v        *Inverse
	own      *Circuit
	branches []int32   // whose laws differ
	y        []float64 // V of each node for 1 A through the one branch that differs
	scale    float64   // of the update by y
	full     *Solver   // factors of own, when an update would lose digits; nil otherwise
	ready    int       // stamp under which v.sweep holds own
}

// Change looks at a circuit of the same network with other laws. It prepares the
// resistances by one update of the inverse (Sherman and Morrison 1950) when one
// branch differs and little is lost to rounding, else by new factors.
func (v *Inverse) Change(own *Circuit) *Change {
	c := &Change{v: v, own: own}
	for b, l := range own.Law {
		if l != v.base.Law[b] {
			c.branches = append(c.branches, int32(b))
		}
	}
	switch {
	case len(c.branches) == 0:
	case len(c.branches) > 1 || !c.update(c.branches[0]):
		c.refactor()
	}
	return c
}

// exactEnough bounds what an update may lose: the share of the old resistance
// that must be left.
const exactEnough = 1e-5

func (c *Change) update(b int32) bool {
	x, v := &c.own.Branches[b], c.v
	dg := c.own.slope0(b) - v.base.slope0(b)
	v.sv.response(v.base, x.A, x.B)
	across := v.sv.next[x.A] - v.sv.next[x.B]
	left := 1 + dg*across
	if !(left > exactEnough && dg > 0 || left > exactEnough*10) {
		return false
	}
	v.column = append(v.column[:0], v.sv.next...)
	c.y, c.scale = v.column, dg/left
	return true
}

func (c *Change) refactor() {
	if c.v.full == nil {
		c.v.full = NewSolver(c.own.Network)
	}
	c.full = c.v.full
	clear(c.own.V)
	c.full.Gather(c.own, c.v.all)
	c.full.assemble(c.own)
	c.full.factor(c.own)
	c.full.invert(c.own)
}

// slope0 is the conductance of a branch at 0 V.
func (c *Circuit) slope0(b int32) float64 {
	if c.Law[b] == nil {
		return 0
	}
	return c.Law[b].Slope(0)
}

// Ohms returns the resistance between two nodes.
func (c *Change) Ohms(a, b int32) float64 {
	if c.full != nil {
		return c.full.between(c.own, a, b)
	}
	z := c.v.Ohms(a, b)
	if len(c.branches) == 0 {
		return z
	}
	across := c.y[a] - c.y[b]
	d := c.scale * across * across
	if z-d < exactEnough*z {
		c.refactor()
		return c.full.between(c.own, a, b)
	}
	return z - d
}

// Take returns the voltage of a node while a current is taken out of it, and
// whether there is a solution. Where no changed branch then carries another current
// than before, within an error of so many A, the old solution is kept.
func (c *Change) Take(node int32, within float64) (volts float64, ok bool) {
	t := c.v.take(node)
	if len(c.branches) == 0 || t.ok && c.unmoved(t, within) {
		return t.v[node], t.ok
	}
	sv := c.v.sweep
	if c.ready != sv.stamp {
		sv.Gather(c.own, c.v.all)
		c.ready = sv.stamp
	}
	copy(c.own.V, t.v)
	c.own.Inject[node] -= c.v.amps
	ok = sv.Relax(c.own)
	c.own.Inject[node] += c.v.amps
	return c.own.V[node], ok
}

// unmoved reports whether the changed branches carry the currents that they carried
// before: that solution then still holds.
func (c *Change) unmoved(t *taken, within float64) bool {
	for _, b := range c.branches {
		x := &c.own.Branches[b]
		v, i := t.v[x.A]-t.v[x.B], 0.0
		if l := c.own.Law[b]; l != nil {
			i += l.At(v)
		}
		if l := c.v.base.Law[b]; l != nil {
			i -= l.At(v)
		}
		if math.Abs(i) > within {
			return false
		}
	}
	return true
}

// Resistances fills in the resistance from each node that hangs together with the
// given ones to all that holds it, in Ω: sources count as shorts, as Thévenin's
// theorem has it. It returns those nodes; of held ones it says nothing.
func (s *Solver) Resistances(c *Circuit, from []int32, ohms []float64) []int32 {
	s.Gather(c, from)
	s.assemble(c)
	s.factor(c)
	s.invert(c)
	for _, n := range s.region {
		ohms[n] = s.zdiag[n]
	}
	return s.region
}

// response fills next with the voltages that a current of 1 A into a and out of b
// makes, from the factors.
func (s *Solver) response(c *Circuit, a, b int32) {
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

// between returns the resistance between two nodes from the inverse.
func (s *Solver) between(c *Circuit, a, b int32) float64 {
	switch {
	case a == b:
		return 0
	case a == 0:
		return s.zdiag[b]
	case b == 0:
		return s.zdiag[a]
	}
	s.response(c, a, b)
	return s.next[a] - s.next[b]
}

// invert finds, from the factors, the resistance from each node of the region to
// ground (the diagonal of the inverse) and the entries between neighbours, after
// Takahashi, Fagan and Chin 1973. Sources count as shorts, as Thévenin's theorem
// has it.
func (s *Solver) invert(c *Circuit) {
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
