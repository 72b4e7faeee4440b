package sequence

import (
	"cmp"
	"math"
	"slices"
)

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
// log2 k, of each probe no more than log2 k and no more than its H(outcome). Nor do the
// probes of any set A yield more at all their places than the entropy of their outcomes X
// taken together: a yield at a place is I(X; outcome | place), the same sum over the places of
// all probes is I(X; all that is seen), and that is no more than H(X). Held to for A the
// first so many of the menu, this keeps probes that show alike from being counted each.
//
// Mending (free): what is left in a leaf is bought from mending, which tells some bits for
// nothing and the rest for a price by the bit.
//
// Changes (away): see tier.go. The same bound with the price of a probe in the price to get at
// it holds by itself, with no other beside it, and is the better one for few labels.

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
	known  map[key]entry // states that were looked at
	tiers  map[stand]*tiers
	menu   menu
	masses []float64
	fades  []float64
	run    []uint16
	sum    []float64 // mass of each label; 0 between uses
	turns  []turn
	room   []int32
	class  []int32
}

// below is a lower bound for the cost behind s, times its mass, where the probes
// come from a menu and except cannot be used again. It need not be the best there is
// where it reaches a limit.
func (b *bounder) below(s *state, m *menu, except int, limit float64) float64 {
	if s.done() {
		return 0
	}
	low := b.away(s, true)[0]
	if low >= limit {
		return low
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
	away := b.away(s, false)
	if b.act != nil {
		for i, bits := range b.orMending(s, m, except, entropy) {
			low = max(low, bits+away[i])
		}
		return low
	}
	cost := m.bits(entropy, s.mass, except, math.Inf(1))
	depth := s.mass // at least one probe
	if len(b.masses) <= mostLabels {
		depth = huffman(b.masses, m.kinds)
	}
	used := math.NaN()
	if except >= 0 {
		used = b.probes[except].beside()
	}
	cost = max(cost, s.mass*m.number(depth/s.mass, used))
	return max(low, cost+away[0])
}

// bound gives every move its lower bound and its kids, the likeliest first, and returns the
// lower bound of the state. Moves that are worth no more than others are dropped, and the rest
// sorted by their bounds; where the state's own reaches the limit none is left.
func (b *bounder) bound(s *state, f *frame, limit float64) float64 {
	b.merge(s, f)
	m := b.makeMenu(s, f.menu)
	f.arena, f.kids, f.lows = f.arena[:0], f.kids[:0], f.lows[:0]
	low, best := b.below(s, m, -1, limit), b.acting(s)
	if low >= limit {
		f.moves = f.moves[:0]
		return low
	}
	for i := range f.moves {
		mv := &f.moves[i]
		mv.kids[0] = len(f.kids)
		f.arena, f.kids = b.split(s, mv.probe, f.active, f.arena, f.kids)
		mv.kids[1] = len(f.kids)
		slices.SortFunc(f.kids[mv.kids[0]:], func(x, y state) int {
			return cmp.Or(cmp.Compare(y.mass, x.mass), cmp.Compare(x.set[0], y.set[0]))
		})
		mv.low = mv.price
		except := mv.probe
		if !mv.splits { // it is not in the menu
			except = -1
		}
		for k := mv.kids[0]; k < mv.kids[1]; k++ {
			kid := &f.kids[k]
			e, ok := b.known[kid.key()]
			low := e.cost
			if !ok && mv.low < limit {
				low = b.below(kid, m, except, limit-mv.low)
			}
			f.lows = append(f.lows, low)
			mv.low += low
		}
		best = min(best, mv.low)
	}
	slices.SortFunc(f.moves, func(x, y move) int {
		return cmp.Or(cmp.Compare(x.low, y.low), cmp.Compare(x.probe, y.probe))
	})
	return max(best, low)
}

// merge drops moves that are worth no more than another. A probe is worth no more than one
// that tells apart all that it does, if to make that one, and then to go to where the probe
// would have left the board, costs no more: from there do what one would have done. In one
// condition this holds wherever both can be made, so the probe must not come back behind
// others. Guards stay, for they do more than cut.
func (b *bounder) merge(s *state, f *frame) {
	slices.SortFunc(f.moves, func(x, y move) int {
		return cmp.Or(cmp.Compare(y.gain, x.gain), cmp.Compare(x.price, y.price), cmp.Compare(x.probe, y.probe))
	})
	drop := map[uint16]bool{}
	kept := f.moves[:0]
	for i := range f.moves {
		q := f.moves[i]
		stays := true
		for k := range kept {
			if p := &kept[k]; b.replaces(s, p, &q) {
				stays = false
				if b.probes[p.probe].cond == b.probes[q.probe].cond {
					drop[uint16(q.probe)] = true
					break
				}
			}
		}
		if stays {
			kept = append(kept, q)
		}
	}
	f.moves = kept
	if len(drop) > 0 {
		f.active = slices.DeleteFunc(f.active, func(p uint16) bool { return drop[p] })
		f.menu = slices.DeleteFunc(f.menu, func(o offer) bool { return drop[uint16(o.probe)] })
	}
}

// replaces says whether q is worth no more than p.
func (b *bounder) replaces(s *state, p, q *move) bool {
	if p.even > q.even*(1+tie) || p.price > q.price || !q.splits {
		return false
	}
	pp, qq, from := &b.probes[p.probe], &b.probes[q.probe], b.change[s.cond]
	if qq.slot >= 0 || from[pp.cond]+pp.cost+b.change[pp.cond][qq.cond] > from[qq.cond]+qq.cost {
		return false
	}
	if p.kinds <= q.kinds { // then it must cut alike
		return p.cut == q.cut
	}
	part := b.table(pp.k)
	for _, a := range s.set {
		switch x, y := &part[pp.column[a]], int32(qq.column[a])+1; {
		case *x == 0:
			*x = y
		case *x != y:
			return false
		}
	}
	return true
}

// table gives room for n numbers that are 0.
func (b *bounder) table(n int) []int32 {
	if len(b.room) < n {
		b.room = make([]int32, max(n, mostTable))
	}
	clear(b.room[:n])
	return b.room[:n]
}
