package sequence

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestMalformedProblemsAreErrors(t *testing.T) {
	two := []float64{1, 1}
	good := Probe{Outcome: []uint16{0, 1}, Cost: 1}
	for _, c := range []struct {
		name string
		p    Problem
		want string
	}{
		{"nothing", Problem{}, "no hypotheses"},
		{"too many", Problem{Weights: make([]float64, 1<<16)}, "more than"},
		{"groups missing", Problem{Weights: two, Group: []int{1}}, "1 groups for 2"},
		{"weight negative", Problem{Weights: []float64{1, -1}}, "weight 1 is -1"},
		{"weight no number", Problem{Weights: []float64{1, math.NaN()}}, "weight 1 is NaN"},
		{"weights nothing", Problem{Weights: []float64{0, 0}}, "sum to 0"},
		{"weights beyond all", Problem{Weights: []float64{1e308, 1e308}}, "sum to +Inf"},
		{"outcome missing", Problem{Weights: two, Probes: []Probe{{Outcome: []uint16{0}}}}, "probe 0: 1 outcomes for 2"},
		{"cost negative", Problem{Weights: two, Probes: []Probe{{Outcome: []uint16{0, 1}, Cost: -1}}}, "costs -1 s"},
		{"cost no number", Problem{Weights: two, Probes: []Probe{{Outcome: []uint16{0, 1}, Cost: math.NaN()}}}, "costs NaN s"},
		{"condition negative", Problem{Weights: two, Probes: []Probe{{Outcome: []uint16{0, 1}, Condition: -1}}}, "condition -1"},
		{"condition unknown", Problem{Weights: two, Change: [][]float64{{0}}, Probes: []Probe{{Outcome: []uint16{0, 1}, Condition: 1}}},
			"condition 1: there are 1"},
		{"start unknown", Problem{Weights: two, Change: [][]float64{{0}}, Start: 1}, "start condition 1"},
		{"changes not square", Problem{Weights: two, Change: [][]float64{{0, 1}}}, "2 numbers for 1"},
		{"change to itself", Problem{Weights: two, Change: [][]float64{{1}}}, "from condition 0 to 0 costs 1"},
		{"change impossible", Problem{Weights: two, Change: [][]float64{{0, math.Inf(1)}, {0, 0}}}, "costs +Inf"},
		{"guard unknown", Problem{Weights: two, Probes: []Probe{{Outcome: []uint16{0, 1}, After: []Guard{{Probe: 1}}}}}, "after probe 1"},
		{"guards in a circle", Problem{Weights: two, Probes: []Probe{
			{Outcome: []uint16{0, 1}, After: []Guard{{Probe: 1}}}, {Outcome: []uint16{0, 1}, After: []Guard{{Probe: 0}}}}},
			"probe 1, which is held back itself"},
		{"guard of a guard", Problem{Weights: two, Probes: []Probe{
			good, {Outcome: []uint16{0, 1}, After: []Guard{{Probe: 0}}}, {Outcome: []uint16{0, 1}, After: []Guard{{Probe: 1}}}}},
			"probe 2: comes after probe 1, which is held back itself"},
	} {
		_, err := Plan(&c.p, DefaultBudget)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
		for i, other := range []func(*Problem) (*Tree, error){
			Half, gain,
			func(p *Problem) (*Tree, error) { return Evaluate(p, nil) },
		} {
			if _, again := other(&c.p); again == nil || errors.Unwrap(again).Error() != errors.Unwrap(err).Error() {
				t.Errorf("%s: %v from function %d, want %v", c.name, again, i, err)
			}
		}
	}
	if _, err := Evaluate(&Problem{Weights: two, Probes: []Probe{good}}, []int{1}); err == nil {
		t.Error("an order with a probe that does not exist is not an error")
	}
}

// bench is a small board, with invented numbers: a fuse that is open with (0) or
// without (1) a short behind it, an enable that is missing (2) and a dead driver
// (3). Powering up costs 240 s and down 300 s.
func bench() *Problem {
	return &Problem{
		Weights: []float64{4, 2, 3, 1},
		Change:  [][]float64{{0, 240}, {300, 0}},
		Probes: []Probe{
			{Outcome: []uint16{1, 0, 0, 0}, Cost: 60},                                                 // ohms to ground: 1 is a short
			{Outcome: []uint16{1, 1, 0, 0}, Cost: 60},                                                 // fuse end to end
			{Outcome: []uint16{0, 0, 1, 2}, Cost: 30, Condition: 1, After: []Guard{{0, []uint16{0}}}}, // volts tell all but the first two apart
		},
	}
}

// A board is never powered before the check for a short has passed, even where its
// outcome is known, and a board with a short is never powered at all.
func TestColdChecksComeBeforePower(t *testing.T) {
	p := bench()
	tree := plan(t, p)
	for h, want := range [][]int{{0}, {0, 1}, {0, 1, 2}, {0, 1, 2}} {
		if diff := cmp.Diff(want, path(tree.Root, h)); diff != "" {
			t.Errorf("suspect %d: %s", h, diff)
		}
	}
	near(t, "mean", tree.Expected, 60+60*.6+(240+30)*.4, 1e-9)
	near(t, "worst case", tree.Worst, 60+60+240+30, 1e-9)

	equal(t, []int{0, 2}, path(plan(t, only(p, 2, 3)).Root, 0))

	p = bench()
	p.Probes[1].Outcome = []uint16{0, 0, 0, 0}
	p.Probes[0].Outcome = []uint16{1, 1, 0, 0}
	equal(t, [][]int{{2}, {3}, {0, 1}}, leaves(plan(t, p).Root))
}

