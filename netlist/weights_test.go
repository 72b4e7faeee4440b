package netlist

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const weightBoard = `board w
net G ground
net V 3V
supply PS1 -> V
fuse F1 V -> A rating=1A weight=2
fuse F2 A -> B rating=1A
resistor R1 B -> G 1k
weight fuse 3
weight F2:open 0.5
`

func TestFactor(t *testing.T) {
	b, problems := Read("w.board", weightBoard)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	shop, problems := b.ParseWeights("shop", "# ours\nfuse:OPEN 10 # many\n\nresistor 4\n")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	b.Weights = append(b.Weights, shop...)
	for _, c := range []struct {
		part, fault string
		want        float64
	}{
		{"F1", "open", 2 * 3 * 10}, {"F1", "slow", 2 * 3}, {"F2", "open", 3 * 0.5 * 10}, {"F2", "slow", 3},
		{"R1", "open", 4}, {"PS1", "no-output", 1},
	} {
		id, _ := b.FindPart(c.part)
		k := b.Parts[id].Kind
		for i := range k.Faults {
			if k.Faults[i].Name == c.fault {
				if got := b.Factor(id, &k.Faults[i]); got != c.want {
					t.Errorf("%s:%s has the factor %v, not %v", c.part, c.fault, got, c.want)
				}
			}
		}
	}
}

func TestWeightsFileSaysWhatIsWrong(t *testing.T) {
	b, _ := Read("w.board", weightBoard)
	_, problems := b.ParseWeights("shop", "fuse 2\n  capacitr 3\nF1:burnt 2\nfuse 1e-4\nfuse 2 3\nfuse\n")
	var got []string
	for _, p := range problems {
		got = append(got, strings.SplitN(p.Report(), "\n", 2)[0])
	}
	want := []string{
		`shop:2:3: error: no kind or part is called "capacitr" [weight]`,
		`shop:3:1: error: a fuse does not fail by "burnt" [weight]`,
		`shop:4:6: error: "1e-4" is not a factor [weight]`,
		`shop:5:1: error: this is not a name and a factor [weight]`,
		`shop:6:1: error: this is not a name and a factor [weight]`,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if problems[0].Near != "capacitor" {
		t.Errorf("the nearest of capacitr is %q", problems[0].Near)
	}
}

func FuzzWeights(f *testing.F) {
	b, _ := Read("w.board", weightBoard)
	for _, s := range []string{"fuse 2", "F1:open .5 # x", "fuse:\n", ": 1", "fuse 2 3\n\tx", "\xff 1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		list, problems := b.ParseWeights("f", text)
		for _, w := range list {
			if w.Factor < leastFactor || w.Factor > mostFactor || w.Kind == nil {
				t.Errorf("%q gives %+v", text, w)
			}
		}
		for _, p := range problems {
			if p.Column < 0 || p.Report() == "" {
				t.Errorf("%q: %+v", text, p)
			}
		}
	})
}
