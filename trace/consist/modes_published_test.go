package consist

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Behaviour modes of an inverter.
const (
	modeOK = iota
	modeStuck1
	modeStuck0
	modeAnything
)

// worlds returns the values of X, Y and the output of three inverters with input 0, for
// every choice of what inverters in mode "anything" give, all equally likely.
func worlds(modes []int) [][3]int {
	out := [][3]int{{}}
	for i, m := range modes {
		var next [][3]int
		for _, w := range out {
			in := 0
			if i > 0 {
				in = w[i-1]
			}
			var values []int
			switch m {
			case modeOK:
				values = []int{1 - in}
			case modeStuck1:
				values = []int{1}
			case modeStuck0:
				values = []int{0}
			default:
				values = []int{0, 1}
			}
			for _, v := range values {
				w[i] = v
				next = append(next, w)
			}
		}
		out = next
	}
	return out
}

func outputIsLow(modes []int) float64 {
	low := 0
	all := worlds(modes)
	for _, w := range all {
		if w[2] == 0 {
			low++
		}
	}
	return float64(low) / float64(len(all))
}

// pointWhenLow predicts X (0) or Y (1), given that the output is 0.
func pointWhenLow(point int) Predictor {
	return func(modes []int) (int, bool) {
		seen := map[int]bool{}
		for _, w := range worlds(modes) {
			if w[2] == 0 {
				seen[w[point]] = true
			}
		}
		return int(spread(seen[1]) & 1), len(seen) == 1
	}
}

// J. de Kleer and B. C. Williams, "Diagnosis with behavioral modes", IJCAI-89: inverters
// A, B, C in a row, input 0, output 0 though 1 is predicted. When all faults are alike,
// measuring X (behind A) or Y (behind B) tells the same. When A and B nearly always fail
// stuck at 1 and C stuck at 0, A is unlikely and Y is the point to measure. Figures by exact
// enumeration.
func TestPublishedBehaviourModes(t *testing.T) {
	stuck1 := []float64{0.99, 0.008, 0.001, 0.001}
	stuck0 := []float64{0.99, 0.001, 0.008, 0.001}
	weak := []float64{0.99, 0, 0, 0.01}
	for _, row := range []struct {
		name      string
		modes     [][]float64
		marginals []float64
		x, y      float64 // entropy of the outcome
	}{
		{"anything", [][]float64{weak, weak, weak}, []float64{0.336689, 0.336689, 0.336689}, 0.918301, 0.918301},
		{"mostly stuck", [][]float64{stuck1, stuck1, stuck0}, []float64{0.089164, 0.462330, 0.462330}, 0.406897, 0.994834},
	} {
		cands := Candidates(row.modes, All, outputIsLow)
		if diff := cmp.Diff(row.marginals, Marginals(cands), near(5e-7)); diff != "" {
			t.Errorf("%s, probability of A, B, C to be faulty (-want +got):\n%s", row.name, diff)
		}
		x, y := Expect(cands, pointWhenLow(0), 2), Expect(cands, pointWhenLow(1), 2)
		if diff := cmp.Diff([]float64{row.x, row.y}, []float64{x.Entropy, y.Entropy}, near(5e-7)); diff != "" {
			t.Errorf("%s, entropy of X, Y (-want +got):\n%s", row.name, diff)
		}
		if row.x < row.y && Best([]Forecast{x, y}) != 1 {
			t.Errorf("%s: best measurement is not Y", row.name)
		}
	}

	// Only stuck at 1 (A, B) and stuck at 0 (C), 0.01 each. A alone cannot be it.
	cands := Candidates([][]float64{{0.99, 0.01}, {0.99, 0.01}, {0.99, 0, 0.01}}, All, outputIsLow)
	if diff := cmp.Diff([]float64{0.01, 0.502513, 0.502513}, Marginals(cands), near(5e-7)); diff != "" {
		t.Errorf("only stuck, probability of A, B, C to be faulty (-want +got):\n%s", diff)
	}
	x, y := Expect(cands, pointWhenLow(0), 2).Entropy, Expect(cands, pointWhenLow(1), 2).Entropy
	if x != 0 || math.Abs(y-0.999982) > 5e-7 {
		t.Errorf("only stuck, entropy of X = %.6f, want 0; of Y = %.6f, want 0.999982", x, y)
	}
}
