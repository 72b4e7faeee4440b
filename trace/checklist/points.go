package checklist

import (
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
)

// Points numbers the points of a path where a probe can land, counted along the walk
// from the symptom: nets, facts, and parts across which something is read. The numbers
// hang on the walk alone, so that they are the same in every order and in the picture.
type Points struct {
	nets  map[netlist.NetID]point
	parts map[netlist.PartID]point
	facts map[int]point
}

type point struct {
	number int
	role   string
}

// Number numbers the points of a walk.
func Number(w *trace.Walk) *Points {
	n := &Points{map[netlist.NetID]point{}, map[netlist.PartID]point{}, map[int]point{}}
	next := 1
	give := func(s *trace.Step) point {
		next++
		return point{next - 1, role(w, s)}
	}
	for i := range w.Steps {
		s := &w.Steps[i]
		switch s.Kind {
		case trace.NetStep:
			if _, is := n.nets[s.Net]; !is && lands(w.Board, s.Net) {
				n.nets[s.Net] = give(s)
			}
		case trace.FactStep:
			fact := w.Graph.Goals[s.Goal].Index
			if _, is := n.facts[fact]; !is {
				n.facts[fact] = give(s)
			}
		case trace.PartStep:
			twoEnds := w.Board.Parts[s.Part].Kind.Form == netlist.ArrowForm && len(w.Board.Channels(s.Part)) > 0
			if _, is := n.parts[s.Part]; !is && twoEnds {
				n.parts[s.Part] = give(s)
			}
		case trace.LaneStep, trace.StateStep, trace.ChoiceStep:
		}
	}
	return n
}

// lands reports whether a net is more than a conductor between two rows of contacts.
func lands(b *netlist.Board, n netlist.NetID) bool {
	part := func(t netlist.Tap) bool { return b.Parts[t.Part].Kind.Form != netlist.RowsForm }
	return !b.Nets[n].Ground && slices.ContainsFunc(b.Taps(n), part)
}

// Net returns the number of a net, or 0.
func (n *Points) Net(id netlist.NetID) int { return n.nets[id].number }

// Part returns the number of a part across which something is read, or 0.
func (n *Points) Part(id netlist.PartID) int { return n.parts[id].number }

// Fact returns the number of a fact, or 0.
func (n *Points) Fact(i int) int { return n.facts[i].number }

// Of returns the numbers of the points of a probe, none where it is beside the path.
func (n *Points) Of(p netlist.Probe) []int {
	list := []int{n.Net(p.Net), n.Net(p.Other), n.Part(p.Part), n.Fact(p.Fact)}
	return slices.DeleteFunc(list, func(x int) bool { return x == 0 })
}

// Role says what the points of a probe are for, empty beside the path: "supply of U9".
func (n *Points) Role(p netlist.Probe) string {
	for _, x := range []point{n.parts[p.Part], n.facts[p.Fact], n.nets[p.Other], n.nets[p.Net]} {
		if x.number > 0 {
			return x.role
		}
	}
	return ""
}

// role says what a step of the walk is for: "supply of U9".
func role(w *trace.Walk, s *trace.Step) string {
	if s.Parent == 0 {
		return "the symptom"
	}
	if s.Kind == trace.PartStep {
		if s.From.Net != netlist.None && s.To.Net != netlist.None {
			return w.Board.Parts[s.Part].Kind.Name + " between " + w.Board.Nets[s.From.Net].Name + " and " + w.Board.Nets[s.To.Net].Name
		}
		return w.Board.Parts[s.Part].Kind.Name
	}
	owner := &w.Steps[s.Parent-1]
	for owner.Kind == trace.ChoiceStep && owner.Parent != 0 {
		owner = &w.Steps[owner.Parent-1]
	}
	word := s.Reason.String()
	if s.Reason == netlist.Series || word == "" {
		word = "input"
	}
	// The reason of a branch is that of its first step; further on it is the
	// level that the part before it carries.
	return word + " of " + owner.Name
}
