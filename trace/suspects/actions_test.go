package suspects

import (
	"math"
	"testing"

	"example.org/walkback/trace/repair"
)

// TestActionsAddUpAllThatMayBeWrong compares the shares by action with those of the
// suspects: with what is not in the file they make one where each cause has one action.
func TestActionsAddUpAllThatMayBeWrong(t *testing.T) {
	for _, readings := range []string{"dark", "black", "VBL=0V VBL=ohms:0.2", "unknown", "A.0=quiet"} {
		n := demo(t, "larkspur13")
		r := narrow(t, n, read(t, n, readings))
		sum := r.Other
		for _, a := range r.Actions {
			sum += a.P
		}
		if len(r.Pairs) == 0 && math.Abs(sum-1) > 1e-9 {
			t.Errorf("%s: the actions and the rest make %g", readings, sum)
		}
		for i := range r.Worth() {
			if i > 0 && r.Actions[i].P > r.Actions[i-1].P {
				t.Errorf("%s: %s stands too low", readings, r.Actions[i].Name)
			}
		}
	}
}

// TestShortsOfAPlaceAreOneAction adds up what the meter cannot part.
func TestShortsOfAPlaceAreOneAction(t *testing.T) {
	n := demo(t, "larkspur13")
	r := narrow(t, n, read(t, n, "dark VBL=ohms:0.2"))
	a := r.Actions[0]
	if a.Kind != repair.Search || a.Name != "find the short or leak to ground on VBL" || len(a.Parts) < 3 || a.P < 0.8 {
		t.Errorf("%.2f %s of %d parts", a.P, a.Name, len(a.Parts))
	}
}

// TestNothingIsToBeDoneAboutAHealthyBoard leaves the list out.
func TestNothingIsToBeDoneAboutAHealthyBoard(t *testing.T) {
	n := demo(t, "larkspur13")
	if r := narrow(t, n, read(t, n, "LIGHT=yes")); len(r.Actions) > 0 {
		t.Errorf("%s is to be done", r.Actions[0].Name)
	}
}
