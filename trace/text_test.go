package trace

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards"
	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

var update = flag.Bool("update", false, "rewrite the golden files in ../testdata/trace; review them by eye")

// golden compares text with a file.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("..", "testdata", "trace", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("%s (-want +got); go test -update rewrites it:\n%s", path, diff)
	}
}

func TestTextOfAShortWalk(t *testing.T) {
	var out bytes.Buffer
	if err := WriteText(&out, walkOf(t, boardtest.Demo(t, "larkspur13"), "V3_PNL=0V EDID=read")); err != nil {
		t.Fatal(err)
	}
	golden(t, "panel-supply.txt", out.String())
}

func TestTextOfAWalkThatIsNotValidInThisState(t *testing.T) {
	var out bytes.Buffer
	if err := WriteText(&out, walkOf(t, boardtest.Demo(t, "larkspur13"), "BL_EN=0V BL_REQ=ok V3_RUN=ok")); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(out.String(), "Not valid in this state") {
		t.Errorf("with the lid open:\n%s", out.String())
	}
	out.Reset()
	if err := WriteText(&out, walkOf(t, boardtest.Demo(t, "larkspur13"), "BL_EN=missing --state lid=shut")); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), "Not valid in this state: on a healthy board BL_EN is not there while lid=shut.") {
		t.Errorf("with the lid shut:\n%s", out.String())
	}
}

// everyComplaint calls f with the walk of each symptom of each demo board and of
// each of its nets, lanes and facts, one at a time.
func everyComplaint(t *testing.T, f func(t *testing.T, w *Walk)) {
	t.Helper()
	n := 0
	for _, name := range boards.Names() {
		b := boardtest.Demo(t, name)
		var lines []string
		lines = append(lines, b.SymptomNames()...)
		for _, list := range [][]string{b.NetNames(), b.LaneNames(), b.FactNames()} {
			for _, x := range list {
				lines = append(lines, x+"=missing")
			}
		}
		for _, line := range lines {
			_, seen, err := observe(b, line)
			if err != nil {
				continue // ground
			}
			w, err := Run(b, b.Usual(), seen)
			if err != nil {
				t.Fatalf("%s %s: %v", name, line, err)
			}
			f(t, w)
			n++
		}
	}
	if n < 300 {
		t.Errorf("only %d walks", n)
	}
}

func TestEveryLineOfTextIsReadable(t *testing.T) {
	everyComplaint(t, func(t *testing.T, w *Walk) {
		var out bytes.Buffer
		if err := WriteText(&out, w); err != nil {
			t.Fatal(err)
		}
		what := w.Board.Name + " " + w.Observed(w.Symptoms)
		for _, bad := range []string{"%!", "NaN", "Inf", "<nil>", "\t"} {
			if strings.Contains(out.String(), bad) {
				t.Errorf("%s: the text holds %q", what, bad)
			}
		}
		for line := range strings.Lines(out.String()) {
			if line = strings.TrimRight(line, "\n"); strings.TrimRight(line, " ") != line {
				t.Errorf("%s: blanks at the end of %q", what, line)
			}
			if n := say.Columns(line); n > say.Width {
				t.Errorf("%s: a line of %d characters: %s", what, n, line)
			}
		}
		if n := strings.Count(out.String(), "\n"); n < len(w.Steps) {
			t.Errorf("%s: %d lines for %d steps", what, n, len(w.Steps))
		}
	})
}

func TestStepsOfEveryWalkHangTogether(t *testing.T) {
	everyComplaint(t, func(t *testing.T, w *Walk) {
		what := w.Board.Name + " " + w.Observed(w.Symptoms)
		for i := range w.Steps {
			s := &w.Steps[i]
			switch {
			case s.ID != i+1:
				t.Errorf("%s: step %d has the number %d", what, i+1, s.ID)
			case s.Parent >= s.ID || s.Parent < 0:
				t.Errorf("%s: step %d comes before its parent %d", what, s.ID, s.Parent)
			case s.Again >= s.ID || s.Again < 0:
				t.Errorf("%s: step %d points forward to %d", what, s.ID, s.Again)
			case s.Again > 0 && w.Steps[s.Again-1].Name != s.Name:
				t.Errorf("%s: step %d at %s points to %s", what, s.ID, s.Name, w.Steps[s.Again-1].Name)
			case s.Parent > 0 && s.Depth < w.Steps[s.Parent-1].Depth:
				t.Errorf("%s: step %d stands left of its parent", what, s.ID)
			case s.Loop && s.Again == 0:
				t.Errorf("%s: step %d closes a loop that nothing opened", what, s.ID)
			case s.Parent == 0 && s.Depth != 0:
				t.Errorf("%s: the symptom at step %d is indented", what, s.ID)
			case (s.Kind == NetStep) != (s.Net != netlist.None), (s.Kind == PartStep) != (s.Part != netlist.None):
				t.Errorf("%s: step %d is a %s with net %d and part %d", what, s.ID, s.Kind, s.Net, s.Part)
			}
		}
	})
}

