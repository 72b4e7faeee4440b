package ink

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"image/color"
	"image/png"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func drawn(c *Canvas) string {
	var w svg
	w.things(c.list)
	return w.String()
}

func TestCanvasScalesAndMovesAllOfIt(t *testing.T) {
	c := &Canvas{Scale: 2, Move: Pt(10, 20)}
	c.Line(Pt(1, 2), Pt(3, 4), Dashed(Black, 1.5, "3 2.4"))
	c.Rect(Box{At: Pt(1, 1), Width: 5, Height: 6, Round: 2}, Paint{Fill: White})
	c.Circle(Pt(0, 0), 3, Paint{Line: Solid(Blue, 1)})
	c.Path().Polygon(Pt(0, 0), Pt(1, 0), Pt(0, 1)).Draw(Paint{Fill: Green})
	c.Icon("M1 5L9 5Z", Pt(0, 0), 10, Solid(Black, 1))
	want := `<path d="M12 24L16 28" fill="none" stroke="#1a1a1a" stroke-width="3" stroke-dasharray="6 4.8"/>
<rect x="12" y="22" width="10" height="12" rx="4" ry="4" fill="#ffffff"/>
<circle cx="10" cy="20" r="6" fill="none" stroke="#0072b2" stroke-width="2"/>
<path d="M10 20L12 20L10 22Z" fill="#009e73"/>
<path d="M12 30L28 30Z" fill="none" stroke="#1a1a1a" stroke-width="2"/>
`
	if got := drawn(c); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	var zero Canvas
	zero.Line(Pt(1, 2), Pt(3, 4), Solid(Black, 1))
	if got := drawn(&zero); !strings.HasPrefix(got, `<path d="M1 2L3 4"`) {
		t.Errorf("the zero canvas draws %s", got)
	}
}

func TestTextEndsWhereItIsTold(t *testing.T) {
	place := regexp.MustCompile(`translate\((-?[\d.]+) (-?[\d.]+)\)`)
	at := func(a Align) float64 {
		var c Canvas
		c.Text("T3 200 ms", Pt(100, 50), Bold(12), Black, a)
		m := place.FindStringSubmatch(drawn(&c))
		if m == nil || m[2] != "50" {
			t.Fatalf("%.80s", drawn(&c))
		}
		x, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	w := Bold(12).Width("T3 200 ms")
	for a, want := range map[Align]float64{Start: 100, Middle: 100 - w/2, End: 100 - w} {
		if got := at(a); math.Abs(got-want) > 0.01 {
			t.Errorf("alignment %d begins at %g, want %g", a, got, want)
		}
	}
	var c Canvas
	c.Text(" \t", Pt(0, 0), Regular(10), Black, Start)
	if drawn(&c) != "" {
		t.Error("a blank is drawn")
	}
}

func TestTextFitsAndWraps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.String().Draw(t, "text")
		face := Regular(rapid.Float64Range(5, 30).Draw(t, "size"))
		limit := rapid.Float64Range(face.Width("…"), 400).Draw(t, "limit")
		if w := face.Width(face.Fit(s, limit)); w > limit+1e-9 {
			t.Fatalf("%g is wider than %g", w, limit)
		}
		lines := face.Wrap(s, limit, 3)
		if len(lines) > 3 {
			t.Fatalf("%d lines", len(lines))
		}
		for _, l := range lines {
			if w := face.Width(l); w > limit+1e-9 {
				t.Fatalf("line %q is %g wide, limit %g", l, w, limit)
			}
		}
	})
}

// Whatever the title is, the file is XML, and says it.
func TestPictureIsXML(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		title := rapid.String().Draw(t, "title")
		var c Canvas
		c.Begin("x", Clean(title))
		c.Text(title, Pt(10, 20), Regular(9), Black, Start)
		c.End()
		var got struct {
			Title string `xml:"title"`
		}
		if err := xml.Unmarshal(c.Picture(title, title, Sheet(297, 210)).SVG, &got); err != nil {
			t.Fatal(err)
		}
		if got.Title != Clean(title) {
			t.Fatalf("%q, want %q", got.Title, Clean(title))
		}
	})
}

func TestPNGShowsWhatWasDrawn(t *testing.T) {
	var c Canvas
	c.Rect(Box{At: Pt(10, 10), Width: 20, Height: 20}, Paint{Fill: Vermillion})
	pic := c.Picture("box", "", Free(100, 50))
	var b bytes.Buffer
	if err := pic.PNG(t.Context(), &b, 192); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	if size := img.Bounds().Size(); size.X != 200 || size.Y != 100 {
		t.Errorf("%v pixels", size)
	}
	for _, tt := range []struct {
		x, y int
		want color.RGBA
	}{{40, 40, color.RGBA{0xd5, 0x5e, 0, 0xff}}, {10, 10, color.RGBA{0xff, 0xff, 0xff, 0xff}}, {70, 40, color.RGBA{0xff, 0xff, 0xff, 0xff}}} {
		if got := color.RGBAModel.Convert(img.At(tt.x, tt.y)); got != tt.want {
			t.Errorf("pixel %d, %d is %v, want %v", tt.x, tt.y, got, tt.want)
		}
	}
}

func TestPNGRefusesWhatCannotBeDrawn(t *testing.T) {
	var c Canvas
	pic := c.Picture("", "", Sheet(297, 210))
	for _, dpi := range []int{-1, 1201} {
		if err := pic.PNG(t.Context(), io.Discard, dpi); err == nil {
			t.Errorf("%d dpi accepted", dpi)
		}
	}
	if err := c.Picture("", "", Sheet(2970, 2100)).PNG(t.Context(), io.Discard, 1200); err == nil {
		t.Error("a picture of gigabytes accepted")
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := pic.PNG(ctx, io.Discard, 50); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
