package ink

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// svg writes the list as SVG elements. No library does: none that was found writes groups with a title, which viewers
// show on hovering and screen readers read out.
type svg struct{ bytes.Buffer }

// num appends a number with two decimals at most, a hundredth of a pixel.
func num(b []byte, v float64) []byte {
	v = math.Round(v*100) / 100
	if v == 0 {
		v = 0 // no minus sign
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

func (w *svg) number(v float64) { w.Write(num(w.AvailableBuffer(), v)) }

func (w *svg) attr(name string, v float64) {
	w.WriteString(" " + name + `="`)
	w.number(v)
	w.WriteString(`"`)
}

// picture writes a whole file, on a white ground.
func (w *svg) picture(list []any, title, desc string, p Page) {
	w.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	w.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" ` + p.size)
	fmt.Fprintf(w, ` viewBox="0 0 %.2f %.2f" stroke-linejoin="round">`+"\n", p.Width, p.Height)
	w.WriteString("<title>" + escape(Clean(title)) + "</title>\n<desc>" + escape(Clean(desc)) + "</desc>\n")
	fmt.Fprintf(w, `<rect x="0" y="0" width="%.2f" height="%.2f" fill="#ffffff"/>`+"\n", p.Width, p.Height)
	w.things(list)
	w.WriteString("</svg>\n")
}

func (w *svg) things(list []any) {
	for _, thing := range list {
		switch t := thing.(type) {
		case open:
			w.WriteString(`<g class="` + t.class + `"><title>` + escape(t.title) + "</title>\n")
		case end:
			w.WriteString("</g>\n")
		case figure:
			w.figure(t)
		case words:
			w.words(t)
		}
	}
}

func (w *svg) figure(f figure) {
	switch {
	case f.box != nil:
		w.WriteString("<rect")
		w.attr("x", f.box.At.X)
		w.attr("y", f.box.At.Y)
		w.attr("width", f.box.Width)
		w.attr("height", f.box.Height)
		if f.box.Round > 0 {
			w.attr("rx", f.box.Round)
			w.attr("ry", f.box.Round)
		}
	case f.radius > 0:
		w.WriteString("<circle")
		w.attr("cx", f.centre.X)
		w.attr("cy", f.centre.Y)
		w.attr("r", f.radius)
	default:
		w.WriteString(`<path d="`)
		for _, m := range f.path {
			w.move(m)
		}
		w.WriteString(`"`)
	}
	w.paint(f.Paint)
	w.WriteString("/>\n")
}

func (w *svg) move(m move) {
	b := append(w.AvailableBuffer(), m.cmd)
	for i, q := range m.points {
		if i > 0 {
			b = append(b, ' ')
		}
		b = num(append(num(b, q.X), ' '), q.Y)
	}
	w.Write(b)
}

func (w *svg) paint(p Paint) {
	fill := p.Fill
	if fill == "" {
		fill = "none"
	}
	w.WriteString(` fill="` + fill + `"`)
	if p.Line.Width == 0 {
		return
	}
	w.WriteString(` stroke="` + p.Line.Colour + `"`)
	w.attr("stroke-width", p.Line.Width)
	for i, v := range p.dashes {
		if i == 0 {
			w.WriteString(` stroke-dasharray="`)
		} else {
			w.WriteString(" ")
		}
		w.number(v)
	}
	if len(p.dashes) > 0 {
		w.WriteString(`"`)
	}
}

// words writes a text as one path of outlines, in coarse font units.
func (w *svg) words(t words) {
	w.WriteString(`<path transform="translate(`)
	w.number(t.at.X)
	w.WriteString(" ")
	w.number(t.at.Y)
	w.WriteString(") scale(" + strconv.FormatFloat(t.face.Size*coarse/em, 'g', 5, 64) + `)" fill="` + t.colour + `" d="`)
	x := 0
	for g := range t.face.font().glyphsOf(t.text) {
		if g.path != "" {
			w.WriteString("M" + strconv.Itoa((x+coarse/2)/coarse+g.x) + " " + strconv.Itoa(g.y) + g.path)
		}
		x += g.advance
	}
	w.WriteString("\"/>\n")
}

var xmlEscaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")

// escape makes cleaned text fit for XML content.
func escape(s string) string { return xmlEscaper.Replace(s) }
