package draw

import (
	"math"
	"strings"

	"example.org/walkback/trace/draw/ink"
)

const (
	margin     = 30.0  // 8 mm, which every office printer can reach
	gap        = 16.0  // between title, drawing, legend and notes
	minWidth   = 560.0 // of a free page, so that the legend does not become a column
	maxScale   = 1.3
	noteIndent = 18.0
	maxLines   = 60 // of a caption or a note; a limit against nonsense only
)

// frame is the text around the drawing, broken for a given width.
type frame struct {
	width            float64
	title            string
	caption          []string
	legend           []legendEntry
	notes            [][]string
	head, foot, keys float64 // heights, keys being the legend's share of foot
}

func newFrame(d Diagram, o Options, width float64) frame {
	f := frame{width: width, legend: legend(d, o)}
	if title := ink.Clean(d.Title); strings.TrimSpace(title) != "" {
		f.title = titleType.Fit(title, width)
		f.head += titleType.LineHeight()
	}
	f.caption = textType.Wrap(ink.Clean(d.Caption), width, maxLines)
	f.head += float64(len(f.caption)) * textType.LineHeight()
	if f.head > 0 {
		f.head += gap
	}
	if f.keys = drawLegend(nil, f.legend, ink.Point{}, width); f.keys > 0 {
		f.foot += gap + f.keys
	}
	for _, n := range d.Notes {
		if lines := textType.Wrap(ink.Clean(n), width-noteIndent, maxLines); len(lines) > 0 {
			f.notes = append(f.notes, lines)
			f.foot += float64(len(lines))*textType.LineHeight() + 4
		}
	}
	if len(f.notes) > 0 {
		f.foot += gap
	}
	return f
}

// add puts one more entry into the legend.
func (f *frame) add(e legendEntry) {
	f.foot -= f.keys
	f.legend = append(f.legend, e)
	f.keys = drawLegend(nil, f.legend, ink.Point{}, f.width)
	f.foot += f.keys
}

// compose puts title, drawing, legend and notes on the page and writes the file.
func compose(d Diagram, o Options, l layout) ink.Picture {
	var page ink.Page
	switch o.Page {
	case A4:
		page = ink.Sheet(297, 210)
	case Letter:
		page = ink.Sheet(279.4, 215.9)
	default:
		f := newFrame(d, o, max(l.width, minWidth))
		page = ink.Free(math.Ceil(f.width+2*margin), math.Ceil(f.head+l.height+f.foot+2*margin))
	}
	var c canvas
	c.paintOn(page, d, o, l)
	title := d.Title
	if strings.TrimSpace(ink.Clean(title)) == "" {
		title = "Path diagram"
	}
	return c.Picture(title, d.Caption, page)
}

// canvas adds what this package draws to what every canvas can.
type canvas struct{ ink.Canvas }

func (c *canvas) paintOn(page ink.Page, d Diagram, o Options, l layout) {
	width, height := page.Width-2*margin, page.Height-2*margin
	f := newFrame(d, o, width)
	// Notes may ask for more of a fixed page than the drawing can spare: the
	// text around the drawing is then set smaller, broken for a wider line.
	textScale := 1.0
	for o.Page != Free && f.head+f.foot > 0.5*height/textScale && textScale > 0.3 {
		textScale *= 0.9
		f = newFrame(d, o, width/textScale)
	}
	head, foot := f.head*textScale, f.foot*textScale
	scale := 1.0
	if o.Page != Free && l.width > 0 && l.height > 0 {
		l, scale = fit(l, width, height-head-foot)
		if len(l.joins) > 0 {
			f = newFrame(d, o, width/textScale)
			f.add(joinLegend)
			foot = f.foot * textScale
			scale = min(scale, l.scale(width, height-head-foot))
		}
	}

	c.Scale, c.Move = textScale, ink.Pt(margin, margin)
	f.drawHead(c)
	c.Scale = scale
	c.Move = ink.Pt(margin+(width-l.width*scale)/2, margin+head+(height-head-foot-l.height*scale)/2)
	for i := range l.edges {
		c.drawEdge(&l.edges[i])
	}
	for i := range l.nodes {
		c.drawNode(&l.nodes[i])
	}
	for i := range l.edges {
		c.drawEdgeLabel(&l.edges[i])
	}
	for _, j := range l.joins {
		c.drawJoin(j)
	}
	c.Scale, c.Move = textScale, ink.Pt(margin, margin+height-foot)
	f.drawFoot(c)
}

func (f *frame) drawHead(c *canvas) {
	y := 0.0
	if f.title != "" {
		y = titleType.LineHeight()
		c.Text(f.title, ink.Pt(0, y-5), titleType, ink.Black, ink.Start)
	}
	for _, line := range f.caption {
		y += textType.LineHeight()
		c.Text(line, ink.Pt(0, y-3), textType, ink.Soft, ink.Start)
	}
}

func (f *frame) drawFoot(c *canvas) {
	y := gap
	if f.keys > 0 {
		c.Line(ink.Pt(0, gap/2), ink.Pt(f.width, gap/2), ink.Solid(ink.FadedLine, 0.8))
		c.Begin("legend", "Legend")
		drawLegend(c, f.legend, ink.Pt(0, y), f.width)
		c.End()
		y += f.keys
	}
	if len(f.notes) == 0 {
		return
	}
	c.Line(ink.Pt(0, y+gap/2), ink.Pt(f.width, y+gap/2), ink.Solid(ink.FadedLine, 0.8))
	y += gap
	for _, note := range f.notes {
		c.Begin("caution", "Caution: "+strings.Join(note, " "))
		c.Icon(styleOfKnowledge(Suspect).icon, ink.Pt(1, y+2.5), 10.5, ink.Solid(ink.Black, 1.3))
		for _, line := range note {
			y += textType.LineHeight()
			c.Text(line, ink.Pt(noteIndent, y-3), textType, ink.Black, ink.Start)
		}
		c.End()
		y += 4
	}
}
