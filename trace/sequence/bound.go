package sequence

import (
	"cmp"
	"math"
	"slices"
)

// offer is a probe as the bounds see it: what it costs, by how many bits a single
// use can narrow a set, and how much it can tell in all. What a guard costs is in the
// bound for changes.
type offer struct {
	probe int
	cost  float64
	bits  float64 // log2 of the number of outcomes it can have in the set
	tells float64 // bits of its outcome before anything else is known, × mass
	kinds int
}

func makeOffer(p int, pr *probe, parts []part, kinds int) offer {
	o := offer{probe: p, cost: pr.cost, bits: log2(float64(kinds)), kinds: kinds}
	if pr.slot >= 0 {
		o.cost = 0
	}
	all := 0.0
	for i := range parts {
		all += parts[i].mass
		o.tells -= xlogx(parts[i].mass)
	}
	o.tells = max(o.tells+xlogx(all), 0)
	return o
}

// menu is what a plan can choose from, in two orders.
type menu struct {
	byBit  []offer // by cost for a bit
	byCost []offer
	kinds  int // most outcomes of any
}

func makeMenu(offers []offer) *menu {
	m := &menu{byBit: slices.Clone(offers), byCost: slices.Clone(offers)}
	slices.SortFunc(m.byBit, func(a, b offer) int {
		return cmp.Or(cmp.Compare(a.cost/a.bits, b.cost/b.bits), cmp.Compare(a.probe, b.probe))
	})
	slices.SortFunc(m.byCost, func(a, b offer) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.probe, b.probe))
	})
	for _, o := range offers {
		m.kinds = max(m.kinds, o.kinds)
	}
	return m
}

// The bounds. A plan for a set S is a tree whose leaves are sets with one label
// each (see model), or are mended one label after the other. Its expected cost is the
// sum of what its probes cost, what its changes of condition cost, and what mending costs
// beyond what every plan pays. Bounds for probes and for changes may be added, where what
// guards cost counts in the bound for changes alone, and of what mending costs each has its
// share. What follows is told for mass 1; the code has everything times the mass. Bounds for
// a set use the menu of a set that holds it, which can only make them lower: a probe has no
// more outcomes in a part than in the whole.
//
// Probes, by number (number): with r the most outcomes of any probe, the mean
// number of probes is at least that of a Huffman tree with r branches over the labels: of
// the leaves with one label keep the least deep and give it the whole mass of the
// label; this is a prefix code for the labels and no deeper. A path of d probes
// costs at least C(d), the sum of the d lowest costs, drawn straight between whole
// numbers; C is convex, so the expected cost is at least C(Huffman). With equal costs
// and two outcomes this is the Huffman bound of the literature on test sequencing.
//
// Probes, by bits (bits): let x be the chance that probe p is used, and k the number
// of its outcomes. At its places in the tree it yields in all at most x log2 k bits,
// and no more than H(outcome), since the yield of a probe over its places is
// H(outcome | place). The yields of all probes sum to the entropy of the leaves, which
// is at least that of the labels, H, because the leaves are a finer division. So the
// probes cost at least as much as buying H at the lowest price per bit first, cost /
// log2 k, of each probe no more than log2 k and no more than its H(outcome).
//
// Mending (free): what is left in a leaf is bought from mending, which tells no more than
// some bits for nothing, and the rest for a price by the bit.
//
// Changes: see tier.

// bits is the bound by bits for a set with a mass and entropy h, times the mass both,
// without the probe except. What a probe tells in the whole is no less than in the part.
// A bit costs no more than most, for which mending tells it.
func (m *menu) bits(h, mass float64, except int, most float64) float64 {
	cost := 0.0
	for i := range m.byBit {
		o := &m.byBit[i]
		if o.probe == except {
			continue
		}
		if o.cost >= most*o.bits {
			break
		}
		part := min(h, o.tells, mass*o.bits)
		cost += part * o.cost / o.bits
		h -= part
		if h <= 0 {
			return cost
		}
	}
	if math.IsInf(most, 1) {
		return cost
	}
	return cost + h*most
}

// number is C(d), without the probe except.
func (m *menu) number(d float64, except int) float64 {
	cost := 0.0
	for i := range m.byCost {
		o := &m.byCost[i]
		if o.probe == except {
			continue
		}
		if d <= 1 {
			return cost + o.cost*d
		}
		cost += o.cost
		d--
	}
	return cost
}

