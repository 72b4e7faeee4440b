package sequence

import (
	"cmp"
	"encoding/binary"
	"math"
	"slices"
)

// The bound for changes (away). From where a plan stands each probe has a price to get at
// it: no path makes the probe before it has paid for the guards that the probe waits for, and
// for the way past the farthest of them. The probes with a price below some limit are a tier,
// and the lowest price of any other probe is what it costs to leave the tier. Atoms of one
// class, which no probe of the tier tells apart, stay together until the tier is left. Either
// the plan ends for all of them while they are together, and they are mended one after the
// other; or all of them pay to leave the tier.
//
// Tiers hold one another, so a class K that has left its tier falls into classes of the next
// one, each of which ends or leaves that one too, for what it costs beyond the price that was
// paid. With a(K) for the least cost of mending what is in K, whatever else is there,
//
//	f(K) = min(a(K), mass of K × (leave - paid) + Σ f(classes of K in the next tier))
//
// is no more than what the atoms of K pay for changes, guards and mending, by induction from
// the last tier, which cannot be left. The sum is over sets that are apart, and so are the
// costs: a leaf that holds atoms of several classes costs no less than each of them mended
// for itself, since each atom waits at least for those of its class that come before it.
//
// With what the probe itself costs in its price (own), the same holds for all that a plan
// costs: a path that made a probe has paid at least that.

// tier is a set of probes: all with a price below leave.
type tier struct {
	class []int32 // of each atom
	leave float64 // s; infinite for the last
}

// tiers are those of a stand, the smallest first.
type tiers struct {
	list []tier
	rank []int32 // of atoms, such that each class of each tier is a run
}

// stand is where a plan stands, but for what is left, and how prices are counted.
type stand struct {
	cond int
	made guards
	own  bool // with what the probe itself costs
}

// mostStands is for how many stands tiers are worth their time and room. At any other all
// guards count as made, which makes no probe dearer.
const mostStands = 64

// tiersAt gives the tiers of a stand.
func (b *bounder) tiersAt(at stand) *tiers {
	if b.tiers[at] == nil && len(b.tiers) >= mostStands {
		for i := range at.made {
			at.made[i] = math.MaxUint64
		}
	}
	t := b.tiers[at]
	if t == nil {
		t = b.makeTiers(at)
		if b.tiers == nil {
			b.tiers = map[stand]*tiers{}
		}
		b.tiers[at] = t
	}
	return t
}

// priceOf gives the price of a probe.
func (m *model) priceOf(at stand, p *probe) float64 {
	change, guards := m.change[at.cond][p.cond], 0.0
	if at.made.lacks(p.needs) {
		for i := range m.probes {
			if g := &m.probes[i]; g.slot >= 0 && p.needs.has(g.slot) && !at.made.has(g.slot) {
				guards += g.cost
				change = max(change, m.change[at.cond][g.cond]+m.change[g.cond][p.cond])
			}
		}
	}
	if at.own {
		return change + guards + p.cost
	}
	return change + guards
}

func (m *model) makeTiers(at stand) *tiers {
	prices, order := make([]float64, len(m.probes)), make([]int, len(m.probes))
	for i := range order {
		order[i], prices[i] = i, m.priceOf(at, &m.probes[i])
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Or(cmp.Compare(prices[i], prices[j]), cmp.Compare(i, j)) })
	t := &tiers{rank: make([]int32, len(m.members))}
	class := make([]int32, len(m.members))
	for n := 0; ; {
		leave := math.Inf(1)
		if n < len(order) {
			leave = prices[order[n]]
		}
		t.list = append(t.list, tier{class, leave})
		if n == len(order) {
			break
		}
		from := n
		for n < len(order) && prices[order[n]] == leave {
			n++
		}
		class = m.toldApart(class, order[from:n])
	}
	atoms := make([]int, len(class))
	for a := range atoms {
		atoms[a] = a
	}
	slices.SortFunc(atoms, func(x, y int) int {
		for i := range t.list {
			if c := cmp.Compare(t.list[i].class[x], t.list[i].class[y]); c != 0 {
				return c
			}
		}
		return cmp.Compare(x, y)
	})
	for i, a := range atoms {
		t.rank[a] = int32(i)
	}
	return t
}

