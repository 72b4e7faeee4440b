package trace

import (
	"slices"
	"testing"

	"example.org/walkback/boards/boardtest"

	"github.com/google/go-cmp/cmp"
)

// A symptom that no missing need explains names what should have held it. The
// suspects are those that the board files describe in their comments; that an
// open upper leg of the divider lets the rail run away, and that a shorted
// switch or an open gate pull-up leaves a rail on, is common practice, no source.
func TestSymptomsAgainstTheWalk(t *testing.T) {
	for _, row := range []struct {
		board, seen string
		kind        AgainstKind
		must        []string
		mustNot     []string
	}{
		{"larkspur13", "VBL=36V", TooHigh, []string{"R36", "R37", "U9", "DS91", "J2"}, []string{"F3", "Q5", "C34"}},
		{"larkspur13", "VBL=above", TooHigh, []string{"R36", "R37"}, []string{"F3"}},
		{"larkspur13", "BL_K3=0V", NoCurrent, []string{"J2", "W1", "DS91"}, []string{"F3", "Q5"}},
		{"larkspur13", "VBL_SW=12.6V --state power=sleep", StuckOn, []string{"Q5", "R31", "Q6"}, []string{"F3", "U3"}},
		{"larkspur13", "LIGHT=yes --state lid=shut", StuckOn, []string{"U7", "U11", "U9"}, []string{"F3", "R36"}},
	} {
		w := walkOf(t, boardtest.Demo(t, row.board), row.seen)
		if len(w.Against) != 1 || w.Against[0].Kind != row.kind {
			t.Errorf("%s: got %+v, want one of kind %s", row.seen, w.Against, row.kind)
			continue
		}
		names := w.partList(w.Against[0].Suspects)
		for _, name := range row.must {
			if !slices.Contains(names, name) {
				t.Errorf("%s: %s is no suspect among %v", row.seen, name, names)
			}
		}
		for _, name := range row.mustNot {
			if slices.Contains(names, name) {
				t.Errorf("%s: %s is a suspect", row.seen, name)
			}
		}
		if diff := cmp.Diff([]Unit(nil), w.Singles); diff != "" {
			t.Errorf("%s: single points of failure of something that is not missing (-want +got):\n%s", row.seen, diff)
		}
		if text := w.NotValid(); text != "" {
			t.Errorf("%s: %s", row.seen, text)
		}
	}
}

// A reading that is merely missing goes with the walk.
func TestMissingLevelsAreNotAgainstTheWalk(t *testing.T) {
	for _, seen := range []string{"VBL=0V", "VBL=12.2V", "BL_ON_N=12.6V", "LIGHT=no --state lid=shut", "A.CLK=quiet"} {
		if w := walkOf(t, boardtest.Demo(t, "larkspur13"), seen); len(w.Against) != 0 {
			t.Errorf("%s: got %+v", seen, w.Against)
		}
	}
}

// What proves one function of a part proves no other: hot-plug shows that the
// panel has power, not that it answers.
func TestAnsweringIsAFunctionOfItsOwn(t *testing.T) {
	w := walkOf(t, boardtest.Demo(t, "teasel14"), "AUX=dead HPD=ok")
	got := map[string]bool{}
	for _, u := range w.Singles {
		got[w.Board.Parts[u.Part].Name] = true
	}
	if !got["DS90"] || !got["U1"] {
		t.Errorf("the panel and the source must both be suspects, got %v", got)
	}
}

// A rail that stands at the input level of its converter shows that the coil and
// the diode conduct: common practice, no source. Then none of what brings the
// input is a suspect, and the driver with its inputs is.
func TestInputLevelClearsWhatBringsIt(t *testing.T) {
	for _, seen := range []string{"VBL=12.2V", "VBL=input"} {
		w := walkOf(t, boardtest.Demo(t, "larkspur13"), seen)
		got := map[string]bool{}
		for _, u := range w.Singles {
			got[w.Board.Parts[u.Part].Name] = true
		}
		for _, name := range []string{"F3", "Q5", "L4", "D6", "Q6"} {
			if got[name] {
				t.Errorf("%s: %s carries the input level and is still a suspect", seen, name)
			}
		}
		for _, name := range []string{"U9", "U7", "R36"} {
			if !got[name] {
				t.Errorf("%s: %s is no suspect", seen, name)
			}
		}
	}
	w := walkOf(t, boardtest.Demo(t, "larkspur13"), "VBL=5V")
	if !slices.ContainsFunc(w.Singles, func(u Unit) bool { return w.Board.Parts[u.Part].Name == "F3" }) {
		t.Error("VBL=5V is under the input level and clears nothing, but F3 is no suspect")
	}
}