// huffman is the sum of the inner nodes of an optimal tree with r branches over
// masses, which it sorts: their mean depth times their sum.
func huffman(masses []float64, r int) float64 {
	if len(masses) < 2 {
		return 0
	}
	slices.Sort(masses)
	r = max(r, 2)
	made, next, total := make([]float64, 0, len(masses)), 0, 0.0
	take := func() float64 {
		if next == len(made) || len(masses) > 0 && masses[0] <= made[next] {
			x := masses[0]
			masses = masses[1:]
			return x
		}
		next++
		return made[next-1]
	}
	// The first node takes so many that all others have r branches.
	n := (len(masses)-2)%(r-1) + 2
	for left := len(masses); left > 1; n = r {
		sum := 0.0
		for range n {
			sum += take()
		}
		made = append(made, sum)
		total += sum
		left -= n - 1
	}
	return total
}

// mostLabels is the number of labels up to which the Huffman bound is worth its time.
const mostLabels = 64

// bounder has room to work out bounds.
type bounder struct {
	*model
	masses []float64
	fade   []float64
	tiers  map[stand]*tiers
	run    []uint16
	sum    []float64 // mass of each label; 0 between uses
	turns  []turn
}

// below is a lower bound for the cost behind s, times its mass, where the probes
// come from a menu and except cannot be used again.
func (b *bounder) below(s *state, m *menu, except int) float64 {
	if s.done() {
		return 0
	}
	b.masses = b.masses[:0]
	entropy := xlogx(s.mass)
	open := 0.0
	for i, a := range s.set {
		open += b.weight[a]
		if i+1 == len(s.set) || b.label[s.set[i+1]] != b.label[a] {
			entropy -= xlogx(open)
			b.masses = append(b.masses, open)
			open = 0
		}
	}
	if b.act != nil {
		return b.belowActing(s, m, except, entropy)
	}
	cost := m.bits(entropy, s.mass, except, math.Inf(1))
	depth := s.mass // at least one probe
	if len(b.masses) <= mostLabels {
		depth = huffman(b.masses, m.kinds)
	}
	cost = max(cost, s.mass*m.number(depth/s.mass, except))
	return cost + b.away(s)[0]
}

// bound gives every move its lower bound and its kids, and returns the lower bound
// of the state. Moves that cut alike in one condition are reduced to the cheapest,
// and the rest sorted by their bounds.
func (b *bounder) bound(s *state, f *frame) float64 {
	b.merge(f)
	m := makeMenu(f.menu)
	f.arena, f.kids, f.lows = f.arena[:0], f.kids[:0], f.lows[:0]
	best := math.Inf(1)
	for i := range f.moves {
		mv := &f.moves[i]
		mv.kids[0] = len(f.kids)
		f.arena, f.kids = b.split(s, mv.probe, f.active, f.arena, f.kids)
		mv.kids[1] = len(f.kids)
		mv.low = mv.price
		for k := mv.kids[0]; k < mv.kids[1]; k++ {
			low := b.below(&f.kids[k], m, mv.probe)
			f.lows = append(f.lows, low)
			mv.low += low
		}
		best = min(best, mv.low)
	}
	slices.SortFunc(f.moves, func(x, y move) int {
		return cmp.Or(cmp.Compare(x.low, y.low), cmp.Compare(x.probe, y.probe))
	})
	return max(min(best, b.acting(s)), b.below(s, m, -1))
}

// merge drops moves that cut the set as another one does, in the same condition and
// for no less. Guards stay, for they do more than cut; and a dropped probe must not
// come back behind others, where it would again be worth no more.
func (b *bounder) merge(f *frame) {
	best := map[[2]uint64]int{}
	drop := map[uint16]bool{}
	for i := range f.moves {
		mv := &f.moves[i]
		pr := &b.probes[mv.probe]
		if pr.slot >= 0 || !mv.splits {
			continue
		}
		at, ok := best[mv.cut]
		switch {
		case !ok:
			best[mv.cut] = i
		case pr.cost < b.probes[f.moves[at].probe].cost:
			drop[uint16(f.moves[at].probe)] = true
			best[mv.cut] = i
		default:
			drop[uint16(mv.probe)] = true
		}
	}
	if len(drop) == 0 {
		return
	}
	f.moves = slices.DeleteFunc(f.moves, func(mv move) bool { return drop[uint16(mv.probe)] })
	f.active = slices.DeleteFunc(f.active, func(p uint16) bool { return drop[p] })
	f.menu = slices.DeleteFunc(f.menu, func(o offer) bool { return drop[uint16(o.probe)] })
}
