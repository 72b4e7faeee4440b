// Package ink draws lines, shapes and text on a page and writes it as SVG, PDF or PNG. The fonts are embedded, so that a
// picture looks the same on a machine that has none.
//
//	var c ink.Canvas
//	c.Line(ink.Pt(0, 0), ink.Pt(90, 0), ink.Solid(ink.Blue, 1.5))
//	c.Text("T3", ink.Pt(45, 12), ink.Bold(10), ink.Black, ink.Middle)
//	pic := c.Picture("A line", "", ink.Free(90, 20))
//
// One user unit is 1/96 inch; y runs downwards.
package ink

// Point is a place on the page, in user units.
type Point struct{ X, Y float64 }

// Pt is short for Point{x, y}.
func Pt(x, y float64) Point { return Point{x, y} }

// Plus returns p moved by q.
func (p Point) Plus(q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }

// Stroke is how a line is drawn, lengths in user units.
type Stroke struct {
	Colour string
	Width  float64
	Dash   string // SVG stroke-dasharray, "" for a solid line
}

// Solid is a stroke without gaps.
func Solid(colour string, width float64) Stroke { return Stroke{Colour: colour, Width: width} }

// Dashed is a stroke with gaps.
func Dashed(colour string, width float64, dash string) Stroke {
	return Stroke{Colour: colour, Width: width, Dash: dash}
}

// Paint is fill and stroke; an empty fill is none, a zero width no stroke.
type Paint struct {
	Fill   string
	Line   Stroke
	dashes []float64 // of the line, as on the page
}

// Align says which point of a text its position names.
type Align uint8

// The alignments.
const (
	Start Align = iota
	Middle
	End
)

// The colours are those of Okabe and Ito ("Color Universal Design", 2008),
// which people with any common colour vision can tell apart. No meaning may
// rest on colour alone: each needs its own stroke, icon or word as well.
const (
	Black      = "#1a1a1a"
	Soft       = "#4d4d4d"
	Faded      = "#767676" // 4.5:1 on white, the least contrast WCAG 2 allows for text
	FadedLine  = "#b3b3b3"
	Green      = "#009e73"
	Vermillion = "#d55e00"
	Orange     = "#e69f00"
	Blue       = "#0072b2"
	Purple     = "#a3507f" // Okabe-Ito's reddish purple, darkened to hold as a thin line
	White      = "#ffffff"
)
