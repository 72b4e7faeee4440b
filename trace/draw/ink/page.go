package ink

import (
	"bytes"
	"fmt"
	"strconv"
)

const unitsPerMM = 96 / 25.4

// Page is the size of a picture.
type Page struct {
	Width, Height float64 // user units
	size          string  // attributes of the svg element
}

// Sheet is a sheet of paper, sides in mm.
func Sheet(width, height float64) Page {
	mm := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	return Page{width * unitsPerMM, height * unitsPerMM, `width="` + mm(width) + `mm" height="` + mm(height) + `mm"`}
}

// Free is a page as large as a drawing needs, in user units.
func Free(width, height float64) Page {
	return Page{width, height, fmt.Sprintf(`width="%.0f" height="%.0f"`, width, height)}
}

// Picture is a finished SVG file and the size of its page.
type Picture struct {
	SVG  []byte
	Page Page
}

// Picture makes a whole SVG file of what is on the canvas, on a white ground.
func (c *Canvas) Picture(title, desc string, p Page) Picture {
	var b bytes.Buffer
	b.Grow(c.buf.Len() + 1000 + len(title) + len(desc))
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" ` + p.size)
	fmt.Fprintf(&b, ` viewBox="0 0 %.2f %.2f">`+"\n", p.Width, p.Height)
	b.WriteString("<title>" + escape(Clean(title)) + "</title>\n<desc>" + escape(Clean(desc)) + "</desc>\n")
	fmt.Fprintf(&b, `<rect x="0" y="0" width="%.2f" height="%.2f" fill="#ffffff"/>`+"\n", p.Width, p.Height)
	b.Write(c.buf.Bytes())
	b.WriteString("</svg>\n")
	return Picture{b.Bytes(), p}
}
