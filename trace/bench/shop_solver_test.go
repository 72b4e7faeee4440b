package bench

import (
	"math"
	"slices"
)

// The shop's own circuit: branches between nodes, node 0 being ground, each with a
// current that grows with its voltage. It is solved by Newton's method on a sparse
// symmetric matrix, with exponential junctions limited as in SPICE2 (Nagel, 1975, from
// memory). It shares nothing with package predict, so that one wrong law is not on both
// sides of a test.

// branchKind says by which law a branch conducts.
type branchKind uint8

const (
	ohmic    branchKind = iota // g v, up to most where that is set
	junction                   // is (exp((v - knee) / nvt) - 1), with g in series left out
	sinking                    // most, from about sat on; nothing backwards
	giving                     // g (v - emf), no less than -most and no more than back
	forcing                    // most, whatever the voltage
)

// branch leads from a to b; v is the voltage of a over b.
type branch struct {
	a, b      int
	kind      branchKind
	g         float64 // S; 0 is dormant
	most      float64 // A
	back      float64 // A that a giving branch takes back
	emf       float64 // V
	is, nvt   float64 // A and V of a junction
	knee      float64 // V, of a breakdown
	sat       float64 // V
	farads    float64 // of a capacitor, for what moves
	lastLimit float64 // V, of a junction in the last step
	stands    region
}

const (
	leastSlope = 1e-10 // S, beside every branch that conducts
	faintSlope = 1e-6  // S, of a source at its limit
)

// region is the piece of a law in pieces on which a branch stands.
type region uint8

const (
	within region = iota
	atMost        // at its limit
	atBack        // of a source that takes nothing back, or a sink below ground
)

// current returns the current in A at a voltage, and its slope in S, on the piece on
// which the branch stands.
func (x *branch) current(v float64) (i, slope float64) {
	switch x.kind {
	case junction:
		if x.is == 0 {
			return 0, 0
		}
		e := 0.0
		if v > x.knee-40*x.nvt {
			e = math.Exp(min((v-x.knee)/x.nvt, 80))
		}
		if x.knee > 0 {
			return x.is * e, x.is*e/x.nvt + leastSlope
		}
		return x.is * (e - 1), x.is*e/x.nvt + leastSlope
	case sinking:
		switch {
		case x.most == 0 || x.stands == atBack:
			return 0, 0
		case x.stands == atMost:
			return x.most, 0
		}
		return x.most * v / x.sat, x.most / x.sat
	case giving:
		switch {
		case x.g == 0:
			return 0, 0
		case x.stands == atMost:
			return -x.most + faintSlope*(v-x.emf), faintSlope
		case x.stands == atBack:
			return x.back, leastSlope
		}
		return x.g * (v - x.emf), x.g
	case forcing:
		return x.most, 0
	case ohmic:
		if x.stands == atMost {
			return math.Copysign(x.most, v) + faintSlope*v, faintSlope
		}
	}
	return x.g * v, x.g
}

// belongs returns the piece on which a branch should stand at a voltage, and by how many
// volts it is off.
func (x *branch) belongs(v float64) (region, float64) {
	const slack = 1e-6
	switch x.kind {
	case sinking:
		switch {
		case x.most == 0:
		case v < -slack:
			return atBack, -v
		case v > x.sat:
			return atMost, v - x.sat
		}
	case giving:
		switch i := x.g * (v - x.emf); {
		case x.g == 0:
		case i < -x.most-slack:
			return atMost, x.emf - v
		case i > x.back+slack:
			return atBack, v - x.emf
		}
	case ohmic:
		if i := math.Abs(x.g * v); x.most > 0 && i > x.most*(1+slack) {
			return atMost, math.Abs(v)
		}
	case junction, forcing:
	}
	return within, 0
}

// limited keeps the step of a junction where its exponential can be followed.
func (x *branch) limited(v float64) float64 {
	if x.kind != junction || x.is == 0 || v <= x.knee {
		x.lastLimit = v
		return v
	}
	crit := x.knee + x.nvt*math.Log(x.nvt/(math.Sqrt2*x.is))
	old := x.lastLimit
	if v > crit && math.Abs(v-old) > 2*x.nvt {
		if old > x.knee {
			if arg := 1 + (v-old)/x.nvt; arg > 0 {
				v = old + x.nvt*math.Log(arg)
			} else {
				v = crit
			}
		} else {
			v = x.knee + x.nvt*math.Log(max(v-x.knee, x.nvt)/x.nvt)
		}
	}
	x.lastLimit = v
	return v
}

// network is a circuit with the order in which its nodes are eliminated.
type network struct {
	nodes    int // with ground
	branches []branch
	v        []float64

	order   []int   // of nodes from 1
	pattern [][]int // of order[k]: the nodes that are left and meet it
	matrix  [][]float64
	rhs     []float64
}

func (n *network) add(x branch) int {
	n.branches = append(n.branches, x)
	return len(n.branches) - 1
}

func (n *network) node() int {
	n.nodes++
	return n.nodes - 1
}

