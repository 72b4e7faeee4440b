package draw

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/trace/draw/engine"
	"example.org/walkback/trace/draw/ink"
)

// One user unit is one of Graphviz's points, of which it counts 72 to the inch.
const pointsPerInch = 72.0

const (
	nodeGap = 20.0 // between nodes above each other
	rankGap = 30.0 // between columns, room for arrow and head
)

// largeGraph is the number of nodes and edges above which Graphviz's search for
// the best placement is cut short: it would take minutes where lines are long.
const largeGraph = 300

// layout is a diagram with every position known, y down, the origin at the top
// left of the drawing.
type layout struct {
	width, height float64
	nodes         []placedNode
	edges         []placedEdge
	joins         []join // where a folded drawing goes on
}

type placedNode struct {
	nodeBox
	at ink.Point // centre
}

type placedEdge struct {
	Edge
	curve   []ink.Point   // a start and three points for every Bézier piece
	pieces  [][]ink.Point // the same of a folded drawing, nil for one in one row
	tip     ink.Point     // of the arrow head
	label   string
	labelAt ink.Point // centre
	title   string
}

// place has Graphviz lay out boxes of the measured sizes.
func place(ctx context.Context, d Diagram, nodes []nodeBox, index map[string]int) (layout, error) {
	l := layout{nodes: make([]placedNode, len(nodes)), edges: make([]placedEdge, len(d.Edges))}
	for i, n := range nodes {
		l.nodes[i].nodeBox = n
	}
	for i, e := range d.Edges {
		l.edges[i] = placedEdge{Edge: e, title: edgeTitle(d, e, index)}
		if label := ink.Clean(e.Label); strings.TrimSpace(label) != "" {
			l.edges[i].label = smallType.Fit(label, edgeLabel)
		}
	}
	if len(nodes) == 0 {
		return l, ctx.Err()
	}
	out, err := twice(ctx, engine.Layout, l.source(index, false), l.source(index, true))
	if err != nil {
		return layout{}, fmt.Errorf("layout: %w", err)
	}
	if err := l.readBack(out); err != nil {
		return layout{}, fmt.Errorf("layout: read Graphviz's answer: %w", err)
	}
	for i := range l.edges {
		e := &l.edges[i]
		if len(e.curve) == 0 {
			e.straight(&l.nodes[index[e.From]], &l.nodes[index[e.To]])
		}
		if e.labelAt == (ink.Point{}) {
			e.labelAt = middleOf(e.curve)
		}
	}
	return l, nil
}

// twice has a graph laid out, and where that fails a simpler form of it, without ports and labels, on which Graphviz 12
// was never seen to abort. There is no second try when the first abort broke the engine for good.
func twice(ctx context.Context, run func(context.Context, []byte) ([]byte, error), full, simple []byte) ([]byte, error) {
	out, err := run(ctx, full)
	if err == nil || ctx.Err() != nil {
		return out, err
	}
	if errors.Is(err, engine.ErrGone) {
		return nil, fmt.Errorf("%w; a picture of less may succeed", err)
	}
	out, second := run(ctx, simple)
	if second != nil {
		return nil, fmt.Errorf("%w; once more, without ports: %w", err, second)
	}
	return out, nil
}

func edgeTitle(d Diagram, e Edge, index map[string]int) string {
	name := func(id string) string { return orBlank(ink.Clean(d.Nodes[index[id]].Label)) }
	s := name(e.From) + " to " + name(e.To) + ": " + styleOf(e.Class).legend
	if e.Loop {
		s += ", feedback"
	}
	if label := ink.Clean(e.Label); strings.TrimSpace(label) != "" {
		s += "; " + label
	}
	return s
}

// source is the graph as Graphviz reads it, or a simpler form of it. Nodes are
// numbered, so that no text of the user's reaches its parser.
func (l *layout) source(index map[string]int, simple bool) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "digraph {\nrankdir=LR nodesep=%.4f ranksep=%.4f\n", nodeGap/pointsPerInch, rankGap/pointsPerInch)
	if len(l.nodes)+len(l.edges) > largeGraph {
		b.WriteString("nslimit=1 nslimit1=1 mclimit=0.3\n")
	}
	if simple {
		b.WriteString("splines=line\n")
	}
	// The library looks at every label, and at an empty one twice. None is drawn.
	b.WriteString("node [shape=box fixedsize=true label=\" \"]\n")
	for i, n := range l.nodes {
		fmt.Fprintf(&b, "%d [width=%.4f height=%.4f]\n", i, n.width/pointsPerInch, n.height/pointsPerInch)
	}
	for i, e := range l.edges {
		st := styleOf(e.Class)
		from, to := index[e.From], index[e.To]
		fmt.Fprintf(&b, "%d -> %d [comment=\"%d\" weight=%d arrowsize=%.2f", from, to, i, st.weight, st.length/10)
		if e.Loop {
			b.WriteString(" constraint=false")
		}
		if from != to && !simple {
			b.WriteString(ports(&l.nodes[from].nodeBox, &l.nodes[to].nodeBox, e.Edge))
		}
		// A label at an edge without constraint lets Graphviz 12 write out of bounds: without it no abort was found.
		if e.label != "" && !simple && !e.Loop {
			// An empty table of fixed size keeps room for a label of our own font.
			fmt.Fprintf(&b, " label=<<TABLE FIXEDSIZE=\"TRUE\" WIDTH=\"%.0f\" HEIGHT=\"%.0f\" BORDER=\"0\"><TR><TD></TD></TR></TABLE>>",
				smallType.Width(e.label)+8, smallType.LineHeight()+4)
		}
		b.WriteString("]\n")
	}
	b.WriteString("}\n")
	return b.Bytes()
}

