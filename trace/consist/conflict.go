package consist

import "slices"

// Conflict returns one minimal conflict among the statements that are not given up, and
// false when those are consistent. Statements with low numbers are preferred in it.
//
// The search is QuickXplain: U. Junker, "Preferred explanations and relaxations for
// over-constrained problems", AAAI 2004. It asks some k·log(n/k) times for a conflict of k
// statements among n.
func Conflict(sys System, without []int) ([]int, bool) {
	if sys.Consistent(without) {
		return nil, false
	}
	among := rest(sys.Len(), without)
	if r, ok := sys.(Refuter); ok {
		among = r.Refute(without)
	}
	return shrink(sys, among), true
}

// Conflicts returns all minimal conflicts of at most most statements, as what hits every
// minimal diagnosis. It is for systems with few of these; SmallestConflicts and Conflict
// take less.
func Conflicts(sys System, most int) [][]int {
	return HittingSets(Diagnoses(sys, All), most)
}

// SmallestConflicts returns all conflicts of the least size, the plainest statements of what
// is contradictory. A consistent system has none.
//
// A set that is consistent, made as large as it goes, leaves out a diagnosis; every conflict
// hits it. So the smallest conflicts are the smallest sets that hit the diagnoses met so
// far, once no such set is consistent. See A. Ignatiev, A. Previti, M. Liffiton and
// J. Marques-Silva, "Smallest MUS extraction with minimal hitting set dualization", CP 2015.
func SmallestConflicts(sys System) [][]int {
	n := sys.Len()
	if sys.Consistent(nil) {
		return nil
	}
	var diagnoses [][]int
	for size := 0; size <= n; {
		candidates := HittingSets(diagnoses, size)
		grown := false
		for _, c := range candidates {
			without := rest(n, c)
			if sys.Consistent(without) {
				diagnoses = append(diagnoses, thin(sys, without))
				grown = true
				break
			}
		}
		if grown {
			continue
		}
		if len(candidates) > 0 {
			return candidates
		}
		size++
	}
	return nil
}

// shrink returns a minimal conflict within a conflict.
func shrink(sys System, among []int) []int {
	n := sys.Len()
	contradict := func(set []int) bool {
		set = slices.Clone(set)
		slices.Sort(set)
		return !sys.Consistent(rest(n, set))
	}
	if contradict(nil) {
		return []int{}
	}
	var explain func(base []int, grown bool, among []int) []int
	explain = func(base []int, grown bool, among []int) []int {
		if grown && contradict(base) {
			return nil
		}
		if len(among) <= 1 {
			return among
		}
		half := len(among) / 2
		low, high := among[:half], among[half:]
		fromHigh := explain(slices.Concat(base, low), true, high)
		fromLow := explain(slices.Concat(base, fromHigh), len(fromHigh) > 0, low)
		return slices.Concat(fromLow, fromHigh)
	}
	out := explain(nil, false, among)
	slices.Sort(out)
	return out
}

// thin returns a minimal diagnosis within a diagnosis.
func thin(sys System, diagnosis []int) []int {
	out := slices.Clone(diagnosis)
	for k := 0; k < len(out); {
		if less := slices.Delete(slices.Clone(out), k, k+1); sys.Consistent(less) {
			out = less
		} else {
			k++
		}
	}
	return out
}
