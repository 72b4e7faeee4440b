package view

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"slices"
	"strings"

	xdraw "golang.org/x/image/draw"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// The measures of the sheet, in pixels.
const (
	sheetWidth = 1600
	sheetCols  = 4
	margin     = 14
	tileWidth  = (sheetWidth - margin) / sheetCols
	picWidth   = 256
	picHeight  = 160
	zoom       = 9
	zoomCols   = 12
	zoomRows   = 16
	lineHeight = 18
	capLines   = 7 // at most
	headHeight = 74
)

// pen writes on the sheet.
type pen struct {
	img  *image.RGBA
	face font.Face
}

func newPen(img *image.RGBA, points float64) (pen, error) {
	f, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return pen{}, fmt.Errorf("read the Go font: %w", err)
	}
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: points, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		return pen{}, fmt.Errorf("size the Go font: %w", err)
	}
	return pen{img, face}, nil
}

func (p pen) write(x, y int, c color.Color, s string) {
	d := font.Drawer{Dst: p.img, Src: image.NewUniform(c), Face: p.face, Dot: fixed.P(x, y)}
	d.DrawString(s)
}

// wrap cuts a text into lines of a width; what is too much ends in "...".
func (p pen) wrap(s string, width, most int) []string {
	var lines []string
	line := ""
	for _, w := range strings.Fields(s) {
		next := strings.TrimSpace(line + " " + w)
		if line != "" && font.MeasureString(p.face, next).Ceil() > width {
			lines = append(lines, line)
			next = w
		}
		line = next
	}
	lines = append(lines, line)
	if len(lines) > most {
		lines = lines[:max(most, 0)]
		if most > 0 {
			lines[most-1] += " ..."
		}
	}
	return lines
}

