package draw

import "math"

// drawEdge draws a curve with its arrow head.
func (c *canvas) drawEdge(e *placedEdge) {
	if len(e.curve) == 0 {
		return
	}
	st := styleOf(e.Class)
	if e.Faded {
		st.line.colour = fadedLine
	}
	c.begin("edge", e.title)
	pieces := e.pieces
	if pieces == nil {
		pieces = [][]point{e.curve}
	}
	p := c.path()
	for _, curve := range pieces {
		p.put('M', curve[0])
		for i := 1; i+2 < len(curve); i += 3 {
			p.put('C', curve[i:i+3]...)
		}
	}
	p.draw(paint{line: st.line})
	last := pieces[len(pieces)-1]
	c.head(last[len(last)-1], e.tip, st)
	c.end()
}

// head draws an arrow head from the end of the line to its tip.
func (c *canvas) head(base, tip point, st classStyle) {
	dx, dy := tip.x-base.x, tip.y-base.y
	length := math.Hypot(dx, dy)
	if length < 0.5 {
		return
	}
	dx, dy = dx/length, dy/length
	half := st.length * 0.42
	left := point{base.x - dy*half, base.y + dx*half}
	right := point{base.x + dy*half, base.y - dx*half}
	solid := stroke{st.line.colour, 1.2, ""}
	switch st.head {
	case filledHead:
		c.path().polygon(left, tip, right).draw(paint{fill: st.line.colour})
	case hollowHead:
		c.path().polygon(left, tip, right).draw(paint{white, solid})
	case openHead:
		c.path().put('M', base).put('L', tip).put('M', left).put('L', tip).put('L', right).draw(paint{line: solid})
	}
}

// drawEdgeLabel writes the label over a white ground, so that no line that
// passes behind it strikes it through.
func (c *canvas) drawEdgeLabel(e *placedEdge) {
	if e.label == "" {
		return
	}
	colour := softInk
	if e.Faded {
		colour = fadedInk
	}
	w, h := smallType.width(e.label)+4, smallType.lineHeight()+1
	c.rect(point{e.labelAt.x - w/2, e.labelAt.y - h/2}, w, h, 0, paint{fill: white})
	c.text(e.label, point{e.labelAt.x, e.labelAt.y + smallType.size*0.36}, smallType, colour, middle)
}
