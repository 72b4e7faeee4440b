package draw

import (
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace"
)

// coldFocus is the focused picture of one reading with all power out.
func coldFocus(t *testing.T, text string) Diagram {
	t.Helper()
	b := boardtest.Demo(t, "larkspur13")
	r, err := b.ParseReading(text, b.Usual())
	if err != nil {
		t.Fatal(err)
	}
	o := netlist.Observation{Target: netlist.Target{Net: r.Probe.Net, Lane: netlist.None, Fact: netlist.None}, Wrong: true, Word: text,
		Cold: &r.Probe, Below: !strings.HasSuffix(text, "OL"), Above: strings.HasSuffix(text, "OL")}
	w, err := trace.Run(b, b.Usual(), []netlist.Observation{o})
	if err != nil {
		t.Fatal(err)
	}
	return Focus(Path(b, w, w.Setting, nil))
}

// The focus of a reading with all power out is what its headline suspects, and not what
// should bring a level.
func TestFocusOfAColdReadingIsWhatHangsThere(t *testing.T) {
	for _, c := range []struct {
		reading    string
		want, away []string
	}{
		{"VBL=ohms:0.1", []string{"VBL", "D6", "U9", "R36", "C34", "C35", "J2"}, []string{"W1", "DS91", "VMAIN", "EDID", "U1", "PS1"}},
		{"V3_PNL=ohms:2", []string{"V3_PNL", "U4", "C23", "C24", "J2"}, []string{"W1", "DS90", "VMAIN", "LIGHT"}},
		{"F3=OL", []string{"F3", "VMAIN", "VBL_F", "Q5", "PS1"}, []string{"VBL", "EDID", "D6"}},
		{"VBL=ohms:OL", []string{"VBL", "U9", "D6", "R36"}, []string{"VMAIN", "C34"}},
	} {
		d := coldFocus(t, c.reading)
		var labels []string
		at := map[string]Node{}
		for _, n := range d.Nodes {
			labels = append(labels, strings.Split(n.Label, ", ")...)
			at[n.ID] = n
		}
		for _, name := range c.want {
			if !slices.Contains(labels, name) {
				t.Errorf("%s: no %s in %v", c.reading, name, labels)
			}
		}
		for _, name := range c.away {
			if slices.Contains(labels, name) {
				t.Errorf("%s: %s is drawn, in %v", c.reading, name, labels)
			}
		}
		point, _, _ := strings.Cut(c.reading, "=")
		if n := d.Nodes[slices.IndexFunc(d.Nodes, func(n Node) bool { return n.Label == point })]; n.Role != Symptom ||
			n.Knowledge != ReadsWrong {
			t.Errorf("%s: %s is %v, %v", c.reading, point, n.Role, n.Knowledge)
		}
		joined := map[string]bool{}
		for _, e := range d.Edges {
			joined[e.From], joined[e.To] = true, true
		}
		for id := range at {
			if !joined[id] {
				t.Errorf("%s: %s stands alone", c.reading, id)
			}
		}
	}
}

// On both sides of a part that was read from end to end something is drawn.
func TestFocusOfAPartHasBothItsSides(t *testing.T) {
	d := coldFocus(t, "F3=OL")
	in, out := 0, 0
	for _, e := range d.Edges {
		if e.To == "part F3" {
			in++
		}
		if e.From == "part F3" {
			out++
		}
	}
	if in == 0 || out == 0 {
		t.Errorf("%d lines lead to F3 and %d from it", in, out)
	}
}
