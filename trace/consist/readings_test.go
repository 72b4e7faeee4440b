package consist

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// table makes a question out of what each hypothesis explains.
func table(explains map[string][]int) func([]int) bool {
	return func(set []int) bool {
		for _, e := range explains {
			if within(set, e) {
				return true
			}
		}
		return false
	}
}

func TestReadingsThatContradict(t *testing.T) {
	// Any two of the first three go together, all three do not; reading 3 goes with
	// nothing but 4, reading 5 with nothing at all.
	explained := table(map[string][]int{"F1": {0, 1, 4}, "R2": {0, 2, 4}, "U3": {1, 2, 4}, "C4": {3, 4}})
	if diff := cmp.Diff([][]int{{5}}, SmallestConflicts(6, explained)); diff != "" {
		t.Errorf("smallest (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([][]int{{0, 3}, {1, 3}, {2, 3}}, SmallestConflicts(5, explained)); diff != "" {
		t.Errorf("smallest without reading 5 (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([][]int{{0, 1, 2}}, SmallestConflicts(3, explained)); diff != "" {
		t.Errorf("smallest of the first three (-want +got):\n%s", diff)
	}
	conflicts, diagnoses := checkConflicts(t, 6, explained)
	if diff := cmp.Diff([][]int{{5}, {0, 3}, {1, 3}, {2, 3}, {0, 1, 2}}, conflicts); diff != "" {
		t.Errorf("conflicts (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([][]int{{0, 3, 5}, {1, 3, 5}, {2, 3, 5}, {0, 1, 2, 5}}, diagnoses); diff != "" {
		t.Errorf("what must be wrong (-want +got):\n%s", diff)
	}
}

func TestNothingContradicts(t *testing.T) {
	if got := SmallestConflicts(3, table(map[string][]int{"F1": {0, 1, 2}})); got != nil {
		t.Errorf("smallest conflicts %v", got)
	}
}

// Without a hypothesis not even no reading at all is explained: the conflict is empty.
func TestNoHypothesis(t *testing.T) {
	if diff := cmp.Diff([][]int{{}}, SmallestConflicts(2, table(nil))); diff != "" {
		t.Errorf("smallest conflicts (-want +got):\n%s", diff)
	}
}

// Thirty readings of which two pairs contradict: no list of all subsets is made.
func BenchmarkSmallestConflicts(b *testing.B) {
	explained := func(set []int) bool {
		return !within([]int{3, 17}, set) && !within([]int{5, 29}, set)
	}
	for b.Loop() {
		if got := SmallestConflicts(30, explained); len(got) != 2 {
			b.Fatal(got)
		}
	}
}

func Example() {
	// Three readings and two faults that could explain them.
	explains := map[string][]int{"F3 open": {0, 1}, "U9 not enabled": {1, 2}}
	sets := SmallestConflicts(3, func(readings []int) bool {
		for _, e := range explains {
			if !slices.ContainsFunc(readings, func(r int) bool { return !slices.Contains(e, r) }) {
				return true
			}
		}
		return false
	})
	fmt.Println("contradict each other:", sets)
	// Output:
	// contradict each other: [[0 2]]
}
