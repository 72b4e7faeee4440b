// Package consist finds which readings cannot all be right.
//
//	for _, set := range consist.SmallestConflicts(len(readings), explained) {
//		// the readings of this set contradict each other, and no fewer do
//	}
//
// What explains a set of readings is the caller's affair, asked as one question: does some
// account of the world hold for all readings of this list? The terms are those of R. Reiter,
// "A theory of diagnosis from first principles", Artificial Intelligence 32 (1987). A
// conflict is a set of readings that cannot all be right; a diagnosis is a set of them that,
// given up, leaves the rest explained. Minimal diagnoses are the minimal sets that hit every
// conflict, and the other way round.
//
// Sets are ascending lists of numbers from 0. Results are ordered by size, then by their
// elements, so that the same question always has the same answer.
package consist

import (
	"cmp"
	"slices"
)

// SmallestConflicts returns all conflicts of the least size among n readings, the plainest
// statements of what is contradictory; none when all n are explained together.
//
// explained reports whether some account holds for all readings of an ascending list; what
// holds for a list holds for each part of it. A list that is explained, made as large as it
// goes, leaves out a diagnosis; every conflict hits it. So the smallest conflicts are the
// smallest sets that hit the diagnoses met so far, once no such set is explained. See
// A. Ignatiev, A. Previti, M. Liffiton and J. Marques-Silva, "Smallest MUS extraction with
// minimal hitting set dualization", CP 2015.
func SmallestConflicts(n int, explained func(readings []int) bool) [][]int {
	if explained(rest(n, nil)) {
		return nil
	}
	var diagnoses [][]int
	for size := 0; ; size++ {
		for {
			candidates := hittingSets(diagnoses, size)
			i := slices.IndexFunc(candidates, explained)
			if i < 0 && len(candidates) > 0 {
				return candidates
			}
			if i < 0 {
				break
			}
			diagnoses = append(diagnoses, thin(n, explained, rest(n, candidates[i])))
		}
	}
}

// thin returns a minimal diagnosis within a diagnosis.
func thin(n int, explained func([]int) bool, diagnosis []int) []int {
	for k := 0; k < len(diagnosis); {
		less := slices.Delete(slices.Clone(diagnosis), k, k+1)
		if !explained(rest(n, less)) {
			k++
			continue
		}
		diagnosis = less
	}
	return diagnosis
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

// bySize orders sets by size, then by their elements.
func bySize(a, b []int) int {
	return cmp.Or(cmp.Compare(len(a), len(b)), slices.Compare(a, b))
}
