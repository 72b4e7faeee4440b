package sequence

import (
	"cmp"
	"fmt"
	"slices"
)

// Choice is a probe that could be made next.
type Choice struct {
	Probe    int
	Change   float64 // s to bring the board into its condition
	Cost     float64 // s of the probe
	Gain     float64 // bits that it tells about the groups, on average
	Expected float64 // s to the end when it comes first; a plan with this cost is known
	Lower    float64 // s; no plan that begins so costs less on average
	Outcomes []Meaning
}

// Meaning is what an outcome would say.
type Meaning struct {
	Outcome  uint16
	Share    float64 // of the weight
	Suspects []int   // hypotheses that would be left, in rising order
	Groups   []int   // theirs, each once, in rising order
}

// Next gives up to k probes to choose from, the best first. There are none when
// one group is left or when no probe tells apart what is left.
func Next(p *Problem, k, budget int) ([]Choice, error) {
	m, err := compile(p, false)
	if err != nil {
		return nil, fmt.Errorf("next: %w", err)
	}
	s := m.first()
	if s.done() || k <= 0 {
		return nil, nil
	}
	pl, f := newPlanner(m, budget), &frame{}
	pl.searchRoot()
	best := pl.choose(s, &frame{})
	m.moves(s, f, true)
	pl.search.bound(s, f)
	list := slices.Clone(f.moves[:min(len(f.moves), max(k, lookAt))])
	if i := slices.IndexFunc(f.moves, func(mv move) bool { return mv.probe == best }); i >= len(list) {
		list = append(list, f.moves[i])
	}
	var choices []Choice
	for i := range list {
		choices = append(choices, pl.choice(p, s, f, &list[i]))
	}
	slices.SortStableFunc(choices, func(a, b Choice) int { return cmp.Compare(a.Expected, b.Expected) })
	return choices[:min(k, len(choices))], nil
}

// choice works out what comes of a move.
func (p *planner) choice(problem *Problem, s *state, f *frame, mv *move) Choice {
	pr := &p.probes[mv.probe]
	c := Choice{
		Probe: pr.index, Change: p.change[s.cond][pr.cond], Cost: pr.cost,
		Gain: mv.gain / s.mass, Expected: mv.price / s.mass, Lower: mv.low / s.mass,
	}
	for i := mv.kids[0]; i < mv.kids[1]; i++ {
		kid := &f.kids[i]
		p.exact(kid)
		c.Expected += p.least(kid) / s.mass
		left := p.hypotheses(kid.set)
		c.Outcomes = append(c.Outcomes, Meaning{
			pr.value[pr.column[kid.set[0]]], kid.mass / s.mass, left, groupsOf(problem, left),
		})
	}
	slices.SortFunc(c.Outcomes, func(a, b Meaning) int { return cmp.Compare(a.Outcome, b.Outcome) })
	return c
}
