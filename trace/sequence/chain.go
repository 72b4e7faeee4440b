package sequence

import "slices"

// chain is a model in which the atoms can be put in a row such that every probe
// cuts it in two. Its best plan is found by working out all intervals.
type chain struct {
	*model
	row   []int // atoms
	probe []int // the cheapest that cuts behind each place
	place []int // atom → place
}

// longChain is up to how many atoms Plan works out all intervals; the time grows with
// the cube of the length, and this takes a tenth of a second.
const longChain = 512

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
