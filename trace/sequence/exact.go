package sequence

import "math"

// DefaultBudget lets Plan finish within 300 ms on a demo board.
const DefaultBudget = 3_000_000

// overhead is what a probe costs to look at, in atoms, however small the set.
const overhead = 16

// entry is what is known of a state.
type entry struct {
	cost  float64 // × mass: of the best plan, or a lower bound for it
	exact bool
	probe int // that the best plan begins with
}

// search finds best plans by depth-first branch and bound over an AND/OR graph. It
// remembers every state, so going over the graph again with a higher limit costs
// little, and a search that runs out of budget still leaves lower bounds behind.
type search struct {
	bounder
	frames frames
	budget int     // pairs of an atom and a probe that may still be looked at, a quarter of it for what needs no moves
	slack  float64 // two plans that differ by less are alike
}

func newSearch(m *model, budget int) *search {
	s := &search{bounder: bounder{model: m, known: map[key]entry{}}, budget: budget}
	s.slack = 1e-12
	for i := range m.probes {
		s.slack = max(s.slack, 1e-12*m.probes[i].cost)
	}
	return s
}

// solve returns the cost of the best plan from a state, times its mass, if that is
// below limit; else a lower bound for it, which is below limit only when the
// budget ran out.
func (s *search) solve(st *state, limit float64, depth int) (cost float64, exact bool) {
	if st.done() {
		return 0, true
	}
	k := st.key()
	e := s.known[k]
	if e.exact || e.cost >= limit || s.budget <= 0 {
		return e.cost, e.exact
	}
	work := (len(st.set)+overhead)*len(st.active)/4 + 1 // without the bounds of the moves
	s.budget -= work
	f := s.frames.at(depth)
	s.moves(st, f, true)
	e.cost = max(e.cost, s.bound(st, f, limit))
	if e.cost >= limit {
		s.known[k] = e
		return e.cost, false
	}
	s.budget -= 3 * work
	best, low := math.Inf(1), math.Inf(1)
	if all := s.acting(st); all < limit-s.slack {
		best, e.probe = all, -1
	} else {
		low = all
	}
	for i := range f.moves {
		mv := &f.moves[i]
		cut := min(best, limit) - s.slack
		if mv.low >= cut {
			low = min(low, mv.low)
			break
		}
		sum, ok := s.follow(f, mv, cut, depth)
		if ok {
			best, e.probe = sum, mv.probe
		} else {
			low = min(low, sum)
		}
	}
	if best <= low+s.slack {
		e.cost, e.exact = best, !math.IsInf(best, 1)
	} else {
		e.cost = max(e.cost, min(best, low))
	}
	s.known[k] = e
	return e.cost, e.exact
}

// follow solves what lies behind a move as long as the sum can stay below cut.
func (s *search) follow(f *frame, mv *move, cut float64, depth int) (sum float64, ok bool) {
	sum = mv.price
	for k := mv.kids[0]; k < mv.kids[1]; k++ {
		if e, seen := s.known[f.kids[k].key()]; seen {
			f.lows[k] = max(f.lows[k], e.cost)
		}
		sum += f.lows[k]
	}
	ok = true
	for k := mv.kids[0]; k < mv.kids[1] && sum < cut; k++ {
		cost, exact := s.solve(&f.kids[k], cut-(sum-f.lows[k]), depth+1)
		sum += max(cost-f.lows[k], 0)
		ok = ok && exact
	}
	return sum, ok && sum < cut
}

// raise solves a state below a known cost, if half of the budget is enough. If not, it goes on
// in rounds with rising limits, so that a budget that runs out leaves a lower bound that was
// proven for all moves.
func (s *search) raise(st *state, known float64) (low float64, exact bool) {
	const rounds = 3
	rest := s.budget / 2
	s.budget -= rest
	low, exact = s.solve(st, known*(1+1e-6)+s.slack*8, 0)
	s.budget = max(s.budget, 0) + rest
	if exact {
		return low, true
	}
	limit := 0.0
	for {
		low, exact = s.solve(st, limit, 0)
		if exact || s.budget <= 0 && low < limit || limit > known {
			return low, exact
		}
		limit = max(limit, low) + max((known-low)/rounds, known*1e-6, s.slack*8)
	}
}
