package view

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"strings"

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

func (p pen) write(x, y int, grey uint8, s string) {
	d := font.Drawer{Dst: p.img, Src: image.NewUniform(color.Gray{grey}), Face: p.face, Dot: fixed.P(x, y)}
	d.DrawString(s)
}

// wrap cuts a text into lines of a width.
func (p pen) wrap(s string, width int) []string {
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
	return append(lines, line)
}

// Sheet paints TestPattern under all faults of single lanes, numbered as in
// NumberedLooks, with a magnified part beside each.
func Sheet(l Link) (*image.RGBA, error) {
	all, err := NumberedLooks(l)
	if err != nil {
		return nil, err
	}
	text, err := newPen(nil, 14)
	if err != nil {
		return nil, err
	}
	lines := 0
	for _, n := range all {
		title, words := text.caption(n)
		lines = max(lines, len(title)+len(words))
	}
	tileHeight := picHeight + lines*lineHeight + 2*margin
	rows := (len(all) + sheetCols - 1) / sheetCols
	out := image.NewRGBA(image.Rect(0, 0, sheetWidth, headHeight+rows*tileHeight+margin))
	draw.Draw(out, out.Rect, image.NewUniform(color.White), image.Point{}, draw.Src)
	head, err := newPen(out, 24)
	if err != nil {
		return nil, err
	}
	text.img = out
	head.write(margin, 34, 0, "LVDS link of "+l.String()+": what each fault looks like")
	text.write(margin, 58, 60, fmt.Sprintf("Right of each picture: %d x %d pixels of it, %d times as large. "+
		"High and low: what the panel reads from an open pair. Equal looks share a number.", zoomCols, zoomRows, zoom))
	for i, n := range all {
		at := image.Pt(margin+i%sheetCols*tileWidth, headHeight+i/sheetCols*tileHeight)
		if err := text.tile(at, l, n); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (p pen) tile(at image.Point, l Link, n Numbered) error {
	pic, err := Render(TestPattern(picWidth, picHeight), l, n.Faults[:min(1, len(n.Faults))])
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
		p.write(at.X+(picWidth-font.MeasureString(p.face, s).Ceil())/2, at.Y+picHeight/2, 170, s)
	}
	y := at.Y + picHeight + lineHeight + 2
	title, words := p.caption(n)
	for i, line := range append(title, words...) {
		grey := uint8(70)
		if i < len(title) {
			grey = 0
		}
		p.write(at.X, y+i*lineHeight, grey, line)
	}
	return nil
}

// caption is what stands under a tile: the faults, and what is seen, cut where it is long.
func (p pen) caption(n Numbered) (title, words []string) {
	title = p.wrap(fmt.Sprintf("%d  %s", n.Number, n.Name()), tileWidth-margin)
	words = p.wrap(n.Look.Text(), tileWidth-margin)
	if most := max(1, capLines-len(title)); len(words) > most {
		words = words[:most]
		words[most-1] += " ..."
	}
	return title, words
}

// Name lists the faults of a tile; those that differ in the level only share a name.
func (n Numbered) Name() string {
	bare := func(f Fault) string { f.Level = Auto; return f.String() }
	names := map[string][]string{}
	var order []string
	if n.Number == 1 {
		order = append(order, "no fault")
	}
	for _, f := range n.Faults {
		if names[bare(f)] == nil {
			order = append(order, bare(f))
		}
		names[bare(f)] = append(names[bare(f)], f.String())
	}
	for i, name := range order {
		if len(names[name]) == 1 {
			order[i] = names[name][0]
		}
	}
	return strings.Join(order, ", ")
}

// magnify shows a part without smoothing: the top of it from the colour bars of
// the test pattern, below that the middle of its fine lines.
func magnify(dst *image.RGBA, at image.Point, src *image.RGBA) {
	for row := range zoomRows {
		for col := range zoomCols {
			x, y := picWidth/8-zoomCols/2+col, picHeight/5+row
			if row >= zoomRows/2 {
				x, y = picWidth/3-zoomCols/2+col, picHeight*7/8+row-zoomRows/2
			}
			r := image.Rect(0, 0, zoom, zoom).Add(at).Add(image.Pt(col*zoom, row*zoom))
			draw.Draw(dst, r, image.NewUniform(src.RGBAAt(x, y)), image.Point{}, draw.Src)
		}
	}
	frame(dst, image.Rect(0, 0, zoomCols*zoom, zoomRows*zoom).Add(at))
}

// frame draws a line of one pixel round a rectangle.
func frame(dst *image.RGBA, r image.Rectangle) {
	c := image.NewUniform(color.Gray{110})
	for _, side := range []image.Rectangle{
		image.Rect(r.Min.X-1, r.Min.Y-1, r.Max.X+1, r.Min.Y), image.Rect(r.Min.X-1, r.Max.Y, r.Max.X+1, r.Max.Y+1),
		image.Rect(r.Min.X-1, r.Min.Y, r.Min.X, r.Max.Y), image.Rect(r.Max.X, r.Min.Y, r.Max.X+1, r.Max.Y),
	} {
		draw.Draw(dst, side, c, image.Point{}, draw.Src)
	}
}