func TestJSONOfEveryWalk(t *testing.T) {
	everyComplaint(t, func(t *testing.T, w *Walk) {
		var out bytes.Buffer
		if err := WriteJSON(&out, w); err != nil {
			t.Fatal(err)
		}
		var j struct {
			Format  string
			Version int
			Board   string
			State   map[string]string
			Steps   []struct {
				ID, Parent, Again  int
				Kind, Name, Reason string
				Loads              []struct {
					Part string `json:"part"`
					How  string `json:"how"`
				}
				Expect *struct{ Volts, Tolerance float64 }
			}
			Singles   []string `json:"single_points_of_failure"`
			Loops     []any
			Redundant []any
		}
		if err := json.Unmarshal(out.Bytes(), &j); err != nil {
			t.Fatal(err)
		}
		what := w.Board.Name + " " + w.Observed(w.Symptoms)
		if j.Format != "walkback.trace" || j.Version != JSONVersion || j.Board != w.Board.Name || len(j.State) != len(w.Board.States) {
			t.Errorf("%s: head %+v", what, j)
		}
		if len(j.Steps) != len(w.Steps) || len(j.Singles) != len(w.Singles) || len(j.Loops) != len(w.Loops) ||
			len(j.Redundant) != len(w.Redundant) {
			t.Errorf("%s: the JSON lacks some of %d steps, %d singles, %d loops", what, len(w.Steps), len(w.Singles), len(w.Loops))
		}
		ids := map[int]bool{}
		for _, s := range j.Steps {
			if ids[s.ID] || s.Parent != 0 && !ids[s.Parent] || s.Again != 0 && !ids[s.Again] {
				t.Errorf("%s: step %d is double, or comes before its parent %d or its first place %d", what, s.ID, s.Parent, s.Again)
			}
			ids[s.ID] = true
			if s.Name == "" || s.Kind == "" || s.Expect != nil && (math.IsNaN(s.Expect.Volts) || s.Expect.Tolerance < 0) {
				t.Errorf("%s: step %+v", what, s)
			}
			for _, l := range s.Loads {
				if l.Part == "" || l.How == "" {
					t.Errorf("%s: a load without a name or a way to spoil %s", what, s.Name)
				}
			}
		}
		if bytes.Contains(out.Bytes(), []byte("null")) {
			t.Errorf("%s: the JSON holds null, and readers expect lists", what)
		}
	})
}

func TestListsHaveALineAName(t *testing.T) {
	everyComplaint(t, func(t *testing.T, w *Walk) {
		for _, what := range []string{Parts, Points, Nets} {
			var out bytes.Buffer
			if err := WriteList(&out, w, what); err != nil {
				t.Fatal(err)
			}
			seen := map[string]bool{}
			for line := range strings.Lines(out.String()) {
				fields := strings.Split(strings.TrimRight(line, "\n"), "\t")
				_, isPart := w.Board.Part(fields[0])
				_, isNet := w.Board.Net(fields[0])
				if len(fields) != 4 || seen[fields[0]] || (what == Nets) != isNet || (what == Nets) == isPart {
					t.Errorf("%s %s: %q", w.Board.Name, what, fields)
				}
				seen[fields[0]] = true
			}
			if what == Parts {
				for _, p := range append(w.parts(), w.loadNames()...) {
					if !seen[p] {
						t.Errorf("%s %s: %s is not listed", w.Board.Name, w.Observed(w.Symptoms), p)
					}
				}
			}
		}
	})
}

func TestListOfPoints(t *testing.T) {
	var out bytes.Buffer
	if err := WriteList(&out, walkOf(t, boardtest.Demo(t, "larkspur13"), "V3_PNL=0V EDID=read"), Points); err != nil {
		t.Fatal(err)
	}
	want := `TP5	V3_PNL	3.3 V ±5 %	top (beside J2 pin 17)
TP11	PNL_ON	3.3 V ±5 %	bottom (beside R23)
TP3	V3_RUN	3.3 V ±5 %	bottom (beside U3)
`
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Errorf("points (-want +got):\n%s", diff)
	}
}
