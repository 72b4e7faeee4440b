package ink

import (
	"bytes"
	"compress/zlib"
	"context"
	"errors"
	"io"
	"regexp"
	"strings"
	"testing"
)

// contents returns the content stream of the one page of a PDF, unpacked.
func contents(t *testing.T, file []byte) string {
	t.Helper()
	for _, m := range regexp.MustCompile(`(?s)/Length \d+>>\nstream\n(.*?)\nendstream`).FindAllSubmatch(file, -1) {
		r, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue
		}
		if b, err := io.ReadAll(r); err == nil && bytes.Contains(b, []byte(" w\n")) {
			return string(b)
		}
	}
	t.Fatal("the file has no page")
	return ""
}

func pdf(t *testing.T, p Picture) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := p.PDF(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestPDFHasTheSizeOfThePage(t *testing.T) {
	var c Canvas
	for _, tt := range []struct {
		page Page
		want string // in points of 1/72 inch; ISO 216 gives A4 as 297 mm by 210 mm
	}{
		{Sheet(297, 210), "/MediaBox [0 0 841.89 595.28]"},
		{Sheet(279.4, 215.9), "/MediaBox [0 0 792.00 612.00]"},
		{Free(96, 192), "/MediaBox [0 0 72.00 144.00]"},
	} {
		if file := pdf(t, c.Picture("x", "", tt.page)); !bytes.Contains(file, []byte(tt.want)) {
			t.Errorf("no %s in %s", tt.want, regexp.MustCompile(`/MediaBox[^\n]*`).Find(file))
		}
	}
}

func TestPDFIsDrawnInLinesCurvesAndText(t *testing.T) {
	var c Canvas
	c.Line(Pt(12, 16), Pt(36, 16), Dashed(Blue, 4, "8 4"))
	c.Circle(Pt(40, 40), 8, Paint{Fill: Green})
	c.Path().Put('M', Pt(0, 0)).Put('Q', Pt(4, 0), Pt(4, 4)).Put('Z').Draw(Paint{Line: Solid(Black, 1)})
	c.Text("R 31", Pt(48, 48), Bold(16), Vermillion, Start)
	file := pdf(t, c.Picture("A line", "and more", Free(96, 96)))
	got := contents(t, file)
	// y runs upwards, and three points are four units.
	for _, want := range []string{
		"3.00 w", "[6.00 3.00] 0.00 d", "9.00 60.00 m", "27.00 60.00 l", // the line
		"0.000 0.447 0.698 RG", // #0072b2
		"0.000 0.620 0.451 rg", // #009e73
		" c\n",                 // curves
		"BT 36.00 36.00 Td", "12.00 Tf", "0.835 0.369 0.000 rg",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	if bytes.Contains(file, []byte("/Subtype /Image")) {
		t.Error("there is an image in it")
	}
	if !bytes.Contains(file, []byte("/FontFile2")) || !bytes.Contains(file, []byte("/ToUnicode")) {
		t.Error("the font is not in the file, or the text cannot be searched")
	}
}

// What the font lacks is drawn as a box, as everywhere, and not left to the reader's program.
func TestPDFDrawsWhatTheFontLacks(t *testing.T) {
	var c Canvas
	c.Line(Pt(0, 0), Pt(1, 1), Solid(Black, 1))
	c.Text("日本", Pt(10, 50), Regular(16), Black, Start)
	got := contents(t, pdf(t, c.Picture("", "", Free(96, 96))))
	if strings.Contains(got, "BT") {
		t.Error("it is written as text")
	}
	if n := strings.Count(got, "\nh"); n < 4 {
		t.Errorf("%d closed outlines, want two boxes of two:\n%s", n, got)
	}
}

func TestEqualPicturesMakeEqualPDF(t *testing.T) {
	draw := func() []byte {
		var c Canvas
		c.Text("VBL", Pt(10, 20), Regular(12), Black, Start)
		c.Text("VMAIN", Pt(10, 40), Bold(12), Black, Start)
		c.Line(Pt(0, 0), Pt(1, 1), Solid(Black, 1))
		return pdf(t, c.Picture("x", "y", Sheet(297, 210)))
	}
	first := draw()
	for range 5 {
		if !bytes.Equal(first, draw()) {
			t.Fatal("two files differ")
		}
	}
}

func TestPDFHeedsItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var c Canvas
	if err := c.Picture("", "", Sheet(297, 210)).PDF(ctx, io.Discard); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
