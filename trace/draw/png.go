package draw

import (
	"bytes"
	"context"
	"fmt"
	"image"
	stddraw "image/draw"
	"image/png"
	"io"
	"math"

	"github.com/fyne-io/oksvg"
	"github.com/srwiley/rasterx"
)

const (
	defaultDPI = 150
	maxDPI     = 1200
	// maxPixels bounds the memory of a picture to about half a gigabyte.
	maxPixels = 120e6
)

// PNG draws the very picture that SVG writes, at dpi dots an inch on a white
// ground; 0 stands for 150.
func PNG(ctx context.Context, w io.Writer, d Diagram, o Options, dpi int) error {
	if dpi == 0 {
		dpi = defaultDPI
	}
	if dpi < 1 || dpi > maxDPI {
		return fmt.Errorf("draw: %d dpi is outside 1 to %d", dpi, maxDPI)
	}
	pic, err := render(ctx, d, o)
	if err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	img, err := rasterise(pic, float64(dpi)/96)
	if err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	if err := png.Encode(w, img); err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	return nil
}

func rasterise(pic picture, scale float64) (image.Image, error) {
	// A sheet of paper is a whole number of pixels but for rounding errors.
	width, height := math.Ceil(pic.width*scale-0.01), math.Ceil(pic.height*scale-0.01)
	if width*height > maxPixels {
		return nil, fmt.Errorf("a picture of %.0f by %.0f pixels is too large; ask for fewer dots an inch", width, height)
	}
	icon, err := oksvg.ReadIconStream(bytes.NewReader(pic.svg), oksvg.StrictErrorMode)
	if err != nil {
		return nil, fmt.Errorf("read back the SVG: %w", err)
	}
	icon.SetTarget(0, 0, pic.width*scale, pic.height*scale)
	// The library scales outlines, but neither the width of strokes nor their
	// dashes.
	for i := range icon.SVGPaths {
		p := &icon.SVGPaths[i]
		p.LineWidth *= scale
		p.DashOffset *= scale
		dash := make([]float64, len(p.Dash))
		for j, v := range p.Dash {
			dash[j] = v * scale
		}
		p.Dash = dash
	}
	img := image.NewRGBA(image.Rect(0, 0, int(width), int(height)))
	stddraw.Draw(img, img.Bounds(), image.White, image.Point{}, stddraw.Src)
	icon.Draw(rasterx.NewDasher(int(width), int(height), &scanner{target: img}), 1)
	return img, nil
}
