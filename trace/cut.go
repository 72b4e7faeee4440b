package trace

import (
	"slices"

	"example.org/walkback/netlist"
	"gonum.org/v1/gonum/graph/flow"
	"gonum.org/v1/gonum/graph/simple"
)

// arc is a directed edge with a capacity.
type arc struct{ from, to, cap int }

// minCut returns the value of a maximum flow from s to t and the arcs of the
// minimum cut nearest to s, as indices into arcs. Shortest augmenting paths
// (Edmonds and Karp 1972); the networks here are small.
func minCut(n int, arcs []arc, s, t int) (value int, cut []int) {
	type half struct{ to, cap, back int }
	adj := make([][]half, n)
	at := make([][2]int, len(arcs))
	for i, a := range arcs {
		at[i] = [2]int{a.from, len(adj[a.from])}
		extra := 0
		if a.from == a.to {
			extra = 1
		}
		adj[a.from] = append(adj[a.from], half{a.to, a.cap, len(adj[a.to]) + extra})
		adj[a.to] = append(adj[a.to], half{a.from, 0, len(adj[a.from]) - 1})
	}
	prev := make([][2]int, n)
	var reached []bool
	for {
		reached = make([]bool, n)
		reached[s] = true
		queue := []int{s}
		for len(queue) > 0 && !reached[t] {
			u := queue[0]
			queue = queue[1:]
			for i, h := range adj[u] {
				if h.cap > 0 && !reached[h.to] {
					reached[h.to] = true
					prev[h.to] = [2]int{u, i}
					queue = append(queue, h.to)
				}
			}
		}
		if !reached[t] || s == t {
			break
		}
		push := int(^uint(0) >> 1)
		for v := t; v != s; v = prev[v][0] {
			push = min(push, adj[prev[v][0]][prev[v][1]].cap)
		}
		for v := t; v != s; v = prev[v][0] {
			h := &adj[prev[v][0]][prev[v][1]]
			h.cap -= push
			adj[v][h.back].cap += push
		}
		value += push
	}
	for i, a := range arcs {
		if reached[a.from] && !reached[a.to] && a.cap > 0 {
			cut = append(cut, i)
		}
	}
	return value, cut
}

// Redundancy is a net that more than one way gives its level.
type Redundancy struct {
	Net    netlist.NetID
	From   netlist.NetID // where the ways part, or None when their drivers differ
	Faults int           // how many units must fail before all ways do
	Units  []Unit        // a smallest set that does it
}

// region is the part of the graph through which a net gets its level: nets and
// what carries or drives them, not what switches those.
type region struct {
	order []int       // goals, the net itself first
	next  [][]int     // for each, the places of those that bring it
	place map[int]int // goal to place
}

func (g *Graph) region(root int, healthy []bool) region {
	r := region{order: []int{root}, place: map[int]int{root: 0}}
	for i := 0; i < len(r.order); i++ {
		goal := &g.Goals[r.order[i]]
		var edges []Edge
		switch goal.Kind {
		case NetGoal:
			edges = viable(goal.Any, healthy)
		case PassGoal:
			edges = goal.All[len(goal.All)-1:]
		}
		var next []int
		for _, e := range edges {
			k, ok := r.place[e.To]
			if !ok {
				k = len(r.order)
				r.place[e.To] = k
				r.order = append(r.order, e.To)
			}
			next = append(next, k)
		}
		r.next = append(r.next, next)
	}
	return r
}

// join returns the place of the first net that all ways to the root pass, or -1
// when they meet only at the sources: the dominators of the sources, seen from
// the root. The algorithm is that of Lengauer and Tarjan, in gonum.
func (g *Graph) join(r region) int {
	dg := simple.NewDirectedGraph()
	sources := int64(len(r.order))
	for i, next := range r.next {
		for _, k := range next {
			if k != i {
				dg.SetEdge(simple.Edge{F: simple.Node(i), T: simple.Node(k)})
			}
		}
		if len(next) == 0 {
			dg.SetEdge(simple.Edge{F: simple.Node(i), T: simple.Node(sources)})
		}
	}
	tree := flow.DominatorsSLT(simple.Node(0), dg)
	join := -1
	for n := tree.DominatorOf(sources); n != nil && n.ID() != 0; n = tree.DominatorOf(n.ID()) {
		if g.Goals[r.order[n.ID()]].Kind == NetGoal {
			join = int(n.ID())
		}
	}
	return join
}

// redundancy finds how many units must fail before a net with several
// providers loses its level on the stretch where they run side by side, by a
// minimum vertex cut.
func (g *Graph) redundancy(root int, healthy []bool) (Redundancy, bool) {
	if g.Goals[root].Kind != NetGoal || len(viable(g.Goals[root].Any, healthy)) < 2 {
		return Redundancy{}, false
	}
	const plenty = 1 << 30
	r := g.region(root, healthy)
	join := g.join(r)
	source := 2 * len(r.order)
	var arcs []arc
	for i, id := range r.order {
		capacity := plenty
		if _, ok := g.unit(&g.Goals[id]); ok {
			capacity = 1
		}
		// The flow runs from the sources to the net: 2i is the side of the sources.
		arcs = append(arcs, arc{2 * i, 2*i + 1, capacity})
		if i == join || len(r.next[i]) == 0 {
			arcs = append(arcs, arc{source, 2 * i, plenty})
			continue
		}
		for _, k := range r.next[i] {
			arcs = append(arcs, arc{2*k + 1, 2 * i, plenty})
		}
	}
	value, cut := minCut(source+1, arcs, source, 1)
	found := Redundancy{Net: g.Goals[root].Net, From: netlist.None}
	if join >= 0 {
		found.From = g.Goals[r.order[join]].Net
	}
	for _, c := range cut {
		// One chip may drive a net in two ways and is still one thing to fail.
		if u, ok := g.unit(&g.Goals[r.order[arcs[c].from/2]]); ok && !slices.Contains(found.Units, u) {
			found.Units = append(found.Units, u)
		}
	}
	found.Faults = len(found.Units)
	return found, found.Faults >= 2 && value < plenty
}
