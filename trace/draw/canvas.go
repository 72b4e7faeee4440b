package draw

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// canvas collects SVG elements. It scales and moves coordinates itself instead
// of by a transform: a stroke's width under a transform is not drawn right by
// every rasteriser, ours among them.
type canvas struct {
	buf   bytes.Buffer
	scale float64
	move  point
}

// num writes a number with two decimals at most, a hundredth of a pixel.
func num(b []byte, v float64) []byte {
	v = math.Round(v*100) / 100
	if v == 0 {
		v = 0 // no minus sign
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

func (c *canvas) raw(s string) { c.buf.WriteString(s) }

func (c *canvas) attr(name string, v float64) {
	c.buf.WriteByte(' ')
	c.buf.WriteString(name)
	c.buf.WriteString(`="`)
	c.buf.Write(num(c.buf.AvailableBuffer(), v))
	c.buf.WriteByte('"')
}

// begin opens a group with a title, which viewers show on hovering.
func (c *canvas) begin(class, title string) {
	c.raw(`<g class="` + class + `"><title>` + escape(title) + "</title>\n")
}

func (c *canvas) end() { c.raw("</g>\n") }

// paint is fill and stroke; an empty fill is none, a zero width no stroke.
type paint struct {
	fill string
	line stroke
}

func (c *canvas) paint(p paint) {
	fill := p.fill
	if fill == "" {
		fill = "none"
	}
	c.raw(` fill="` + fill + `"`)
	if p.line.width == 0 {
		return
	}
	c.raw(` stroke="` + p.line.colour + `"`)
	c.attr("stroke-width", p.line.width*c.scale)
	if p.line.dash != "" {
		var scaled []byte
		for i, f := range strings.Fields(p.line.dash) {
			if i > 0 {
				scaled = append(scaled, ' ')
			}
			v, _ := strconv.ParseFloat(f, 64) // the dashes are constants of style.go
			scaled = num(scaled, v*c.scale)
		}
		c.raw(` stroke-dasharray="` + string(scaled) + `"`)
	}
}

// pathTo builds the data of a path in the canvas's own coordinates.
type pathTo struct {
	c *canvas
	b []byte
}

func (c *canvas) path() *pathTo { return &pathTo{c: c} }

func (p *pathTo) put(cmd byte, points ...point) *pathTo {
	p.b = append(p.b, cmd)
	for i, q := range points {
		if i > 0 {
			p.b = append(p.b, ' ')
		}
		p.b = num(p.b, p.c.move.x+q.x*p.c.scale)
		p.b = append(p.b, ' ')
		p.b = num(p.b, p.c.move.y+q.y*p.c.scale)
	}
	return p
}

func (p *pathTo) polygon(points ...point) *pathTo {
	for i, q := range points {
		cmd := byte('L')
		if i == 0 {
			cmd = 'M'
		}
		p.put(cmd, q)
	}
	p.b = append(p.b, 'Z')
	return p
}

func (p *pathTo) draw(with paint) {
	p.c.raw(`<path d="` + string(p.b) + `"`)
	p.c.paint(with)
	p.c.raw("/>\n")
}

func (c *canvas) line(a, b point, s stroke) {
	c.path().put('M', a).put('L', b).draw(paint{line: s})
}

func (c *canvas) circle(at point, r float64, with paint) {
	c.raw("<circle")
	c.attr("cx", c.move.x+at.x*c.scale)
	c.attr("cy", c.move.y+at.y*c.scale)
	c.attr("r", r*c.scale)
	c.paint(with)
	c.raw("/>\n")
}

// rect draws a box given by its top left corner, rx the radius of its corners.
func (c *canvas) rect(at point, w, h, rx float64, with paint) {
	c.raw("<rect")
	c.attr("x", c.move.x+at.x*c.scale)
	c.attr("y", c.move.y+at.y*c.scale)
	c.attr("width", w*c.scale)
	c.attr("height", h*c.scale)
	if rx > 0 {
		c.attr("rx", rx*c.scale)
		c.attr("ry", rx*c.scale)
	}
	c.paint(with)
	c.raw("/>\n")
}

// icon draws an SVG path given in a square of 10 by 10. Only M, L and Z occur
// in icons, each number pair separated by a blank.
func (c *canvas) icon(d string, at point, size float64, s stroke) {
	p := c.path()
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
		x, _ := strconv.ParseFloat(xs, 64) // the icons are constants of style.go
		y, _ := strconv.ParseFloat(ys, 64)
		p.put(cmd, point{at.x + x*size/10, at.y + y*size/10})
		d = d[end:]
	}
	p.draw(paint{line: s})
}

// align says which point of a text its position names.
type align uint8

const (
	start align = iota
	middle
)

// text writes s with its base line at the given point.
func (c *canvas) text(s string, at point, t typeface, colour string, a align) {
	if strings.TrimSpace(s) == "" {
		return
	}
	if a == middle {
		at.x -= t.width(s) / 2
	}
	c.raw(`<path transform="translate(`)
	c.buf.Write(num(c.buf.AvailableBuffer(), c.move.x+at.x*c.scale))
	c.raw(" ")
	c.buf.Write(num(c.buf.AvailableBuffer(), c.move.y+at.y*c.scale))
	// Both factors are written out: not every reader knows that a lone one
	// stands for both, the one in png.go does not.
	k := strconv.FormatFloat(t.size*c.scale*coarse/em, 'g', 5, 64)
	c.raw(") scale(" + k + " " + k + `)" fill="` + colour + `" d="`)
	f, x := t.face(), 0
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
