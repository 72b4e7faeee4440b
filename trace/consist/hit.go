package consist

import (
	"math/bits"
	"slices"
)

// hittingSets returns the minimal sets of at most most elements that have an element in
// common with each of the sets. No sets at all are hit by the empty set; an empty set by none.
//
// The search is that of K. Murakami and T. Uno, "Efficient algorithms for dualizing
// large-scale hypergraphs", Discrete Applied Mathematics 170 (2014). An element stays only
// while it hits some set that no other chosen element hits. So every minimal hitting set is
// reached exactly once, and there is nothing to prune afterwards, which is where Reiter's
// tree of 1987 could lose an answer.
func hittingSets(sets [][]int, most int) [][]int {
	elems := slices.Concat(sets...)
	slices.Sort(elems)
	elems = slices.Compact(elems)
	h := &hitter{
		sets: make([]set, len(sets)), in: make([][]int, len(elems)),
		free: newSet(len(elems)), covers: make([]int, len(sets)), most: most,
	}
	for s, list := range sets {
		h.sets[s] = newSet(len(elems))
		for _, e := range list {
			i, _ := slices.BinarySearch(elems, e)
			if !h.sets[s].has(i) {
				h.sets[s].add(i)
				h.in[i] = append(h.in[i], s)
			}
		}
	}
	for i := range elems {
		h.free.add(i)
	}
	h.search()
	for _, f := range h.found {
		for k, i := range f {
			f[k] = elems[i]
		}
		slices.Sort(f)
	}
	slices.SortFunc(h.found, bySize)
	return h.found
}

type hitter struct {
	sets   []set   // the sets to hit, over dense element numbers
	in     [][]int // the sets that hold an element
	free   set     // elements that may still be chosen
	covers []int   // how many chosen elements a set holds
	chosen []int
	most   int
	found  [][]int
}

func (h *hitter) search() {
	target := h.tightest()
	if target < 0 {
		h.found = append(h.found, append([]int{}, h.chosen...))
		return
	}
	if len(h.chosen) >= h.most {
		return
	}
	var branch []int
	for i := range h.in {
		if h.free.has(i) && h.sets[target].has(i) {
			branch = append(branch, i)
			h.free.remove(i)
		}
	}
	// An element comes back once its own branch is done: earlier ones may join later
	// branches, later ones may not join earlier branches.
	for _, i := range branch {
		h.chosen = append(h.chosen, i)
		for _, s := range h.in[i] {
			h.covers[s]++
		}
		if h.eachNeeded() {
			h.search()
		}
		for _, s := range h.in[i] {
			h.covers[s]--
		}
		h.chosen = h.chosen[:len(h.chosen)-1]
		h.free.add(i)
	}
}

// tightest returns the set not yet hit that leaves the fewest choices, or -1.
func (h *hitter) tightest() int {
	best, fewest := -1, 0
	for s, open := range h.sets {
		if h.covers[s] > 0 {
			continue
		}
		if n := open.count(h.free); best < 0 || n < fewest {
			best, fewest = s, n
		}
	}
	return best
}

// eachNeeded reports whether every chosen element alone hits some set.
func (h *hitter) eachNeeded() bool {
	for _, i := range h.chosen {
		if !slices.ContainsFunc(h.in[i], func(s int) bool { return h.covers[s] == 1 }) {
			return false
		}
	}
	return true
}

// set is a set of small numbers.
type set []uint64

func newSet(n int) set { return make(set, (n+63)/64) }

func (s set) add(i int)      { s[i>>6] |= 1 << (i & 63) }
func (s set) remove(i int)   { s[i>>6] &^= 1 << (i & 63) }
func (s set) has(i int) bool { return s[i>>6]>>(i&63)&1 != 0 }

// count returns how many elements s and t have in common.
func (s set) count(t set) int {
	n := 0
	for i, w := range s {
		n += bits.OnesCount64(w & t[i])
	}
	return n
}
