package trace

import (
	"slices"

	"example.org/walkback/netlist"
)

// Unit is what can fail on its own: a part, or one channel of a part that has
// several, such as a pin of a connector.
type Unit struct {
	Part    netlist.PartID
	Channel int // None for the whole part
}

// unit returns what fails with a goal, and false for goals that are no part's.
func (g *Graph) unit(goal *Goal) (Unit, bool) {
	if goal.Part == netlist.None {
		return Unit{}, false
	}
	if goal.Kind != PassGoal {
		return Unit{goal.Part, netlist.None}, true
	}
	k := g.Board.Parts[goal.Part].Kind
	if k.Pins[0].Many && k.Pins[1].Many && k.Passes[goal.Index].Control == "" {
		return Unit{goal.Part, goal.Channel}, true
	}
	return Unit{goal.Part, netlist.None}, true
}

// Holds returns, for each goal, whether it holds on a board on which the given
// units have failed and all else is well.
//
// A goal holds only when the chain of what it needs ends at sources, which is a
// least fixed point. The exception is a sense input: a converter that watches
// its own output needs the divider, and the divider needs the output. Such
// edges are taken to hold until shown otherwise, a greatest fixed point round
// the least one.
func (g *Graph) Holds(failed ...Unit) []bool {
	e := g.evaluator()
	return e.run(failed)
}

// evaluator holds the reverse of the graph, for many runs.
type evaluator struct {
	g       *Graph
	parents [][]parentEdge
	sense   []senseEdge
	need    []int32
	open    []bool // has a choice that nothing fills yet
	holds   []bool
	queue   []int
	blocked []bool // goals that must not hold
}

type parentEdge struct {
	goal  int32
	any   bool
	sense int32 // index into sense, or -1
}

type senseEdge struct {
	from, to int
	broken   bool
}

func (g *Graph) evaluator() *evaluator {
	e := &evaluator{g: g, parents: make([][]parentEdge, len(g.Goals)), need: make([]int32, len(g.Goals)), open: make([]bool, len(g.Goals)),
		holds: make([]bool, len(g.Goals)), blocked: make([]bool, len(g.Goals))}
	for i := range g.Goals {
		for _, x := range g.Goals[i].All {
			p := parentEdge{goal: int32(i), sense: -1}
			if x.Reason == netlist.Sense {
				p.sense = int32(len(e.sense))
				e.sense = append(e.sense, senseEdge{from: i, to: x.To})
			}
			e.parents[x.To] = append(e.parents[x.To], p)
		}
		for _, x := range g.Goals[i].Any {
			e.parents[x.To] = append(e.parents[x.To], parentEdge{goal: int32(i), any: true, sense: -1})
		}
	}
	return e
}

// runWithout is run on a healthy board with some goals taken away.
func (e *evaluator) runWithout(goals ...int) []bool {
	for _, id := range goals {
		e.blocked[id] = true
	}
	holds := e.run(nil)
	for _, id := range goals {
		e.blocked[id] = false
	}
	return holds
}

func (e *evaluator) run(failed []Unit) []bool {
	for i := range e.sense {
		e.sense[i].broken = false
	}
	for {
		e.least(failed)
		again := false
		for i := range e.sense {
			s := &e.sense[i]
			if !s.broken && !e.holds[s.to] {
				s.broken, again = true, true
			}
		}
		if !again {
			return e.holds
		}
	}
}

// least finds the least fixed point with the sense edges as they are.
func (e *evaluator) least(failed []Unit) {
	g := e.g
	e.queue = e.queue[:0]
	for i := range g.Goals {
		goal := &g.Goals[i]
		e.need[i], e.open[i], e.holds[i] = int32(len(goal.All)), len(goal.Any) > 0, false
		if e.blocked[i] || !g.possible(goal, failed) {
			e.need[i] = -1
		}
	}
	for _, s := range e.sense {
		if !s.broken && e.need[s.from] > 0 {
			e.need[s.from]--
		} else if s.broken {
			e.need[s.from] = -1
		}
	}
	for i := range g.Goals {
		e.settle(i)
	}
	for len(e.queue) > 0 {
		id := e.queue[len(e.queue)-1]
		e.queue = e.queue[:len(e.queue)-1]
		for _, p := range e.parents[id] {
			switch {
			case p.any:
				e.open[p.goal] = false
			case p.sense >= 0 || e.need[p.goal] < 0:
				continue
			default:
				e.need[p.goal]--
			}
			e.settle(int(p.goal))
		}
	}
}

