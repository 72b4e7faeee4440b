package suspects

import (
	"fmt"
	"path"
	"strings"
	"testing"

	"example.org/walkback/netlist"
)

// causes is a group of faults that lie behind a complaint, and what a bench gives it in
// percent of all causes. The figures are common practice, no source. Shorts of a panel's
// supply are left out: a bench counts them all, and only the lowest leave the rail low.
type causes struct {
	what   string
	share  float64
	faults string // patterns of fault names; "blows" is what opens a fuse
}

// complaints are those of a repair bench, each with the readings that the complaint comes
// with and its groups of causes. Groups that a demo board has no parts for are left out.
var complaints = []struct {
	board, readings string
	groups          []causes
}{
	{"larkspur13", "dark VBL=0V", []causes{
		{"fuse open because of a short", 34, "blows"}, {"fuse open alone", 18, "F3:open F3:tired"},
		{"input switch off", 12, "Q5:open Q5:weak Q5:drifted Q6:* R31:* R32:* U8.BL_PWR:*"}, {"coil", 9, "L4:*"}, {"diode", 6, "D6:open"},
	}},
	{"larkspur13", "resting", []causes{
		{"enable missing", 30, "U7* U1.BL_REQ:* U11* R11:* R33:* C11:* U8.LID*"}, {"dimming missing", 14, "R34:* R35:* U1.BL_PWM_S:*"},
		{"driver", 22, "U9:*"}, {"divider", 5, "R36:* R37:*"},
	}},
	{"larkspur13", "band LIGHT=yes", []causes{
		{"contact or conductor", 40, "J2* W1*"}, {"string in the panel", 30, "DS91*"},
	}},
	{"larkspur13", "PICTURE=no V3_PNL=low", []causes{
		{"enable missing", 28, "U1.[PEI]* U1:dead R2[123]:* U90* FL[56]* FB2:* J2.1[456]:* W1.1[456]:*"},
		{"switch", 24, "U4:*"},
		{"fuse", 12, "F2:open F2:tired"},
	}},
	{"larkspur13", "unknown", []causes{
		{"line open", 26, "FL5:* FL6:* J2.1[45]:[oip]* W1.1[45]:[oip]*"},
		{"pull-up", 14, "R21:* R22:*"}, {"clamp or short", 12, "D21:* D22:* J2.1[45]:b* W1.1[45]:b*"},
		{"identity memory", 12, "U90*"}, {"its supply", 12, "FB2:* J2.16:[oip]* W1.16:[oip]* C21:*"},
		{"port of the picture chip", 4, "U1.ID*"},
	}},
	{"larkspur13", "COLOUR=wrong PICTURE=seen LIGHT=yes", []causes{
		{"filter", 28, "FL2* FL3*"}, {"contact", 24, "J2.2:* J2.3:* J2.5:* J2.6:*"},
		{"conductor", 20, "W1.2:* W1.3:* W1.5:* W1.6:*"}, {"input of the panel", 10, "DS90.P_A0* DS90.P_A1*"},
		{"picture chip", 5, "U1.A0* U1.A1*"},
	}},
	{"teasel14", "silent", []causes{
		{"coupling capacitor", 22, "C41:* C42:*"}, {"contact or conductor", 25, "J2* W1*"},
		{"clamp", 8, "D41*"}, {"picture chip", 10, "U1*"},
	}},
	{"teasel14", "untrained", []causes{
		{"contact or conductor", 46, "J2* W1*"}, {"coupling capacitor", 14, "C43:* C44:* C45:* C46:*"}, {"panel", 12, "DS90*"},
		{"picture chip", 5, "U1*"},
	}},
}

// factor is how far a share may be from that of a bench.
const factor = 3

// TestWeightsOfABench compares what the complaint alone makes of the groups of causes with
// what a bench gives them, each as a share of the groups that are there.
func TestWeightsOfABench(t *testing.T) {
	for _, c := range complaints {
		n := demo(t, c.board)
		p, err := n.Weights(read(t, n, c.readings), nil)
		if err != nil {
			t.Fatal(err)
		}
		have, sum, bench := make([]float64, len(c.groups)), 0.0, 0.0
		for i, g := range c.groups {
			bench += g.share
			for f := range n.d.Faults {
				if n.among(f, g.faults) {
					have[i] += p[f]
					sum += p[f]
				}
			}
		}
		text := fmt.Sprintf("%s %s, %.0f %% of all", c.board, c.readings, 100*sum)
		for i, g := range c.groups {
			x, want := have[i]/sum, g.share/bench
			text += fmt.Sprintf("\n  %3.0f %%  bench %3.0f %%  %s", 100*x, 100*want, g.what)
			if x > factor*want || want > factor*x {
				t.Errorf("%s %s: %s has %.0f %%, and %.0f %% on a bench", c.board, c.readings, g.what, 100*x, 100*want)
			}
		}
		t.Log(text)
		if sum < 0.5 {
			t.Errorf("%s %s: the groups have %.0f %% of all", c.board, c.readings, 100*sum)
		}
	}
}

// among reports whether a fault is one of a group, by the first pattern that holds.
func (n *Narrower) among(fault int, patterns string) bool {
	for pattern := range strings.FieldsSeq(patterns) {
		if pattern == "blows" {
			if h := &n.d.Faults[fault]; len(h.Blown) > 0 && n.m.Board.Parts[h.Faults[0].Part].Kind != netlist.KindByName("fuse") {
				return true
			}
		} else if ok, err := path.Match(pattern, n.d.Names[fault]); err == nil && ok {
			return true
		}
	}
	return false
}
