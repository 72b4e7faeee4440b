package ink

import (
	"image"
	"image/color"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A picture of few colours stays as it is, pixel by pixel.
func TestFewColoursStay(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 16, 16))
	for i := range 256 {
		img.SetRGBA(i%16, i/16, color.RGBA{uint8(i), uint8(255 - i), 7, 255})
	}
	got := fewColours(img)
	for i := range 256 {
		want := img.RGBAAt(i%16, i/16)
		if c := color.RGBAModel.Convert(got.At(i%16, i/16)); c != want {
			t.Fatalf("pixel %d is %v, want %v", i, c, want)
		}
	}
}

// Of many colours those stay that there is most of, and a rare one becomes the nearest of them.
func TestManyColoursBecomeTheNearest(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 513, 1))
	for i := range 256 {
		c := color.RGBA{uint8(i), 0, 0, 255}
		img.SetRGBA(2*i, 0, c)
		img.SetRGBA(2*i+1, 0, c)
	}
	img.SetRGBA(512, 0, color.RGBA{99, 3, 2, 255})
	got := fewColours(img)
	if len(got.Palette) != 256 {
		t.Errorf("%d colours", len(got.Palette))
	}
	row := func(x int) color.RGBA { return color.RGBAModel.Convert(got.At(x, 0)).(color.RGBA) }
	want := []color.RGBA{{0, 0, 0, 255}, {255, 0, 0, 255}, {99, 0, 0, 255}}
	if diff := cmp.Diff(want, []color.RGBA{row(1), row(511), row(512)}); diff != "" {
		t.Error(diff)
	}
}
