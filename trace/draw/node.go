package draw

import "example.org/walkback/trace/draw/ink"

// drawNode draws one node around its centre.
func (c *canvas) drawNode(n *placedNode) {
	c.Begin("node", n.title)
	if n.isWire() {
		c.drawWire(n)
	} else {
		c.drawBox(n)
	}
	c.End()
}

// colours of a node's lines and texts, which a faded node does without.
func (n *placedNode) colours() (line, text, soft string) {
	if n.Faded {
		return ink.FadedLine, ink.Faded, ink.Faded
	}
	return ink.Black, ink.Black, ink.Soft
}

// outlinePaint is the outline that shows what is known about the node.
func (n *placedNode) outlinePaint() ink.Paint {
	k := styleOfKnowledge(n.Knowledge)
	p := ink.Paint{Fill: k.fill, Line: k.outline}
	if n.Faded {
		p.Line.Colour = ink.FadedLine
		p.Fill = ink.White
	}
	return p
}

func (c *canvas) drawWire(n *placedNode) {
	line, text, _ := n.colours()
	left, right := n.at.X-n.width/2, n.at.X+n.width/2
	if n.Knowledge != NotProbed {
		// The outline hugs the text, which need not be as high above the
		// wire as below it.
		c.Rect(ink.Box{At: ink.Pt(left, n.at.Y-n.above-2), Width: n.width, Height: n.above + n.below + 4, Round: 3}, n.outlinePaint())
	}
	if n.Single {
		for _, dy := range []float64{-2.4, 2.4} {
			c.Line(ink.Pt(left, n.at.Y+dy), ink.Pt(right, n.at.Y+dy), ink.Solid(line, 2.2))
		}
	} else {
		c.Line(ink.Pt(left, n.at.Y), ink.Pt(right, n.at.Y), ink.Solid(line, 4.4))
	}
	base, y := n.at.Y-6, n.at.Y+4
	if n.hasMark() {
		r := n.markR()
		at := ink.Pt(left+padX+r, n.at.Y)
		c.drawMark(n, at)
		c.Text(n.mark, ink.Pt(at.X+r+4, n.at.Y+12), smallType, text, ink.Start)
		base -= r - 3
		y += r - 3
		if n.mark != "" {
			y += 4
		}
	}
	c.Text(n.label, ink.Pt(n.at.X, base), labelType, text, ink.Middle)
	c.drawBlock(n, y)
}

// drawMark draws the circle of a test point with its number in the checklist.
func (c *canvas) drawMark(n *placedNode, at ink.Point) {
	line, text, _ := n.colours()
	p := ink.Paint{Fill: ink.White, Line: ink.Solid(line, 1.5)}
	if n.step != "" && !n.Faded {
		p.Fill, text = ink.Black, ink.White
	}
	c.Circle(at, n.markR(), p)
	c.Text(n.step, ink.Pt(at.X, at.Y+tagType.Size*0.36), tagType, text, ink.Middle)
}

func (c *canvas) drawBox(n *placedNode) {
	line, text, soft := n.colours()
	p := n.outlinePaint()
	c.shape(n, 0).Draw(p)
	if n.Single {
		c.shape(n, p.Line.Width/2+2.6).Draw(ink.Paint{Line: ink.Solid(p.Line.Colour, 1)})
	}
	y := n.at.Y - n.height/2 + padY
	if n.tag != "" {
		y += tagType.LineHeight()
		c.Text(n.tag, ink.Pt(n.at.X, y-2), tagType, soft, ink.Middle)
		y++
	}
	row := max(labelType.LineHeight(), n.markRow())
	width := labelType.Width(n.label)
	r := n.markR()
	if n.hasMark() {
		width += 2*r + 5
		if n.mark != "" {
			width += smallType.Width(n.mark) + 5
		}
	}
	x := n.at.X - width/2
	if n.hasMark() {
		c.drawMark(n, ink.Pt(x+r, y+row/2))
		x += 2*r + 5
	}
	base := y + row/2 + labelType.Size*0.36
	c.Text(n.label, ink.Pt(x, base), labelType, text, ink.Start)
	if n.mark != "" {
		c.Text(n.mark, ink.Pt(x+labelType.Width(n.label)+5, base), smallType, text, ink.Start)
	}
	y += row
	if n.Shape == Net {
		half := n.width/2 - n.shoulder() - padX
		c.Line(ink.Pt(n.at.X-half, y+2), ink.Pt(n.at.X+half, y+2), ink.Solid(line, 3.4))
		y += 5
	}
	c.drawBlock(n, y)
}

