package checklist_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards"
	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/plan"
	"example.org/walkback/trace/probe"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// listOf is the checklist of a walk in walking order.
func listOf(t testing.TB, b *netlist.Board, seen []netlist.Observation) *checklist.List {
	t.Helper()
	w, err := trace.Run(b, b.Usual(), seen)
	if err != nil {
		t.Fatal(err)
	}
	return plan.Make(w, probe.On(b, nil), probe.UsualCosts())
}

// everyList calls f with the checklist of every complaint of every demo board.
func everyList(t *testing.T, f func(t *testing.T, l *checklist.List)) {
	t.Helper()
	n := 0
	for _, name := range boards.Names() {
		b := boardtest.Demo(t, name)
		for _, s := range b.Symptoms {
			n++
			t.Run(name+"/"+s.Name, func(t *testing.T) { f(t, listOf(t, b, s.Seen)) })
		}
	}
	if n < 25 {
		t.Fatalf("only %d complaints on the demo boards", n)
	}
}

const tinyBoard = `board tiny "Tiny *one* <two>"
net GND ground
net V_IN 5V 5% cold=10k
net V_OUT 5V 5%
net S 5V 5% "after the fuse"
supply PS1 -> V_IN limit=1A
fuse F1 V_IN -> S rating=1A
resistor R1 S -> V_OUT 1
capacitor C1 V_OUT -> GND 1u volts=10V
leds D1 V_OUT -> GND series=1 vf=3V
    makes GLOW
point TP1 V_OUT side=top at="by | the *edge*"
`

func tiny(t *testing.T) *checklist.List {
	b := boardtest.Build(t, tinyBoard)
	o, err := b.Observe("GLOW", "no", b.Usual())
	if err != nil {
		t.Fatal(err)
	}
	return listOf(t, b, []netlist.Observation{o})
}

func TestMarkdownEscapes(t *testing.T) {
	var out bytes.Buffer
	if err := tiny(t).WriteMarkdown(&out); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`# Tiny \*one\* &lt;two>`, `V\_OUT`, `by \| the \*edge\*`, "- [ ] **1. "} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %s in\n%s", want, out.String())
		}
	}
	if i := strings.Index(out.String(), "V_"); i >= 0 {
		t.Errorf("an underscore may be taken for emphasis: %s", out.String()[i:min(i+20, out.Len())])
	}
}

func TestTextGolden(t *testing.T) {
	var out bytes.Buffer
	if err := tiny(t).WriteText(&out); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join("testdata", "tiny.txt")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), out.String()); diff != "" {
		t.Errorf("run with -update and look at the change:\n%s", diff)
	}
}

// terminal is as wide as it says.
type terminal struct {
	bytes.Buffer
	width int
}

func (t *terminal) Width() int { return t.width }

// On a narrow terminal every line fits, and the text is the same.
func TestTextFitsTheTerminal(t *testing.T) {
	everyList(t, func(t *testing.T, l *checklist.List) {
		var plain bytes.Buffer
		if err := l.WriteText(&plain); err != nil {
			t.Fatal(err)
		}
		for _, width := range []int{60, 80} {
			narrow := &terminal{width: width}
			if err := l.WriteText(narrow); err != nil {
				t.Fatal(err)
			}
			if a, b := strings.Fields(plain.String()), strings.Fields(narrow.String()); !slices.Equal(a, b) {
				t.Errorf("at %d columns other words are printed", width)
			}
			for line := range strings.Lines(narrow.String()) {
				if n := say.Columns(strings.TrimRight(line, "\n")); n > width {
					t.Errorf("%d columns of %d: %s", n, width, line)
				}
			}
		}
	})
}

