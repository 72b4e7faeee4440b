package sequence

import "slices"

// Tree is a plan: what to probe first, and what after each outcome.
type Tree struct {
	Root     *Node
	Expected float64 // s, weighed by the hypotheses
	Worst    float64 // s along the dearest path
	Lower    float64 // s; no plan that tells all groups apart as far as possible costs less on average
	Optimal  bool    // proven: Expected is the least possible, to nine digits
}

// Node is a probe to make, or a leaf.
type Node struct {
	Probe    int     // in the problem; -1: a leaf
	Change   float64 // s to bring the board into the condition of the probe
	Cost     float64 // s of the probe; at a leaf of mending what is left, on average
	Worst    float64 // s at a leaf, until all that is left was mended
	Order    []int   // at a leaf: groups, in the order in which they are mended
	Share    float64 // of the weight that comes this far
	Suspects []int   // hypotheses that are left here, in rising order
	Branches []Branch
}

// Branch is what comes after an outcome.
type Branch struct {
	Outcome uint16
	Node    *Node
}

// chooser gives the next probe of the model in a state, or -1. It leaves in the frame
// the probes that may be of use behind it.
type chooser func(s *state, f *frame) int

// grower makes a tree out of choices.
type grower struct {
	*model
	choose chooser
	frames frames
	whole  bool // all leaves are done
}

func (g *grower) grow(s *state, depth int) *Node {
	n := &Node{Probe: -1, Share: s.mass, Suspects: g.hypotheses(s.set)}
	if s.done() {
		g.end(n, s)
		return n
	}
	f := g.frames.at(depth)
	p := g.choose(s, f)
	if p < 0 {
		g.whole = g.whole && g.act != nil
		g.end(n, s)
		return n
	}
	pr := &g.probes[p]
	n.Probe, n.Change, n.Cost = pr.index, g.change[s.cond][pr.cond], pr.cost
	f.arena, f.kids = g.split(s, p, f.active, f.arena[:0], f.kids[:0])
	for i := range f.kids {
		kid := &f.kids[i]
		n.Branches = append(n.Branches, Branch{pr.value[pr.column[kid.set[0]]], g.grow(kid, depth+1)})
	}
	slices.SortFunc(n.Branches, func(a, b Branch) int { return int(a.Outcome) - int(b.Outcome) })
	if g.act == nil {
		return n
	}
	leaf := &Node{Share: n.Share, Suspects: n.Suspects}
	g.end(leaf, s)
	if cost, _ := costs(n); leaf.Share*leaf.Cost <= cost {
		return leaf
	}
	return n
}

// hypotheses lists those of a set of atoms in rising order.
func (m *model) hypotheses(set []uint16) []int {
	var list []int
	for _, a := range set {
		list = append(list, m.members[a]...)
	}
	slices.Sort(list)
	return list
}

// tree grows a tree and adds up what it costs.
func (m *model) tree(choose chooser, low float64) *Tree {
	g := &grower{model: m, choose: choose, whole: true}
	t := &Tree{Root: g.grow(m.first(), 0), Lower: low + m.base}
	t.Expected, t.Worst = costs(t.Root)
	if g.whole {
		t.prove(t.Lower)
	}
	return t
}

// prove takes a lower bound for all plans that tell apart as much.
func (t *Tree) prove(low float64) {
	t.Lower, t.Optimal = low, low >= t.Expected*(1-1e-9)
	if t.Optimal {
		t.Lower = t.Expected
	}
}

// costs adds up a tree: the seconds of its nodes times their shares, and along the
// dearest path.
func costs(n *Node) (expected, worst float64) {
	expected = n.Share * (n.Change + n.Cost)
	for _, b := range n.Branches {
		e, w := costs(b.Node)
		expected += e
		worst = max(worst, w)
	}
	if n.Probe < 0 {
		return expected, n.Worst
	}
	return expected, worst + n.Change + n.Cost
}
