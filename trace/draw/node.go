package draw

// drawNode draws one node around its centre.
func (c *canvas) drawNode(n *placedNode) {
	c.begin("node", n.title)
	if n.isWire() {
		c.drawWire(n)
	} else {
		c.drawBox(n)
	}
	c.end()
}

// colours of a node's lines and texts, which a faded node does without.
func (n *placedNode) colours() (line, text, soft string) {
	if n.Faded {
		return fadedLine, fadedInk, fadedInk
	}
	return ink, ink, softInk
}

// outlinePaint is the outline that shows what is known about the node.
func (n *placedNode) outlinePaint() paint {
	k := styleOfKnowledge(n.Knowledge)
	p := paint{k.fill, k.outline}
	if n.Faded {
		p.line.colour = fadedLine
		p.fill = white
	}
	return p
}

func (c *canvas) drawWire(n *placedNode) {
	line, text, _ := n.colours()
	left, right := n.at.x-n.width/2, n.at.x+n.width/2
	if n.Knowledge != NotProbed {
		// The outline hugs the text, which need not be as high above the
		// wire as below it.
		c.rect(point{left, n.at.y - n.above - 2}, n.width, n.above+n.below+4, 3, n.outlinePaint())
	}
	if n.Single {
		for _, dy := range []float64{-2.4, 2.4} {
			c.line(point{left, n.at.y + dy}, point{right, n.at.y + dy}, stroke{line, 2.2, ""})
		}
	} else {
		c.line(point{left, n.at.y}, point{right, n.at.y}, stroke{line, 4.4, ""})
	}
	base, y := n.at.y-6, n.at.y+4
	if n.hasMark() {
		r := n.markR()
		at := point{left + padX + r, n.at.y}
		c.drawMark(n, at)
		c.text(n.mark, point{at.x + r + 4, n.at.y + 12}, smallType, text, start)
		base -= r - 3
		y += r - 3
		if n.mark != "" {
			y += 4
		}
	}
	c.text(n.label, point{n.at.x, base}, labelType, text, middle)
	c.drawBlock(n, y)
}

// drawMark draws the circle of a test point with its number in the checklist.
func (c *canvas) drawMark(n *placedNode, at point) {
	line, text, _ := n.colours()
	p := paint{white, stroke{line, 1.5, ""}}
	if n.step != "" && !n.Faded {
		p.fill, text = ink, white
	}
	c.circle(at, n.markR(), p)
	c.text(n.step, point{at.x, at.y + tagType.size*0.36}, tagType, text, middle)
}

func (c *canvas) drawBox(n *placedNode) {
	line, text, soft := n.colours()
	p := n.outlinePaint()
	c.shape(n, 0).draw(p)
	if n.Single {
		c.shape(n, p.line.width/2+2.6).draw(paint{line: stroke{p.line.colour, 1, ""}})
	}
	y := n.at.y - n.height/2 + padY
	if n.tag != "" {
		y += tagType.lineHeight()
		c.text(n.tag, point{n.at.x, y - 2}, tagType, soft, middle)
		y++
	}
	row := max(labelType.lineHeight(), n.markRow())
	width := labelType.width(n.label)
	r := n.markR()
	if n.hasMark() {
		width += 2*r + 5
		if n.mark != "" {
			width += smallType.width(n.mark) + 5
		}
	}
	x := n.at.x - width/2
	if n.hasMark() {
		c.drawMark(n, point{x + r, y + row/2})
		x += 2*r + 5
	}
	base := y + row/2 + labelType.size*0.36
	c.text(n.label, point{x, base}, labelType, text, start)
	if n.mark != "" {
		c.text(n.mark, point{x + labelType.width(n.label) + 5, base}, smallType, text, start)
	}
	y += row
	if n.Shape == Net {
		half := n.width/2 - n.shoulder() - padX
		c.line(point{n.at.x - half, y + 2}, point{n.at.x + half, y + 2}, stroke{line, 3.4, ""})
		y += 5
	}
	c.drawBlock(n, y)
}

// shape is the outline of a box, drawn smaller by inset on every side.
func (c *canvas) shape(n *placedNode, inset float64) *pathTo {
	l, r := n.at.x-n.width/2+inset, n.at.x+n.width/2-inset
	t, b := n.at.y-n.height/2+inset, n.at.y+n.height/2-inset
	y := n.at.y
	switch {
	case n.Role == Source:
		nose := min(13, (b-t)*0.5)
		return c.path().polygon(point{l, t}, point{r - nose, t}, point{r, y}, point{r - nose, b}, point{l, b})
	case n.Role == Symptom:
		cut := min(11, (b-t)*0.3)
		return c.path().polygon(point{l + cut, t}, point{r - cut, t}, point{r, t + cut}, point{r, b - cut},
			point{r - cut, b}, point{l + cut, b}, point{l, b - cut}, point{l, t + cut})
	case n.Shape == Fact:
		nose := min(11, (b-t)*0.5)
		return c.path().polygon(point{l + nose, t}, point{r - nose, t}, point{r, y},
			point{r - nose, b}, point{l + nose, b}, point{l, y})
	}
	return c.path().polygon(point{l, t}, point{r, t}, point{r, b}, point{l, b})
}

// drawBlock writes details, lines to write on and the last row from y downwards.
func (c *canvas) drawBlock(n *placedNode, y float64) {
	_, _, soft := n.colours()
	for _, s := range n.details {
		y += detailType.lineHeight()
		c.text(s, point{n.at.x, y - 3}, detailType, soft, middle)
	}
	for range n.blanks {
		y += writeHeight
		c.line(point{n.at.x - writeLine/2, y - 3}, point{n.at.x + writeLine/2, y - 3}, stroke{"#8c8c8c", 0.8, ""})
	}
	x := n.at.x - n.footWidth()/2
	if n.Single {
		c.text("single", point{x, y + 3 + badgeHeight*0.72}, tagType, soft, start)
		x += tagType.width("single") + 6
	}
	if n.Knowledge != NotProbed {
		c.badge(n.Knowledge, point{x, y + 3}, n.Faded)
	}
}

// badge is a small plate with icon and word, given by its top left corner.
func (c *canvas) badge(k Knowledge, at point, faded bool) {
	st := styleOfKnowledge(k)
	if st.word == "" {
		return
	}
	line, text := stroke{st.outline.colour, 1.2, ""}, ink
	if faded {
		line.colour, text = fadedLine, fadedInk
	}
	c.rect(at, badgeWidth(st.word), badgeHeight, badgeHeight/2, paint{white, line})
	line.width = 1.8
	c.icon(st.icon, point{at.x + 5, at.y + (badgeHeight-badgeIcon)/2}, badgeIcon, stroke{text, 1.5, ""})
	c.text(st.word, point{at.x + badgeIcon + 8, at.y + badgeHeight*0.72}, smallType, text, start)
}
