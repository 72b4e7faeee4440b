package ink

import (
	"context"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// pointsPerUnit is how many of PDF's points, 72 to the inch, make a user unit, 96 to the inch.
const pointsPerUnit = 72.0 / 96

// PDF writes the picture as one page of lines, curves and text that can be searched; the fonts are in the file. Equal
// pictures make equal files.
func (p Picture) PDF(ctx context.Context, w io.Writer) error {
	const k = pointsPerUnit
	size := fpdf.SizeType{Wd: p.Page.Width * k, Ht: p.Page.Height * k}
	d := sheet{fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "pt", Size: size})}
	d.SetCatalogSort(true)
	epoch := time.Unix(0, 0).UTC()
	d.SetCreationDate(epoch)
	d.SetModificationDate(epoch)
	d.SetProducer("walkback", true)
	d.SetTitle(p.title, true)
	d.SetSubject(p.desc, true)
	d.SetAutoPageBreak(false, 0)
	d.SetMargins(0, 0, 0)
	d.AddUTF8FontFromBytes("go", "", goregular.TTF)
	d.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	d.AddPageFormat("P", size)
	d.SetLineJoinStyle("round")
	for _, thing := range p.list {
		switch t := thing.(type) {
		case figure:
			d.figure(t)
		case words:
			d.words(t)
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return d.Output(w)
}

// sheet draws the list on a page of PDF.
type sheet struct{ *fpdf.Fpdf }

func (d sheet) figure(f figure) {
	const k = pointsPerUnit
	style := ""
	if f.Fill != "" {
		c := parseColour(f.Fill)
		d.SetFillColor(int(c.R), int(c.G), int(c.B))
		style = "F"
	}
	if f.Line.Width > 0 {
		c := parseColour(f.Line.Colour)
		d.SetDrawColor(int(c.R), int(c.G), int(c.B))
		d.SetLineWidth(f.Line.Width * k)
		dashes := make([]float64, len(f.dashes))
		for i, v := range f.dashes {
			dashes[i] = v * k
		}
		d.SetDashPattern(dashes, 0)
		style += "D"
	}
	switch {
	case style == "":
	case f.box != nil && f.box.Round > 0:
		d.RoundedRect(f.box.At.X*k, f.box.At.Y*k, f.box.Width*k, f.box.Height*k, f.box.Round*k, "1234", style)
	case f.box != nil:
		d.Rect(f.box.At.X*k, f.box.At.Y*k, f.box.Width*k, f.box.Height*k, style)
	case f.radius > 0:
		d.Circle(f.centre.X*k, f.centre.Y*k, f.radius*k, style)
	default:
		d.path(f.path, style)
	}
}

func (d sheet) path(list []move, style string) {
	const k = pointsPerUnit
	for _, m := range list {
		p := m.points
		switch m.cmd {
		case 'M':
			d.MoveTo(p[0].X*k, p[0].Y*k)
		case 'L':
			d.LineTo(p[0].X*k, p[0].Y*k)
		case 'Q':
			d.CurveTo(p[0].X*k, p[0].Y*k, p[1].X*k, p[1].Y*k)
		case 'C':
			d.CurveBezierCubicTo(p[0].X*k, p[0].Y*k, p[1].X*k, p[1].Y*k, p[2].X*k, p[2].Y*k)
		case 'Z':
			d.ClosePath()
		}
	}
	d.DrawPath(style)
}

// words writes a text in its font, or as outlines where the font lacks one of its characters.
func (d sheet) words(t words) {
	const k = pointsPerUnit
	c := parseColour(t.colour)
	for g := range t.face.font().glyphsOf(t.text) {
		if g.missing {
			d.SetFillColor(int(c.R), int(c.G), int(c.B))
			d.path(t.outlines(), "F")
			return
		}
	}
	style := ""
	if t.face.bold {
		style = "B"
	}
	d.SetTextColor(int(c.R), int(c.G), int(c.B))
	d.SetFont("go", style, t.face.Size*k)
	d.Text(t.at.X*k, t.at.Y*k, t.text)
}
