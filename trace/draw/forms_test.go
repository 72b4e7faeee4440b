package draw

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"io"
	"testing"
)

func pixels(t *testing.T, d Diagram, o Options, dpi int) image.Image {
	t.Helper()
	var b bytes.Buffer
	if err := PNG(t.Context(), &b, d, o, dpi); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func grey(img image.Image, x, y int) uint8 {
	return color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y
}

func TestPNGHasTheSizeOfThePage(t *testing.T) {
	for _, tt := range []struct {
		page Page
		dpi  int
		want image.Point
	}{
		{A4, 0, image.Pt(1754, 1241)}, // 150 dpi
		{A4, 300, image.Pt(3508, 2481)},
		{Letter, 100, image.Pt(1100, 850)},
	} {
		if got := pixels(t, chain(4), Options{Page: tt.page}, tt.dpi).Bounds().Size(); got != tt.want {
			t.Errorf("page %d at %d dpi: %v, want %v", tt.page, tt.dpi, got, tt.want)
		}
	}
	for _, dpi := range []int{-1, 1201} {
		if err := PNG(t.Context(), io.Discard, Diagram{}, Options{}, dpi); err == nil {
			t.Errorf("%d dpi accepted", dpi)
		}
	}
	if err := PNG(t.Context(), io.Discard, chain(120), Options{}, 1200); err == nil {
		t.Error("a picture of gigabytes accepted")
	}
}

// strip draws two parts joined by one edge and returns the picture with the
// columns between them and the row of the edge.
func strip(t *testing.T, class Class, dpi int) (img image.Image, left, right, row int) {
	t.Helper()
	d := Diagram{
		Nodes: []Node{{ID: "a", Label: "A"}, {ID: "b", Label: "B"}},
		Edges: []Edge{{From: "a", To: "b", Class: class}},
	}
	index, err := check(d)
	if err != nil {
		t.Fatal(err)
	}
	l, err := place(t.Context(), d, []nodeBox{measure(d.Nodes[0], false), measure(d.Nodes[1], false)}, index)
	if err != nil {
		t.Fatal(err)
	}
	scale := float64(dpi) / 96
	offset := margin + (minWidth-l.width)/2
	a := l.nodes[0]
	return pixels(t, d, Options{}, dpi),
		int((offset + a.at.X + a.width/2) * scale),
		int((offset + l.edges[0].curve[3].X) * scale),
		int((margin + a.at.Y) * scale)
}

func TestPNGHasOutlinesStrokesAndDashes(t *testing.T) {
	img, left, right, row := strip(t, Power, 192)
	dark := func(x, y int) bool { return grey(img, x, y) < 100 }
	outline := false
	for x := left - 3; x <= left+3; x++ {
		outline = outline || dark(x, row-10)
	}
	if !outline {
		t.Errorf("no outline of the box near x %d, y %d", left, row-10)
	}
	// The power line is 3.4 units wide, which are 6.8 pixels here.
	thick := 0
	for y := row - 20; y < row+20; y++ {
		if dark((left+right)/2, y) {
			thick++
		}
	}
	if thick < 6 || thick > 8 {
		t.Errorf("the power line is %d pixels thick, want about 7", thick)
	}

	img, left, right, row = strip(t, Enable, 192)
	on, off := 0, 0
	for x := left + 4; x < right; x++ {
		if grey(img, x, row) < 150 {
			on++
		}
		if grey(img, x, row) > 240 {
			off++
		}
	}
	if on < 5 || off < 5 {
		t.Errorf("%d pixels of dashes and %d of gaps, want both", on, off)
	}
}

func TestPNGHasText(t *testing.T) {
	dark := func(d Diagram) (n int) {
		img := pixels(t, d, Options{}, 96)
		for y := range img.Bounds().Dy() {
			for x := range img.Bounds().Dx() {
				if grey(img, x, y) < 128 {
					n++
				}
			}
		}
		return n
	}
	if got := dark(Diagram{}); got != 0 {
		t.Errorf("%d dark pixels in an empty picture", got)
	}
	for _, title := range []string{"Title", "日本"} { // the second as replacement boxes
		if got := dark(Diagram{Title: title}); got < 100 {
			t.Errorf("%d dark pixels in the title %q", got, title)
		}
	}
}
