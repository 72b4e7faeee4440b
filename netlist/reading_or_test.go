package netlist

import (
	"errors"
	"strings"
	"testing"

	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
)

// What a picture shows can come of several lanes: one reading holds them, is written back
// as it was typed, and is refused where a walk must begin at one point.
func TestOneOfSeveralLanes(t *testing.T) {
	b, problems := Read("siskin15.board", boardSources(t)["siskin15.board"])
	if mistake.HasErrors(problems) {
		t.Fatal(problems[0].Report())
	}
	r, err := b.ParseReading("a.0=quiet or B.0=quiet or b.clk=quiet", b.Usual())
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, one := range append([]Reading{r}, r.Or...) {
		got = append(got, b.TargetName(one.Seen.Target))
	}
	if diff := cmp.Diff([]string{"A.0", "B.0", "B.CLK"}, got); diff != "" {
		t.Error(diff)
	}
	if text := b.SayReading(r); text != "A.0=quiet or B.0=quiet or B.CLK=quiet" {
		t.Errorf("written back as %q", text)
	}
	var m mistake.Mistake
	if _, err := b.Judge(r, nil); !errors.As(err, &m) || !strings.Contains(m.Msg, "begins at one lane") {
		t.Errorf("a walk takes it: %v", err)
	}
	for text, want := range map[string]string{
		"A.0=quiet or VBL=0V":               "only what is seen of lanes",
		"VBL=0V or A.0=quiet":               "only what is seen of lanes",
		"A.0=quiet or B.0=quiet@lid=shut":   "only what is seen of lanes",
		"A.0=quiet or B.9=quiet":            "B.9",
		"A.0=quiet or ":                     "",
		"A.0=quiet or B.0=quiet or B.0=zzz": "zzz",
	} {
		if _, err := b.ParseReading(text, b.Usual()); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}
