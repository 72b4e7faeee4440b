package sequence

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// Half-split of n equal parts in a row. The rule, from US Army course IT0338,
// "midpoint of the brackets": check in the middle; good moves the left bracket, bad
// the right one. The mean is that of a binary tree with least path length (Knuth,
// vol. 3, 6.2.1): with k = ⌊log2 n⌋, (k·n + 2(n − 2^k)) / n; the worst case ⌈log2 n⌉.
// From front to back it is (n−1)(n+2)/2n. The numbers are these formulas worked out.
func TestHalfSplitTakesTheKnownNumberOfChecks(t *testing.T) {
	for _, c := range []struct {
		n                  int
		mean, worst, walks float64
	}{
		{3, 1.666667, 2, 1.666667},
		{4, 2, 2, 2.25},
		{5, 2.4, 3, 2.8},
		{6, 2.666667, 3, 3.333333},
		{7, 2.857143, 3, 3.857143},
		{8, 3, 3, 4.375},
		{10, 3.4, 4, 5.4},
		{16, 4, 4, 8.4375},
		{20, 4.4, 5, 10.45},
		{32, 5, 5, 16.46875},
		{64, 6, 6, 32.484375},
		{100, 6.72, 7, 50.49},
	} {
		p := chainProblem(same(1, c.n), same(1, c.n-1))
		half, err := Half(p)
		half = of(t, half, err)
		near(t, fmt.Sprint("half-split mean of ", c.n), half.Expected, c.mean, 5e-7)
		near(t, fmt.Sprint("half-split worst case of ", c.n), half.Worst, c.worst, 0)
		walk, err := Evaluate(p, upTo(c.n-1))
		near(t, fmt.Sprint("front to back mean of ", c.n), of(t, walk, err).Expected, c.walks, 5e-7)
		near(t, fmt.Sprint("best mean of ", c.n), plan(t, p).Expected, c.mean, 5e-7)
	}
}

// oneByOne is the problem of testing parts each by its own test. With last set,
// "none of them" is a suspect too, so that the last part must be tested as well.
func oneByOne(weights, costs []float64, last bool) *Problem {
	weights = slices.Clone(weights)
	if last {
		weights = append(weights, 0)
	}
	p := &Problem{Weights: weights}
	for i, c := range costs {
		outcome := make([]uint16, len(weights))
		outcome[i] = 1
		p.Probes = append(p.Probes, Probe{Outcome: outcome, Cost: c})
	}
	return p
}

// Mitten, "An analytic solution to the least cost testing sequence problem", J.
// Ind. Eng. 11, 1960, and Kadane and Simon, "Optimal strategies for a class of
// constrained sequential problems", Ann. Stat. 5, 1977 (both from memory): when every
// part must be tested, the order of rising cost over probability is best. The sums are
// worked out by hand from p=(.4,.3,.2,.1), c=(4,1,2,5).
func TestRatioOrderIsBestWhenEveryPartMustBeTested(t *testing.T) {
	p := oneByOne([]float64{.4, .3, .2, .1}, []float64{4, 1, 2, 5}, true)
	best := plan(t, p)
	near(t, "best", best.Expected, 4.9, 1e-9)
	if first := best.Root.Probe; first != 1 || !best.Optimal {
		t.Errorf("best plan begins with part %d, optimal %v", first, best.Optimal)
	}
	worst := 0.0
	permutations(4, func(order []int) { worst = max(worst, walk(t, p, order...).Expected) })
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"by ratio", walk(t, p, 1, 0, 2, 3).Expected, 4.9},
		{"by ratio, the tie the other way", walk(t, p, 1, 2, 0, 3).Expected, 4.9},
		{"by probability", walk(t, p, 0, 1, 2, 3).Expected, 5.7},
		{"worst order", worst, 9.9},
	} {
		near(t, c.name, c.got, c.want, 1e-9)
	}
}

// The same rule is not best when the last suspect needs no test: p=(.6,.3,.1),
// c=(6,1,1), worked out by hand.
func TestRatioOrderIsNotBestWhenTheLastSuspectNeedsNoTest(t *testing.T) {
	p := oneByOne([]float64{.6, .3, .1}, []float64{6, 1, 1}, false)
	near(t, "by ratio", walk(t, p, 1, 0, 2).Expected, 5.2, 1e-9)
	near(t, "2, 3, 1", walk(t, p, 1, 2, 0).Expected, 1.7, 1e-9)
	near(t, "best", plan(t, p).Expected, 1.7, 1e-9)
}

