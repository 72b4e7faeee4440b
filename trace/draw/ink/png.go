package ink

import (
	"context"
	"fmt"
	"image/color"
	"image/png"
	"io"
	"math"
	"strconv"
	"strings"

	"git.sr.ht/~sbinet/gg"
	"golang.org/x/image/font/sfnt"
)

const (
	defaultDPI = 150
	maxDPI     = 1200
	// maxPixels bounds the memory of a picture to about half a gigabyte.
	maxPixels = 120e6
)

// PNG draws the picture at dpi dots an inch on a white ground; 0 stands for 150.
func (p Picture) PNG(ctx context.Context, w io.Writer, dpi int) error {
	if dpi == 0 {
		dpi = defaultDPI
	}
	if dpi < 1 || dpi > maxDPI {
		return fmt.Errorf("%d dpi is outside 1 to %d", dpi, maxDPI)
	}
	scale := float64(dpi) / 96
	// A sheet of paper is a whole number of pixels but for rounding errors.
	width, height := math.Ceil(p.Page.Width*scale-0.01), math.Ceil(p.Page.Height*scale-0.01)
	if width*height > maxPixels {
		return fmt.Errorf("a picture of %.0f by %.0f pixels is too large; ask for fewer dots an inch", width, height)
	}
	r := raster{gg.NewContext(int(width), int(height)), scale}
	r.SetRGB(1, 1, 1)
	r.Clear()
	for _, thing := range p.list {
		switch t := thing.(type) {
		case figure:
			r.figure(t)
		case words:
			r.words(t)
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return png.Encode(w, r.Image())
}

// raster draws the list on pixels.
type raster struct {
	*gg.Context
	scale float64
}

func (r raster) figure(f figure) {
	k := r.scale
	closed := true
	switch {
	case f.box != nil && f.box.Round > 0:
		r.DrawRoundedRectangle(f.box.At.X*k, f.box.At.Y*k, f.box.Width*k, f.box.Height*k, f.box.Round*k)
	case f.box != nil:
		r.DrawRectangle(f.box.At.X*k, f.box.At.Y*k, f.box.Width*k, f.box.Height*k)
	case f.radius > 0:
		r.DrawCircle(f.centre.X*k, f.centre.Y*k, f.radius*k)
	default:
		for _, m := range f.path {
			r.move(m)
		}
		closed = f.path[len(f.path)-1].cmd == 'Z'
	}
	if f.Fill != "" {
		r.SetColor(parseColour(f.Fill))
		r.FillPreserve()
	}
	if f.Line.Width > 0 {
		r.SetColor(parseColour(f.Line.Colour))
		r.SetLineWidth(f.Line.Width * k)
		dashes := make([]float64, len(f.dashes))
		for i, v := range f.dashes {
			dashes[i] = v * k
		}
		r.SetDash(dashes...)
		// The library joins the end of a closed line to its beginning by a cap, which has to be as round as the joins.
		r.SetLineCapButt()
		if closed && len(dashes) == 0 {
			r.SetLineCapRound()
		}
		r.StrokePreserve()
	}
	r.ClearPath()
}

func (r raster) move(m move) {
	k := r.scale
	p := m.points
	switch m.cmd {
	case 'M':
		r.MoveTo(p[0].X*k, p[0].Y*k)
	case 'L':
		r.LineTo(p[0].X*k, p[0].Y*k)
	case 'Q':
		r.QuadraticTo(p[0].X*k, p[0].Y*k, p[1].X*k, p[1].Y*k)
	case 'C':
		r.CubicTo(p[0].X*k, p[0].Y*k, p[1].X*k, p[1].Y*k, p[2].X*k, p[2].Y*k)
	case 'Z':
		r.ClosePath()
	}
}

func (r raster) words(t words) {
	for _, m := range t.outlines() {
		r.move(m)
	}
	r.SetColor(parseColour(t.colour))
	r.Fill()
}

// outlines is a text as the outlines of its characters.
func (t words) outlines() []move {
	var list []move
	k := t.face.Size / em
	x := 0
	for g := range t.face.font().glyphsOf(t.text) {
		for i, s := range g.segments {
			if s.Op == sfnt.SegmentOpMoveTo && i > 0 {
				list = append(list, move{cmd: 'Z'})
			}
			cmd, n := "MLQC"[s.Op], [...]int{1, 1, 2, 3}[s.Op]
			points := make([]Point, n)
			for j, a := range s.Args[:n] {
				points[j] = Point{t.at.X + (float64(x)+float64(a.X)/64)*k, t.at.Y + float64(a.Y)/64*k}
			}
			list = append(list, move{cmd, points})
		}
		if len(g.segments) > 0 {
			list = append(list, move{cmd: 'Z'})
		}
		x += g.advance
	}
	return list
}

// parseColour reads #rrggbb, as all colours of the programs are written.
func parseColour(s string) color.RGBA {
	v, _ := strconv.ParseUint(strings.TrimPrefix(s, "#"), 16, 24)
	return color.RGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 0xff}
}