func TestWritersReportAWriteError(t *testing.T) {
	l := tiny(t)
	if l.WriteText(full{}) == nil || l.WriteMarkdown(full{}) == nil || l.WriteJSON(full{}) == nil {
		t.Error("a write error was lost")
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, os.ErrClosed }

// sheet is what a program reads of the JSON.
type sheet struct {
	Format  string
	Version int
	Steps   []struct {
		Number, Next  int
		Points        []int
		Target, Place string
		Cold          bool
		Low, High     *float64
		Cautions      []string
		Outcomes      []struct {
			Reading, Means string
			Next           int
		}
	}
}

func TestWritersAgree(t *testing.T) {
	everyList(t, func(t *testing.T, l *checklist.List) {
		var text, mark, data bytes.Buffer
		for _, err := range []error{l.WriteText(&text), l.WriteMarkdown(&mark), l.WriteJSON(&data)} {
			if err != nil {
				t.Fatal(err)
			}
		}
		var got sheet
		if err := json.Unmarshal(data.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		if got.Format != "walkback.checklist" || got.Version != checklist.JSONVersion || len(got.Steps) != len(l.Steps) {
			t.Fatalf("format %q version %d with %d steps of %d", got.Format, got.Version, len(got.Steps), len(l.Steps))
		}
		for i, s := range got.Steps {
			want := &l.Steps[i]
			if s.Number != want.Number || s.Cold != want.Probe.Cold() || len(s.Outcomes) != len(want.Outcomes) ||
				s.Target != want.Target || !slices.Equal(s.Points, want.Points) || !slices.Equal(s.Cautions, want.Cautions) {
				t.Errorf("step %d: %+v", i, s)
			}
			if s.Low != nil && s.High != nil && *s.Low > *s.High {
				t.Errorf("step %d: low %g is above high %g", i, *s.Low, *s.High)
			}
			for k, o := range s.Outcomes {
				if o.Next != want.Outcomes[k].Next || o.Means != want.Outcomes[k].Means {
					t.Errorf("step %d, %q: %+v", i, o.Reading, o)
				}
			}
		}
		for _, out := range []string{text.String(), mark.String()} {
			if n := strings.Count(out, "[ ] "); n != len(l.Steps) {
				t.Errorf("%d boxes to tick for %d steps", n, len(l.Steps))
			}
			flat := strings.Join(strings.Fields(out), " ")
			for _, c := range l.Bench.General() {
				if !strings.Contains(flat, say.Markdown(c)) && !strings.Contains(flat, c) {
					t.Errorf("no %q above the steps", c)
				}
			}
		}
	})
}

// Numbers run from 1 without a gap, and each point of the walk has one of its own.
func TestPointsAreNumberedFromOne(t *testing.T) {
	everyList(t, func(t *testing.T, l *checklist.List) {
		seen := map[int]string{}
		b := l.Walk.Board
		note := func(n int, name string) {
			if n == 0 {
				return
			}
			if seen[n] != "" {
				t.Errorf("%s and %s are both point %d", seen[n], name, n)
			}
			seen[n] = name
		}
		for i := range b.Nets {
			note(l.Points.Net(netlist.NetID(i)), b.Nets[i].Name)
		}
		for i := range b.Parts {
			note(l.Points.Part(netlist.PartID(i)), b.Parts[i].Name)
		}
		for i := range b.Facts {
			note(l.Points.Fact(i), b.Facts[i].Name)
		}
		for n := 1; n <= len(seen); n++ {
			if seen[n] == "" {
				t.Errorf("no point has the number %d of %d", n, len(seen))
			}
		}
		if len(seen) == 0 {
			t.Error("no point is numbered")
		}
	})
}

// TestEveryListSaysWhatFitsNoLine reads the end of every list, and the headings where
// power comes back: they say what to do.
func TestEveryListSaysWhatFitsNoLine(t *testing.T) {
	everyList(t, func(t *testing.T, l *checklist.List) {
		var text, mark bytes.Buffer
		if err := errors.Join(l.WriteText(&text), l.WriteMarkdown(&mark)); err != nil {
			t.Fatal(err)
		}
		for _, out := range []string{text.String(), mark.String()} {
			flat := strings.Join(strings.Fields(out), " ")
			if i := strings.Index(flat, "A reading that fits no line: "); i < 0 || strings.Contains(flat[i:], "step ") {
				t.Errorf("it does not end with what fits no line: %s", flat[max(len(flat)-200, 0):])
			}
			if l.Steps[0].Probe.Cold() && !l.Steps[len(l.Steps)-1].Probe.Cold() && !strings.Contains(flat, probe.PowerUp) {
				t.Error("it does not say how power comes back")
			}
		}
	})
}