// system is the problem of finding out whether at least k of n parts that fail
// independently work. A hypothesis is a set of working parts.
func system(works, costs []float64, k int) *Problem {
	n := len(works)
	p := &Problem{}
	for set := range 1 << n {
		w, count := 1.0, 0
		for i, q := range works {
			if set>>i&1 != 0 {
				w *= q
				count++
			} else {
				w *= 1 - q
			}
		}
		up := 0
		if count >= k {
			up = 1
		}
		p.Weights, p.Group = append(p.Weights, w), append(p.Group, up)
	}
	for i, c := range costs {
		outcome := make([]uint16, 1<<n)
		for set := range outcome {
			outcome[set] = uint16(set >> i & 1)
		}
		p.Probes = append(p.Probes, Probe{Outcome: outcome, Cost: c})
	}
	return p
}

// Butterworth, "Some reliability fault-testing models", Oper. Res. 20, 1972 (from
// memory): a series system is tested in the order of rising c/q, with q the chance of
// failure. The sums Σ c × Π (1−q of those before) are worked out by hand.
func TestSeriesSystemIsTestedByCostOverFailure(t *testing.T) {
	p := system([]float64{.9, .8, .95, .7}, []float64{2, 5, 1, 9}, 4)
	best := plan(t, p)
	near(t, "best", best.Expected, 13.331, 1e-9)
	for _, c := range []struct {
		order []int
		want  float64
	}{
		{[]int{0, 2, 1, 3}, 13.331},
		{[]int{2, 0, 1, 3}, 13.331},
		{[]int{0, 1, 2, 3}, 13.376},
		{[]int{3, 1, 0, 2}, 14.124},
	} {
		near(t, fmt.Sprint(c.order), walk(t, p, c.order...).Expected, c.want, 1e-9)
	}
}

// k of n: Salloum 1979, Ben-Dov 1981, Chang, Shi and Fuchs 1990 (rule from memory):
// with the parts sorted by c/p and by c/q, a part among the first k of the one and
// the first n−k+1 of the other is a best first test. The costs were worked out with a
// dynamic program over sets of tested parts, apart from this package.
func TestKOutOfN(t *testing.T) {
	works, costs := []float64{.9, .8, .7, .6}, []float64{1, 2, 3, 1}
	for _, c := range []struct {
		k     int
		want  float64
		first []int
	}{
		{1, 1.204, []int{0}},
		{2, 3.268, []int{0}},
		{3, 5.252, []int{0, 3}},
		{4, 3.976, []int{3}},
	} {
		best := plan(t, system(works, costs, c.k))
		near(t, fmt.Sprint(c.k, " of 4"), best.Expected, c.want, 1e-9)
		for _, i := range c.first { // others may be as good
			restWorks, restCosts := slices.Delete(slices.Clone(works), i, i+1), slices.Delete(slices.Clone(costs), i, i+1)
			up, down := plan(t, system(restWorks, restCosts, c.k-1)).Expected, plan(t, system(restWorks, restCosts, c.k)).Expected
			near(t, fmt.Sprint(c.k, " of 4 by part ", i, " first"), costs[i]+works[i]*up+(1-works[i])*down, c.want, 1e-9)
		}
	}
}

// Balakrishnan and Semmelbauer, "Circuit diagnosis support system for electronics
// assembly operations", Decision Support Systems, 1999: table 1, five defects by
// four tests, and the traces for defect 3. In the table with unknown entries (U)
// a defect is kept whatever the test shows; here that is one hypothesis for each
// way to fill the entries, all of one group.
func TestTracesOfTheCircuitBoardPaper(t *testing.T) {
	p := table(same(1, 5), "0000", "0001", "0011", "0111", "1111")
	equal(t, []int{0, 1, 2}, path(walk(t, p, 0, 1, 2, 3).Root, 2))
	equal(t, []int{1, 2}, path(walk(t, p, 1, 0, 2, 3).Root, 2))

	var rows []string
	var groups []int
	for d, row := range []string{"UUU0", "UU01", "U011", "0111", "1111"} {
		filled := []string{""}
		for _, c := range row {
			var longer []string
			for _, f := range filled {
				if c != '1' {
					longer = append(longer, f+"0")
				}
				if c != '0' {
					longer = append(longer, f+"1")
				}
			}
			filled = longer
		}
		for _, f := range filled {
			rows, groups = append(rows, f), append(groups, d)
		}
	}
	u := table(same(1, len(rows)), rows...)
	u.Group = groups
	tree := walk(t, u, 0, 1, 2, 3)
	for h, g := range groups {
		if g == 2 {
			equal(t, []int{0, 1, 2, 3}, path(tree.Root, h))
		}
	}
}

// sixStates is the example of Pattipati and Alexandridis, "Application of heuristic
// search and information theory to sequential fault diagnosis", IEEE Trans. SMC 20(4),
// 1990, again in Raghavan, Shakeri and Pattipati, IEEE Trans. SMC-A 29(2), 1999
// (the matrix from memory; its optimum of 2.18 agrees with theirs).
func sixStates() *Problem {
	return table([]float64{.70, .01, .02, .10, .05, .12}, "00000", "01001", "00110", "10011", "11000", "11110")
}

