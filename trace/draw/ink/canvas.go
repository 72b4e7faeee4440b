package ink

import (
	"strconv"
	"strings"
)

// Canvas collects what is drawn; the zero value draws in user units. It scales and moves coordinates itself, so that
// every form of the picture is made from the same numbers.
type Canvas struct {
	Scale float64 // 0 stands for 1
	Move  Point   // of the origin, not scaled
	list  []any   // open, end, figure and words, in page coordinates
}

// open begins a group, end closes it.
type (
	open struct{ class, title string }
	end  struct{}
)

// figure is one shape with its paint: a box, a circle where there is a radius, or a path.
type figure struct {
	path   []move
	box    *Box
	centre Point
	radius float64
	Paint
}

// move is one command of a path: M, L, C, Q or Z.
type move struct {
	cmd    byte
	points []Point
}

// words is a text with its base line beginning at a point.
type words struct {
	at     Point
	text   string
	face   Typeface // its size as on the page
	colour string
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

func (c *Canvas) add(things ...any) { c.list = append(c.list, things...) }

// paint returns p with its stroke as wide as on the page.
func (c *Canvas) paint(p Paint) Paint {
	p.Line.Width *= c.scale()
	p.dashes = nil
	for f := range strings.FieldsSeq(p.Line.Dash) {
		v, _ := strconv.ParseFloat(f, 64) // dashes are constants of the programs
		p.dashes = append(p.dashes, v*c.scale())
	}
	return p
}

// Begin opens a group with a title, which viewers show on hovering.
func (c *Canvas) Begin(class, title string) { c.add(open{class, title}) }

// End closes the group.
func (c *Canvas) End() { c.add(end{}) }

// Path collects the outline of one shape.
type Path struct {
	c    *Canvas
	list []move
}

// Path begins an outline.
func (c *Canvas) Path() *Path { return &Path{c: c} }

// Put adds one path command, named as in SVG: M, L, C or Q, or Z without points.
func (p *Path) Put(cmd byte, points ...Point) *Path {
	placed := make([]Point, len(points))
	for i, q := range points {
		placed[i] = p.c.on(q)
	}
	p.list = append(p.list, move{cmd, placed})
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
func (p *Path) Polygon(points ...Point) *Path { return p.Line(points...).Put('Z') }

// Draw puts the outline on its canvas.
func (p *Path) Draw(with Paint) {
	if len(p.list) > 0 {
		p.c.add(figure{path: p.list, Paint: p.c.paint(with)})
	}
}

// Line draws a straight line.
func (c *Canvas) Line(a, b Point, s Stroke) { c.Path().Line(a, b).Draw(Paint{Line: s}) }

// Circle draws a circle around a point.
func (c *Canvas) Circle(at Point, r float64, with Paint) {
	c.add(figure{centre: c.on(at), radius: r * c.scale(), Paint: c.paint(with)})
}

// Box is an upright rectangle given by its top left corner.
type Box struct {
	At            Point
	Width, Height float64
	Round         float64 // radius of the corners
}

// Rect draws a box.
func (c *Canvas) Rect(b Box, with Paint) {
	k := c.scale()
	c.add(figure{box: &Box{c.on(b.At), b.Width * k, b.Height * k, b.Round * k}, Paint: c.paint(with)})
}

// Icon draws an SVG path given in a square of 10 by 10. Only M, L and Z may occur in it, each number pair separated by
// a blank.
func (c *Canvas) Icon(d string, at Point, size float64, s Stroke) {
	p := c.Path()
	for len(d) > 0 {
		cmd := d[0]
		d = d[1:]
		if cmd == 'Z' {
			p.Put('Z')
			continue
		}
		stop := strings.IndexAny(d, "MLZ")
		if stop < 0 {
			stop = len(d)
		}
		xs, ys, _ := strings.Cut(d[:stop], " ")
		x, _ := strconv.ParseFloat(xs, 64) // icons are constants of the programs
		y, _ := strconv.ParseFloat(ys, 64)
		p.Put(cmd, Point{at.X + x*size/10, at.Y + y*size/10})
		d = d[stop:]
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
	t.Size *= c.scale()
	c.add(words{at, s, t, colour})
}
