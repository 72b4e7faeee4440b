package trace

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/netlist"
)

// observe reads a line such as "dark VBL=ok --state lid=shut": symptoms by name,
// observations and the state in which they were made.
func observe(b *netlist.Board, line string) (netlist.Setting, []netlist.Observation, error) {
	line, state, _ := strings.Cut(line, "--state")
	setting := b.Usual()
	for _, s := range strings.Fields(state) {
		if err := b.ParseSetting(setting, s); err != nil {
			return nil, nil, err
		}
	}
	var seen []netlist.Observation
	for _, word := range strings.Fields(line) {
		if i := slices.Index(b.SymptomNames(), word); i >= 0 {
			seen = append(seen, b.Symptoms[i].Seen...)
			continue
		}
		name, value, _ := strings.Cut(word, "=")
		o, err := b.Observe(name, value, setting)
		if err != nil {
			return nil, nil, err
		}
		seen = append(seen, o)
	}
	return setting, seen, nil
}

// walkOf walks from a line that observe reads.
func walkOf(t testing.TB, b *netlist.Board, line string) *Walk {
	t.Helper()
	setting, seen, err := observe(b, line)
	if err != nil {
		t.Fatal(err)
	}
	w, err := Run(b, setting, seen)
	if err != nil {
		t.Fatalf("%s %s: %v", b.Name, line, err)
	}
	return w
}

// parts lists the parts that a walk goes through, in order of the alphabet,
// without ways that are not there in this state.
func (w *Walk) parts() []string {
	return w.names(func(s *Step) bool { return s.Kind == PartStep && !s.Held })
}

// nets lists the nets of a walk but for ground.
func (w *Walk) nets() []string {
	return w.names(func(s *Step) bool { return s.Kind == NetStep && !s.Held && !w.Board.Nets[s.Net].Ground })
}

func (w *Walk) names(take func(*Step) bool) []string {
	list := []string{}
	for i := range w.Steps {
		if s := &w.Steps[i]; take(s) {
			list = append(list, s.Name)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// suspects lists the parts of a walk that were not proven right.
func (w *Walk) suspects() []string {
	return w.names(func(s *Step) bool { return s.Kind == PartStep && !s.Held && !s.Proven })
}

// singles lists the single points of failure.
func (w *Walk) singles() []string {
	list := make([]string, len(w.Singles))
	for i, u := range w.Singles {
		list[i] = UnitText(w.Board, u)
	}
	slices.Sort(list)
	return list
}

// loadNames lists what hangs on the nets of a walk.
func (w *Walk) loadNames() []string {
	list := []string{}
	for i := range w.Steps {
		for _, l := range w.Steps[i].Loads {
			list = append(list, w.Board.Parts[l.Part].Name)
		}
	}
	slices.Sort(list)
	return list
}

// loopText prints the loops: "feedback D6 R36 U9".
func (w *Walk) loopText() []string {
	list := []string{}
	for _, l := range w.Loops {
		names := w.partList(l.Parts)
		slices.Sort(names)
		list = append(list, string(l.Kind)+" "+strings.Join(names, " "))
	}
	return list
}

// redundancies prints what survives a fault: "VBL -> C_VBL 2".
func (w *Walk) redundancies() []string {
	list := []string{}
	for _, r := range w.Redundant {
		from := "-"
		if r.From != netlist.None {
			from = w.Board.Nets[r.From].Name
		}
		list = append(list, fmt.Sprintf("%s -> %s %d", from, w.Board.Nets[r.Net].Name, r.Faults))
	}
	slices.Sort(list)
	return list
}
