package trace

import (
	"slices"

	"example.org/walkback/netlist"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"
)

// LoopKind tells what makes a loop.
type LoopKind string

// The kinds of loop.
const (
	Feedback  LoopKind = "feedback"  // a converter watches its own output
	Handshake LoopKind = "handshake" // chips wait for each other in turn
	Deadlock  LoopKind = "deadlock"  // each waits for the other, and neither can be first
)

// Loop is a set of parts, in the order of the walk, that need each other.
type Loop struct {
	Kind  LoopKind
	Parts []netlist.PartID
}

// components returns the strongly connected components of more than one node,
// each sorted, in the order of their first members. The edges are asked for by
// node; Tarjan's algorithm is gonum's.
func components(n int, edges func(i int, add func(to int))) [][]int {
	dg := simple.NewDirectedGraph()
	for i := range n {
		dg.AddNode(simple.Node(i))
	}
	for i := range n {
		edges(i, func(to int) {
			if to != i {
				dg.SetEdge(simple.Edge{F: simple.Node(i), T: simple.Node(to)})
			}
		})
	}
	var list [][]int
	for _, scc := range topo.TarjanSCC(dg) {
		if len(scc) < 2 {
			continue
		}
		ids := make([]int, len(scc))
		for i, node := range scc {
			ids[i] = int(node.ID())
		}
		slices.Sort(ids)
		list = append(list, ids)
	}
	slices.SortFunc(list, func(a, b []int) int { return a[0] - b[0] })
	return list
}

// Handshakes returns the loops of chips that wait for each other among what root needs.
func (g *Graph) Handshakes(root int) []Loop {
	healthy := slices.Clone(g.Holds())
	return g.handshakes(g.reachable(root, healthy), healthy)
}

// loops finds the loops among the goals given, in walking order.
func (g *Graph) loops(order []int, healthy []bool) []Loop {
	place := make(map[int]int, len(order))
	for i, id := range order {
		place[id] = i
	}
	var found []Loop
	inLoop := map[netlist.PartID]bool{}
	for _, scc := range components(len(order), func(i int, add func(int)) {
		g.eachNeed(order[i], healthy, func(e Edge) { add(place[e.To]) })
	}) {
		l := Loop{Kind: g.loopKind(order, scc, healthy)}
		for _, i := range scc {
			if p := g.Goals[order[i]].Part; p != netlist.None && !slices.Contains(l.Parts, p) {
				l.Parts = append(l.Parts, p)
			}
		}
		if l.Kind != "" {
			found = append(found, l)
			for _, p := range l.Parts {
				inLoop[p] = true
			}
		}
	}
	return append(found, g.handshakes(order, healthy)...)
}

func (g *Graph) eachNeed(id int, healthy []bool, f func(Edge)) {
	goal := &g.Goals[id]
	for _, e := range goal.All {
		f(e)
	}
	for _, e := range viable(goal.Any, healthy) {
		f(e)
	}
}

// loopKind tells feedback, which holds, from a deadlock, which never does. Parts
// side by side make loops that are neither, since current may pass both ways.
func (g *Graph) loopKind(order, scc []int, healthy []bool) LoopKind {
	member := map[int]bool{}
	for _, i := range scc {
		member[order[i]] = true
	}
	kind, holds := LoopKind(""), true
	for id := range member {
		holds = holds && healthy[id]
		for _, e := range g.Goals[id].All {
			if e.Reason == netlist.Sense && member[e.To] {
				kind = Feedback
			}
		}
	}
	if kind == "" && !holds && !g.heldByState(scc, order, healthy) {
		return Deadlock
	}
	return kind
}

// heldByState reports whether something outside the loop already fails.
func (g *Graph) heldByState(scc, order []int, healthy []bool) bool {
	member := map[int]bool{}
	for _, i := range scc {
		member[order[i]] = true
	}
	for id := range member {
		for _, e := range g.Goals[id].All {
			if !member[e.To] && !healthy[e.To] {
				return true
			}
		}
	}
	return false
}

// handshakes finds chips that wait for each other in turn without a deadlock:
// a source that enables the panel, the panel that answers, the source that
// reads it. Seen by chips there is a loop, seen by what they do there is none.
func (g *Graph) handshakes(order []int, healthy []bool) []Loop {
	chip := map[netlist.PartID]int{}
	var chips []netlist.PartID
	for _, id := range order {
		if goal := &g.Goals[id]; goal.Kind == RuleGoal {
			if _, ok := chip[goal.Part]; !ok {
				chip[goal.Part] = len(chips)
				chips = append(chips, goal.Part)
			}
		}
	}
	var found []Loop
	for _, scc := range components(len(chips), func(i int, add func(int)) {
		for _, id := range order {
			if goal := &g.Goals[id]; goal.Kind == RuleGoal && goal.Part == chips[i] {
				g.nextChips(id, healthy, func(p netlist.PartID) { add(chip[p]) })
			}
		}
	}) {
		l := Loop{Kind: Handshake}
		for _, i := range scc {
			l.Parts = append(l.Parts, chips[i])
		}
		found = append(found, l)
	}
	return found
}

// nextChips calls f for the chips whose rules a rule waits for, without going
// on behind them.
func (g *Graph) nextChips(from int, healthy []bool, f func(netlist.PartID)) {
	seen := map[int]bool{from: true}
	queue := []int{from}
	for len(queue) > 0 {
		id := queue[0]
		queue = queue[1:]
		g.eachNeed(id, healthy, func(e Edge) {
			if seen[e.To] {
				return
			}
			seen[e.To] = true
			if t := &g.Goals[e.To]; t.Kind == RuleGoal {
				f(t.Part)
				return
			}
			queue = append(queue, e.To)
		})
	}
}
