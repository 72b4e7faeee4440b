package sequence

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// table makes a problem from the rows of a fault dictionary: one string of digits
// for each hypothesis, one digit for each probe, unit costs.
func table(weights []float64, rows ...string) *Problem {
	p := &Problem{Weights: weights}
	for j := range rows[0] {
		outcome := make([]uint16, len(rows))
		for i, row := range rows {
			outcome[i] = uint16(row[j] - '0')
		}
		p.Probes = append(p.Probes, Probe{Outcome: outcome, Cost: 1})
	}
	return p
}

// chainProblem is that of parts in a row of which one is bad, with a probe between each two:
// costs[j] is that of the probe behind part j, whose outcome is 1 when the fault is at part j
// or before.
func chainProblem(weights, costs []float64) *Problem {
	p := &Problem{Weights: weights}
	for j, cost := range costs {
		outcome := make([]uint16, len(weights))
		for i := range outcome[:j+1] {
			outcome[i] = 1
		}
		p.Probes = append(p.Probes, Probe{Outcome: outcome, Cost: cost})
	}
	return p
}

// priced gives probes their costs.
func priced(p *Problem, costs ...float64) *Problem {
	for i, c := range costs {
		p.Probes[i].Cost = c
	}
	return p
}

// of passes a tree on when there is no error.
func of(t testing.TB, tree *Tree, err error) *Tree {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	return tree
}

func same(weight float64, n int) []float64 { return slices.Repeat([]float64{weight}, n) }

// upTo lists 0, 1, ... n-1.
func upTo(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

// near compares with the number of digits that the source prints.
func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.9g, want %.9g", what, got, want)
	}
}

// path is the list of probes on the way to a hypothesis.
func path(n *Node, hypothesis int) []int {
	var list []int
	for n.Probe >= 0 {
		list = append(list, n.Probe)
		i := slices.IndexFunc(n.Branches, func(b Branch) bool { return slices.Contains(b.Node.Suspects, hypothesis) })
		n = n.Branches[i].Node
	}
	return list
}

// leaves lists the sets in which a tree ends.
func leaves(n *Node) [][]int {
	if n.Probe < 0 {
		return [][]int{n.Suspects}
	}
	var list [][]int
	for _, b := range n.Branches {
		list = append(list, leaves(b.Node)...)
	}
	return list
}

// permutations calls visit with every order of 0 ... n-1.
func permutations(n int, visit func(order []int)) {
	var next func(order, left []int)
	next = func(order, left []int) {
		if len(left) == 0 {
			visit(order)
		}
		for i := range left {
			next(append(slices.Clone(order), left[i]), slices.Delete(slices.Clone(left), i, i+1))
		}
	}
	next(nil, upTo(n))
}

var about = cmpopts.EquateApprox(0, 1e-9)

func equal(t *testing.T, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got, about); diff != "" {
		t.Error(diff)
	}
}

// plan is the best plan with the usual budget.
func plan(t testing.TB, p *Problem) *Tree {
	t.Helper()
	tree, err := Plan(p, DefaultBudget)
	return of(t, tree, err)
}

// walk is the plan of an order.
func walk(t testing.TB, p *Problem, order ...int) *Tree {
	t.Helper()
	tree, err := Evaluate(p, order)
	return of(t, tree, err)
}

// gain is the plan of the textbook rule: take the probe that tells most about the
// groups for the second, changes of condition counted.
func gain(p *Problem) (*Tree, error) {
	m, err := compile(p, true)
	if err != nil {
		return nil, fmt.Errorf("gain: %w", err)
	}
	return m.follow(byGain), nil
}

// only is a problem with some of its hypotheses.
func only(p *Problem, left ...int) *Problem {
	q := *p
	q.Weights, q.Probes = nil, slices.Clone(p.Probes)
	for i := range q.Probes {
		q.Probes[i].Outcome = nil
	}
	for _, h := range left {
		q.Weights = append(q.Weights, p.Weights[h])
		for i := range q.Probes {
			q.Probes[i].Outcome = append(q.Probes[i].Outcome, p.Probes[i].Outcome[h])
		}
	}
	return &q
}
