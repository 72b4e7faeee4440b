package ink

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

// PNG draws the very picture of the SVG file at dpi dots an inch; 0 stands for
// 150. The picture must be one that a Canvas made.
func (p Picture) PNG(ctx context.Context, w io.Writer, dpi int) error {
	if dpi == 0 {
		dpi = defaultDPI
	}
	if dpi < 1 || dpi > maxDPI {
		return fmt.Errorf("%d dpi is outside 1 to %d", dpi, maxDPI)
	}
	img, err := p.rasterise(float64(dpi) / 96)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return png.Encode(w, img)
}

func (p Picture) rasterise(scale float64) (image.Image, error) {
	// A sheet of paper is a whole number of pixels but for rounding errors.
	width, height := math.Ceil(p.Page.Width*scale-0.01), math.Ceil(p.Page.Height*scale-0.01)
	if width*height > maxPixels {
		return nil, fmt.Errorf("a picture of %.0f by %.0f pixels is too large; ask for fewer dots an inch", width, height)
	}
	icon, err := oksvg.ReadIconStream(bytes.NewReader(p.SVG), oksvg.StrictErrorMode)
	if err != nil {
		return nil, fmt.Errorf("read back the SVG: %w", err)
	}
	icon.SetTarget(0, 0, p.Page.Width*scale, p.Page.Height*scale)
	// The library scales outlines, but neither the width of strokes nor their
	// dashes.
	for i := range icon.SVGPaths {
		path := &icon.SVGPaths[i]
		path.LineWidth *= scale
		path.DashOffset *= scale
		dash := make([]float64, len(path.Dash))
		for j, v := range path.Dash {
			dash[j] = v * scale
		}
		path.Dash = dash
	}
	img := image.NewRGBA(image.Rect(0, 0, int(width), int(height)))
	stddraw.Draw(img, img.Bounds(), image.White, image.Point{}, stddraw.Src)
	icon.Draw(rasterx.NewDasher(int(width), int(height), &scanner{target: img}), 1)
	return img, nil
}
