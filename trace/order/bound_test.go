package order_test

import (
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/trace/checklist"
)

// How far a plan may lie above what no plan can beat, and from how many suspects on.
const (
	furthest     = 1.5
	fewSuspects  = 40
	solvedExcess = 1e-9
)

// TestPlansBesideTheirBounds prints for every symptom of the demo boards what the plan
// takes to the mended machine, beside the bound that no plan of probes and then repairs
// can beat: the optimum itself where few suspects are left.
func TestPlansBesideTheirBounds(t *testing.T) {
	t.Logf("%-10s %-10s %8s %7s %8s %8s %6s %8s %8s", "board", "symptom", "suspects", "actions", "plan", "bound", "ratio", "walk", "half")
	for _, name := range boards.Names() {
		n := narrower(t, name)
		for _, s := range n.Model().Board.Symptoms {
			p, _ := plan(t, n, s.Name, checklist.Best)
			ratio := p.Tree.Expected / p.Tree.Lower
			t.Logf("%-10s %-10s %8d %7d %4.1f min %4.1f min %6.3f %4.1f min %4.1f min", name, s.Name, len(p.Faults), len(p.Repairs),
				p.Tree.Expected/60, p.Tree.Lower/60, ratio, p.Walk.Expected/60, p.Half.Expected/60)
			if !(ratio <= furthest) || ratio < 1-solvedExcess {
				t.Errorf("%s %s: the plan takes %.3f of its bound", name, s.Name, ratio)
			}
			if len(p.Faults) <= fewSuspects && (!p.Tree.Optimal || ratio > 1+solvedExcess) {
				t.Errorf("%s %s: of %d suspects the best plan was not found", name, s.Name, len(p.Faults))
			}
		}
	}
}
