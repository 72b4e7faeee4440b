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

// inTurn puts labels in the order in which they are mended, and gives what that takes beyond
// what mending alone takes, times the mass.
func (m *model) inTurn(list []turn) (cost float64) {
	slices.SortFunc(list, func(a, b turn) int {
		return cmp.Or(cmp.Compare(b.mass*m.act[a.label], a.mass*m.act[b.label]), cmp.Compare(a.label, b.label))
	})
	before := 0.0
	for _, x := range list {
		cost += x.mass * before
		before += m.act[x.label]
	}
	return cost
}

// labels lists those of a set with their masses.
func (m *model) labels(set []uint16, list []turn) []turn {
	for _, a := range set {
		if n := len(list); n > 0 && list[n-1].label == m.label[a] {
			list[n-1].mass += m.weight[a]
			continue
		}
		list = append(list, turn{m.label[a], m.weight[a]})
	}
	return list
}

// acting is what it takes to mend what is left of a state, times its mass, beyond what
// mending alone takes; infinite where nothing can be mended.
func (m *model) acting(s *state) float64 {
	if m.act == nil {
		return math.Inf(1)
	}
	var few [32]turn
	return m.inTurn(m.labels(s.set, few[:0]))
}

// end makes a leaf of a node, with the order of what is mended there.
func (m *model) end(n *Node, s *state) {
	n.Probe, n.Branches, n.Change, n.Cost = -1, nil, 0, 0
	if m.act == nil {
		return
	}
	left, list := s.mass, m.labels(s.set, nil)
	m.inTurn(list)
	for _, x := range list {
		n.Order = append(n.Order, m.group[x.label])
		n.Cost += left / s.mass * m.act[x.label]
		n.Worst += m.act[x.label]
		left -= x.mass
	}
}

// slopes is for how many prices of a bit the bound by bits is taken: the dearest mending, and
// each time half of that.
const slopes = 8

// free adds up, for each of the slopes, by how many bits at most the masses of labels can
// differ from what acting tells at that price of a bit. For any q that sums to 1 the entropy of
// p is no more than -Σ p log q (Gibbs); with q in proportion to 2^(-t/price), where t is what
// was spent before a label is mended, that is log Σ 2^(-t/price) and the mean of t over the
// price. The sum is largest where the cheapest is mended first.
func (b *bounder) free(s *state) (sum [slopes]float64) {
	b.fades = b.fades[:0]
	for i, a := range s.set {
		if i == 0 || b.label[s.set[i-1]] != b.label[a] {
			b.fades = append(b.fades, b.fade[b.label[a]])
		}
	}
	slices.SortFunc(b.fades, func(x, y float64) int { return cmp.Compare(y, x) })
	left := 1.0
	for _, x := range b.fades {
		part := left
		for i := range sum {
			sum[i] += part
			part *= part
		}
		left *= x
	}
	for i := range sum {
		sum[i] = log2(sum[i])
	}
	return sum
}

// orMending is the bound by bits, times the mass, where a plan may end by mending, for each of
// the shares of what that costs that the bound for changes has.
func (b *bounder) orMending(s *state, m *menu, except int, entropy float64) (cost [len(shares)]float64) {
	price := b.dearest
	for _, free := range b.free(s) {
		h := entropy - s.mass*free
		for i, share := range shares {
			if h > 0 && share < 1 {
				cost[i] = max(cost[i], m.bits(h, s.mass, except, price*(1-share)))
			}
		}
		price /= 2
	}
	return cost
}
