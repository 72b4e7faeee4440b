package plan

import (
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/probe"
)

// walkOf walks from observations such as "VBL=0V" in the usual state.
func walkOf(t testing.TB, b *netlist.Board, words ...string) *trace.Walk {
	t.Helper()
	var seen []netlist.Observation
	for _, w := range words {
		name, word, _ := strings.Cut(w, "=")
		o, err := b.Observe(name, word, b.Usual())
		if err != nil {
			t.Fatal(err)
		}
		seen = append(seen, o)
	}
	w, err := trace.Run(b, b.Usual(), seen)
	if err != nil {
		t.Fatalf("%s %v: %v", b.Name, words, err)
	}
	return w
}

// symptomWalk walks from a complaint that the board file names.
func symptomWalk(t testing.TB, b *netlist.Board, s *netlist.Symptom) *trace.Walk {
	t.Helper()
	w, err := trace.Run(b, b.Usual(), s.Seen)
	if err != nil {
		t.Fatalf("%s %s: %v", b.Name, s.Name, err)
	}
	return w
}

// sheet is a checklist with what its maker knows of each step.
type sheet struct {
	*maker
	Walk *trace.Walk
}

// make fills a sheet of a walk, on a board of which nothing was computed.
func makeSheet(w *trace.Walk) *sheet {
	m := newMaker(w, probe.On(w.Board, nil))
	return &sheet{m, w}
}

// everyList calls f with the checklist of every complaint of every demo board.
func everyList(t *testing.T, f func(t *testing.T, c *sheet)) {
	t.Helper()
	n := 0
	for _, name := range boards.Names() {
		b := boardtest.Demo(t, name)
		for i := range b.Symptoms {
			n++
			t.Run(name+"/"+b.Symptoms[i].Name, func(t *testing.T) {
				f(t, makeSheet(symptomWalk(t, b, &b.Symptoms[i])))
			})
		}
	}
	// So that an empty list of boards cannot pass for a good one.
	if n < 25 {
		t.Fatalf("only %d complaints on the demo boards", n)
	}
}

// hot returns the index of the first powered probe.
func hot(c *sheet) int {
	for i := range c.all {
		if !c.all[i].Probe.Cold() {
			return i
		}
	}
	return len(c.all)
}
