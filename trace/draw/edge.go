package draw

import (
	"math"

	"example.org/walkback/trace/draw/ink"
)

// drawEdge draws a curve with its arrow head.
func (c *canvas) drawEdge(e *placedEdge) {
	if len(e.curve) == 0 {
		return
	}
	st := styleOf(e.Class)
	if e.Faded {
		st.line.Colour = ink.FadedLine
	}
	c.Begin("edge", e.title)
	pieces := e.pieces
	if pieces == nil {
		pieces = [][]ink.Point{e.curve}
	}
	p := c.Path()
	for _, curve := range pieces {
		p.Put('M', curve[0])
		for i := 1; i+2 < len(curve); i += 3 {
			p.Put('C', curve[i:i+3]...)
		}
	}
	p.Draw(ink.Paint{Line: st.line})
	last := pieces[len(pieces)-1]
	c.head(last[len(last)-1], e.tip, st)
	c.End()
}

// head draws an arrow head from the end of the line to its tip.
func (c *canvas) head(base, tip ink.Point, st classStyle) {
	dx, dy := tip.X-base.X, tip.Y-base.Y
	length := math.Hypot(dx, dy)
	if length < 0.5 {
		return
	}
	dx, dy = dx/length, dy/length
	half := st.length * 0.42
	left := ink.Pt(base.X-dy*half, base.Y+dx*half)
	right := ink.Pt(base.X+dy*half, base.Y-dx*half)
	solid := ink.Solid(st.line.Colour, 1.2)
	switch st.head {
	case filledHead:
		c.Path().Polygon(left, tip, right).Draw(ink.Paint{Fill: st.line.Colour})
	case hollowHead:
		c.Path().Polygon(left, tip, right).Draw(ink.Paint{Fill: ink.White, Line: solid})
	case openHead:
		c.Path().Put('M', base).Put('L', tip).Put('M', left).Put('L', tip).Put('L', right).Draw(ink.Paint{Line: solid})
	}
}

// drawEdgeLabel writes the label over a white ground, so that no line that
// passes behind it strikes it through.
func (c *canvas) drawEdgeLabel(e *placedEdge) {
	if e.label == "" {
		return
	}
	colour := ink.Soft
	if e.Faded {
		colour = ink.Faded
	}
	w, h := smallType.Width(e.label)+4, smallType.LineHeight()+1
	c.Rect(ink.Box{At: ink.Pt(e.labelAt.X-w/2, e.labelAt.Y-h/2), Width: w, Height: h}, ink.Paint{Fill: ink.White})
	c.Text(e.label, ink.Pt(e.labelAt.X, e.labelAt.Y+smallType.Size*0.36), smallType, colour, ink.Middle)
}