// toldApart divides classes of atoms by what some probes tell apart.
func (m *model) toldApart(class []int32, probes []int) []int32 {
	finer, index := make([]int32, len(class)), map[string]int32{}
	var key []byte
	for a := range finer {
		key = binary.LittleEndian.AppendUint32(key[:0], uint32(class[a]))
		for _, i := range probes {
			key = binary.LittleEndian.AppendUint16(key, m.probes[i].column[a])
		}
		if _, ok := index[string(key)]; !ok {
			index[string(key)] = int32(len(index))
		}
		finer[a] = index[string(key)]
	}
	return finer
}

// shares of what mending costs that the bound for changes has; the bound by bits has the rest.
var shares = [...]float64{1, .75, .5}

// away is the bound for changes, times the mass, for each of the shares; with own in it, that for
// all that a plan costs.
func (b *bounder) away(s *state, own bool) [len(shares)]float64 {
	t := b.tiersAt(stand{s.cond, s.made, own})
	b.run = append(b.run[:0], s.set...)
	slices.SortFunc(b.run, func(x, y uint16) int { return int(t.rank[x] - t.rank[y]) })
	if b.sum == nil {
		b.sum = make([]float64, len(b.label))
	}
	return b.mix(b.run, t.list, 0)
}

// mix is f for a class of the first of some tiers, in the order of rank.
func (b *bounder) mix(set []uint16, list []tier, paid float64) (cost [len(shares)]float64) {
	if b.alike(set) {
		return cost
	}
	leave, mass := 0.0, 0.0
	for first, last := set[0], set[len(set)-1]; len(list) > 0 && list[0].class[first] == list[0].class[last]; list = list[1:] {
		leave = list[0].leave - paid
	}
	for rest := set; len(list) > 0 && len(rest) > 0; {
		n := 1
		for n < len(rest) && list[0].class[rest[n]] == list[0].class[rest[0]] {
			n++
		}
		for i, x := range b.mix(rest[:n], list, paid+leave) {
			cost[i] += x
		}
		rest = rest[n:]
	}
	if leave == 0 { // what the classes cost is no more than mending them, and so no more than mending all
		return cost
	}
	for _, a := range set {
		mass += b.weight[a]
	}
	for i := range cost {
		cost[i] += mass * leave
	}
	if b.act == nil {
		return cost
	}
	labels, least := b.gather(set)
	last := len(shares) - 1
	if least*shares[last] >= cost[last] {
		return cost
	}
	mending := b.inTurn(labels)
	for i, share := range shares {
		cost[i] = min(cost[i], share*mending)
	}
	return cost
}

// gather adds up the labels of a set, and gives a quick bound for mending them: all but one
// wait at least for the cheapest.
func (b *bounder) gather(set []uint16) (list []turn, least float64) {
	list = b.turns[:0]
	for _, a := range set {
		l := b.label[a]
		if b.sum[l] == 0 {
			list = append(list, turn{label: l})
		}
		b.sum[l] += b.weight[a]
	}
	all, most, cheapest := 0.0, 0.0, math.Inf(1)
	for i := range list {
		x := &list[i]
		x.mass, b.sum[x.label] = b.sum[x.label], 0
		all, most, cheapest = all+x.mass, max(most, x.mass), min(cheapest, b.act[x.label])
	}
	b.turns = list
	return list, (all - most) * cheapest
}

// alike says whether all of a set have one label.
func (m *model) alike(set []uint16) bool {
	return !slices.ContainsFunc(set, func(a uint16) bool { return m.label[a] != m.label[set[0]] })
}
