package consist

import "slices"

// Diagnoses returns the minimal diagnoses of at most most statements. A consistent system
// has one, the empty one; a system that stays inconsistent whatever is given up has none.
//
// The search is Reiter's tree, one size after the other: a set that does not explain what
// was seen has a conflict that it does not hit, and grows by the statements of it. A
// statement tried in one branch is barred from the branches to its right, so that each set
// is looked at once. That a conflict be minimal is not asked, so the flaw that
// R. Greiner, B. A. Smith and R. W. Wilkerson found (Artificial Intelligence 41, 1989) in
// the pruning of trees with other conflicts cannot arise. Time and memory grow with the
// number of sets of one size less than most.
func Diagnoses(sys System, most int) [][]int {
	if sys.Consistent(nil) {
		return [][]int{{}}
	}
	d := &diagnoser{sys: sys, n: sys.Len()}
	level := []node{{barred: newBits(d.n)}}
	for size := 1; size <= most && len(level) > 0; size++ {
		var next []node
		known := len(d.found)
		for _, at := range level {
			next = d.grow(next, at, known, size < most)
		}
		level = next
		slices.SortFunc(d.found[known:], slices.Compare)
	}
	return d.found
}

// node is a set that leaves the system inconsistent.
type node struct {
	set    []int
	barred bits // statements of branches to the left
}

type diagnoser struct {
	sys       System
	n         int
	found     [][]int
	conflicts []conflict // all met so far
}

type conflict struct {
	set  []int
	bits bits
}

// grow tests the sets with one statement more than a node, records those that are
// diagnoses, and appends the others to next when there is a next level. Diagnoses before
// known are smaller ones: no set may hold one of them.
func (d *diagnoser) grow(next []node, at node, known int, deeper bool) []node {
	barred := slices.Clone(at.barred)
	var try []int
	for _, i := range d.conflict(at) {
		if !barred.has(i) {
			try = append(try, i)
		}
	}
	superset := d.wouldHold(at.set, d.found[:known])
	fresh := slices.DeleteFunc(slices.Clone(try), superset.has)
	done := d.extend(at.set, fresh)
	for _, i := range done {
		d.found = append(d.found, with(at.set, i))
	}
	if !deeper {
		return next
	}
	for _, i := range fresh {
		barred.add(i)
		if len(done) > 0 && done[0] == i {
			done = done[1:]
			continue
		}
		next = append(next, node{set: with(at.set, i), barred: slices.Clone(barred)})
	}
	return next
}

// wouldHold returns the statements that, added to a set, make it hold one of the diagnoses.
func (d *diagnoser) wouldHold(set []int, diagnoses [][]int) bits {
	out := newBits(d.n)
	in := newBits(d.n, set...)
	for _, diag := range diagnoses {
		missing, last := 0, 0
		for _, i := range diag {
			if !in.has(i) {
				missing, last = missing+1, i
			}
		}
		if missing == 1 {
			out.add(last)
		}
	}
	return out
}

func (d *diagnoser) extend(set, more []int) []int {
	if len(more) == 0 {
		return nil
	}
	if e, ok := d.sys.(Extender); ok {
		return e.Extend(set, more)
	}
	var out []int
	for _, i := range more {
		if d.sys.Consistent(with(set, i)) {
			out = append(out, i)
		}
	}
	return out
}

// conflict returns a conflict that the node's set does not hit: of those met before the one
// that leaves the fewest branches, else a new one.
func (d *diagnoser) conflict(at node) []int {
	set := newBits(d.n, at.set...)
	best, fewest := -1, 0
	for k, c := range d.conflicts {
		if c.bits.meets(set) {
			continue
		}
		if open := len(c.set) - c.bits.count(at.barred); best < 0 || open < fewest {
			best, fewest = k, open
		}
	}
	if best >= 0 {
		return d.conflicts[best].set
	}
	var c []int
	if r, ok := d.sys.(Refuter); ok {
		c = r.Refute(at.set)
	} else {
		c = shrink(d.sys, rest(d.n, at.set))
	}
	d.conflicts = append(d.conflicts, conflict{c, newBits(d.n, c...)})
	return c
}

// with returns the set with one more statement, ascending.
func with(set []int, i int) []int {
	at, _ := slices.BinarySearch(set, i)
	out := make([]int, 0, len(set)+1)
	out = append(out, set[:at]...)
	return append(append(out, i), set[at:]...)
}

// rest returns the numbers below n that are not in the ascending set.
func rest(n int, set []int) []int {
	out := make([]int, 0, n-len(set))
	for i := range n {
		if len(set) > 0 && set[0] == i {
			set = set[1:]
			continue
		}
		out = append(out, i)
	}
	return out
}
