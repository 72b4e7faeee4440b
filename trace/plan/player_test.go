package plan

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
)

// A player works through the powered half of a checklist on a board with one
// known fault: a point reads right when its goal holds in spite of the fault.
// The verdict at which it stops must name the failed part.

// play follows the outcomes from the first powered step and returns the steps
// taken and the words of the last outcome.
func play(t *testing.T, c *sheet, holds []bool) (path []int, verdict string) {
	t.Helper()
	at := hot(c) + 1
	for {
		if len(path) > len(c.all) {
			t.Fatalf("the player goes round in circles: %v", path)
		}
		p := &c.all[at-1]
		if p.Probe.Cold() {
			t.Fatalf("step %d sends the player back to the cold step %d", path[len(path)-1], at)
		}
		path = append(path, at)
		o := p.Outcomes[1]
		if holds[c.Walk.Steps[p.step-1].Goal] {
			o = p.Outcomes[0]
		}
		if o.Next == 0 {
			return path, o.Means
		}
		at = o.Next
	}
}

var wordBreak = regexp.MustCompile(`[A-Za-z0-9_]+`)

// names reports whether a text names a part as a whole word, and one of its pins
// when the fault is one contact of it.
func names(w *trace.Walk, text string, u trace.Unit) bool {
	name := w.Board.Parts[u.Part].Name
	if u.Channel == netlist.None {
		return slices.Contains(wordBreak.FindAllString(text, -1), name)
	}
	for _, c := range w.Board.Parts[u.Part].Conns {
		if int(c.Channel) != u.Channel {
			continue
		}
		// A resistor or a winding of a choke has no pin number to be named by.
		if c.Num == "" {
			return slices.Contains(wordBreak.FindAllString(text, -1), name)
		}
		// "J2 pin 20", or "J2 pins 25, 26" where several carry one net.
		if regexp.MustCompile(regexp.QuoteMeta(name) + ` pins? ([0-9]+, )*` + regexp.QuoteMeta(c.Num) + `\b`).MatchString(text) {
			return true
		}
	}
	return false
}

// produces reports whether a fault makes every symptom of a walk and leaves every
// observation that is right as it is.
func produces(w *trace.Walk, g *trace.Graph, holds []bool) bool {
	for _, o := range w.Symptoms {
		if holds[g.Want(o.Target)] {
			return false
		}
	}
	for _, o := range w.Given {
		if !holds[g.Want(o.Target)] {
			return false
		}
	}
	return true
}

func TestPlayerFindsEverySinglePointOfFailure(t *testing.T) {
	played, found, other := 0, 0, 0
	everyList(t, func(t *testing.T, c *sheet) {
		w := c.Walk
		for _, u := range w.Singles {
			holds := slices.Clone(w.Graph.Holds(u))
			if !produces(w, w.Graph, holds) {
				// The unit as a whole explains one symptom and contradicts another
				// observation; TestPlayerFindsEveryFunction fails its functions one by one.
				other++
				continue
			}
			played++
			path, verdict := play(t, c, holds)
			if names(w, verdict, u) {
				found++
				continue
			}
			t.Errorf("%s has failed; steps %v end in %q", trace.UnitText(w.Board, u), path, verdict)
		}
	})
	t.Logf("%d of %d faults found; %d more contradict an observation given", found, played, other)
	if played < 100 {
		t.Errorf("only %d faults were played: the test has lost its subject", played)
	}
}

// without returns a graph in which one goal cannot hold: one function of a part
// has failed, and its others have not.
func without(w *trace.Walk, id int) *trace.Graph {
	g := w.Graph.Clone()
	g.Goals = append(g.Goals, trace.Goal{Kind: trace.StateGoal, Index: netlist.None, Part: netlist.None, Net: netlist.None})
	g.Goals[id].All = append(slices.Clone(g.Goals[id].All), trace.Edge{To: len(g.Goals) - 1})
	return g
}

func TestPlayerFindsEveryFunction(t *testing.T) {
	played, found := 0, 0
	everyList(t, func(t *testing.T, c *sheet) {
		if len(c.Walk.Against) > 0 {
			return // such a list checks suspects cold and has no powered walk
		}
		w := c.Walk
		for i := range w.Steps {
			s := &w.Steps[i]
			if s.Kind != trace.PartStep || s.Proven || s.Held {
				continue
			}
			g := without(w, s.Goal)
			holds := g.Holds()
			if !produces(w, g, holds) {
				continue
			}
			played++
			path, verdict := play(t, c, holds)
			u := trace.Unit{Part: s.Part, Channel: netlist.None}
			if goal := &w.Graph.Goals[s.Goal]; goal.Kind == trace.PassGoal && w.Board.Parts[s.Part].Kind.Form == netlist.RowsForm {
				u.Channel = goal.Channel
			}
			if names(w, verdict, u) {
				found++
				continue
			}
			t.Errorf("%s no longer %s; steps %v end in %q", s.Name, s.Does, path, verdict)
		}
	})
	t.Logf("%d of %d faults of one function found", found, played)
	if played < 100 {
		t.Errorf("only %d faults were played: the test has lost its subject", played)
	}
}

// A fault that nothing can see is no fault: with all well, the first powered
// step is the symptom, reads right, and says so.
func TestPlayerOnAHealthyBoardIsToldThatTheSymptomIsNotThere(t *testing.T) {
	everyList(t, func(t *testing.T, c *sheet) {
		if len(c.Walk.Against) > 0 {
			return // such a list checks suspects cold and has no powered walk
		}
		holds := slices.Clone(c.Walk.Graph.Holds())
		path, verdict := play(t, c, holds)
		// Where a lane cannot be read behind its connector, the contacts are what
		// all the good readings leave.
		_, suspects, left := strings.Cut(verdict, " is wrong: suspect ")
		for name := range strings.SplitSeq(suspects, ", ") {
			designator, _, _ := strings.Cut(name, " ")
			id, ok := c.Walk.Board.Part(designator)
			left = left && ok && c.Walk.Board.Parts[id].Kind.Form == netlist.RowsForm
		}
		if !left && !strings.Contains(verdict, "the symptom is not there") {
			t.Errorf("steps %v end in %q", path, verdict)
		}
	})
}
