package order_test

import (
	"cmp"
	"slices"
	"testing"
	"time"

	"example.org/walkback/boards"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/order"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/suspects"
)

// How far a plan may lie above what no plan can beat, in all and beyond what mending alone
// takes, and up to how many suspects it is to be the best.
const (
	furthest     = 1.5
	beyond       = 2
	fewSuspects  = 40
	solvedExcess = 1e-9
)

// mending is what every plan takes, were all known from the start: s, on average.
func mending(p *order.Plan) float64 {
	cost, sum := 0.0, 0.0
	for _, a := range p.Repairs {
		for _, h := range a.Causes {
			w := p.P[p.Faults[h]]
			cost += w * 60 * a.Minutes
			sum += w
		}
	}
	return cost / sum
}

// TestPlansBesideTheirBounds prints for every symptom of the demo boards what the plan
// takes to the mended machine, beside the bound that no plan of probes and then repairs
// can beat: the optimum itself where few suspects are left. Where they are not, the likeliest
// of them answers until they are.
func TestPlansBesideTheirBounds(t *testing.T) {
	t.Logf("%-10s %-9s %8s %7s %8s %8s %6s %6s %6s %8s %8s %s", "board", "symptom", "suspects", "actions", "plan", "bound", "ratio",
		"beyond", "took", "walk", "half", "then")
	symptoms, best := 0, 0
	for _, name := range boards.Names() {
		n := narrower(t, name)
		for _, s := range n.Model().Board.Symptoms {
			start := time.Now()
			p, _ := plan(t, n, s.Name, checklist.Best)
			took := time.Since(start)
			ratio, alone := p.Tree.Expected/p.Tree.Lower, mending(p)
			more := (p.Tree.Expected - alone) / (p.Tree.Lower - alone)
			left := answered(t, n, p, s.Name)
			t.Logf("%-10s %-9s %8d %7d %4.1f min %4.1f min %6.3f %6.3f %3d ms %4.1f min %4.1f min %d at %.3f", name, s.Name,
				len(p.Faults), len(p.Repairs), p.Tree.Expected/60, p.Tree.Lower/60, ratio, more, took.Milliseconds(), p.Walk.Expected/60,
				p.Half.Expected/60, len(left.Faults), left.Tree.Expected/left.Tree.Lower)
			if !(ratio <= furthest && more <= beyond) || ratio < 1-solvedExcess {
				t.Errorf("%s %s: the plan takes %.3f of its bound, %.3f beyond mending", name, s.Name, ratio, more)
			}
			symptoms++
			if len(left.Faults) > fewSuspects {
				continue
			}
			best++
			if !left.Tree.Optimal || left.Tree.Expected > left.Tree.Lower*(1+solvedExcess) {
				t.Errorf("%s %s: of %d suspects the best plan was not found", name, s.Name, len(left.Faults))
			}
		}
	}
	if best < symptoms*3/4 {
		t.Errorf("few suspects were left in %d of %d symptoms", best, symptoms)
	}
}

// answered is the plan for what is left when the likeliest suspect has answered, until few
// are or the plan ends.
func answered(t *testing.T, n *suspects.Narrower, p *order.Plan, symptom string) *order.Plan {
	t.Helper()
	b, fault := n.Model().Board, slices.MaxFunc(p.Faults, func(i, j int) int { return cmp.Compare(p.P[i], p.P[j]) })
	readings, err := b.Readings(symptom, b.Usual())
	if err != nil {
		t.Fatal(err)
	}
	for len(p.Faults) > fewSuspects && p.Tree.Root.Probe >= 0 {
		k := p.Probes[p.Tree.Root.Probe]
		r, err := b.ParseReading(b.Say(p.Dict.Probes[k], p.Dict.Reads(k, fault)), b.Usual())
		if err != nil {
			t.Fatal(err)
		}
		readings = append(readings, r)
		if p, err = order.Make(n, readings, order.Options{Costs: probe.UsualCosts()}); err != nil {
			t.Fatal(err)
		}
	}
	return p
}