// ports joins wires at their two ends, where a wire can be joined, and lets
// what flows through a part enter and leave at the middle of its sides. What
// only acts on a part (an enable, a sense line) may arrive anywhere. Feedback
// runs from right to left and uses the other end of each wire.
func ports(from, to *nodeBox, e Edge) string {
	out, in := "e", "w"
	if e.Loop {
		out, in = in, out
	}
	flows := (e.Class == Power || e.Class == Data) && !e.Loop
	s := ""
	if from.isWire() || flows {
		s += " tailport=" + out
	}
	if to.isWire() || flows {
		s += " headport=" + in
	}
	return s
}

// answer is the part of Graphviz's json0 format that is read back.
type answer struct {
	BB      string `json:"bb"`
	Objects []struct {
		Name string `json:"name"`
		Pos  string `json:"pos"`
	} `json:"objects"`
	Edges []struct {
		Comment string `json:"comment"`
		Pos     string `json:"pos"`
		LP      string `json:"lp"`
	} `json:"edges"`
}

func (l *layout) readBack(out []byte) error {
	var a answer
	if err := json.Unmarshal(out, &a); err != nil {
		return err
	}
	box := strings.Split(a.BB, ",")
	if len(box) != 4 {
		return fmt.Errorf("bounding box %q", a.BB)
	}
	size, err := parsePoint(box[2]+","+box[3], 0)
	if err != nil {
		return err
	}
	l.width, l.height = size.X, -size.Y
	for _, o := range a.Objects {
		i, err := strconv.Atoi(o.Name)
		if err != nil || i < 0 || i >= len(l.nodes) {
			return fmt.Errorf("node %q", o.Name)
		}
		if l.nodes[i].at, err = parsePoint(o.Pos, l.height); err != nil {
			return err
		}
	}
	for _, e := range a.Edges {
		i, err := strconv.Atoi(e.Comment)
		if err != nil || i < 0 || i >= len(l.edges) {
			return fmt.Errorf("edge %q", e.Comment)
		}
		if err := l.edges[i].parse(e.Pos, l.height); err != nil {
			return err
		}
		if e.LP != "" {
			if l.edges[i].labelAt, err = parsePoint(e.LP, l.height); err != nil {
				return err
			}
		}
	}
	return nil
}

// parse reads a spline: "e,x,y" is the tip of the arrow, then follow the
// control points. Where several edges join the same two nodes in both
// directions, Graphviz may give an edge the wrong way round, with "s,x,y" for
// the tip at its start. Several splines for one edge do not occur with dot.
func (e *placedEdge) parse(pos string, height float64) error {
	backwards := false
	for _, word := range strings.Fields(pos) {
		kind, rest := "", word
		if strings.HasPrefix(word, "e,") || strings.HasPrefix(word, "s,") {
			kind, rest = word[:1], word[2:]
		}
		p, err := parsePoint(rest, height)
		if err != nil {
			return err
		}
		switch kind {
		case "e":
			e.tip, backwards = p, false
		case "s":
			e.tip, backwards = p, true
		default:
			e.curve = append(e.curve, p)
		}
	}
	if len(e.curve) == 0 {
		return nil // Graphviz found no way; see straight
	}
	if len(e.curve)%3 != 1 || len(e.curve) < 4 {
		return fmt.Errorf("spline %q", pos)
	}
	if backwards {
		slices.Reverse(e.curve)
	}
	return nil
}

// straight stands in where Graphviz gives up on an edge, which happens with
// several edges between the same nodes: a line between the middles of the
// facing sides, and for an edge from a node to itself a bow below it.
func (e *placedEdge) straight(from, to *placedNode) {
	head := styleOf(e.Class).length
	if from == to {
		y := from.at.Y + from.height/2
		left, right := from.at.X-10, from.at.X+10
		e.tip = ink.Pt(left, y)
		e.curve = []ink.Point{ink.Pt(right, y), ink.Pt(right, y+nodeGap), ink.Pt(left, y+nodeGap), ink.Pt(left, y+head)}
		return
	}
	start, end := from.at, to.at
	side := 1.0
	if end.X < start.X {
		side = -1
	}
	start.X += side * from.width / 2
	e.tip = ink.Pt(end.X-side*to.width/2, end.Y)
	last := ink.Pt(e.tip.X-side*head, end.Y)
	e.curve = []ink.Point{start, ink.Pt(start.X+side*nodeGap, start.Y), ink.Pt(last.X-side*nodeGap, last.Y), last}
}

// parsePoint reads "x,y" with y up and turns it to y down.
func parsePoint(s string, height float64) (ink.Point, error) {
	xs, ys, ok := strings.Cut(s, ",")
	x, errX := strconv.ParseFloat(xs, 64)
	y, errY := strconv.ParseFloat(ys, 64)
	if !ok || errX != nil || errY != nil {
		return ink.Point{}, fmt.Errorf("point %q", s)
	}
	return ink.Pt(x, height-y), nil
}
