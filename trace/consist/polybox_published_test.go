package consist

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
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

func (p polybox) Len() int { return len(polyParts) }

func (p polybox) Consistent(without []int) bool {
	_, ok := p.infer(without)
	return ok
}

func (p polybox) predict(point string) Predictor {
	return func(modes []int) (int, bool) {
		v, _ := p.infer(Candidate{Modes: modes}.Faulty())
		value, known := v[point]
		return value, known
	}
}

// likelihood takes the observations one after the other: one that does not follow from
// those before is one of so many equally likely values.
func (p polybox) likelihood(values float64) func([]int) float64 {
	return func(modes []int) float64 {
		l, before := 1.0, polybox{map[string]int{}}
		for _, point := range slices.Sorted(maps.Keys(p.seen)) {
			v, known := before.predict(point)(modes)
			switch {
			case !known:
				l /= values
			case v != p.seen[point]:
				return 0
			}
			before.seen[point] = p.seen[point]
		}
		return l
	}
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
		if diff := cmp.Diff(row.diagnoses, named(polyParts, Diagnoses(p, All))); diff != "" {
			t.Errorf("%s, diagnoses (-want +got):\n%s", row.name, diff)
		}
		if diff := cmp.Diff(row.conflicts, named(polyParts, Conflicts(p, All))); diff != "" {
			t.Errorf("%s, conflicts (-want +got):\n%s", row.name, diff)
		}
	}
}

// An engine that reasons only from inputs to outputs misses the second conflict and takes
// {M2} for a diagnosis: with M2 alone wrong, F=10 asks for Y=4 and G=12 for Y=6.
func TestPolyboxNeedsReasoningBackwards(t *testing.T) {
	p := polybox{map[string]int{"F": 10, "G": 12}}
	if p.Consistent([]int{1}) || slices.ContainsFunc(Diagnoses(p, 1), func(d []int) bool { return slices.Equal(d, []int{1}) }) {
		t.Error("{M2} counts as a diagnosis")
	}
}

func near(digits float64) cmp.Option { return cmpopts.EquateApprox(0, digits) }

// De Kleer and Williams (1987): every part faulty with probability 0.01. Figures by exact
// enumeration of the 32 candidates.
func TestPublishedPolyboxProbabilities(t *testing.T) {
	p := polybox{map[string]int{"F": 10, "G": 12}}
	priors := Weak(0.01, 0.01, 0.01, 0.01, 0.01)
	cands := Candidates(priors, All, p.likelihood(1))
	if len(cands) != 27 {
		t.Errorf("%d consistent candidates, want 27", len(cands))
	}
	at := func(cands []Candidate, faulty ...int) float64 {
		i := slices.IndexFunc(cands, func(c Candidate) bool { return slices.Equal(c.Faulty(), faulty) })
		return cands[i].P
	}
	single, double := at(cands, 0), at(cands, 1, 2)
	for _, row := range []struct {
		name      string
		got, want float64
		digits    float64
	}{
		{"{M1}", single, 0.47803, 5e-6}, {"{A1}", at(cands, 3), 0.47803, 5e-6},
		{"{M2,M3}", double, 0.00483, 5e-6}, {"{M2,A2}", at(cands, 1, 4), 0.00483, 5e-6},
		{"entropy", Entropy(cands), 1.359445, 5e-7},
	} {
		if math.Abs(row.got-row.want) > row.digits {
			t.Errorf("%s = %.6f, want %.6f", row.name, row.got, row.want)
		}
	}
	if diff := cmp.Diff([]float64{0.49764, 0.01961, 0.01478, 0.49764, 0.01478}, Marginals(cands), near(5e-6)); diff != "" {
		t.Errorf("marginals (-want +got):\n%s", diff)
	}
	var forecasts []Forecast
	for _, point := range []string{"X", "Y", "Z"} {
		forecasts = append(forecasts, Expect(cands, p.predict(point), 0))
	}
	outcomes := func(f Forecast, v int) float64 {
		i := slices.IndexFunc(f.Outcomes, func(o Outcome) bool { return o.Value == v })
		return f.Outcomes[i].P
	}
	got := []float64{
		outcomes(forecasts[0], 4), outcomes(forecasts[0], 6), forecasts[0].Unknown,
		outcomes(forecasts[1], 6), outcomes(forecasts[1], 4),
		outcomes(forecasts[2], 6), outcomes(forecasts[2], 8),
	}
	want := []float64{0.49256, 0.50236, 0.00507, 0.99010, 0.00971, 0.99493, 0.00483}
	if diff := cmp.Diff(want, got, near(5e-6)); diff != "" {
		t.Errorf("predicted outcomes X=4, X=6, X unknown, Y=6, Y=4, Z=6, Z=8 (-want +got):\n%s", diff)
	}
	if best := Best(forecasts); best != 0 {
		t.Errorf("best next measurement is number %d, want X", best)
	}
	gains := []float64{forecasts[0].Gain, forecasts[1].Gain, forecasts[2].Gain}
	if diff := cmp.Diff([]float64{1, 0.08, 0.05}, gains, near(0.05)); diff != "" {
		t.Errorf("gain of X, Y, Z (-want +got):\n%s", diff)
	}

	// A part that is wrong shows one of 16 equally likely values.
	cands = Candidates(priors, All, p.likelihood(16))
	got = []float64{at(cands, 0), at(cands, 3), at(cands, 0, 3)}
	if diff := cmp.Diff([]float64{0.49622, 0.49622, 0.00501}, got, near(5e-6)); diff != "" {
		t.Errorf("16 values, {M1}, {A1}, {M1,A1} (-want +got):\n%s", diff)
	}
	if h := Entropy(cands); math.Abs(h-1.071352) > 5e-7 {
		t.Errorf("16 values, entropy %.6f, want 1.071352", h)
	}
}
