package trace

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"

	"github.com/google/go-cmp/cmp"
)

// stepNames lists what a walk alone passes, without what only reads otherwise.
func stepNames(list []*Step) []string {
	names := []string{}
	for _, s := range list {
		if s.Kind == PartStep && !s.Held {
			names = append(names, s.Name)
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

func compareOf(t *testing.T, board, line, state string) *Difference {
	t.Helper()
	w := walkOf(t, boardtest.Demo(t, board), line)
	other := slices.Clone(w.Setting)
	if err := w.Board.ParseSetting(other, state); err != nil {
		t.Fatal(err)
	}
	d, err := Compare(w, other)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestTheOtherPictureChipBringsItsOwnParts(t *testing.T) {
	d := compareOf(t, "siskin15", "EDID=unread", "gpu=fast")
	// U8 and U22 are on both walks, doing another thing.
	if diff := cmp.Diff([]string{"R13", "R14", "U1", "U22", "U5", "U8"}, stepNames(d.OnlyA)); diff != "" {
		t.Errorf("only with the saving chip (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"R15", "R16", "U21", "U22", "U26", "U27", "U8"}, stepNames(d.OnlyB)); diff != "" {
		t.Errorf("only with the fast chip (-want +got):\n%s", diff)
	}
	reads := map[string][2]string{}
	for _, r := range d.Reads {
		reads[d.A.Board.Nets[r.Net].Name] = [2]string{r.A, r.B}
	}
	want := map[string][2]string{
		"GPU_SEL": {"0 V", "3.3 V ±5 %"}, "G2_ON": {"0 V", "3.3 V ±5 %"}, "V3_G2": {"0 V", "3.3 V ±5 %"}, "V1_G2": {"0 V", "1.1 V ±5 %"},
		"G2_CLK": {"0 V", "3.3 V ±5 %"}, "G2_DAT": {"0 V", "3.3 V ±5 %"},
	}
	if diff := cmp.Diff(want, reads); diff != "" {
		t.Errorf("reads differently (-want +got):\n%s", diff)
	}
}

func TestAStateThatDoesNotMatterMakesNoDifference(t *testing.T) {
	d := compareOf(t, "larkspur13", "PICTURE=no", "lid=shut")
	if len(d.OnlyA) > 0 || len(d.OnlyB) > 0 || len(d.Reads) > 0 {
		t.Errorf("the lid changes the walk of the picture: %v %v %v", stepNames(d.OnlyA), stepNames(d.OnlyB), d.Reads)
	}
}

func TestTextOfADifference(t *testing.T) {
	for _, c := range []struct {
		board, line, state string
		want               []string
	}{
		{"larkspur13", "BL_EN=0V", "lid=shut", []string{
			"symptom   BL_EN=0V", "Only with power=run lid=open", "Only with power=run lid=shut",
			"a healthy board does not have it while lid=shut", "Reads differently", "LID_OPEN  3.3 V ±5 %  | 0 V",
		}},
		{"larkspur13", "PICTURE=no", "lid=shut", []string{"  nothing\n", "nothing on this path"}},
	} {
		var out bytes.Buffer
		if err := WriteDifference(&out, compareOf(t, c.board, c.line, c.state)); err != nil {
			t.Fatal(err)
		}
		for _, text := range c.want {
			if !strings.Contains(out.String(), text) {
				t.Errorf("%s %s against %s lacks %q:\n%s", c.board, c.line, c.state, text, out.String())
			}
		}
	}
}
