// Package sequence plans in which order to probe, so that the suspects are told
// apart at the least expected cost in seconds.
//
//	tree, err := sequence.Plan(problem, sequence.DefaultBudget)
//
// A [Problem] knows no board: it has hypotheses with weights, probes with the
// outcome that each hypothesis would give, and what it costs to bring the board
// from one condition into another. A [Tree] says what to probe first and what to
// do after each outcome, with its cost and a lower bound that no plan can beat.
//
// Outcomes are certain here. That a reading can be wrong is for whoever weighs the
// readings afterwards; a plan made for certain outcomes stays a good order as long
// as misreads are rare, and is made anew from the weights after every reading.
package sequence

import (
	"errors"
	"fmt"
	"math"
)

// Problem is what there is to tell apart, and by what. Put the probes in the order
// in which a hand would walk through them: Plan never does worse than that order.
type Problem struct {
	Weights []float64   // one for each hypothesis, on any scale; 0 is still possible, and counts as 1e-12 of the sum
	Group   []int       // hypotheses of one group need not be told apart; nil: each stands for itself
	Act     []float64   // s to mend what a hypothesis stands for, one price a group; nil: they are told apart, and no more
	Probes  []Probe     //
	Change  [][]float64 // s to bring the board from one condition into another, directly or by way of others; nil: nothing
	Start   int         // condition in which the board is now
}

// Probe is a measurement that can be made.
type Probe struct {
	Outcome   []uint16 // what each hypothesis would show
	Cost      float64  // s, with what its risk is worth
	Condition int      // of the board while it is made
	After     []Guard  // must have been made before
}

// Guard holds a probe back until another one was made and has passed. What an
// outcome would be is not enough, even when the suspects leave no doubt. What holds
// others back is not held back itself.
type Guard struct {
	Probe int
	Pass  []uint16 // outcomes that let the guarded probe follow; empty: any
}

const (
	maxCost       = 1e9       // s; keeps sums far from overflow
	maxHypotheses = 1<<16 - 2 // their numbers are kept in 16 bits
	maxGuards     = 256       // probes that hold others back
	leastWeight   = 1e-12     // share of a hypothesis with weight 0
)

// check finds what is wrong with the numbers of a problem.
func (p *Problem) check() error {
	n := len(p.Weights)
	switch {
	case n == 0:
		return errors.New("no hypotheses")
	case n > maxHypotheses || len(p.Probes) > maxHypotheses:
		return fmt.Errorf("more than %d hypotheses or probes", maxHypotheses)
	case p.Group != nil && len(p.Group) != n:
		return fmt.Errorf("%d groups for %d hypotheses", len(p.Group), n)
	}
	if err := p.checkWeights(); err != nil {
		return err
	}
	if err := p.checkAct(); err != nil {
		return err
	}
	if err := p.checkChange(); err != nil {
		return err
	}
	for i := range p.Probes {
		if err := p.checkProbe(&p.Probes[i]); err != nil {
			return fmt.Errorf("probe %d: %w", i, err)
		}
	}
	return nil
}

func (p *Problem) checkWeights() error {
	sum := 0.0
	for i, w := range p.Weights {
		if !(w >= 0) || math.IsInf(w, 0) {
			return fmt.Errorf("weight %d is %g", i, w)
		}
		sum += w
	}
	if !(sum > 0) || math.IsInf(sum, 0) {
		return fmt.Errorf("the weights sum to %g", sum)
	}
	return nil
}

func (p *Problem) checkAct() error {
	if p.Act == nil {
		return nil
	}
	if len(p.Act) != len(p.Weights) {
		return fmt.Errorf("%d prices of mending for %d hypotheses", len(p.Act), len(p.Weights))
	}
	price := map[int]float64{}
	for h, c := range p.Act {
		g := h
		if p.Group != nil {
			g = p.Group[h]
		}
		if first, ok := price[g]; !(c > 0 && c <= maxCost) || ok && first != c {
			return fmt.Errorf("mending hypothesis %d costs %g s", h, c)
		}
		price[g] = c
	}
	return nil
}

func (p *Problem) checkChange() error {
	if p.Start < 0 || p.Change != nil && p.Start >= len(p.Change) {
		return fmt.Errorf("start condition %d: there are %d", p.Start, len(p.Change))
	}
	for i, row := range p.Change {
		if len(row) != len(p.Change) {
			return fmt.Errorf("changes from condition %d: %d numbers for %d conditions", i, len(row), len(p.Change))
		}
		for j, c := range row {
			if !(c >= 0 && c <= maxCost) || i == j && c != 0 {
				return fmt.Errorf("change from condition %d to %d costs %g s", i, j, c)
			}
		}
	}
	return nil
}

func (p *Problem) checkProbe(probe *Probe) error {
	switch {
	case len(probe.Outcome) != len(p.Weights):
		return fmt.Errorf("%d outcomes for %d hypotheses", len(probe.Outcome), len(p.Weights))
	case !(probe.Cost >= 0 && probe.Cost <= maxCost):
		return fmt.Errorf("costs %g s", probe.Cost)
	case probe.Condition < 0 || p.Change != nil && probe.Condition >= len(p.Change):
		return fmt.Errorf("condition %d: there are %d", probe.Condition, len(p.Change))
	}
	for _, g := range probe.After {
		if g.Probe < 0 || g.Probe >= len(p.Probes) {
			return fmt.Errorf("comes after probe %d: there are %d", g.Probe, len(p.Probes))
		}
		if len(p.Probes[g.Probe].After) > 0 {
			return fmt.Errorf("comes after probe %d, which is held back itself", g.Probe)
		}
	}
	return nil
}