// plan finds the order of minimum degree, once for all laws of the branches.
func (n *network) plan() {
	meets := make([]map[int]bool, n.nodes)
	for i := range meets {
		meets[i] = map[int]bool{}
	}
	for i := range n.branches {
		if a, b := n.branches[i].a, n.branches[i].b; a != b && a != 0 && b != 0 {
			meets[a][b], meets[b][a] = true, true
		}
	}
	left := make([]bool, n.nodes)
	for i := 1; i < n.nodes; i++ {
		left[i] = true
	}
	n.order, n.pattern = nil, nil
	for range n.nodes - 1 {
		best := -1
		for i := 1; i < n.nodes; i++ {
			if left[i] && (best < 0 || len(meets[i]) < len(meets[best])) {
				best = i
			}
		}
		left[best] = false
		var list []int
		for k := range meets[best] {
			list = append(list, k)
			delete(meets[k], best)
		}
		slices.Sort(list)
		for _, a := range list {
			for _, b := range list {
				if a != b {
					meets[a][b] = true
				}
			}
		}
		n.order, n.pattern = append(n.order, best), append(n.pattern, list)
	}
	n.matrix = make([][]float64, n.nodes)
	for i := range n.matrix {
		n.matrix[i] = make([]float64, n.nodes)
	}
	n.rhs, n.v = make([]float64, n.nodes), make([]float64, n.nodes)
}

// clear empties matrix and right side; every node leaks a little to ground.
func (n *network) clear() {
	for k, i := range n.order {
		row := n.matrix[i]
		row[i] = 1e-12
		for _, j := range n.pattern[k] {
			row[j], n.matrix[j][i] = 0, 0
		}
	}
	clear(n.rhs)
}

func (n *network) stamp(a, b int, g float64) {
	n.matrix[a][a] += g
	n.matrix[b][b] += g
	if a != 0 && b != 0 {
		n.matrix[a][b] -= g
		n.matrix[b][a] -= g
	}
}

// factor eliminates in place.
func (n *network) factor() {
	for k, i := range n.order {
		row, list := n.matrix[i], n.pattern[k]
		for _, a := range list {
			f := row[a] / row[i]
			if f == 0 {
				continue
			}
			for _, b := range list {
				n.matrix[a][b] -= f * row[b]
			}
		}
	}
}

// back solves for a right side with the factors, in place.
func (n *network) back(x []float64) {
	x[0] = 0
	for k, i := range n.order {
		row := n.matrix[i]
		for _, a := range n.pattern[k] {
			x[a] -= row[a] / row[i] * x[i]
		}
	}
	for k := len(n.order) - 1; k >= 0; k-- {
		i := n.order[k]
		row := n.matrix[i]
		for _, a := range n.pattern[k] {
			x[i] -= row[a] * x[a]
		}
		x[i] /= row[i]
	}
}

// solve finds the voltages, from those that stand in v, and reports whether it did. Laws
// in pieces keep their piece while the exponential ones come to rest, then change it.
func (n *network) solve() bool {
	const most = 60
	for round := range most {
		ok := n.newton()
		worst, at := 0.0, -1
		changed := 0
		for i := range n.branches {
			x := &n.branches[i]
			want, off := x.belongs(n.v[x.a] - n.v[x.b])
			if want == x.stands {
				continue
			}
			changed++
			if round < 12 {
				x.stands = want
			} else if off >= worst {
				worst, at = off, i
			}
		}
		if changed == 0 {
			return ok
		}
		if at >= 0 {
			x := &n.branches[at]
			x.stands, _ = x.belongs(n.v[x.a] - n.v[x.b])
		}
	}
	return false
}

// restart forgets where the last solution was.
func (n *network) restart() {
	clear(n.v)
	for i := range n.branches {
		n.branches[i].stands = within
	}
}

// newton solves with every law on its piece.
func (n *network) newton() bool {
	const most = 250
	for i := range n.branches {
		x := &n.branches[i]
		x.lastLimit = n.v[x.a] - n.v[x.b]
	}
	for round := range most {
		n.clear()
		for i := range n.branches {
			x := &n.branches[i]
			v := n.v[x.a] - n.v[x.b]
			at := x.limited(v)
			c, g := x.current(at)
			if g != 0 && x.a != x.b {
				n.stamp(x.a, x.b, g)
			}
			c -= g * at
			n.rhs[x.a] -= c
			n.rhs[x.b] += c
		}
		n.factor()
		n.back(n.rhs)
		worst, damp := 0.0, 1.0
		if round > 60 {
			damp = 0.5
		}
		for i := 1; i < n.nodes; i++ {
			step := n.rhs[i] - n.v[i]
			worst = max(worst, math.Abs(step)/(1e-6+1e-6*math.Abs(n.v[i])))
			n.v[i] += damp * step
		}
		if worst < 1 && round > 0 {
			return true
		}
	}
	return false
}

// flow returns the current of a branch in A.
func (n *network) flow(i int) float64 {
	x := &n.branches[i]
	c, _ := x.current(n.v[x.a] - n.v[x.b])
	return c
}

// linear prepares small signals at a rate in Hz, capacitors counting by the size of
// their admittance; 0 is for slow changes.
func (n *network) linear(rate float64) {
	n.clear()
	for i := range n.branches {
		x := &n.branches[i]
		_, g := x.current(n.v[x.a] - n.v[x.b])
		if g += 2 * math.Pi * rate * x.farads; g != 0 && x.a != x.b {
			n.stamp(x.a, x.b, g)
		}
	}
	n.factor()
}
