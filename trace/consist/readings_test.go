package consist

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// table makes Readings out of what each hypothesis explains.
func table(readings int, explains map[string][]int) Readings {
	return Readings{N: readings, Explained: func(set []int) bool {
		for _, e := range explains {
			if within(set, e) {
				return true
			}
		}
		return false
	}}
}

func TestReadingsThatContradict(t *testing.T) {
	// Any two of the first three go together, all three do not; reading 3 goes with
	// nothing but 4, reading 5 with nothing at all.
	sys := table(6, map[string][]int{"F1": {0, 1, 4}, "R2": {0, 2, 4}, "U3": {1, 2, 4}, "C4": {3, 4}})
	if diff := cmp.Diff([][]int{{5}, {0, 3}, {1, 3}, {2, 3}, {0, 1, 2}}, Conflicts(sys, All)); diff != "" {
		t.Errorf("conflicts (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([][]int{{5}}, SmallestConflicts(sys)); diff != "" {
		t.Errorf("smallest (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([][]int{{0, 3, 5}, {1, 3, 5}, {2, 3, 5}, {0, 1, 2, 5}}, Diagnoses(sys, All)); diff != "" {
		t.Errorf("what must be wrong (-want +got):\n%s", diff)
	}
	got, found := Conflict(sys, []int{3, 5})
	if diff := cmp.Diff([]int{0, 1, 2}, got); !found || diff != "" {
		t.Errorf("conflict without 3 and 5: %v (-want +got):\n%s", found, diff)
	}
}

func TestNothingContradicts(t *testing.T) {
	sys := table(3, map[string][]int{"F1": {0, 1, 2}})
	if got := SmallestConflicts(sys); len(got) != 0 {
		t.Errorf("smallest conflicts %v", got)
	}
	if got := Conflicts(sys, All); len(got) != 0 {
		t.Errorf("conflicts %v", got)
	}
	if got, found := Conflict(sys, nil); found {
		t.Errorf("conflict %v", got)
	}
	if diff := cmp.Diff([][]int{{}}, Diagnoses(sys, All)); diff != "" {
		t.Errorf("diagnoses (-want +got):\n%s", diff)
	}
}

// Without a hypothesis not even no reading at all is explained: the conflict is empty and
// nothing can be given up to mend it.
func TestNoHypothesis(t *testing.T) {
	sys := table(2, nil)
	want := [][]int{{}}
	if diff := cmp.Diff(want, SmallestConflicts(sys)); diff != "" {
		t.Errorf("smallest conflicts (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(want, Conflicts(sys, All)); diff != "" {
		t.Errorf("conflicts (-want +got):\n%s", diff)
	}
	if got := Diagnoses(sys, All); len(got) != 0 {
		t.Errorf("diagnoses %v", got)
	}
}

// A value that many candidates leave open: those that predict it come first, and the others
// remain when none does.
func TestUpdateWithVeryManyValues(t *testing.T) {
	cands := []Candidate{{[]int{0}, 0.5}, {[]int{1}, 0.3}, {[]int{2}, 0.2}}
	predict := func(modes []int) (int, bool) { return modes[0], modes[0] < 2 }
	for _, row := range []struct {
		value int
		want  []Candidate
	}{
		{1, []Candidate{{[]int{1}, 1}}},
		{7, []Candidate{{[]int{2}, 1}}},
	} {
		if diff := cmp.Diff(row.want, Update(cands, predict, row.value, 0)); diff != "" {
			t.Errorf("%d (-want +got):\n%s", row.value, diff)
		}
	}
	if diff := cmp.Diff([]Candidate{{[]int{0}, 0.5}, {[]int{1}, 0.3}, {[]int{2}, 0.2}}, cands); diff != "" {
		t.Errorf("the candidates changed:\n%s", diff)
	}
}

func TestBestOfNothing(t *testing.T) {
	if got := Best([]Forecast{{Gain: 0}, {Gain: 1e-12}}); got != -1 {
		t.Errorf("best is %d, want none", got)
	}
}

// Thirty readings of which two pairs contradict: no list of all subsets is made.
func BenchmarkSmallestConflicts(b *testing.B) {
	sys := Readings{N: 30, Explained: func(set []int) bool {
		return !within([]int{3, 17}, set) && !within([]int{5, 29}, set)
	}}
	for b.Loop() {
		if got := SmallestConflicts(sys); len(got) != 2 {
			b.Fatal(got)
		}
	}
}

// The minimal conflict of 160 gates that QuickXplain finds first.
func BenchmarkConflictC432(b *testing.B) {
	c := readBench(b, "c432.bench")
	cases := readCases(b)
	for b.Loop() {
		for _, k := range cases {
			if _, found := Conflict(observe(b, c, k.Seen), nil); !found {
				b.Fatal("no conflict")
			}
		}
	}
}

func Example() {
	// Three readings and two faults that could explain them.
	explains := map[string][]int{"F3 open": {0, 1}, "U9 not enabled": {1, 2}}
	sys := Readings{N: 3, Explained: func(readings []int) bool {
		for _, e := range explains {
			if !slices.ContainsFunc(readings, func(r int) bool { return !slices.Contains(e, r) }) {
				return true
			}
		}
		return false
	}}
	fmt.Println("contradict each other:", SmallestConflicts(sys))
	fmt.Println("one of these is wrong:", Diagnoses(sys, 1))
	// Output:
	// contradict each other: [[0 2]]
	// one of these is wrong: [[0] [2]]
}