// Optimum and Huffman bound as printed in the papers; greedy information gain and
// the other costs were recomputed with a dynamic program apart from this package.
func TestSixStates(t *testing.T) {
	best := plan(t, sixStates())
	near(t, "optimum", best.Expected, 2.18, 1e-9)
	if !best.Optimal || best.Root.Probe != 1 {
		t.Errorf("begins with T%d, optimal %v", best.Root.Probe+1, best.Optimal)
	}
	// The tree of the paper: T2; passed T4, and when that fails T1; failed T3, and when that passes T1.
	equal(t, [][]int{{1, 3}, {1, 2, 0}, {1, 3, 0}, {1, 3, 0}, {1, 2, 0}, {1, 2}},
		[][]int{path(best.Root, 0), path(best.Root, 1), path(best.Root, 2), path(best.Root, 3), path(best.Root, 4), path(best.Root, 5)})

	rule, err := gain(sixStates())
	near(t, "information gain", of(t, rule, err).Expected, 2.86, 1e-9)
	equal(t, 0, rule.Root.Probe)

	fault := only(sixStates(), 1, 2, 3, 4, 5)
	near(t, "given a fault", plan(t, fault).Expected, 2.2, 1e-9)
	equal(t, 1, plan(t, fault).Root.Probe)

	for _, c := range []struct {
		costs []float64
		want  float64
		first int
	}{
		{[]float64{1, 2, 1, 1, 1}, 2.85, 3},
		{[]float64{1, 3, 1, 1, 1}, 2.85, 3},
		{[]float64{2, 1, 3, 1, 1}, 2.18, 1},
	} {
		p := priced(sixStates(), c.costs...)
		near(t, fmt.Sprint("costs ", c.costs), plan(t, p).Expected, c.want, 1e-9)
		equal(t, c.first, plan(t, p).Root.Probe)
	}

	weights := sixStates().Weights
	near(t, "Huffman bound", huffman(slices.Clone(weights), 2), 1.59, 1e-9)
	near(t, "entropy", entropy(weights), 1.454873, 5e-7)
}

func entropy(weights []float64) float64 {
	h, sum := 0.0, 0.0
	for _, w := range weights {
		sum += w
	}
	for _, w := range weights {
		h -= xlogx(w / sum)
	}
	return h
}

// Chains with probe costs: an order-preserving tree over all intervals, as in
// Gilbert and Moore 1959 with a cost for each cut. No source prints this table; it
// was worked out with a dynamic program over intervals and a greedy rule written
// apart from this package.
func TestChainsWithCosts(t *testing.T) {
	seven := []float64{.45, .02, .02, .02, .02, .02, .45}
	for _, c := range []struct {
		weights, costs       []float64
		best, greedy, walked float64
		first                []int // probes after which part
	}{
		{same(1, 8), same(1, 7), 3, 3, 4.375, []int{4}},
		{[]float64{.4, .3, .2, .1}, same(1, 3), 1.9, 1.9, 1.9, []int{1, 2}},
		{[]float64{.05, .1, .4, .2, .15, .1}, same(1, 5), 2.4, 2.4, 3.5, []int{3}},
		{[]float64{.05, .1, .4, .2, .15, .1}, []float64{1, 3, 1, 2, 1}, 3.95, 4.2, 5.85, []int{3}},
		{[]float64{.3, .05, .05, .05, .05, .5}, same(1, 5), 1.9, 1.9, 3.5, []int{5}},
		{[]float64{.1, .2, .3, .4}, []float64{5, 1, 1}, 3.1, 3.1, 6.6, []int{3}},
		{seven, same(1, 6), 1.79, 2.14, 3.55, []int{1, 6}},
		{[]float64{18, 1, 1, 19}, same(1, 3), 61. / 39, 78. / 39, math.NaN(), []int{3}},
	} {
		name := fmt.Sprint(c.weights, c.costs)
		p := chainProblem(c.weights, c.costs)
		best := plan(t, p)
		near(t, name+" best", best.Expected, c.best, 1e-9)
		if !slices.Contains(c.first, best.Root.Probe+1) {
			t.Errorf("%s: first after part %d, want one of %v", name, best.Root.Probe+1, c.first)
		}
		rule, err := gain(p)
		near(t, name+" greedy", of(t, rule, err).Expected, c.greedy, 1e-9)
		if !math.IsNaN(c.walked) {
			near(t, name+" front to back", walk(t, p, upTo(len(c.costs))...).Expected, c.walked, 1e-9)
		}
	}
}
