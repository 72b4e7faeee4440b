package sequence

import (
	"fmt"
	"slices"
)

// Chain plans for parts in a row of which one is bad, with a probe between each two:
// costs[j] is that of the probe behind part j. Its outcome is 1 when the fault is at
// part j or before, 0 when it lies behind. The plan is the best there is.
func Chain(weights, costs []float64) (*Tree, error) {
	if len(costs)+1 != len(weights) {
		return nil, fmt.Errorf("chain: %d probes between %d parts", len(costs), len(weights))
	}
	if len(weights) > longest {
		return nil, fmt.Errorf("chain: more than %d parts", longest)
	}
	m, err := compile(chainProblem(weights, costs), false)
	if err != nil {
		return nil, fmt.Errorf("chain: %w", err)
	}
	return m.asChain().tree(), nil
}

// chainProblem is what Chain solves.
func chainProblem(weights, costs []float64) *Problem {
	p := &Problem{Weights: weights}
	for j, cost := range costs {
		outcome := make([]uint16, len(weights))
		for i := range min(j+1, len(outcome)) {
			outcome[i] = 1
		}
		p.Probes = append(p.Probes, Probe{Outcome: outcome, Cost: cost})
	}
	return p
}

// chain is a model in which the atoms can be put in a row such that every probe
// cuts it in two. Its best plan is found by working out all intervals.
type chain struct {
	*model
	row   []int // atoms
	probe []int // the cheapest that cuts behind each place
	place []int // atom → place
}

// The time for all intervals grows with the cube of the length.
const (
	longChain = 512  // up to which Plan takes it; a tenth of a second
	longest   = 4096 // up to which Chain does
)

// asChain finds out whether a model is a chain, and is nil otherwise. The number of
// probes that tell two atoms apart is their distance in the row; so an atom
// farthest from any other is an end of it, and the distances from there are the order.
func (m *model) asChain() *chain {
	for i := range m.probes {
		pr := &m.probes[i]
		if pr.k != 2 || pr.slot >= 0 || pr.needs != (guards{}) || pr.cond != m.probes[0].cond {
			return nil
		}
	}
	n := len(m.members)
	c := &chain{model: m, row: make([]int, n), probe: make([]int, max(n-1, 0)), place: make([]int, n)}
	distance := m.distances(0)
	end := 0
	for a := range distance {
		if distance[a] > distance[end] {
			end = a
		}
	}
	distance = m.distances(end)
	for a := range c.row {
		c.row[a] = a
	}
	slices.SortStableFunc(c.row, func(a, b int) int { return distance[a] - distance[b] })
	for i := range c.probe {
		c.probe[i] = -1
	}
	for p := range m.probes {
		if !c.put(p) {
			return nil
		}
	}
	for i, a := range c.row {
		c.place[a] = i
	}
	return c
}

// distances counts the probes that tell each atom from one.
func (m *model) distances(from int) []int {
	d := make([]int, len(m.members))
	for i := range m.probes {
		column := m.probes[i].column
		for a, x := range column {
			if x != column[from] {
				d[a]++
			}
		}
	}
	return d
}

// put finds the place where a probe cuts the row, and is false if it does not cut it once.
func (c *chain) put(p int) bool {
	column, at := c.probes[p].column, -1
	for i := 0; i+1 < len(c.row); i++ {
		if column[c.row[i]] == column[c.row[i+1]] {
			continue
		}
		if at >= 0 {
			return false
		}
		at = i
	}
	if q := c.probe[at]; q < 0 || c.probes[p].cost < c.probes[q].cost {
		c.probe[at] = p
	}
	return true
}

// tree is the best plan. cost[i][j] is that of the places from i to j, times their
// weight, without the change of condition that comes before the first probe.
func (c *chain) tree() *Tree {
	n := len(c.row)
	sum := make([]float64, n+1)
	for i, a := range c.row {
		sum[i+1] = sum[i] + c.weight[a]
	}
	cost, cut := make([][]float64, n), make([][]int32, n)
	for i := n - 1; i >= 0; i-- {
		cost[i], cut[i] = make([]float64, n), make([]int32, n)
		alike := true
		for j := i + 1; j < n; j++ {
			alike = alike && c.label[c.row[j]] == c.label[c.row[i]]
			if alike {
				continue
			}
			best := -1
			for k := i; k < j; k++ {
				x := (sum[j+1]-sum[i])*c.probes[c.probe[k]].cost + cost[i][k] + cost[k+1][j]
				if best < 0 || x < cost[i][j]-tie*x {
					best, cost[i][j] = k, x
				}
			}
			cut[i][j] = int32(best)
		}
	}
	low := 0.0
	if n > 1 && !c.first().done() {
		low = cost[0][n-1] + c.change[c.start][c.probes[c.probe[0]].cond]
	}
	return c.model.tree(func(s *state, _ *frame) int {
		i, j := n, 0
		for _, a := range s.set {
			i, j = min(i, c.place[a]), max(j, c.place[a])
		}
		return c.probe[cut[i][j]]
	}, low)
}

// Alphabetic gives the least sum of weight × depth of a binary tree whose leaves
// stand in the order given, and one set of depths that reaches it. It is what
// telling apart the parts of a row costs when every probe costs 1. The inner loop
// only goes between the roots of the two next shorter intervals (Knuth, "Optimum
// binary search trees", Acta Informatica 1, 1971), so the time grows with the square.
func Alphabetic(weights []float64) (cost float64, depths []int, err error) {
	n := len(weights)
	if n == 0 || n > longest {
		return 0, nil, fmt.Errorf("alphabetic: %d weights, want 1 to %d", n, longest)
	}
	sum := make([]float64, n+1)
	for i, w := range weights {
		if !(w >= 0 && w <= maxCost) {
			return 0, nil, fmt.Errorf("alphabetic: weight %d is %g", i, w)
		}
		sum[i+1] = sum[i] + w
	}
	best, root := make([][]float64, n), make([][]int, n)
	for i := n - 1; i >= 0; i-- {
		best[i], root[i] = make([]float64, n), make([]int, n)
		root[i][i] = i
		for j := i + 1; j < n; j++ {
			from := root[i][j-1]
			to := max(from, min(root[i+1][j], j-1)) // from may be larger by rounding
			found := false
			for k := from; k <= to; k++ {
				if x := best[i][k] + best[k+1][j]; !found || x < best[i][j] {
					found, best[i][j], root[i][j] = true, x, k
				}
			}
			best[i][j] += sum[j+1] - sum[i]
		}
	}
	depths = make([]int, n)
	var mark func(i, j, depth int)
	mark = func(i, j, depth int) {
		if i == j {
			depths[i] = depth
			return
		}
		mark(i, root[i][j], depth+1)
		mark(root[i][j]+1, j, depth+1)
	}
	mark(0, n-1, 0)
	return best[0][n-1], depths, nil
}
