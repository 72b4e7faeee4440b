package predict

import "slices"

// branch is a two-terminal element between two nodes. Node 0 is ground; net n is
// node n+1. A branch without a law conducts nothing.
type branch struct {
	a, b int32
	slot int32   // of the pair of nodes in the elimination, -1 when an end is ground
	c    float64 // F: passes changes only
	l    float64 // H: in series with its resistance, for changes
}

// network is what never changes of a board's circuit: nodes, branches, and the
// order in which nodes are eliminated.
//
// Solving eliminates a node by replacing the star of its conductances by the
// equivalent mesh (Rosen 1924; the same arithmetic as Cholesky's, and as the
// elimination of Grassmann, Taksar and Heyman 1985). It adds, multiplies and
// divides positive numbers only, so that 10 mΩ and 10 GΩ in one circuit cost no
// digits.
type network struct {
	nodes    int
	branches []branch
	start    []int32 // branches at a node: incident[start[n]:start[n+1]]
	incident []int32

	order []int32 // nodes in the order of elimination
	place []int32 // of a node in that order
	later []nextNodes
	slots int
}

// nextNodes are the neighbours of a node that are eliminated after it, with the
// slots of their conductances, and the slots of their pairs: pair of i and j < i
// stands at i(i-1)/2 + j.
type nextNodes struct {
	node, slot, pair []int32
}

// index prepares the tables. Branches must not be added afterwards.
func (n *network) index() {
	n.start = make([]int32, n.nodes+1)
	for _, b := range n.branches {
		n.start[b.a+1]++
		n.start[b.b+1]++
	}
	for i := range n.nodes {
		n.start[i+1] += n.start[i]
	}
	n.incident = make([]int32, n.start[n.nodes])
	next := slices.Clone(n.start)
	for i, b := range n.branches {
		n.incident[next[b.a]] = int32(i)
		next[b.a]++
		n.incident[next[b.b]] = int32(i)
		next[b.b]++
	}
	n.eliminate()
}

// at lists the branches at a node.
func (n *network) at(node int32) []int32 { return n.incident[n.start[node]:n.start[node+1]] }

// eliminate finds the order: always the node with the fewest neighbours left
// (minimum degree: Markowitz 1957, Tinney and Walker 1967), the lowest number
// first among equals.
func (n *network) eliminate() {
	near := make([]map[int32]int32, n.nodes) // neighbour to slot
	for i := range near {
		near[i] = map[int32]int32{}
	}
	slotOf := func(a, b int32) int32 {
		if s, ok := near[a][b]; ok {
			return s
		}
		s := int32(n.slots)
		n.slots++
		near[a][b], near[b][a] = s, s
		return s
	}
	for i := range n.branches {
		b := &n.branches[i]
		b.slot = -1
		if b.a != 0 && b.b != 0 && b.a != b.b {
			b.slot = slotOf(b.a, b.b)
		}
	}
	n.place, n.later = make([]int32, n.nodes), make([]nextNodes, n.nodes)
	queue := newDegrees(n.nodes)
	for i := 1; i < n.nodes; i++ {
		queue.push(int32(i), len(near[i]))
	}
	for {
		k, ok := queue.pop()
		if !ok {
			return
		}
		n.place[k] = int32(len(n.order))
		n.order = append(n.order, k)
		l := &n.later[k]
		for j := range near[k] {
			l.node = append(l.node, j)
		}
		slices.Sort(l.node)
		for i, a := range l.node {
			l.slot = append(l.slot, near[k][a])
			delete(near[a], k)
			for _, b := range l.node[:i] {
				l.pair = append(l.pair, slotOf(a, b))
			}
		}
		for _, a := range l.node {
			queue.push(a, len(near[a]))
		}
		near[k] = nil
	}
}

// degrees is a queue of nodes by degree, with a bucket for each.
type degrees struct {
	bucket [][]int32
	of     []int // degree of a node, -1 once taken
	low    int
}

func newDegrees(nodes int) *degrees {
	return &degrees{of: make([]int, nodes)}
}

func (d *degrees) push(node int32, degree int) {
	for len(d.bucket) <= degree {
		d.bucket = append(d.bucket, nil)
	}
	d.of[node] = degree
	d.bucket[degree] = append(d.bucket[degree], node)
	d.low = min(d.low, degree)
}

// pop takes a node of the least degree; entries that went stale are dropped.
func (d *degrees) pop() (int32, bool) {
	for d.low < len(d.bucket) {
		b := d.bucket[d.low]
		if len(b) == 0 {
			d.low++
			continue
		}
		node := b[0]
		d.bucket[d.low] = b[1:]
		if d.of[node] == d.low {
			d.of[node] = -1
			return node, true
		}
	}
	return 0, false
}
