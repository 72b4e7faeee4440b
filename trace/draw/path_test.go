package draw

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
)

// everyPath calls f with the diagram of every demo board, whole and for each of
// its complaints. W is nil for the whole path.
func everyPath(t *testing.T, f func(t *testing.T, b *netlist.Board, w *trace.Walk, d Diagram)) {
	t.Helper()
	n := 0
	for _, name := range boards.Names() {
		src, _ := boards.Source(name)
		b, problems := netlist.Read(name, src)
		if mistake.HasErrors(problems) {
			t.Fatal(problems)
		}
		t.Run(name, func(t *testing.T) { f(t, b, nil, Path(b, nil, b.Usual(), nil)) })
		for _, s := range b.Symptoms {
			n++
			t.Run(name+"/"+s.Name, func(t *testing.T) {
				w, err := trace.Run(b, b.Usual(), s.Seen)
				if err != nil {
					t.Fatal(err)
				}
				f(t, b, w, Path(b, w, w.Setting, nil))
			})
		}
	}
	// So that an empty list of boards cannot pass for a good one.
	if n < 25 {
		t.Fatalf("only %d complaints on the demo boards", n)
	}
}

func TestPathNodesAreUniqueAndEdgesJoinThem(t *testing.T) {
	everyPath(t, func(t *testing.T, _ *netlist.Board, _ *trace.Walk, d Diagram) {
		if len(d.Nodes) < 10 || len(d.Edges) < 10 {
			t.Fatalf("only %d nodes and %d edges", len(d.Nodes), len(d.Edges))
		}
		seen := map[string]bool{}
		for _, n := range d.Nodes {
			if n.ID == "" || n.Label == "" || seen[n.ID] {
				t.Errorf("node %q, %q is nameless or there twice", n.ID, n.Label)
			}
			seen[n.ID] = true
		}
		pairs := map[[2]string]bool{}
		for _, e := range d.Edges {
			if !seen[e.From] || !seen[e.To] || e.From == e.To {
				t.Errorf("edge %q to %q has no two ends", e.From, e.To)
			}
			if k := [2]string{e.From, e.To}; pairs[k] {
				t.Errorf("edge %q to %q is there twice", e.From, e.To)
			} else {
				pairs[k] = true
			}
		}
		joined := map[string]bool{}
		for _, e := range d.Edges {
			joined[e.From], joined[e.To] = true, true
		}
		for _, n := range d.Nodes {
			if !joined[n.ID] {
				t.Errorf("node %q hangs in the air", n.ID)
			}
		}
	})
}

func TestPathMarksTheSymptom(t *testing.T) {
	everyPath(t, func(t *testing.T, b *netlist.Board, w *trace.Walk, d Diagram) {
		marked := map[string]bool{}
		for _, n := range d.Nodes {
			if n.Role == Symptom {
				if n.Knowledge != ReadsWrong || n.Faded {
					t.Errorf("symptom %s is %v, faded %v", n.Label, n.Knowledge, n.Faded)
				}
				marked[n.Label] = true
			}
		}
		if w == nil {
			if len(marked) > 0 {
				t.Errorf("nothing is wrong, and %v is marked", marked)
			}
			return
		}
		for _, o := range w.Symptoms {
			// A lane is no node of its own; its conductors are.
			if o.Target.Lane == netlist.None && !marked[b.TargetName(o.Target)] {
				t.Errorf("%s is wrong and not marked", b.TargetName(o.Target))
			}
		}
	})
}

// A picture without where things come from tells nothing.
func TestPathBeginsAtASourceOrAtWhatIsProven(t *testing.T) {
	everyPath(t, func(t *testing.T, _ *netlist.Board, _ *trace.Walk, d Diagram) {
		begins := 0
		for _, n := range d.Nodes {
			if n.Role == Source || n.Knowledge == ReadsRight {
				begins++
			}
		}
		if begins == 0 {
			t.Error("no source and nothing that is known to be right")
		}
	})
}

