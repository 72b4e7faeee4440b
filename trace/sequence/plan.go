package sequence

import (
	"fmt"
	"math"
	"slices"
)

// Plan finds a tree that tells the groups apart at low expected cost. It is the best
// there is as long as the budget lasts, see [Tree.Optimal]; then parts with few
// groups are still solved exactly, and in the rest each probe is chosen by what it
// costs to go on by rules behind it. The result never costs more on average than to
// walk through the probes in their order.
//
// The budget counts pairs of a hypothesis and a probe that the exact search looks
// at, so that the same problem always gets the same plan; [DefaultBudget] is a good
// one, and with 0 there is no exact search.
func Plan(p *Problem, budget int) (*Tree, error) {
	m, err := compile(p, false)
	if err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	return newPlanner(m).plan(max(budget, 0)), nil
}

// plan makes a plan without a search first, below whose cost the search then starts, and
// gives the better of this and the one with what the search has found.
func (p *planner) plan(budget int) *Tree {
	p.roller.cost(len(p.roller.rules)-1, p.first(), 0) // the walk, whatever the others take
	ahead := p.tree(p.choose, 0)
	p.search.budget = budget
	low := p.searchRoot(ahead.Expected - p.base)
	best := p.tree(p.choose, low)
	if ahead.Expected < best.Expected*(1-tie) {
		ahead.prove(best.Lower)
		return ahead
	}
	return best
}

// Evaluate gives the tree and the cost of probing in a fixed order, leaving out
// probes whose outcome is known by then, and making first what a probe must come
// after. An order that does not name all probes can leave more suspects together.
func Evaluate(p *Problem, order []int) (*Tree, error) {
	m, err := compile(p, true)
	if err != nil {
		return nil, fmt.Errorf("evaluate: %w", err)
	}
	for _, i := range order {
		if i < 0 || i >= len(p.Probes) {
			return nil, fmt.Errorf("evaluate: probe %d: there are %d", i, len(p.Probes))
		}
	}
	n := m.arrange(order)
	return m.follow(inOrder(n)), nil
}

// Half gives the tree of the bench rule: take the probe that cuts the weight most
// evenly, whatever it costs.
func Half(p *Problem) (*Tree, error) {
	m, err := compile(p, true)
	if err != nil {
		return nil, fmt.Errorf("half: %w", err)
	}
	return m.follow(byHalf), nil
}

// arrange puts the probes that an order names first, and tells how many these are.
func (m *model) arrange(order []int) int {
	var list []probe
	taken := make([]bool, len(m.probes))
	for _, i := range order {
		if at := m.place[i]; at >= 0 && !taken[at] {
			taken[at] = true
			list = append(list, m.probes[at])
		}
	}
	n := len(list)
	for at := range m.probes {
		if !taken[at] {
			list = append(list, m.probes[at])
		}
	}
	m.probes = list
	return n
}

// follow is the tree of a rule.
func (m *model) follow(r rule) *Tree {
	s, f := newSearch(m, 0), &frame{}
	low := 0.0
	if first := m.first(); !first.done() {
		m.moves(first, f, true)
		low = s.bound(first, f, math.Inf(1))
	}
	return m.tree(func(s *state, f *frame) int { return r.next(m, s, f) }, low)
}

const (
	fewLabels = 10 // of a set that is solved exactly within a plan
	lookAt    = 4  // moves whose costs by rules are compared
)

// planner makes the choices of a plan.
type planner struct {
	*model
	search *search
	roller *roller
}

func newPlanner(m *model) *planner { return &planner{m, newSearch(m, 0), newRoller(m)} }

// searchRoot spends most of the budget on the whole problem, of which the cost of a plan is
// known, and returns a lower bound.
func (p *planner) searchRoot(known float64) float64 {
	s := p.first()
	if s.done() {
		return 0
	}
	rest := p.search.budget / 4
	p.search.budget -= rest
	low, _ := p.search.raise(s, known)
	p.search.budget = max(p.search.budget, 0) + rest
	f := &frame{}
	p.moves(s, f, true)
	return max(low, p.search.bound(s, f, math.Inf(1)))
}

// choose takes the probe of the best plan if that can be found within a part of the
// budget, else the one behind which the rules cost least. Each rule's own cost is
// among those compared, so by induction over the size of the set the plan costs no
// more than any rule from here on. When the rules' own budget has run out, the plan
// goes on by the rule whose cost was counted on.
func (p *planner) choose(s *state, f *frame) int {
	if probe, ok := p.exact(s); ok {
		f.active = append(f.active[:0], s.active...)
		return probe
	}
	if p.roller.budget <= 0 {
		which, _ := p.roller.best(s)
		return p.roller.next(which, s, f)
	}
	p.moves(s, f, true)
	p.search.bound(s, f, math.Inf(1))
	best, cost := -1, p.acting(s)
	for _, mv := range shortList(f.moves) {
		sum := mv.price
		for k := mv.kids[0]; k < mv.kids[1]; k++ {
			sum += p.least(&f.kids[k])
		}
		if sum < cost-tie*cost || math.IsInf(cost, 1) {
			best, cost = mv.probe, sum
		}
	}
	if which, sum := p.roller.best(s); sum < cost-tie*cost || math.IsInf(cost, 1) {
		best = p.roller.next(which, s, &frame{})
	}
	return best
}

// least is what a state costs at most: exactly when it was solved, else by rules.
func (p *planner) least(s *state) float64 {
	if e := p.search.known[s.key()]; e.exact {
		return e.cost
	}
	return p.roller.least(s)
}

// exact is the first probe of the best plan, -1 where that is none, if it is found.
func (p *planner) exact(s *state) (int, bool) {
	k := s.key()
	if e := p.search.known[k]; e.exact {
		return e.probe, true
	}
	if s.labels > fewLabels || p.search.budget <= 0 {
		return -1, false
	}
	all := p.search.budget
	share := all/8 + 1
	p.search.budget = share
	_, exact := p.search.solve(s, p.roller.least(s)*(1+1e-6)+p.search.slack*8, 0)
	p.search.budget = all - (share - p.search.budget)
	return p.search.known[k].probe, exact
}

// shortList takes the moves with the lowest bounds and those that are worth most,
// half of each. Moves are sorted by their bounds.
func shortList(moves []move) []move {
	if len(moves) <= lookAt {
		return moves
	}
	list := slices.Clone(moves[:lookAt/2])
	rest := slices.Clone(moves[lookAt/2:])
	slices.SortStableFunc(rest, func(a, b move) int {
		switch x, y := a.worth(), b.worth(); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return append(list, rest[:lookAt-lookAt/2]...)
}
