// Package draw turns a path through a board into a left-to-right picture, as
// SVG, PNG or DOT text.
//
//	err := draw.SVG(ctx, w, draw.Diagram{
//		Title: "Why is the picture dark?",
//		Nodes: []draw.Node{
//			{ID: "F3", Label: "F3", Detail: []string{"fuse, 3 A"}, Single: true},
//			{ID: "VBL", Shape: draw.Net, Label: "VBL", Detail: []string{"34 V"}},
//		},
//		Edges: []draw.Edge{{From: "F3", To: "VBL", Class: draw.Power}},
//	}, draw.Options{Page: draw.A4})
//
// Placement is left to Graphviz (package engine); everything that is seen is
// written here, with text as outlines of an embedded font, so that a picture
// looks the same on a machine that has no fonts.
package draw

import (
	"context"
	"fmt"
	"io"
	"slices"

	"example.org/walkback/trace/draw/ink"
)

// Diagram is what is to be drawn. The order of nodes and edges decides ties in
// the layout, so that equal diagrams give equal pictures.
type Diagram struct {
	Title   string
	Caption string // one or two sentences under the title
	Nodes   []Node
	Edges   []Edge
	Notes   []string // cautions, printed below the legend
}

// Shape says what a node stands for.
type Shape uint8

// The shapes.
const (
	Part Shape = iota // drawn as a box
	Net               // drawn as a piece of wire with its name above
	Fact              // drawn as a hexagon: something that holds, without copper
)

// Knowledge is what the readings so far say about a node.
type Knowledge uint8

// The states of knowledge.
const (
	NotProbed Knowledge = iota
	ReadsRight
	ReadsWrong
	Cleared // it cannot be the fault
	Suspect
)

// Role marks the two ends of the path.
type Role uint8

// The roles.
const (
	Plain   Role = iota
	Source       // a pentagon that points along the path
	Symptom      // an octagon
)

// Node is one part, net or fact of the path.
type Node struct {
	ID        string // names the node in edges; unique, never shown
	Shape     Shape
	Label     string   // designator, net name or fact
	Detail    []string // small lines under the label: kind and value, or the expected reading
	Mark      string   // name of the test point at this net, "" for none
	Points    []int    // its numbers as points of the checklist; two where a pair is drawn as one
	Knowledge Knowledge
	Role      Role
	Single    bool // a single point of failure
	Faded     bool // not on the walked path
}

// Class is the reason for which one node needs another.
type Class uint8

// The classes.
const (
	Power  Class = iota // thick
	Enable              // dashed
	Data                // thin
	Sense               // dotted
	Return              // thin, long dashes, grey
	Load                // thin with a hollow head: it can pull the net down
)

// Edge joins two nodes by their IDs, drawn from left to right where possible.
type Edge struct {
	From, To string
	Class    Class
	Label    string
	Faded    bool
	Loop     bool // feedback: drawn, but without a say in what lies left of what
}

// Page is the size of the picture.
type Page uint8

// The pages.
const (
	Free   Page = iota // as large as the diagram needs
	A4                 // 297 mm × 210 mm
	Letter             // 279.4 mm × 215.9 mm
)

// Options choose the form of a picture; the zero value is a free-size picture
// with everything on it.
type Options struct {
	Page Page
	// Blank is the version to teach with: details, steps and what is known
	// become lines to write on; names and test points stay.
	Blank bool
}

// SVG writes the picture of d. Errors begin with "draw:".
func SVG(ctx context.Context, w io.Writer, d Diagram, o Options) error {
	pic, err := render(ctx, d, o)
	if err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	if _, err := w.Write(pic.SVG); err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	return nil
}

func render(ctx context.Context, d Diagram, o Options) (ink.Picture, error) {
	index, err := check(d)
	if err != nil {
		return ink.Picture{}, err
	}
	if o.Blank {
		// What a single point of failure is, is for the class to find.
		d.Nodes = slices.Clone(d.Nodes)
		for i := range d.Nodes {
			d.Nodes[i].Single = false
		}
	}
	nodes := make([]nodeBox, len(d.Nodes))
	for i, n := range d.Nodes {
		nodes[i] = measure(n, o.Blank)
	}
	l, err := place(ctx, d, nodes, index)
	if err != nil {
		return ink.Picture{}, err
	}
	return compose(d, o, l), nil
}

// check finds what would make the picture meaningless and returns the position
// of every node by its ID.
func check(d Diagram) (map[string]int, error) {
	index := make(map[string]int, len(d.Nodes))
	for i, n := range d.Nodes {
		if first, ok := index[n.ID]; ok {
			return nil, fmt.Errorf("nodes %d and %d share the ID %q", first, i, n.ID)
		}
		index[n.ID] = i
	}
	for i, e := range d.Edges {
		for _, end := range []string{e.From, e.To} {
			if _, ok := index[end]; !ok {
				return nil, fmt.Errorf("edge %d (%q to %q): there is no node %q", i, e.From, e.To, end)
			}
		}
	}
	return index, nil
}
