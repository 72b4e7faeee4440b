package view

import (
	"bytes"
	"slices"
	"strings"
	"testing"
)

// Each fault with a tile is found by the number of that tile and by no other, and
// what is found paints the very picture of the tile.
func TestTilesAreFoundByNumber(t *testing.T) {
	for _, l := range AllLinks() {
		all, err := NumberedLooks(l)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range all {
			_, groups, err := SuspectNumber(l, n.Number)
			if err != nil {
				t.Fatal(err)
			}
			if len(groups) != 1 || len(groups[0].Disagrees) > 0 || !Fits(groups) {
				t.Fatalf("%v tile %d: %d groups", l, n.Number, len(groups))
			}
			var got []Fault
			for _, c := range groups[0].Candidates {
				if c.Fault != nil {
					got = append(got, *c.Fault)
				} else if n.Number != 1 {
					t.Errorf("%v tile %d: a healthy link is suspected", l, n.Number)
				}
			}
			want := painted(t, l, n.Faults[:min(1, len(n.Faults))])
			for _, f := range got {
				if !slices.Contains([]Kind{Stuck, Leg, Swapped}, f.Kind) && !slices.Contains(n.Faults, f) {
					t.Errorf("%v tile %d: %s has another tile", l, n.Number, f)
				}
				if !bytes.Equal(painted(t, l, []Fault{f}), want) {
					t.Errorf("%v tile %d: %s paints another picture", l, n.Number, f)
				}
			}
			for _, f := range n.Faults {
				stuck := Fault{Kind: Stuck, Lane: f.Lane, Level: f.Level}
				if !slices.Contains(got, f) || f.Kind == Missing && !slices.Contains(got, stuck) {
					t.Errorf("%v tile %d: %s is not among %v", l, n.Number, f, got)
				}
			}
		}
		if _, _, err := SuspectNumber(l, len(all)+1); err == nil || !strings.Contains(err.Error(), "tiles 1 to") {
			t.Errorf("%v: a tile too many gives %v", l, err)
		}
	}
}

// painted are the pixels of the test pattern behind faults.
func painted(t *testing.T, l Link, fs []Fault) []byte {
	t.Helper()
	p, err := Render(TestPattern(256, 160), l, fs)
	if err != nil {
		t.Fatal(err)
	}
	return p.Image.Pix
}

// By hand: VESA's pair 0 has the low six bits of red and the lowest of green. Read
// high, black is 3F 01 00; low, it is 00 00 00: not one tile.
func TestBothLevelsOfAPairHaveTilesOfTheirOwn(t *testing.T) {
	l := Link{1, 24, VESA}
	all, err := NumberedLooks(l)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range all {
		_, groups, err := SuspectNumber(l, n.Number)
		if err != nil {
			t.Fatal(err)
		}
		has := func(v Level) bool {
			return slices.ContainsFunc(groups[0].Candidates, func(c Candidate) bool {
				return c.Fault != nil && *c.Fault == Fault{Kind: Missing, Level: v}
			})
		}
		if has(High) && has(Low) {
			t.Errorf("tile %d is of both levels", n.Number)
		}
	}
}

func TestOnePairHasOneLevel(t *testing.T) {
	for text, bad := range map[string]bool{
		"missing A.0, missing A.0=low":        true,
		"missing A.0=low, A.0=high":           true,
		"missing A.0=low, stuck A.0=high":     true,
		"clock gone A.CLK, missing A=high":    true,
		"wrong depth=low, wrong depth=high":   true,
		"missing A.0, missing A.0=high":       true, // without a level it may be either
		"missing A.0, stuck A.0=high":         true,
		"missing A.0, missing A.0":            false,
		"missing A.0=low, A.1=high":           false,
		"missing A.0=low, B.0=high":           false,
		"missing A.0=low, stuck A.0=low":      false,
		"missing A.0=low, inverted A.0":       false,
		"missing A.3=low, wrong depth":        false, // the pair's own level counts
		"clock gone A.CLK, missing A.0=high":  false,
		"clock gone A.CLK=low, B.CLK=high":    false,
		"swapped A.0/A.1, swapped A.0/B.1":    false,
		"one channel=low, clock gone A.CLK=1": false,
	} {
		fs, err := ParseFaults("", text)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Describe(Link{2, 24, VESA}, fs)
		if (err != nil) != bad {
			t.Errorf("%q: %v", text, err)
		}
		if _, again := Render(TestPattern(8, 8), Link{2, 24, VESA}, fs); (again != nil) != bad {
			t.Errorf("%q is painted: %v", text, again)
		}
		if bad && err != nil && !strings.Contains(err.Error(), "leave one out") {
			t.Errorf("%q: %v", text, err)
		}
	}
}
