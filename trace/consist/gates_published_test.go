package consist

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func parseBench(t testing.TB, src string) *Circuit {
	t.Helper()
	c, err := ParseBench(src)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// chain is a row of inverters A, B, C ... between points a, b, c ...; gate i drives point i+1.
func chain(t testing.TB, n int) *Circuit {
	points := "abcdefghij"
	src := "INPUT(a)\nOUTPUT(" + points[n:n+1] + ")\n"
	for i := range n {
		src += fmt.Sprintf("%c = NOT(%c)\n", points[i+1], points[i])
	}
	return parseBench(t, src)
}

// believe returns the candidates for a row of inverters with input 1, when a faulty
// inverter gives 0 or 1 with equal chance.
func believe(t testing.TB, n int, out bool, faulty []float64) ([]Candidate, *Observed) {
	c := chain(t, n)
	end := c.Outputs()[0]
	blind := observe(t, c, map[string]bool{"a": true})
	cands := Candidates(Weak(faulty...), All, func(modes []int) float64 {
		v, known := blind.Predict(Candidate{Modes: modes}.Faulty(), end)
		switch {
		case !known:
			return 0.5
		case v == out:
			return 1
		}
		return 0
	})
	return cands, observe(t, c, map[string]bool{"a": true, end: out})
}

func expectAt(cands []Candidate, o *Observed, point string) Forecast {
	return Expect(cands, func(modes []int) (int, bool) {
		v, known := o.Predict(Candidate{Modes: modes}.Faulty(), point)
		return int(spread(v) & 1), known
	}, 2)
}

// Four inverters with input 1 whose output shows the wrong value: the second example of de
// Kleer and Williams (1987). The model, the observation and the prior 0.025 of the first
// inverter stand in the Lydia examples (4inverters.sys, .obs); the variant with 0.01 for
// all in a TU Delft thesis. Figures by exact enumeration.
func TestPublishedInverters(t *testing.T) {
	same := func(p float64, n int) []float64 { return slices.Repeat([]float64{p}, n) }
	first := func(p float64) []float64 { return append([]float64{p}, same(0.01, 3)...) }
	for _, row := range []struct {
		name          string
		faulty        []float64
		singles       []float64
		h             float64
		entropy, gain map[string]float64
		best          string
	}{
		{
			"all 0.01", same(0.01, 4), same(0.246244, 4), 2.122114,
			map[string]float64{"b": 0.811298, "c": 1, "d": 0.811298},
			map[string]float64{"b": 0.803761, "c": 0.989950, "d": 0.803761}, "c",
		},
		{
			"A 0.025", first(0.025), []float64{0.449558, 0.177099, 0.177099, 0.177099}, 2.002657,
			map[string]float64{"b": 0.994518, "c": 0.944653, "d": 0.682724},
			map[string]float64{"b": 0.980757, "c": 0.931837, "d": 0.674495}, "b",
		},
		{
			"A 0.05", first(0.05), []float64{0.620269, 0.119042, 0.119042, 0.119042}, 1.699331,
			map[string]float64{"b": 0.950854, "c": 0.806255, "d": 0.539187},
			map[string]float64{"b": 0.931868, "c": 0.791117, "d": 0.530377}, "b",
		},
		{
			"eight of 0.01", same(0.01, 8), same(0.120647, 8), 3.286656,
			map[string]float64{"e": 1, "d": 0.954457, "f": 0.954457, "c": 0.811358, "g": 0.811358, "b": 0.543688, "h": 0.543688},
			map[string]float64{"e": 0.979902}, "e",
		},
	} {
		t.Run(row.name, func(t *testing.T) {
			n := len(row.faulty)
			cands, o := believe(t, n, false, row.faulty)
			if len(cands) != 1<<n-1 {
				t.Errorf("%d candidates, want %d", len(cands), 1<<n-1)
			}
			var singles []float64
			for _, c := range cands[:n] {
				singles = append(singles, c.P)
			}
			if diff := cmp.Diff(row.singles, singles, near(5e-7)); diff != "" {
				t.Errorf("single faults (-want +got):\n%s", diff)
			}
			if h := Entropy(cands); math.Abs(h-row.h) > 5e-7 {
				t.Errorf("entropy %.6f, want %.6f", h, row.h)
			}
			entropy, gain := map[string]float64{}, map[string]float64{}
			points := strings.Split("bcdefgh"[:n-1], "")
			var forecasts []Forecast
			for _, p := range points {
				f := expectAt(cands, o, p)
				forecasts = append(forecasts, f)
				if _, ok := row.entropy[p]; ok {
					entropy[p] = f.Entropy
				}
				if _, ok := row.gain[p]; ok {
					gain[p] = f.Gain
				}
			}
			if diff := cmp.Diff(row.entropy, entropy, near(5e-7)); diff != "" {
				t.Errorf("entropy of outcomes (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(row.gain, gain, near(5e-7)); diff != "" {
				t.Errorf("gains (-want +got):\n%s", diff)
			}
			if best := points[Best(forecasts)]; best != row.best {
				t.Errorf("best measurement %s, want %s", best, row.best)
			}
		})
	}
}

// The same row with the right output. Priors of the TU Delft thesis: 0.960596 for no fault,
// 0.00970299 for one named fault.
func TestPublishedInvertersHealthy(t *testing.T) {
	all := Candidates(Weak(0.01, 0.01, 0.01, 0.01), All, func([]int) float64 { return 1 })
	got := []float64{all[0].P, all[1].P, all[5].P}
	if diff := cmp.Diff([]float64{0.96059601, 0.00970299, 0.00009801}, got, near(1e-12)); diff != "" {
		t.Errorf("priors of no, one, two faults (-want +got):\n%s", diff)
	}
	cands, o := believe(t, 4, true, []float64{0.01, 0.01, 0.01, 0.01})
	got = []float64{cands[0].P, cands[1].P, Entropy(cands)}
	if diff := cmp.Diff([]float64{0.979902, 0.004949, 0.184640}, got, near(5e-7)); diff != "" {
		t.Errorf("no fault, one fault, entropy (-want +got):\n%s", diff)
	}
	for _, p := range []string{"b", "c", "d"} {
		if g := expectAt(cands, o, p).Gain; g < 0 || g > 0.002 {
			t.Errorf("gain of %s = %.6f, want about 0.001", p, g)
		}
	}
}

// R. Reiter, "A theory of diagnosis from first principles", Artificial Intelligence 32
// (1987) 57-95: the full adder X1, X2 (XOR), A1, A2 (AND), O1 (OR), inputs 1, 0, 1, sum
// seen 1 and carry seen 0.
const fullAdder = `INPUT(a)
INPUT(b)
INPUT(cin)
OUTPUT(X2)
OUTPUT(O1)
X1 = XOR(a, b)
X2 = XOR(X1, cin)
A1 = AND(a, b)
A2 = AND(X1, cin)
O1 = OR(A1, A2)
`

func TestPublishedFullAdder(t *testing.T) {
	c := parseBench(t, fullAdder)
	o := observe(t, c, map[string]bool{"a": true, "b": false, "cin": true, "X2": true, "O1": false})
	if got, want := named(c.Gates(), Conflicts(o, All)), "{X1,X2} {X1,A2,O1}"; got != want {
		t.Errorf("conflicts %s, want %s", got, want)
	}
	if got, want := named(c.Gates(), Diagnoses(o, All)), "{X1} {X2,A2} {X2,O1}"; got != want {
		t.Errorf("diagnoses %s, want %s", got, want)
	}
	consistent := 0
	for set := range subsets(5) {
		if o.Consistent(set) {
			consistent++
		}
	}
	if consistent != 22 {
		t.Errorf("%d of 32 sets are consistent, want 22", consistent)
	}
	// Another wrong answer of the same circuit, by exhaustive enumeration.
	o = observe(t, c, map[string]bool{"a": true, "b": true, "cin": true, "X2": false, "O1": false})
	if got, want := named(c.Gates(), Diagnoses(o, All)), "{X1,O1} {X2,A1} {X2,O1} {X1,A1,A2}"; got != want {
		t.Errorf("inputs 1,1,1, outputs 0,0: %s, want %s", got, want)
	}
}

// All eight inputs of the full adder with each of the three wrong answers, against a search
// that tries every set of gates and every value that they could give.
func TestFullAdderExhaustively(t *testing.T) {
	c := parseBench(t, fullAdder)
	cases := 0
	for in := range 8 {
		for out := range 4 {
			seen := map[string]bool{"a": in&1 != 0, "b": in&2 != 0, "cin": in&4 != 0, "X2": out&1 != 0, "O1": out&2 != 0}
			slow := newOracle(c, seen)
			if slow.Consistent(nil) {
				continue
			}
			cases++
			o := observe(t, c, seen)
			if diff := cmp.Diff(minimal(5, slow.Consistent), Diagnoses(o, All)); diff != "" {
				t.Errorf("%v, diagnoses (-want +got):\n%s", seen, diff)
			}
			if diff := cmp.Diff(minimal(5, func(s []int) bool { return !slow.Consistent(rest(5, s)) }), Conflicts(o, All)); diff != "" {
				t.Errorf("%v, conflicts (-want +got):\n%s", seen, diff)
			}
		}
	}
	if cases != 24 {
		t.Errorf("%d wrong answers, want 24", cases)
	}
}

// ISCAS-85 c17, all 32 inputs with each of the three wrong outputs: 96 cases, by brute
// force over the 64 sets of gates. In 83 cases one gate explains what was seen, in 13 it
// takes two; there are 399 minimal diagnoses.
func TestPublishedC17(t *testing.T) {
	c := readBench(t, "c17.bench")
	total, cardinality, number, ones := 0, map[int]int{}, map[int]int{}, map[string]int{}
	for in := range 32 {
		seen := map[string]bool{}
		for i, name := range c.Inputs() {
			seen[name] = in>>i&1 != 0
		}
		healthy, err := c.Eval(seen)
		if err != nil {
			t.Fatal(err)
		}
		for wrong := 1; wrong < 4; wrong++ {
			for i, name := range c.Outputs() {
				seen[name] = healthy[name] != (wrong>>i&1 != 0)
			}
			d := Diagnoses(observe(t, c, seen), All)
			total += len(d)
			number[len(d)]++
			cardinality[len(d[0])]++
		}
		for _, name := range c.Outputs() {
			if healthy[name] {
				ones[name]++
			}
		}
	}
	if total != 399 {
		t.Errorf("%d minimal diagnoses, want 399", total)
	}
	if diff := cmp.Diff(map[int]int{1: 83, 2: 13}, cardinality); diff != "" {
		t.Errorf("cases by least number of gates (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(map[int]int{2: 6, 3: 33, 4: 18, 5: 26, 6: 5, 7: 8}, number); diff != "" {
		t.Errorf("cases by number of minimal diagnoses (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(map[string]int{"22": 18, "23": 18}, ones); diff != "" {
		t.Errorf("inputs for which an output is 1 (-want +got):\n%s", diff)
	}
}
