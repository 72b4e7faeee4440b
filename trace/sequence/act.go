package sequence

import (
	"cmp"
	"math"
	"slices"
)

// A plan may end before all is told apart: what is left is then mended one after the
// other, until one has helped. With masses p and prices C in the order of p/C that takes
// Σ over pairs of p of the later times C of the earlier beyond what mending alone takes,
// Σ p C, which every plan pays. Only what is beyond is counted in a search.

// turn is a label with its mass.
type turn struct {
	label int32
	mass  float64
}

// turns lists the labels of a set in the order in which they are mended.
func (m *model) turns(set []uint16, list []turn) []turn {
	for _, a := range set {
		if n := len(list); n > 0 && list[n-1].label == m.label[a] {
			list[n-1].mass += m.weight[a]
			continue
		}
		list = append(list, turn{m.label[a], m.weight[a]})
	}
	slices.SortFunc(list, func(a, b turn) int {
		return cmp.Or(cmp.Compare(b.mass*m.act[a.label], a.mass*m.act[b.label]), cmp.Compare(a.label, b.label))
	})
	return list
}

// acting is what it takes to mend what is left of a state, times its mass, beyond what
// mending alone takes; infinite where nothing can be mended.
func (m *model) acting(s *state) float64 {
	if m.act == nil {
		return math.Inf(1)
	}
	var few [32]turn
	cost, before := 0.0, 0.0
	for _, x := range m.turns(s.set, few[:0]) {
		cost += x.mass * before
		before += m.act[x.label]
	}
	return cost
}

// end makes a leaf of a node, with the order of what is mended there.
func (m *model) end(n *Node, s *state) {
	n.Probe, n.Branches, n.Change, n.Cost = -1, nil, 0, 0
	if m.act == nil {
		return
	}
	left := s.mass
	for _, x := range m.turns(s.set, nil) {
		n.Order = append(n.Order, m.group[x.label])
		n.Cost += left / s.mass * m.act[x.label]
		n.Worst += m.act[x.label]
		left -= x.mass
	}
}

// slopes are prices in s of a bit for which the bound by bits is taken.
var slopes = []float64{30, 60, 120, 250, 500, 1000, 2000, 4000}

// free returns by how many bits at most the masses of some labels can differ from what
// acting tells for a price by the bit. For any q that sums to 1 the entropy of p is no more
// than -Σ p log q (Gibbs); with q in proportion to 2^(-t/price), where t is what was spent
// before a label is mended, that is log Σ 2^(-t/price) and the mean of t over the price. The
// sum is largest where the cheapest is mended first.
func free(prices []float64, price float64) float64 {
	sum, t := 0.0, 0.0
	for _, c := range prices {
		sum += math.Exp2(-t / price)
		t += c
	}
	return math.Log2(sum)
}

// belowActing is a lower bound for the cost behind s, times its mass, where a plan may end
// by acting. What acting costs is shared between two bounds: the one by bits, and the one
// for changes of condition.
func (b *bounder) belowActing(s *state, m *menu, except int, entropy float64) float64 {
	all := b.acting(s)
	first := math.Inf(1)
	for i := range m.byCost {
		if m.byCost[i].probe != except {
			first = s.mass * m.byCost[i].cost
			break
		}
	}
	low := min(all, first)
	b.prices = b.prices[:0]
	for i, a := range s.set {
		if i == 0 || b.label[s.set[i-1]] != b.label[a] {
			b.prices = append(b.prices, b.act[b.label[a]])
		}
	}
	slices.Sort(b.prices)
	for _, price := range slopes {
		h := entropy - s.mass*free(b.prices, price)
		if h <= 0 {
			continue
		}
		low = max(low, m.bits(h, s.mass, except, price))
	}
	return min(low, all)
}
