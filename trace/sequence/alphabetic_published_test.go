package sequence

import (
	"fmt"
	"slices"
	"testing"
)

// The letters of English with the space in front, from Gilbert and Moore,
// "Variable-length binary encodings", Bell Syst. Tech. J. 38, 1959; Knuth, The Art
// of Computer Programming, vol. 3, 6.2.2 has whole numbers in the same proportions (both
// from memory).
var (
	letters = []float64{.1859, .0642, .0127, .0218, .0317, .1031, .0208, .0152, .0467, .0575, .0008, .0049, .0321,
		.0198, .0574, .0632, .0152, .0008, .0484, .0514, .0796, .0228, .0083, .0175, .0013, .0164, .0005}
	counts = []float64{186, 64, 13, 22, 32, 103, 21, 15, 47, 57, 1, 5, 32, 20, 57, 63, 15, 1, 48, 51, 80, 23, 8, 18, 1, 16, 1}
)

// Gilbert and Moore print 4.1978 for the alphabet and 4.1195 for Huffman's code. The
// further rows were worked out with the plain cubic recurrence and a heap, apart
// from this package.
func TestAlphabeticTreesAndHuffman(t *testing.T) {
	for _, c := range []struct {
		weights             []float64
		alphabetic, huffman float64
	}{
		{letters, 4.1978, 4.1195},
		{counts, 4200, 4124},
		{[]float64{1, 2, 3, 4, 5}, 33, 33},
		{[]float64{5, 4, 3, 2, 1}, 33, 33},
		{[]float64{10, 1, 10}, 32, 32},
		{[]float64{8, 7, 6, 9, 1, 2, 3, 20}, 149, 148},
		{[]float64{4, 2, 3, 4}, 26, 26},
		{[]float64{1, 2, 23, 4, 3, 3, 5, 19}, 153, 142},
		{[]float64{3, 1, 4, 1, 5, 9, 2, 6, 5, 3, 5}, 149, 143},
		{[]float64{2, 1, 7, 8, 2, 8, 1, 8, 2, 8, 4, 5, 9}, 236, 222},
		{[]float64{25, 20, 2, 3, 5, 10, 8, 7, 1, 4}, 242, 241},
		{[]float64{12, 10, 20, 1, 9, 16, 23, 7, 3, 25, 24, 8}, 542, 527},
	} {
		sum := 0.0
		for _, w := range c.weights {
			sum += w
		}
		tree := plan(t, chainProblem(c.weights, same(1, len(c.weights)-1)))
		cost := tree.Expected * sum
		near(t, fmt.Sprint(c.weights), cost, c.alphabetic, 1e-8)
		near(t, fmt.Sprint(c.weights, " by Huffman"), huffman(slices.Clone(c.weights), 2), c.huffman, 1e-9)
		again := 0.0
		for i, w := range c.weights {
			again += w * float64(len(path(tree.Root, i)))
		}
		near(t, fmt.Sprint(c.weights, " by the depths"), again, cost, 1e-8)
		// Gilbert and Moore: the entropy is at most the cost, and the cost less than 2 above it.
		if h := entropy(c.weights); cost/sum < h || cost/sum >= h+2 || c.huffman/sum >= h+1 {
			t.Errorf("%v: cost %g and entropy %g", c.weights, cost/sum, h)
		}
	}
	near(t, "entropy of the letters", entropy(letters), 4.079911, 5e-7)
	near(t, "entropy of the counts", entropy(counts), 4.084274, 5e-7)
}

// Cormen, Leiserson, Rivest and Stein, Introduction to Algorithms: Huffman codes,
// frequencies in thousands 45 13 12 16 9 5, cost 224; and optimal binary search
// trees, p=(.15,.10,.05,.10,.20), q=(.05,.10,.05,.05,.05,.10), cost 2.75. The book
// counts the nodes on the way to a gap with the gap itself, so the comparisons made
// are fewer by Σ q.
func TestTextbookTrees(t *testing.T) {
	near(t, "Huffman", huffman([]float64{45, 13, 12, 16, 9, 5}, 2), 224, 0)

	p, q := []float64{.15, .10, .05, .10, .20}, []float64{.05, .10, .05, .05, .05, .10}
	problem := &Problem{Weights: []float64{q[0]}}
	sumQ := q[0]
	for i := range p {
		problem.Weights = append(problem.Weights, p[i], q[i+1])
		sumQ += q[i+1]
	}
	for i := range p {
		outcome := make([]uint16, len(problem.Weights))
		for h := range outcome {
			switch key := 2*i + 1; {
			case h == key:
				outcome[h] = 1
			case h > key:
				outcome[h] = 2
			}
		}
		problem.Probes = append(problem.Probes, Probe{Outcome: outcome, Cost: 1})
	}
	best := plan(t, problem)
	near(t, "optimal search tree", best.Expected+sumQ, 2.75, 1e-9)
	equal(t, true, best.Optimal)
}

// Ambiguity group and isolation as in IEEE 1522 and MIL-STD-2165, on the table of
// sixStates: the groups that a plan ends with are those that its tests can tell
// apart at all. The fractions are worked out by hand from the failure rates.
func TestAmbiguityGroupsOfAPlan(t *testing.T) {
	for _, c := range []struct {
		tests           []int
		ffd, ffi1, ffi2 float64
		size, mean      float64
	}{
		{[]int{0, 1, 2, 3, 4}, 1, 1, 1, 1, 1},
		{[]int{0, 1, 2}, 1, 1, 1, 1, 1},
		{[]int{0, 1}, .933333, .392857, 1, 1.607143, 1.333333},
		{[]int{0}, .9, 0, 0, 3, 3},
	} {
		p := sixStates()
		var probes []Probe
		for _, i := range c.tests {
			probes = append(probes, p.Probes[i])
		}
		p.Probes = probes
		var all, found, one, two, size, groups, items float64
		for _, leaf := range leaves(plan(t, p).Root) {
			rate := 0.0
			for _, h := range leaf {
				if h > 0 {
					rate += p.Weights[h]
				}
			}
			all += rate
			if leaf[0] == 0 {
				continue // looks like a good board
			}
			n := float64(len(leaf))
			found, size, groups, items = found+rate, size+n*rate, groups+1, items+n
			if n <= 1 {
				one += rate
			}
			if n <= 2 {
				two += rate
			}
		}
		name := fmt.Sprint("tests ", c.tests)
		near(t, name+" detected", found/all, c.ffd, 5e-7)
		near(t, name+" isolated to one", one/found, c.ffi1, 5e-7)
		near(t, name+" isolated to two", two/found, c.ffi2, 5e-7)
		near(t, name+" expected size", size/found, c.size, 5e-7)
		near(t, name+" mean size", items/groups, c.mean, 5e-7)
	}
}
