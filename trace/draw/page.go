package draw

import (
	"bytes"
	"fmt"
	"math"
	"strings"
)

const (
	unitsPerMM = 96 / 25.4
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
	if title := clean(d.Title); strings.TrimSpace(title) != "" {
		f.title = titleType.fit(title, width)
		f.head += titleType.lineHeight()
	}
	f.caption = textType.wrap(clean(d.Caption), width, maxLines)
	f.head += float64(len(f.caption)) * textType.lineHeight()
	if f.head > 0 {
		f.head += gap
	}
	if f.keys = drawLegend(nil, f.legend, point{}, width); f.keys > 0 {
		f.foot += gap + f.keys
	}
	for _, n := range d.Notes {
		if lines := textType.wrap(clean(n), width-noteIndent, maxLines); len(lines) > 0 {
			f.notes = append(f.notes, lines)
			f.foot += float64(len(lines))*textType.lineHeight() + 4
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
	f.keys = drawLegend(nil, f.legend, point{}, f.width)
	f.foot += f.keys
}

// compose puts title, drawing, legend and notes on the page and writes the file.
func compose(d Diagram, o Options, l layout) picture {
	pic := picture{width: 297 * unitsPerMM, height: 210 * unitsPerMM}
	size := `width="297mm" height="210mm"`
	switch o.Page {
	case A4:
	case Letter:
		pic = picture{width: 279.4 * unitsPerMM, height: 215.9 * unitsPerMM}
		size = `width="279.4mm" height="215.9mm"`
	default:
		f := newFrame(d, o, max(l.width, minWidth))
		pic = picture{width: math.Ceil(f.width + 2*margin), height: math.Ceil(f.head + l.height + f.foot + 2*margin)}
		size = fmt.Sprintf(`width="%.0f" height="%.0f"`, pic.width, pic.height)
	}
	c := &canvas{scale: 1}
	pic.paintOn(c, d, o, l)
	pic.svg = document(c, d, pic, size)
	return pic
}

func (pic picture) paintOn(c *canvas, d Diagram, o Options, l layout) {
	width, height := pic.width-2*margin, pic.height-2*margin
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

	c.scale, c.move = textScale, point{margin, margin}
	f.drawHead(c)
	c.scale = scale
	c.move = point{
		margin + (width-l.width*scale)/2,
		margin + head + (height-head-foot-l.height*scale)/2,
	}
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
	c.scale, c.move = textScale, point{margin, margin + height - foot}
	f.drawFoot(c)
}

func (f *frame) drawHead(c *canvas) {
	y := 0.0
	if f.title != "" {
		y = titleType.lineHeight()
		c.text(f.title, point{0, y - 5}, titleType, ink, start)
	}
	for _, line := range f.caption {
		y += textType.lineHeight()
		c.text(line, point{0, y - 3}, textType, softInk, start)
	}
}

func (f *frame) drawFoot(c *canvas) {
	y := gap
	if f.keys > 0 {
		c.line(point{0, gap / 2}, point{f.width, gap / 2}, stroke{fadedLine, 0.8, ""})
		c.begin("legend", "Legend")
		drawLegend(c, f.legend, point{0, y}, f.width)
		c.end()
		y += f.keys
	}
	if len(f.notes) == 0 {
		return
	}
	c.line(point{0, y + gap/2}, point{f.width, y + gap/2}, stroke{fadedLine, 0.8, ""})
	y += gap
	for _, note := range f.notes {
		c.begin("caution", "Caution: "+strings.Join(note, " "))
		c.icon(styleOfKnowledge(Suspect).icon, point{1, y + 2.5}, 10.5, stroke{ink, 1.3, ""})
		for _, line := range note {
			y += textType.lineHeight()
			c.text(line, point{noteIndent, y - 3}, textType, ink, start)
		}
		c.end()
		y += 4
	}
}

// document wraps what is on the canvas into a whole SVG file.
func document(c *canvas, d Diagram, pic picture, size string) []byte {
	title, desc := clean(d.Title), clean(d.Caption)
	if strings.TrimSpace(title) == "" {
		title = "Path diagram"
	}
	var b bytes.Buffer
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" ` + size)
	fmt.Fprintf(&b, ` viewBox="0 0 %.2f %.2f">`+"\n", pic.width, pic.height)
	b.WriteString("<title>" + escape(title) + "</title>\n<desc>" + escape(desc) + "</desc>\n")
	fmt.Fprintf(&b, `<rect x="0" y="0" width="%.2f" height="%.2f" fill="#ffffff"/>`+"\n", pic.width, pic.height)
	b.Write(c.buf.Bytes())
	b.WriteString("</svg>\n")
	return b.Bytes()
}
