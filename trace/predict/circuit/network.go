package circuit

import "slices"

// Branch is a two-terminal element from node A to node B; node 0 is ground.
type Branch struct {
	A, B int32
	slot int32 // of the pair of nodes in the elimination, -1 when an end is ground or both are one
}

// Network is what never changes of a circuit: nodes, branches, and the order in
// which nodes are eliminated. Nothing in it may be written to.
//
// Solving eliminates a node by replacing the star of its conductances by the
// equivalent mesh (Rosen 1924; the same arithmetic as Cholesky's, and as the
// elimination of Grassmann, Taksar and Heyman 1985). It adds, multiplies and
// divides positive numbers only, so that 10 mΩ and 10 GΩ in one circuit cost no
// digits.
type Network struct {
	Nodes    int      // with ground; their numbers are below it
	Branches []Branch // ends are nodes of the network
	start    []int32  // Nodes+1 ascending places; the branches at node n are incident[start[n]:start[n+1]]
	incident []int32  // branches; each stands once at either end, twice where both ends are one

	order []int32     // every node but ground once, as they are eliminated
	place []int32     // of a node in order
	later []nextNodes // of a node
	slots int         // pairs of nodes that are neighbours at some stage of the elimination
}

// nextNodes are the neighbours of a node that are eliminated after it, with the
// slots of their conductances, and the slots of their pairs: pair of i and j < i
// stands at i(i-1)/2 + j.
type nextNodes struct {
	node []int32 // ascending
	slot []int32 // of the pair of the node itself with node[i]
	pair []int32 // len(node)·(len(node)-1)/2 slots
}

// NewNetwork makes a network of nodes, ground among them, and branches.
func NewNetwork(nodes int, branches []Branch) *Network {
	n := &Network{Nodes: nodes, Branches: branches}
	n.start = make([]int32, n.Nodes+1)
	for _, b := range n.Branches {
		n.start[b.A+1]++
		n.start[b.B+1]++
	}
	for i := range n.Nodes {
		n.start[i+1] += n.start[i]
	}
	n.incident = make([]int32, n.start[n.Nodes])
	next := slices.Clone(n.start)
	for i, b := range n.Branches {
		n.incident[next[b.A]] = int32(i)
		next[b.A]++
		n.incident[next[b.B]] = int32(i)
		next[b.B]++
	}
	n.eliminate()
	return n
}

// At lists the branches at a node.
func (n *Network) At(node int32) []int32 { return n.incident[n.start[node]:n.start[node+1]] }

// Other returns the node at the other end of a branch.
func (n *Network) Other(b, node int32) int32 { return n.Branches[b].A + n.Branches[b].B - node }

// eliminate finds the order: always the node with the fewest neighbours left
// (minimum degree: Markowitz 1957, Tinney and Walker 1967), the lowest number
// first among equals.
func (n *Network) eliminate() {
	near := make([]map[int32]int32, n.Nodes) // neighbour to slot
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
	for i := range n.Branches {
		b := &n.Branches[i]
		b.slot = -1
		if b.A != 0 && b.B != 0 && b.A != b.B {
			b.slot = slotOf(b.A, b.B)
		}
	}
	n.place, n.later = make([]int32, n.Nodes), make([]nextNodes, n.Nodes)
	queue := newDegrees(n.Nodes)
	for i := 1; i < n.Nodes; i++ {
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