func (e *evaluator) settle(i int) {
	if e.need[i] == 0 && !e.open[i] && !e.holds[i] {
		e.holds[i] = true
		e.queue = append(e.queue, i)
	}
}

// possible reports whether a goal may hold at all, whatever else does.
func (g *Graph) possible(goal *Goal, failed []Unit) bool {
	switch goal.Kind {
	case StateGoal:
		if goal.Index == netlist.None {
			return false
		}
		return (g.Setting[goal.Index] == goal.Value) == goal.truth
	case NetGoal:
		return len(goal.Any) > 0 || g.Board.Nets[goal.Net].Ground
	case FactGoal:
		return len(goal.Any) > 0
	}
	if len(failed) == 0 {
		return true
	}
	u, ok := g.unit(goal)
	if !ok {
		return true
	}
	for _, f := range failed {
		if f == u || f.Part == u.Part && (f.Channel == netlist.None || u.Channel == netlist.None && goal.Kind != PassGoal) {
			return false
		}
	}
	return true
}

// reachable returns the goals that root needs, itself included, with the
// choices left out that cannot hold in this setting while another can.
func (g *Graph) reachable(root int, healthy []bool) []int {
	seen := make([]bool, len(g.Goals))
	seen[root] = true
	order := []int{root}
	for i := 0; i < len(order); i++ {
		goal := &g.Goals[order[i]]
		for _, list := range [][]Edge{goal.All, viable(goal.Any, healthy)} {
			for _, e := range list {
				if !seen[e.To] {
					seen[e.To] = true
					order = append(order, e.To)
				}
			}
		}
	}
	return order
}

// viable returns the choices that hold on a healthy board, or all of them when
// none does.
func viable(choices []Edge, healthy []bool) []Edge {
	n := 0
	for _, e := range choices {
		if healthy[e.To] {
			n++
		}
	}
	if n == 0 || n == len(choices) {
		return choices
	}
	list := make([]Edge, 0, n)
	for _, e := range choices {
		if healthy[e.To] {
			list = append(list, e)
		}
	}
	return list
}

// Singles returns the single points of failure of a goal: the units whose
// failure alone makes it fail, in the order in which the goals were found. In a
// graph of choices alone these are the dominators of the root in the reversed
// graph; with needs that must all hold, every need counts as well.
func (g *Graph) Singles(root int) []Unit {
	healthy := slices.Clone(g.Holds())
	return g.singles(root, g.reachable(root, healthy), healthy, func(int) bool { return false })
}

// singles is Singles with goals that are proven right: a unit counts only when
// the failure of what is not proven of it makes the root fail.
func (g *Graph) singles(root int, reach []int, healthy []bool, good func(id int) bool) []Unit {
	if !healthy[root] {
		// What a healthy board does not have in this state, no single fault takes away.
		return nil
	}
	e := g.evaluator()
	var order []Unit
	goals := map[Unit][]int{}
	for _, id := range reach {
		if u, ok := g.unit(&g.Goals[id]); ok {
			if goals[u] == nil {
				order = append(order, u)
				goals[u] = []int{}
			}
			if !good(id) {
				goals[u] = append(goals[u], id)
			}
		}
	}
	var list []Unit
	for _, u := range order {
		if len(goals[u]) > 0 && !e.runWithout(goals[u]...)[root] {
			list = append(list, u)
		}
	}
	return list
}

// Reachable returns the goals that root needs on a healthy board, itself first.
func (g *Graph) Reachable(root int) []int { return g.reachable(root, g.Holds()) }