// The order of work follows changes of condition: information for the second, with
// the way to the next probe left out, would power up at once.
func TestProbesOfOneConditionStayTogether(t *testing.T) {
	p := table(same(1, 4), "000", "010", "101", "111")
	priced(p, 60, 60, 10)
	p.Probes[2].Condition = 1
	p.Change = [][]float64{{0, 240}, {300, 0}}
	tree := plan(t, p)
	near(t, "mean", tree.Expected, 120, 1e-9)
	p.Change = nil
	near(t, "mean without changes", plan(t, p).Expected, 70, 1e-9)
	p.Change = [][]float64{{0, 500, 1}, {300, 0, 0}, {0, 5, 0}}
	near(t, "mean with a cheap way round", plan(t, p).Expected, 60+1+5+10, 1e-9)
}

// Suspects of one repair are not told apart, and those that no probe can tell apart
// end together.
func TestPlansEndAtGroups(t *testing.T) {
	p := table(same(1, 5), "00", "01", "10", "11", "11")
	p.Group = []int{7, 7, 8, 9, 10}
	tree := plan(t, p)
	equal(t, [][]int{{0, 1}, {2}, {3, 4}}, leaves(tree.Root))
	p.Group = []int{7, 7, 7, 7, 7}
	equal(t, &Tree{Root: &Node{Probe: -1, Share: 1, Suspects: upTo(5)}, Optimal: true}, plan(t, p))
}

func TestPlansAreTheSameEveryTime(t *testing.T) {
	p := board(80, 40, 120)
	equal(t, plan(t, p), plan(t, p))
}

// An order that leaves out probes leaves suspects together, and what such a tree
// costs is not called optimal.
func TestAnOrderCanEndEarly(t *testing.T) {
	tree := walk(t, sixStates(), 0, 1)
	equal(t, [][]int{{0, 2}, {1}, {3}, {4, 5}}, leaves(tree.Root))
	equal(t, false, tree.Optimal)
	near(t, "mean", tree.Expected, 2, 1e-9)
}

// A hand that knows its board is not bettered by the textbook rule; when there is no
// budget for anything else, its walk is what is planned.
func TestAGoodWalkIsKept(t *testing.T) {
	p := sixStates()
	p.Probes = []Probe{p.Probes[1], p.Probes[3], p.Probes[0], p.Probes[2], p.Probes[4]}
	walk := walk(t, p, 0, 1, 2, 3, 4)
	rule, err := gain(p)
	if rule = of(t, rule, err); walk.Expected >= rule.Expected {
		t.Fatalf("walk %g, gain %g: nothing to see", walk.Expected, rule.Expected)
	}
	m, err := compile(p, false)
	if err != nil {
		t.Fatal(err)
	}
	pl := newPlanner(m)
	pl.roller.budget = 0
	equal(t, walk.Root, pl.plan(0).Root)
}

// One look that tells everything, as a picture on the screen can, with many outcomes.
func TestAProbeCanHaveManyOutcomes(t *testing.T) {
	const n = 20
	p := oneByOne(same(1, n), same(1, n), false)
	look := Probe{Cost: 5}
	for h := range n {
		look.Outcome = append(look.Outcome, uint16(3000*h))
	}
	p.Probes = append(p.Probes, look)
	tree := plan(t, p)
	near(t, "mean", tree.Expected, 5, 1e-9)
	equal(t, n, len(tree.Root.Branches))
	equal(t, uint16(3000*(n-1)), tree.Root.Branches[n-1].Outcome)
	equal(t, true, tree.Optimal)
}

// 64 suspects, each cleared by a cold check of its own, or all told apart by six
// powered probes. Powering up never pays for the next probe alone, and is not even
// allowed before a check that tells nothing; still it is the better way by far.
func TestPoweringUpCanPayOverSeveralProbes(t *testing.T) {
	const n, bits = 64, 6
	p := oneByOne(same(1, n), same(30, n), false)
	p.Change = [][]float64{{0, 300}, {300, 0}}
	short := len(p.Probes)
	p.Probes = append(p.Probes, Probe{Outcome: make([]uint16, n), Cost: 30})
	for i := range bits {
		hot := Probe{Cost: 10, Condition: 1, After: []Guard{{Probe: short, Pass: []uint16{0}}}}
		for h := range n {
			hot.Outcome = append(hot.Outcome, uint16(h>>i&1))
		}
		p.Probes = append(p.Probes, hot)
	}
	rule, err := gain(p)
	if rule = of(t, rule, err); rule.Expected < 900 {
		t.Errorf("the textbook rule finds it too, at %g", rule.Expected)
	}
	ahead, err := Plan(p, 0)
	near(t, "by looking ahead", of(t, ahead, err).Expected, 30+300+10*bits, 1e-9)
	near(t, "with search", plan(t, p).Expected, 30+300+10*bits, 1e-9)
}

// A probe that cuts as another one does is dearer here, with its change, and still the best
// first one, because it leaves the board where the next probe is.
func TestProbeIsWorthWhereItLeavesTheBoard(t *testing.T) {
	p := table([]float64{.8, .1, .1}, "000", "110", "111")
	p.Change = [][]float64{{0, 1, 2}, {9, 0, 9}, {9, 9, 0}}
	p.Probes[0].Condition, p.Probes[1].Condition, p.Probes[2].Condition = 1, 2, 2
	best := plan(t, p)
	near(t, "best", best.Expected, 3+.2, 1e-9)
	if best.Root.Probe != 1 || !best.Optimal {
		t.Errorf("begins with probe %d, optimal %v", best.Root.Probe, best.Optimal)
	}
	p.Group = upTo(3)
	checkBounds(t, p)
}
