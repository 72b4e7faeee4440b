package consist

import "slices"

// solver returns the circuit and what was seen as clauses: a variable for each net, then
// one for the health of each gate.
func (o *Observed) solver() *solver {
	if o.sat != nil {
		return o.sat
	}
	c := o.c
	s := newSolver(len(c.names) + len(c.gates))
	for n := range c.inputs {
		s.clause(mkLit(n, o.healthy[n] == 0))
	}
	for _, seen := range o.seen {
		s.clause(mkLit(seen.net, seen.value == 0))
	}
	for g, gate := range c.gates {
		out := mkLit(c.inputs+g, gate.invert)
		in := make([]lit, len(gate.in))
		for i, n := range gate.in {
			in[i] = mkLit(n, false)
		}
		encode(s, mkLit(len(c.names)+g, true), gate.op, out, in)
	}
	o.sat = s
	return s
}

// encode demands that a gate have its output, unless the literal unless is true.
func encode(s *solver, unless lit, kind op, out lit, in []lit) {
	if kind == opXor && len(in) > 1 {
		sum := in[0]
		for i, l := range in[1:] {
			next := out
			if i < len(in)-2 {
				next = mkLit(s.variable(), false)
			}
			s.clause(unless, next^1, sum, l)
			s.clause(unless, next^1, sum^1, l^1)
			s.clause(unless, next, sum^1, l)
			s.clause(unless, next, sum, l^1)
			sum = next
		}
		return
	}
	// An OR is an AND of the opposites with the opposite outcome.
	var flip lit
	if kind == opOr {
		flip = 1
	}
	all := []lit{unless, out ^ flip}
	for _, l := range in {
		s.clause(unless, out^flip^1, l^flip)
		all = append(all, l^flip^1)
	}
	s.clause(all...)
}

// assume returns the health of every gate that is not given up.
func (o *Observed) assume(without []int) []lit {
	var out []lit
	for _, g := range rest(len(o.c.gates), without) {
		out = append(out, mkLit(len(o.c.names)+g, false))
	}
	return out
}

// blamed returns the gates whose health the literals assume.
func (o *Observed) blamed(core []lit) []int {
	var out []int
	for _, l := range core {
		out = append(out, int(l>>1)-len(o.c.names))
	}
	slices.Sort(out)
	return out
}
