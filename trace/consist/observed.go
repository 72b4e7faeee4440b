package consist

import "slices"

// Observed is a circuit with what was seen. It is a System, an Extender and a Refuter, and
// must not be asked by two goroutines at once.
//
// A gate that is given up may be 0 or 1, so k of them give 2^k cases. They are evaluated
// side by side, one in each bit of a word. Where that would take too many words, a small
// solver answers instead (solver.go).
type Observed struct {
	c       *Circuit
	want    []int8 // of each net: what was seen on it, or -1; inputs are in healthy
	healthy []uint64
	seen    []seenNet
	value   []uint64 // of each net, one case a bit
	// The output of gate g is (what its inputs make & keep[g]) ^ set[g].
	keep, set []uint64
	sat       *solver
}

type seenNet struct {
	net   int
	value uint64
}

// laneBits is how many given-up gates fill a word with their cases, mostBits how many are
// still evaluated rather than left to the solver.
const (
	laneBits = 6
	mostBits = 10
)

// lanes holds, for each of the first six given-up gates, its value in each case.
var lanes = [laneBits]uint64{
	0xaaaaaaaaaaaaaaaa, 0xcccccccccccccccc, 0xf0f0f0f0f0f0f0f0,
	0xff00ff00ff00ff00, 0xffff0000ffff0000, 0xffffffff00000000,
}

// prepare evaluates the healthy circuit.
func (o *Observed) prepare() {
	o.value = slices.Clone(o.healthy)
	o.keep = make([]uint64, len(o.c.gates))
	o.set = make([]uint64, len(o.c.gates))
	for g := range o.keep {
		o.keep[g] = ^uint64(0)
	}
	for n, w := range o.want {
		if w >= 0 {
			o.seen = append(o.seen, seenNet{n, spread(w == 1)})
		}
	}
	o.eval(0)
	copy(o.healthy, o.value)
}

// eval gives every net its value, when gates before first are as in the healthy circuit,
// and returns the cases that agree with what was seen.
func (o *Observed) eval(first int) uint64 {
	c, v := o.c, o.value
	copy(v, o.healthy[:c.inputs+first])
	for i, g := range c.gates[first:] {
		x := v[g.in[0]]
		switch g.op {
		case opAnd:
			for _, n := range g.in[1:] {
				x &= v[n]
			}
		case opOr:
			for _, n := range g.in[1:] {
				x |= v[n]
			}
		case opXor:
			for _, n := range g.in[1:] {
				x ^= v[n]
			}
		}
		if g.invert {
			x = ^x
		}
		v[c.inputs+first+i] = x&o.keep[first+i] ^ o.set[first+i]
	}
	agree := ^uint64(0)
	for _, s := range o.seen {
		agree &^= v[s.net] ^ s.value
	}
	return agree
}

// free lets the gates take the values of the cases in one word of cases.
func (o *Observed) free(without []int, word int) {
	for j, g := range without {
		o.keep[g] = 0
		if j < laneBits {
			o.set[g] = lanes[j]
		} else {
			o.set[g] = spread(word>>(j-laneBits)&1 != 0)
		}
	}
}

// bind takes back what was done to the gates.
func (o *Observed) bind(gates []int) {
	for _, g := range gates {
		o.keep[g], o.set[g] = ^uint64(0), 0
	}
}

// Len is the number of gates.
func (o *Observed) Len() int { return len(o.c.gates) }

// Consistent tells whether the circuit can show what was seen when the gates of the
// ascending list may give any value.
func (o *Observed) Consistent(without []int) bool {
	if len(without) > mostBits {
		return o.solver().solve(o.assume(without))
	}
	ok := false
	o.cases(without, func(agree uint64) bool {
		ok = agree != 0
		return !ok
	})
	return ok
}

// cases evaluates all cases of the given-up gates until each returns false.
func (o *Observed) cases(without []int, each func(agree uint64) bool) {
	first := 0
	if len(without) > 0 {
		first = slices.Min(without)
	}
	defer o.bind(without)
	for word := range 1 << max(0, len(without)-laneBits) {
		o.free(without, word)
		if !each(o.eval(first)) {
			return
		}
	}
}

