package ink

import (
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

// Picture is a finished drawing: its SVG file, and what its other forms are made from.
type Picture struct {
	SVG  []byte
	Page Page

	title, desc string
	list        []any
}

// Picture makes a whole picture of what is on the canvas, on a white ground.
func (c *Canvas) Picture(title, desc string, p Page) Picture {
	var w svg
	w.picture(c.list, title, desc, p)
	return Picture{w.Bytes(), p, Clean(title), Clean(desc), c.list}
}