// Sheet paints one picture under all faults of single lanes, numbered as in
// NumberedLooks, with a magnified part beside each. A nil picture is TestPattern.
func Sheet(img image.Image, l Link) (*image.RGBA, error) {
	all, err := NumberedLooks(l)
	if err != nil {
		return nil, err
	}
	small := fit(img)
	measure, err := newPen(nil, 14)
	if err != nil {
		return nil, err
	}
	lines := 0
	for _, n := range all {
		lines = max(lines, measure.caption(image.Point{}, n))
	}
	tileHeight := picHeight + lines*lineHeight + 2*margin
	rows := (len(all) + sheetCols - 1) / sheetCols
	out := image.NewRGBA(image.Rect(0, 0, sheetWidth, headHeight+rows*tileHeight+margin))
	draw.Draw(out, out.Rect, image.NewUniform(color.White), image.Point{}, draw.Src)
	head, err := newPen(out, 24)
	if err != nil {
		return nil, err
	}
	text := pen{out, measure.face}
	head.write(margin, 34, color.Black, "LVDS link of "+l.String()+": what each fault looks like")
	text.write(margin, 58, color.Gray{60}, fmt.Sprintf("Right of each picture: %d x %d pixels of it, %d times as large. "+
		"High and low: what the panel reads from an open pair. Equal looks share a number.", zoomCols, zoomRows, zoom))
	for i, n := range all {
		at := image.Pt(margin+i%sheetCols*tileWidth, headHeight+i/sheetCols*tileHeight)
		if err := text.tile(at, small, l, n); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// fit brings a picture to the size of a tile before it is sent, so that one pixel
// of the tile is one pixel of the panel.
func fit(img image.Image) *image.RGBA {
	if img == nil || img.Bounds().Empty() {
		return TestPattern(picWidth, picHeight)
	}
	b := img.Bounds()
	w, h := picWidth, max(1, b.Dy()*picWidth/b.Dx())
	if h > picHeight {
		w, h = max(1, b.Dx()*picHeight/b.Dy()), picHeight
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Rect, image.NewUniform(color.Black), image.Point{}, draw.Src)
	xdraw.CatmullRom.Scale(out, out.Rect, img, b, xdraw.Over, nil)
	return out
}

func (p pen) tile(at image.Point, small *image.RGBA, l Link, n Numbered) error {
	var fs []Fault
	if len(n.Faults) > 0 {
		fs = n.Faults[:1]
	}
	pic, err := Render(small, l, fs)
	if err != nil {
		return err
	}
	frame(p.img, pic.Image.Rect.Add(at))
	draw.Draw(p.img, pic.Image.Rect.Add(at), pic.Image, image.Point{}, draw.Src)
	magnify(p.img, at.Add(image.Pt(picWidth+10, (picHeight-zoomRows*zoom)/2)), pic.Image)
	if pic.Lost {
		s := "no picture"
		if n.Look.Picture == Unstable {
			s = "no stable picture"
		}
		x := (small.Rect.Dx() - font.MeasureString(p.face, s).Ceil()) / 2
		p.write(at.X+x, at.Y+small.Rect.Dy()/2, color.Gray{170}, s)
	}
	p.caption(at.Add(image.Pt(0, picHeight+lineHeight+2)), n)
	return nil
}

// caption writes the words under a tile and returns their number of lines.
func (p pen) caption(at image.Point, n Numbered) int {
	title := p.wrap(fmt.Sprintf("%d  %s", n.Number, n.Name()), tileWidth-margin, 3)
	words := p.wrap(n.Look.Text(), tileWidth-margin, capLines-len(title))
	if p.img == nil {
		return len(title) + len(words)
	}
	for i, line := range append(title, words...) {
		ink := color.Gray{70}
		if i < len(title) {
			ink = color.Gray{0}
		}
		p.write(at.X, at.Y+i*lineHeight, ink, line)
	}
	return len(title) + len(words)
}

// Name lists the faults of a tile; those that differ in the level only share a name.
func (n Numbered) Name() string {
	fs := n.Faults
	var out []string
	if n.Number == 1 {
		out = append(out, "no fault")
	}
	for _, f := range fs {
		bare := f
		bare.Level = Auto
		alike := func(o Fault) bool { o.Level = Auto; return o == bare }
		switch i := slices.IndexFunc(fs, alike); {
		case fs[i] != f: // said already
		case slices.ContainsFunc(fs[i+1:], alike):
			out = append(out, bare.String())
		default:
			out = append(out, f.String())
		}
	}
	return strings.Join(out, ", ")
}

// magnify shows a part without smoothing: the top of it from the colour bars of
// the test pattern, below that the middle of its fine lines.
func magnify(dst *image.RGBA, at image.Point, src *image.RGBA) {
	b := src.Rect
	for row := range zoomRows {
		for col := range zoomCols {
			x, y := b.Dx()/8-zoomCols/2+col, b.Dy()/5+row
			if row >= zoomRows/2 {
				x, y = b.Dx()/3-zoomCols/2+col, b.Dy()*7/8+row-zoomRows/2
			}
			c := src.RGBAAt(max(0, min(x, b.Dx()-1)), max(0, min(y, b.Dy()-1)))
			r := image.Rect(0, 0, zoom, zoom).Add(at).Add(image.Pt(col*zoom, row*zoom))
			draw.Draw(dst, r, image.NewUniform(c), image.Point{}, draw.Src)
		}
	}
	frame(dst, image.Rect(0, 0, zoomCols*zoom, zoomRows*zoom).Add(at))
}

// frame draws a line of one pixel round a rectangle.
func frame(dst *image.RGBA, r image.Rectangle) {
	c := color.RGBA{110, 110, 110, 255}
	for x := r.Min.X - 1; x <= r.Max.X; x++ {
		dst.SetRGBA(x, r.Min.Y-1, c)
		dst.SetRGBA(x, r.Max.Y, c)
	}
	for y := r.Min.Y - 1; y <= r.Max.Y; y++ {
		dst.SetRGBA(r.Min.X-1, y, c)
		dst.SetRGBA(r.Max.X, y, c)
	}
}
