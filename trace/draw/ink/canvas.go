package ink

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// Canvas collects SVG elements; the zero value draws in user units. It scales
// and moves coordinates itself instead of by a transform: a stroke's width under
// a transform is not drawn right by every rasteriser, ours among them.
type Canvas struct {
	Scale float64 // 0 stands for 1
	Move  Point   // of the origin, not scaled
	buf   bytes.Buffer
}

func (c *Canvas) scale() float64 {
	if c.Scale == 0 {
		return 1
	}
	return c.Scale
}

// on returns where a point of the drawing lies on the page.
func (c *Canvas) on(p Point) Point {
	return Point{c.Move.X + p.X*c.scale(), c.Move.Y + p.Y*c.scale()}
}

// num writes a number with two decimals at most, a hundredth of a pixel.
func num(b []byte, v float64) []byte {
	v = math.Round(v*100) / 100
	if v == 0 {
		v = 0 // no minus sign
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

func (c *Canvas) raw(s string) { c.buf.WriteString(s) }

func (c *Canvas) number(v float64) { c.buf.Write(num(c.buf.AvailableBuffer(), v)) }

func (c *Canvas) attr(name string, v float64) {
	c.raw(" " + name + `="`)
	c.number(v)
	c.raw(`"`)
}

// Begin opens a group with a title, which viewers show on hovering.
func (c *Canvas) Begin(class, title string) {
	c.raw(`<g class="` + class + `"><title>` + escape(title) + "</title>\n")
}

// End closes the group.
func (c *Canvas) End() { c.raw("</g>\n") }

func (c *Canvas) paint(p Paint) {
	fill := p.Fill
	if fill == "" {
		fill = "none"
	}
	c.raw(` fill="` + fill + `"`)
	if p.Line.Width == 0 {
		return
	}
	c.raw(` stroke="` + p.Line.Colour + `"`)
	c.attr("stroke-width", p.Line.Width*c.scale())
	if p.Line.Dash != "" {
		var scaled []byte
		for i, f := range strings.Fields(p.Line.Dash) {
			if i > 0 {
				scaled = append(scaled, ' ')
			}
			v, _ := strconv.ParseFloat(f, 64) // dashes are constants of the programs
			scaled = num(scaled, v*c.scale())
		}
		c.raw(` stroke-dasharray="` + string(scaled) + `"`)
	}
}

// Path collects the outline of one shape.
type Path struct {
	c *Canvas
	b []byte
}

// Path begins an outline.
func (c *Canvas) Path() *Path { return &Path{c: c} }

// Put adds one SVG path command with absolute coordinates: M, L, C or Q.
func (p *Path) Put(cmd byte, points ...Point) *Path {
	p.b = append(p.b, cmd)
	for i, q := range points {
		if i > 0 {
			p.b = append(p.b, ' ')
		}
		q = p.c.on(q)
		p.b = num(p.b, q.X)
		p.b = append(p.b, ' ')
		p.b = num(p.b, q.Y)
	}
	return p
}

// Line adds straight lines from the first point to the last.
func (p *Path) Line(points ...Point) *Path {
	for i, q := range points {
		cmd := byte('L')
		if i == 0 {
			cmd = 'M'
		}
		p.Put(cmd, q)
	}
	return p
}

// Polygon adds a closed line through the points.
func (p *Path) Polygon(points ...Point) *Path {
	p.Line(points...)
	p.b = append(p.b, 'Z')
	return p
}

// Draw writes the outline to its canvas.
func (p *Path) Draw(with Paint) {
	p.c.raw(`<path d="` + string(p.b) + `"`)
	p.c.paint(with)
	p.c.raw("/>\n")
}

// Line draws a straight line.
func (c *Canvas) Line(a, b Point, s Stroke) {
	c.Path().Line(a, b).Draw(Paint{Line: s})
}

// Circle draws a circle around a point.
func (c *Canvas) Circle(at Point, r float64, with Paint) {
	at = c.on(at)
	c.raw("<circle")
	c.attr("cx", at.X)
	c.attr("cy", at.Y)
	c.attr("r", r*c.scale())
	c.paint(with)
	c.raw("/>\n")
}

// Box is an upright rectangle given by its top left corner.
type Box struct {
	At            Point
	Width, Height float64
	Round         float64 // radius of the corners
}

// Rect draws a box.
func (c *Canvas) Rect(b Box, with Paint) {
	at := c.on(b.At)
	c.raw("<rect")
	c.attr("x", at.X)
	c.attr("y", at.Y)
	c.attr("width", b.Width*c.scale())
	c.attr("height", b.Height*c.scale())
	if b.Round > 0 {
		c.attr("rx", b.Round*c.scale())
		c.attr("ry", b.Round*c.scale())
	}
	c.paint(with)
	c.raw("/>\n")
}

// Icon draws an SVG path given in a square of 10 by 10. Only M, L and Z may
// occur in it, each number pair separated by a blank.
func (c *Canvas) Icon(d string, at Point, size float64, s Stroke) {
	p := c.Path()
	for len(d) > 0 {
		cmd := d[0]
		d = d[1:]
		if cmd == 'Z' {
			p.b = append(p.b, 'Z')
			continue
		}
		end := strings.IndexAny(d, "MLZ")
		if end < 0 {
			end = len(d)
		}
		xs, ys, _ := strings.Cut(d[:end], " ")
		x, _ := strconv.ParseFloat(xs, 64) // icons are constants of the programs
		y, _ := strconv.ParseFloat(ys, 64)
		p.Put(cmd, Point{at.X + x*size/10, at.Y + y*size/10})
		d = d[end:]
	}
	p.Draw(Paint{Line: s})
}

// Text writes s with its base line at the given point.
func (c *Canvas) Text(s string, at Point, t Typeface, colour string, a Align) {
	if strings.TrimSpace(s) == "" {
		return
	}
	switch a {
	case Middle:
		at.X -= t.Width(s) / 2
	case End:
		at.X -= t.Width(s)
	}
	at = c.on(at)
	c.raw(`<path transform="translate(`)
	c.number(at.X)
	c.raw(" ")
	c.number(at.Y)
	// Both factors are written out: not every reader knows that a lone one
	// stands for both, the one in png.go does not.
	k := strconv.FormatFloat(t.Size*c.scale()*coarse/em, 'g', 5, 64)
	c.raw(") scale(" + k + " " + k + `)" fill="` + colour + `" d="`)
	f, x := t.font(), 0
	for _, r := range s {
		g := f.glyph(r)
		if g.path != "" {
			c.raw("M" + strconv.Itoa((x+coarse/2)/coarse+g.x) + " " + strconv.Itoa(g.y) + g.path)
		}
		x += g.advance
	}
	c.raw("\"/>\n")
}

var xmlEscaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")

// escape makes cleaned text fit for XML content.
func escape(s string) string { return xmlEscaper.Replace(s) }
