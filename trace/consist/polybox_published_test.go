package consist

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// polybox is the circuit of R. Davis, "Diagnostic reasoning based on structure and
// behavior", Artificial Intelligence 24 (1984), and of J. de Kleer and B. C. Williams,
// "Diagnosing multiple faults", Artificial Intelligence 32 (1987) 97-130: X=A·C, Y=B·D,
// Z=C·E, F=X+Y, G=Y+Z with A=3, B=2, C=2, D=3, E=3.
type polybox struct {
	seen map[string]int
}

var polyParts = []string{"M1", "M2", "M3", "A1", "A2"}

// infer returns the values that follow when all parts but some are healthy, and false when
// two of them differ.
func (p polybox) infer(without []int) (map[string]int, bool) {
	v := maps.Clone(p.seen)
	ok := true
	put := func(name string, value int) {
		if old, known := v[name]; known && old != value {
			ok = false
		}
		v[name] = value
	}
	for range 5 {
		for i, product := range []string{"X", "Y", "Z"} {
			if !slices.Contains(without, i) {
				put(product, 6)
			}
		}
		for i, sum := range [][3]string{{"X", "Y", "F"}, {"Y", "Z", "G"}} {
			if slices.Contains(without, 3+i) {
				continue
			}
			a, knowA := v[sum[0]]
			b, knowB := v[sum[1]]
			s, knowS := v[sum[2]]
			if knowA && knowB {
				put(sum[2], a+b)
			}
			if knowA && knowS {
				put(sum[1], s-a)
			}
			if knowB && knowS {
				put(sum[0], s-b)
			}
		}
	}
	return v, ok
}

// named writes sets with the names of their elements.
func named(names []string, sets [][]int) string {
	var out []string
	for _, s := range sets {
		var in []string
		for _, i := range s {
			in = append(in, names[i])
		}
		out = append(out, "{"+strings.Join(in, ",")+"}")
	}
	return strings.Join(out, " ")
}

// The figures of the first row are those of de Kleer and Williams (1987), section 1; the
// others follow from the same circuit with more seen, worked out by exact enumeration.
func TestPublishedPolybox(t *testing.T) {
	for _, row := range []struct {
		name                 string
		seen                 map[string]int
		conflicts, diagnoses string
	}{
		{"F=10", map[string]int{}, "{M1,M2,A1} {M1,M3,A1,A2}", "{M1} {A1} {M2,M3} {M2,A2}"},
		{"X=6", map[string]int{"X": 6}, "{M2,A1} {M3,A1,A2}", "{A1} {M2,M3} {M2,A2}"},
		{"X=4", map[string]int{"X": 4}, "{M1}", "{M1}"},
		{"X=5", map[string]int{"X": 5}, "{M1} {M2,A1} {M3,A1,A2}", "{M1,A1} {M1,M2,M3} {M1,M2,A2}"},
		{"Y=6", map[string]int{"Y": 6}, "{M1,A1}", "{M1} {A1}"},
		{"Y=4", map[string]int{"Y": 4}, "{M2} {M3,A2}", "{M2,M3} {M2,A2}"},
		{"Z=6", map[string]int{"Z": 6}, "{M1,M2,A1} {M1,A1,A2}", "{M1} {A1} {M2,A2}"},
		{"Z=8", map[string]int{"Z": 8}, "{M3} {M2,A2} {M1,M2,A1}", "{M2,M3} {M1,M3,A2} {M3,A1,A2}"},
		{"X=6,Y=6", map[string]int{"X": 6, "Y": 6}, "{A1}", "{A1}"},
		{"X=6,Y=4,Z=8", map[string]int{"X": 6, "Y": 4, "Z": 8}, "{M2} {M3}", "{M2,M3}"},
		{"G=10", map[string]int{"G": 10}, "{M1,M2,A1} {M2,M3,A2}", "{M2} {M1,M3} {M1,A2} {M3,A1} {A1,A2}"},
		{"F=12", map[string]int{"F": 12}, "", "{}"},
	} {
		seen := map[string]int{"F": 10, "G": 12}
		maps.Copy(seen, row.seen)
		p := polybox{seen}
		conflicts, diagnoses := checkConflicts(t, len(polyParts), func(healthy []int) bool {
			_, ok := p.infer(rest(len(polyParts), healthy))
			return ok
		})
		if diff := cmp.Diff(row.diagnoses, named(polyParts, diagnoses)); diff != "" {
			t.Errorf("%s, diagnoses (-want +got):\n%s", row.name, diff)
		}
		if diff := cmp.Diff(row.conflicts, named(polyParts, conflicts)); diff != "" {
			t.Errorf("%s, conflicts (-want +got):\n%s", row.name, diff)
		}
	}
}