func TestPathFadesOnlyWhatIsNotWalked(t *testing.T) {
	fadedInAny := false
	everyPath(t, func(t *testing.T, b *netlist.Board, w *trace.Walk, d Diagram) {
		walked := map[string]bool{}
		if w != nil {
			for i := range w.Steps {
				if s := &w.Steps[i]; s.Kind == trace.NetStep && !s.Held && !b.Nets[s.Net].Ground {
					walked[s.Name] = true
				}
			}
		}
		for _, n := range d.Nodes {
			fadedInAny = fadedInAny || n.Faded
			if n.Faded && w == nil {
				t.Errorf("%s is faded, though nothing was asked", n.ID)
			}
			if name, ok := strings.CutPrefix(n.ID, "net "); ok && n.Faded && walked[name] {
				t.Errorf("%s is on the walk and faded", name)
			}
		}
		for _, e := range d.Edges {
			if e.Faded && w == nil {
				t.Errorf("%s to %s is faded, though nothing was asked", e.From, e.To)
			}
		}
	})
	if !fadedInAny {
		t.Error("no walk leaves anything out: the test has lost its subject")
	}
}

func TestFocusLeavesNothingFaded(t *testing.T) {
	everyPath(t, func(t *testing.T, _ *netlist.Board, _ *trace.Walk, d Diagram) {
		before := len(d.Nodes)
		got := Focus(d)
		kept := map[string]bool{}
		for _, n := range got.Nodes {
			if n.Faded {
				t.Errorf("%s is faded", n.ID)
			}
			kept[n.ID] = true
		}
		for _, e := range got.Edges {
			if e.Faded || !kept[e.From] || !kept[e.To] {
				t.Errorf("%s to %s is faded, or has lost an end", e.From, e.To)
			}
		}
		if len(got.Nodes) == 0 {
			t.Error("nothing is left")
		}
		if len(d.Nodes) != before {
			t.Error("Focus changed what it was given")
		}
	})
}

// The two conductors of a pair run side by side through the same kinds of part,
// so that one line shows both.
func TestPairsAreOneLine(t *testing.T) {
	pairs := 0
	everyPath(t, func(t *testing.T, b *netlist.Board, _ *trace.Walk, d Diagram) {
		for _, l := range b.Lanes {
			if len(l.Nets) != 2 {
				continue
			}
			first, second := b.Nets[l.Nets[0]].Name, b.Nets[l.Nets[1]].Name
			for _, n := range d.Nodes {
				switch n.ID {
				case "net " + second:
					t.Errorf("lane %s: %s has a line of its own", l.Name, second)
				case "net " + first:
					pairs++
					if n.Label != first+", "+second {
						t.Errorf("lane %s is labelled %q", l.Name, n.Label)
					}
				}
			}
		}
	})
	if pairs == 0 {
		t.Error("no pair was drawn: the test has lost its subject")
	}
}

// vblIs11 numbers one net and one part.
type vblIs11 struct{ b *netlist.Board }

func (x vblIs11) Net(id netlist.NetID) int {
	if x.b.Nets[id].Name == "VBL" {
		return 11
	}
	return 0
}

func (x vblIs11) Part(id netlist.PartID) int {
	if x.b.Parts[id].Name == "F3" {
		return 12
	}
	return 0
}

func (vblIs11) Fact(int) int { return 0 }

func TestPathNumbersAreThoseOfTheChecklist(t *testing.T) {
	src, _ := boards.Source("larkspur13")
	b, _ := netlist.Read("larkspur13", src)
	seen := 0
	for _, n := range Path(b, nil, b.Usual(), vblIs11{b}).Nodes {
		var want []int
		switch n.ID {
		case "net VBL":
			want = []int{11}
		case "part F3":
			want = []int{12}
		}
		seen += len(want)
		if !slices.Equal(n.Points, want) {
			t.Errorf("%s has the numbers %v, not %v", n.ID, n.Points, want)
		}
	}
	if seen != 2 {
		t.Errorf("%d of 2 points were drawn", seen)
	}
}

func TestPathRendersAsDOT(t *testing.T) {
	everyPath(t, func(t *testing.T, _ *netlist.Board, _ *trace.Walk, d Diagram) {
		var out bytes.Buffer
		if err := DOT(&out, d); err != nil {
			t.Fatal(err)
		}
		text := out.String()
		if !strings.HasPrefix(text, "digraph") || strings.Count(text, "{") != strings.Count(text, "}") {
			t.Errorf("no DOT: %.60q", text)
		}
		if n := strings.Count(text, " -> "); n < len(d.Edges) {
			t.Errorf("%d edges of %d", n, len(d.Edges))
		}
		for _, n := range d.Nodes {
			if !strings.Contains(text, n.Label[:strings.IndexAny(n.Label+",", ",")]) {
				t.Errorf("%s is not in it", n.Label)
			}
		}
	})
}
