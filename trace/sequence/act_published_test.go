package sequence

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// mended gives the hypotheses of a problem prices of mending.
func mended(p *Problem, prices ...float64) *Problem {
	p.Act = prices
	return p
}

// TestProbeOrAct has own examples, computed by hand: what a probe is worth is what the
// rest of the order costs more without it.
func TestProbeOrAct(t *testing.T) {
	two := func(cost float64) *Tree {
		return plan(t, mended(priced(table([]float64{.6, .4}, "0", "1"), cost), 6, 90))
	}
	near(t, "without", plan(t, mended(&Problem{Weights: []float64{.6, .4}}, 6, 90)).Expected, 42, 1e-9)
	near(t, "a probe for 2.3", two(2.3).Expected, 41.9, 1e-9)
	if x := two(2.5); x.Root.Probe >= 0 || !slices.Equal(x.Root.Order, []int{0, 1}) || math.Abs(x.Expected-42) > 1e-9 {
		t.Errorf("a probe for 2.5, of which one for 2.4 pays: %+v", x.Root)
	}
	// A capacitor, a transistor and a ball-grid chip.
	three := func(rows []string, costs ...float64) *Tree {
		return plan(t, mended(priced(table([]float64{.25, .35, .4}, rows...), costs...), 6, 12, 90))
	}
	near(t, "no probe", plan(t, mended(&Problem{Weights: []float64{.25, .35, .4}}, 6, 12, 90)).Expected, 51, 1e-9)
	near(t, "capacitor apart", three([]string{"0", "1", "1"}, .5).Expected, 47, 1e-9)
	near(t, "chip apart", three([]string{"0", "0", "1"}, .5).Expected, 44.3, 1e-9)
	both := three([]string{"00", "10", "11"}, .5, .5)
	near(t, "both", both.Expected, 42.5, 1e-9)
	if !both.Optimal || both.Root.Probe != 1 {
		t.Errorf("%+v", both)
	}
}

// TestComputerRepair has the costs of the tree by P. A. Jensen and J. F. Bard, Operations
// Research Models and Methods: exchange A 100, B 200, C 30, D 80, the motherboard 500,
// which mends all; tests X 50, Y 70, Z 80. Its probabilities were not to be read, so these
// are our own, and the costs were computed exhaustively. A test comes before all exchanges
// here, which is best where tests are cheap.
func TestComputerRepair(t *testing.T) {
	weights := []float64{.25, .15, .25, .20, .15}
	prices := []float64{100, 200, 30, 80, 500}
	near(t, "no tests", plan(t, mended(&Problem{Weights: weights}, prices...)).Expected, 280, 1e-9)
	tests := table(weights, "000", "010", "111", "111", "110")
	tenth := plan(t, mended(priced(tests, 5, 7, 8), prices...))
	near(t, "a tenth", tenth.Expected, 172.1, 1e-9)
	// C and D stay together, and .2 times 30 is lost beyond Σ p C.
	near(t, "for nothing", plan(t, mended(priced(tests, 0, 0, 0), prices...)).Expected, 153.5+6, 1e-9)
}

// exhaustive is the least cost of all plans from a set of hypotheses, probes first, then
// mending in the best of all orders; times the mass.
func exhaustive(p *Problem, set []int, used uint) float64 {
	best := math.Inf(1)
	permutations(len(set), func(order []int) {
		cost, left := 0.0, 0.0
		for _, i := range set {
			left += p.Weights[i]
		}
		for _, k := range order {
			cost += left * p.Act[set[k]]
			left -= p.Weights[set[k]]
		}
		best = min(best, cost)
	})
	for j := range p.Probes {
		if used>>j&1 != 0 {
			continue
		}
		kids := map[uint16][]int{}
		cost := 0.0
		for _, i := range set {
			kids[p.Probes[j].Outcome[i]] = append(kids[p.Probes[j].Outcome[i]], i)
			cost += p.Weights[i] * p.Probes[j].Cost
		}
		if len(kids) < 2 {
			continue
		}
		for _, kid := range kids {
			cost += exhaustive(p, kid, used|1<<j)
		}
		best = min(best, cost)
	}
	return best
}

// TestBestOfAllPlans compares with exhaustive search: the plan is the best there is, and
// without a search neither plan nor bound are on the wrong side of it.
func TestBestOfAllPlans(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, probes := rapid.IntRange(1, 5).Draw(t, "hypotheses"), rapid.IntRange(0, 4).Draw(t, "probes")
		p := &Problem{}
		sum := 0.0
		for range n {
			p.Weights = append(p.Weights, rapid.Float64Range(0.001, 1).Draw(t, "weight"))
			p.Act = append(p.Act, rapid.Float64Range(1, 90).Draw(t, "price"))
			sum += p.Weights[len(p.Weights)-1]
		}
		for i := range p.Weights {
			p.Weights[i] /= sum
		}
		for range probes {
			x := Probe{Cost: rapid.Float64Range(0.1, 5).Draw(t, "cost")}
			for range n {
				x.Outcome = append(x.Outcome, uint16(rapid.IntRange(0, 2).Draw(t, "outcome")))
			}
			p.Probes = append(p.Probes, x)
		}
		least := exhaustive(p, upTo(n), 0)
		tree, err := Plan(p, DefaultBudget)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(tree.Expected-least) > 1e-9*least || tree.Lower > least*(1+1e-9) || !tree.Optimal {
			t.Fatalf("%+v costs %g, the best plan %g", tree, tree.Expected, least)
		}
		quick, err := Plan(p, 0)
		if err != nil {
			t.Fatal(err)
		}
		if quick.Expected < least*(1-1e-9) || quick.Lower > least*(1+1e-9) {
			t.Fatalf("without search: %g, bound %g, the best %g", quick.Expected, quick.Lower, least)
		}
	})
}

// TestUselessProbeIsLeftOut has a probe behind whose outcomes the same is done.
func TestUselessProbeIsLeftOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		price := rapid.Float64Range(0.01, 10).Draw(t, "price")
		p := mended(priced(table([]float64{.3, .3, .4}, "0", "1", "1"), rapid.Float64Range(0.001, 5).Draw(t, "cost")), price, price, price)
		p.Group = []int{0, 0, 0}
		tree, err := Plan(p, DefaultBudget)
		if err != nil {
			t.Fatal(err)
		}
		if tree.Root.Probe >= 0 || math.Abs(tree.Expected-price) > 1e-9 {
			t.Fatalf("%+v", tree.Root)
		}
	})
}