// shape is the outline of a box, drawn smaller by inset on every side.
func (c *canvas) shape(n *placedNode, inset float64) *ink.Path {
	l, r := n.at.X-n.width/2+inset, n.at.X+n.width/2-inset
	t, b := n.at.Y-n.height/2+inset, n.at.Y+n.height/2-inset
	y := n.at.Y
	switch {
	case n.Role == Source:
		nose := min(13, (b-t)*0.5)
		return c.Path().Polygon(ink.Pt(l, t), ink.Pt(r-nose, t), ink.Pt(r, y), ink.Pt(r-nose, b), ink.Pt(l, b))
	case n.Role == Symptom:
		cut := min(11, (b-t)*0.3)
		return c.Path().Polygon(ink.Pt(l+cut, t), ink.Pt(r-cut, t), ink.Pt(r, t+cut), ink.Pt(r, b-cut),
			ink.Pt(r-cut, b), ink.Pt(l+cut, b), ink.Pt(l, b-cut), ink.Pt(l, t+cut))
	case n.Shape == Fact:
		nose := min(11, (b-t)*0.5)
		return c.Path().Polygon(ink.Pt(l+nose, t), ink.Pt(r-nose, t), ink.Pt(r, y),
			ink.Pt(r-nose, b), ink.Pt(l+nose, b), ink.Pt(l, y))
	}
	return c.Path().Polygon(ink.Pt(l, t), ink.Pt(r, t), ink.Pt(r, b), ink.Pt(l, b))
}

// drawBlock writes details, lines to write on and the last row from y downwards.
func (c *canvas) drawBlock(n *placedNode, y float64) {
	_, _, soft := n.colours()
	for _, s := range n.details {
		y += detailType.LineHeight()
		c.Text(s, ink.Pt(n.at.X, y-3), detailType, soft, ink.Middle)
	}
	for range n.blanks {
		y += writeHeight
		c.Line(ink.Pt(n.at.X-writeLine/2, y-3), ink.Pt(n.at.X+writeLine/2, y-3), ink.Solid("#8c8c8c", 0.8))
	}
	x := n.at.X - n.footWidth()/2
	if n.Single {
		c.Text("single", ink.Pt(x, y+3+badgeHeight*0.72), tagType, soft, ink.Start)
		x += tagType.Width("single") + 6
	}
	if n.Knowledge != NotProbed {
		c.badge(n.Knowledge, ink.Pt(x, y+3), n.Faded)
	}
}

// badge is a small plate with icon and word, given by its top left corner.
func (c *canvas) badge(k Knowledge, at ink.Point, faded bool) {
	st := styleOfKnowledge(k)
	if st.word == "" {
		return
	}
	line, text := ink.Solid(st.outline.Colour, 1.2), ink.Black
	if faded {
		line.Colour, text = ink.FadedLine, ink.Faded
	}
	c.Rect(ink.Box{At: at, Width: badgeWidth(st.word), Height: badgeHeight, Round: badgeHeight / 2}, ink.Paint{Fill: ink.White, Line: line})
	line.Width = 1.8
	c.Icon(st.icon, ink.Pt(at.X+5, at.Y+(badgeHeight-badgeIcon)/2), badgeIcon, ink.Solid(text, 1.5))
	c.Text(st.word, ink.Pt(at.X+badgeIcon+8, at.Y+badgeHeight*0.72), smallType, text, ink.Start)
}