// Extend returns those of more that make the set consistent when they are given up too. A
// gate that helps is wrong in the case where it helps: all other cases are those of the set
// alone, which is inconsistent. So each gate of more needs as many cases as the set has.
func (o *Observed) Extend(without, more []int) []int {
	var out []int
	if len(without) > laneBits {
		for _, g := range more {
			if o.Consistent(with(without, g)) {
				out = append(out, g)
			}
		}
		return out
	}
	width := 1 << len(without)
	block := ^uint64(0) >> (64 - width)
	o.free(without, 0)
	for group := range slices.Chunk(more, 64/width) {
		first := slices.Min(group)
		if len(without) > 0 {
			first = min(first, slices.Min(without))
		}
		for i, g := range group {
			o.set[g] ^= block << (i * width)
		}
		agree := o.eval(first)
		for i, g := range group {
			o.set[g] ^= block << (i * width)
			if agree>>(i*width)&block != 0 {
				out = append(out, g)
			}
		}
	}
	o.bind(without)
	return out
}

// Refute returns gates that cannot all be healthy, none of which is given up. In each case
// some net differs from what was seen; the gates that make it so are to blame.
func (o *Observed) Refute(without []int) []int {
	if len(without) > laneBits {
		s := o.solver()
		s.solve(o.assume(without))
		return o.blamed(s.core)
	}
	r := refutation{Observed: o, gates: newBits(len(o.c.gates)), without: newBits(len(o.c.gates), without...)}
	o.cases(without, func(uint64) bool {
		for lane := range 1 << len(without) {
			r.add(lane)
		}
		return false
	})
	return r.gates.list()
}

// Predict returns the value that a net must have when the gates of the list may give any
// value, and false when it may have either, when what was seen excludes both, and for a net
// that is not there.
func (o *Observed) Predict(without []int, net string) (value, known bool) {
	n, ok := o.c.net[net]
	if !ok {
		return false, false
	}
	var zero, one bool
	if len(without) > mostBits {
		assume := o.assume(without)
		zero = o.solver().solve(append(assume, mkLit(n, true)))
		one = o.solver().solve(append(assume, mkLit(n, false)))
		return one, zero != one
	}
	o.cases(without, func(agree uint64) bool {
		one = one || agree&o.value[n] != 0
		zero = zero || agree&^o.value[n] != 0
		return !zero || !one
	})
	return one, zero != one
}

// refutation gathers the gates to blame for one case after the other.
type refutation struct {
	*Observed
	gates   bits
	without bits
}

// add blames gates for the wrong net that needs the fewest gates not blamed yet. A gate
// blamed for another case may have had other reasons there, so they are looked for anew.
func (r *refutation) add(lane int) {
	var best bits
	fewest := -1
	for _, s := range r.seen {
		if (r.value[s.net]^s.value)>>lane&1 == 0 {
			continue
		}
		cone := r.justify(s.net, lane)
		if added := cone.count(cone) - cone.count(r.gates); fewest < 0 || added < fewest {
			best, fewest = cone, added
		}
	}
	for i, w := range best {
		r.gates[i] |= w
	}
}

// justify returns the gates that give a net its value in a case. A net that shows what was
// seen on it needs no other reason.
func (r *refutation) justify(root, lane int) bits {
	cone := newBits(len(r.c.gates))
	for stack := []int{root}; len(stack) > 0; {
		n := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		g := n - r.c.inputs
		if g < 0 || r.without.has(g) || cone.has(g) {
			continue
		}
		if n != root && r.want[n] >= 0 && uint64(r.want[n]) == r.value[n]>>lane&1 {
			continue
		}
		cone.add(g)
		stack = r.reasons(stack, cone, g, lane)
	}
	return cone
}

// reasons appends the inputs that give a gate its value: one that settles it alone, if
// there is one, else all. Of several that settle it the best is one that costs nothing,
// then one that is blamed anyway.
func (r *refutation) reasons(stack []int, cone bits, g, lane int) []int {
	gate := r.c.gates[g]
	settles := uint64(0)
	if gate.op == opOr {
		settles = 1
	}
	one, cost := -1, 3
	for _, n := range gate.in {
		if gate.op == opXor || r.value[n]>>lane&1 != settles {
			continue
		}
		c := 2
		switch f := n - r.c.inputs; {
		case f < 0 || r.without.has(f) || cone.has(f):
			c = 0
		case r.gates.has(f):
			c = 1
		}
		if c < cost {
			one, cost = n, c
		}
	}
	if one >= 0 {
		return append(stack, one)
	}
	return append(stack, gate.in...)
}
