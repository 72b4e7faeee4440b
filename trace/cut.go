package trace

import "slices"

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
	Net    int // the goal
	Faults int // how many units must fail before the net does
	Units  []Unit
}

// redundancy finds how many units must fail before a net with several
// providers fails, by a minimum vertex cut between the parts that drive it and
// the net. It looks at what carries the level, not at what switches it.
func (g *Graph) redundancy(root int, healthy []bool) (Redundancy, bool) {
	if len(viable(g.Goals[root].Any, healthy)) < 2 {
		return Redundancy{}, false
	}
	const plenty = 1 << 30
	place := map[int]int{root: 0}
	order := []int{root}
	var arcs []arc
	var units []int
	source := -1
	for i := 0; i < len(order); i++ {
		id := order[i]
		goal := &g.Goals[id]
		in, out := 2*i, 2*i+1
		capacity := plenty
		if _, ok := g.unit(goal); ok {
			capacity = 1
			units = append(units, len(arcs))
		}
		// The flow runs from the drivers to the net: in is the side of the sources.
		arcs = append(arcs, arc{in, out, capacity})
		var next []Edge
		switch goal.Kind {
		case NetGoal:
			next = viable(goal.Any, healthy)
		case PassGoal:
			next = goal.All[len(goal.All)-1:]
		}
		for _, e := range next {
			k, ok := place[e.To]
			if !ok {
				k = len(order)
				place[e.To] = k
				order = append(order, e.To)
			}
			arcs = append(arcs, arc{2*k + 1, in, plenty})
		}
		if len(next) == 0 {
			arcs = append(arcs, arc{source, in, plenty})
		}
	}
	n := 2 * len(order)
	for i := range arcs {
		if arcs[i].from == source {
			arcs[i].from = n
		}
	}
	value, cut := minCut(n+1, arcs, n, 1)
	r := Redundancy{Net: root, Faults: value}
	for _, c := range cut {
		if slices.Contains(units, c) {
			u, _ := g.unit(&g.Goals[order[arcs[c].from/2]])
			r.Units = append(r.Units, u)
		}
	}
	return r, value >= 2 && value < plenty
}
