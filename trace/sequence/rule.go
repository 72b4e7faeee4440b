package sequence

import "math"

// rule picks the next probe by itself: of the model, or -1 for none. The frame has
// the moves of the state when the rule asks for them.
type rule struct {
	looks bool
	pick  func(m *model, s *state, f *frame) int
}

// next is the probe that a rule takes in a state, and leaves in the frame the probes
// that may be of use behind it.
func (r rule) next(m *model, s *state, f *frame) int {
	if r.looks {
		m.moves(s, f, false)
	}
	return r.pick(m, s, f)
}

// byGain takes the most bits about the groups for the second, changes of condition counted.
var byGain = rule{true, func(_ *model, _ *state, f *frame) int {
	return pickBy(f, func(mv *move) float64 { return mv.worth() })
}}

// byCondition is byGain, but stays in one condition as long as something can be told apart there.
var byCondition = rule{true, func(m *model, s *state, f *frame) int {
	if p := bestIn(m, f, s.cond); p >= 0 {
		return p
	}
	return byGain.pick(m, s, f)
}}

// toCondition is byGain, but first goes to a condition, with what must be made before
// that, and stays there as long as something can be told apart. Rules that weigh one
// step at a time do not see that a change pays only over several probes.
func toCondition(cond int) rule {
	return rule{true, func(m *model, s *state, f *frame) int {
		if p := bestIn(m, f, cond); p >= 0 {
			return p
		}
		for _, p := range f.active {
			if m.probes[p].cond == cond && m.cuts(s, int(p)) {
				return m.enable(s, int(p))
			}
		}
		return byGain.pick(m, s, f)
	}}
}

// bestIn is the probe in a condition that tells most for the second, or -1.
func bestIn(m *model, f *frame, cond int) int {
	best, top := -1, 0.0
	for i := range f.moves {
		mv := &f.moves[i]
		if w := mv.worth(); mv.splits && m.probes[mv.probe].cond == cond && (best < 0 || w > top) {
			best, top = mv.probe, w
		}
	}
	return best
}

// byHalf cuts the weight most evenly, whatever it costs.
var byHalf = rule{true, func(_ *model, _ *state, f *frame) int {
	return pickBy(f, func(mv *move) float64 { return -mv.even })
}}

// tie is the share by which a score must be higher to count as higher, so that
// rounding does not decide between equals.
const tie = 1e-12

// pickBy takes the first move with the highest score that tells something apart;
// when only guards are left, the cheapest of them.
func pickBy(f *frame, score func(mv *move) float64) int {
	best, top := -1, math.Inf(-1)
	for i := range f.moves {
		mv := &f.moves[i]
		if x := score(mv); mv.splits && (best < 0 || x > top+tie*math.Abs(top)) {
			best, top = mv.probe, x
		}
	}
	if best >= 0 {
		return best
	}
	low := math.Inf(1)
	for i := range f.moves {
		if mv := &f.moves[i]; mv.price < low {
			best, low = mv.probe, mv.price
		}
	}
	return best
}

// inOrder takes the probes of the model as they stand, the first so many: always the
// first that tells something apart, and before it those that it must come after.
func inOrder(n int) rule {
	return rule{false, func(m *model, s *state, f *frame) int {
		f.active = f.active[:0]
		for i, p := range s.active {
			if int(p) >= n || !m.cuts(s, int(p)) {
				if m.probes[p].slot >= 0 {
					f.active = append(f.active, p)
				}
				continue
			}
			f.active = append(f.active, s.active[i:]...)
			return m.enable(s, int(p))
		}
		return -1
	}}
}

// cuts says whether a probe tells apart some of the set.
func (m *model) cuts(s *state, p int) bool {
	pr := &m.probes[p]
	first := pr.k
	for _, a := range s.set {
		switch c := int(pr.column[a]); {
		case c == pr.k || c == first:
		case first == pr.k:
			first = c
		default:
			return true
		}
	}
	return false
}

// enable gives the probe itself when it is permitted, else one that must come before
// it, or -1.
func (m *model) enable(s *state, p int) int {
	if m.permitted(s, p) {
		return p
	}
	for q := range m.probes {
		if slot := m.probes[q].slot; slot >= 0 && !s.made.has(slot) && m.probes[p].needs.has(slot) {
			return q
		}
	}
	return -1
}

// roller works out what rules cost.
type roller struct {
	*model
	rules  []rule
	quick  int // of the first so many rules least takes the best
	budget int // pairs of an atom and a probe that may still be looked at
	known  []map[key]float64
	frames frames
}

// rollBudget is four times what a demo board takes. Without it, probes of which each
// clears one suspect would make the time grow with the fourth power.
const rollBudget = 60_000_000

// newRoller has the rules that a plan is measured against; the walk is the last.
func newRoller(m *model) *roller {
	r := &roller{model: m, rules: []rule{byGain}, quick: 1, budget: rollBudget}
	if len(m.change) > 1 {
		r.rules, r.quick = append(r.rules, byCondition), 2
		for c := range m.change {
			r.rules = append(r.rules, toCondition(c))
		}
	}
	r.rules = append(r.rules, inOrder(len(m.probes)))
	for range r.rules {
		r.known = append(r.known, map[key]float64{})
	}
	return r
}

// cost is what it takes to follow a rule from a state to the end, times its mass.
func (r *roller) cost(which int, s *state, depth int) float64 {
	if s.done() {
		return 0
	}
	k := s.key()
	if cost, ok := r.known[which][k]; ok {
		return cost
	}
	f := r.frames.at(depth)
	p := r.next(which, s, f)
	all := r.acting(s)
	cost := 0.0
	switch {
	case p >= 0:
		cost = r.price(s, p)
		f.arena, f.kids = r.split(s, p, f.active, f.arena[:0], f.kids[:0])
		for i := range f.kids {
			cost += r.cost(which, &f.kids[i], depth+1)
		}
		cost = min(cost, all)
	case r.act != nil:
		cost = all
	}
	r.known[which][k] = cost
	return cost
}

// next is the probe that a rule takes in a state.
func (r *roller) next(which int, s *state, f *frame) int {
	if r.rules[which].looks {
		r.budget -= (len(s.set) + overhead) * len(s.active)
	}
	return r.rules[which].next(r.model, s, f)
}

// least is the lowest cost of the quick rules.
func (r *roller) least(s *state) float64 {
	cost := math.Inf(1)
	for which := range r.quick {
		cost = min(cost, r.cost(which, s, 0))
	}
	return cost
}

// best is the rule with the lowest cost. When the budget has run out, only rules
// count whose cost is known; where none is, that is the first.
func (r *roller) best(s *state) (which int, cost float64) {
	which = -1
	for i := range r.rules {
		x, ok := r.known[i][s.key()]
		if !ok && r.budget > 0 {
			x, ok = r.cost(i, s, 0), true
		}
		if ok && (which < 0 || x < cost-tie*cost) {
			which, cost = i, x
		}
	}
	if which < 0 {
		return 0, r.cost(0, s, 0)
	}
	return which, cost
}
