package draw

import "example.org/walkback/trace/draw/ink"

const (
	legendRow    = 22.0
	legendSample = 36.0
	legendGap    = 20.0
)

// legendEntry is a sample, drawn around the given middle of its left edge, and
// what it means.
type legendEntry struct {
	word   string
	sample func(c *canvas, at ink.Point)
}

// legend lists what occurs in the diagram, and nothing else.
func legend(d Diagram, o Options) []legendEntry {
	var list []legendEntry
	add := func(use bool, word string, sample func(*canvas, ink.Point)) {
		if use {
			list = append(list, legendEntry{word, sample})
		}
	}
	node := func(f func(Node) bool) bool {
		for _, n := range d.Nodes {
			if f(n) {
				return true
			}
		}
		return false
	}
	add(node(func(n Node) bool { return n.Role == Source }), "source", sampleShape(Node{Role: Source}))
	add(node(func(n Node) bool { return n.Role == Symptom }), "symptom", sampleShape(Node{Role: Symptom}))
	plain := func(s Shape) bool {
		return node(func(n Node) bool { return n.Shape == s && n.Role == Plain })
	}
	add(plain(Part), "part", sampleShape(Node{}))
	add(plain(Net), "net", sampleWire)
	add(plain(Fact), "condition", sampleShape(Node{Shape: Fact}))
	add(node(func(n Node) bool { return n.Single }), "single point of failure", sampleShape(Node{Single: true}))
	add(node(func(n Node) bool { return n.Mark != "" }), "test point", sampleMark(""))
	if !o.Blank {
		add(node(func(n Node) bool { return len(n.Points) > 0 }), "numbers: points of the checklist (walkback probe)", sampleMark("1"))
		for k := NotProbed; int(k) < len(knowledgeStyles); k++ {
			// An outline like any other needs no explanation while there is no other.
			known := node(func(n Node) bool { return n.Knowledge != NotProbed })
			used := node(func(n Node) bool { return n.Knowledge == k })
			add(known && used, styleOfKnowledge(k).legend, sampleKnowledge(k))
		}
	}
	return append(list, edgeLegend(d)...)
}

func edgeLegend(d Diagram) []legendEntry {
	var list []legendEntry
	for class := Power; int(class) < len(classStyles); class++ {
		for _, e := range d.Edges {
			if e.Class == class {
				list = append(list, legendEntry{styleOf(class).legend, sampleEdge(styleOf(class))})
				break
			}
		}
	}
	faded := false
	for _, n := range d.Nodes {
		faded = faded || n.Faded
	}
	for _, e := range d.Edges {
		faded = faded || e.Faded
	}
	if faded {
		st := styleOf(Data)
		st.line.Colour = ink.FadedLine
		list = append(list, legendEntry{"grey: not on the path", sampleEdge(st)})
	}
	return list
}

func sampleShape(n Node) func(*canvas, ink.Point) {
	return func(c *canvas, at ink.Point) {
		b := placedNode{nodeBox{Node: n, width: 30, height: 15}, ink.Pt(at.X+15, at.Y)}
		if n.Role == Symptom || n.Role == Source || n.Shape == Fact {
			b.height = 19
			b.width = 32
		}
		p := b.outlinePaint()
		c.shape(&b, 0).Draw(p)
		if n.Single {
			c.shape(&b, 3.2).Draw(ink.Paint{Line: ink.Solid(p.Line.Colour, 1)})
		}
	}
}

func sampleWire(c *canvas, at ink.Point) {
	c.Line(at, ink.Pt(at.X+30, at.Y), ink.Solid(ink.Black, 4.4))
}

func sampleMark(step string) func(*canvas, ink.Point) {
	return func(c *canvas, at ink.Point) {
		b := placedNode{nodeBox: nodeBox{step: step}}
		c.drawMark(&b, ink.Pt(at.X+20, at.Y))
	}
}

func sampleKnowledge(k Knowledge) func(*canvas, ink.Point) {
	return func(c *canvas, at ink.Point) {
		st := styleOfKnowledge(k)
		c.Rect(ink.Box{At: ink.Pt(at.X+1, at.Y-7.5), Width: 28, Height: 15}, ink.Paint{Fill: st.fill, Line: st.outline})
		c.Icon(st.icon, ink.Pt(at.X+11, at.Y-4), badgeIcon, ink.Solid(ink.Black, 1.5))
	}
}

func sampleEdge(st classStyle) func(*canvas, ink.Point) {
	return func(c *canvas, at ink.Point) {
		tip := ink.Pt(at.X+32, at.Y)
		base := ink.Pt(tip.X-st.length, at.Y)
		c.Line(at, base, st.line)
		c.head(base, tip, st)
	}
}

// drawLegend fills rows from left to right and returns the height used. With
// a nil canvas it only measures.
func drawLegend(c *canvas, entries []legendEntry, at ink.Point, width float64) float64 {
	x, row := 0.0, 0
	for _, e := range entries {
		w := legendSample + 4 + textType.Width(e.word) + legendGap
		if x > 0 && x+w-legendGap > width {
			x, row = 0, row+1
		}
		if c != nil {
			mid := ink.Pt(at.X+x, at.Y+(float64(row)+0.5)*legendRow)
			e.sample(c, mid)
			c.Text(e.word, ink.Pt(mid.X+legendSample+4, mid.Y+textType.Size*0.36), textType, ink.Black, ink.Start)
		}
		x += w
	}
	if len(entries) == 0 {
		return 0
	}
	return float64(row+1) * legendRow
}
