package consist

import (
	"iter"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// subsets yields all sets of numbers below n.
func subsets(n int) iter.Seq[[]int] {
	return func(yield func([]int) bool) {
		for mask := range 1 << n {
			set := []int{}
			for i := range n {
				if mask>>i&1 != 0 {
					set = append(set, i)
				}
			}
			if !yield(set) {
				return
			}
		}
	}
}

// minimal returns the sets that hold no other set for which the test is true, in order.
func minimal(n int, test func([]int) bool) [][]int {
	var out [][]int
	for set := range subsets(n) {
		if !test(set) {
			continue
		}
		least := true
		for k := range set {
			least = least && !test(slices.Delete(slices.Clone(set), k, k+1))
		}
		if least {
			out = append(out, set)
		}
	}
	slices.SortFunc(out, bySize)
	return out
}

func hits(set []int, sets [][]int) bool {
	for _, s := range sets {
		if !slices.ContainsFunc(s, func(i int) bool { return slices.Contains(set, i) }) {
			return false
		}
	}
	return true
}

func drawSets(t *rapid.T, n int) [][]int {
	var out [][]int
	for range rapid.IntRange(0, 8).Draw(t, "sets") {
		out = append(out, rapid.SliceOfNDistinct(rapid.IntRange(0, n-1), 1, n, rapid.ID[int]).Draw(t, "set"))
	}
	return out
}

var equateEmpty = cmpopts.EquateEmpty()

func TestHittingSetsAreThoseOfBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "n")
		sets := drawSets(t, n)
		most := rapid.IntRange(0, n).Draw(t, "most")
		want := slices.DeleteFunc(minimal(n, func(s []int) bool { return hits(s, sets) }), func(s []int) bool { return len(s) > most })
		if diff := cmp.Diff(want, hittingSets(sets, most), equateEmpty); diff != "" {
			t.Fatalf("(-want +got):\n%s", diff)
		}
	})
}

// Readings made of known contradictions show them again.
func TestConflictsAreThoseOfBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "n")
		contradictions := drawSets(t, n)
		asked := 0
		explained := func(readings []int) bool {
			asked++
			if !slices.IsSorted(readings) {
				t.Fatalf("asked for %v", readings)
			}
			return !slices.ContainsFunc(contradictions, func(c []int) bool { return within(c, readings) })
		}
		checkConflicts(t, n, explained)
		if asked == 0 {
			t.Fatal("never asked")
		}
	})
}

func within(small, large []int) bool {
	return !slices.ContainsFunc(small, func(i int) bool { return !slices.Contains(large, i) })
}

// fatal is what *testing.T and *rapid.T have in common here.
type fatal interface {
	Helper()
	Fatalf(format string, args ...any)
}

// checkConflicts compares the smallest conflicts with brute force over all sets, and that
// conflicts and diagnoses are each what hits the other. It returns both, minimal.
func checkConflicts(t fatal, n int, explained func([]int) bool) (conflicts, diagnoses [][]int) {
	t.Helper()
	conflicts = minimal(n, func(s []int) bool { return !explained(s) })
	diagnoses = minimal(n, func(s []int) bool { return explained(rest(n, s)) })
	var smallest [][]int
	for _, c := range conflicts {
		if len(c) == len(conflicts[0]) {
			smallest = append(smallest, c)
		}
	}
	if diff := cmp.Diff(smallest, SmallestConflicts(n, explained), equateEmpty); diff != "" {
		t.Fatalf("smallest conflicts (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(diagnoses, hittingSets(conflicts, all), equateEmpty); diff != "" {
		t.Fatalf("what hits the conflicts (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(conflicts, hittingSets(diagnoses, all), equateEmpty); diff != "" {
		t.Fatalf("what hits the diagnoses (-want +got):\n%s", diff)
	}
	return conflicts, diagnoses
}
