package view

import (
	"image"
	"image/color"
)

// bar colours of TestPattern, each channel full or none.
func bars() []color.RGBA {
	return []color.RGBA{
		{255, 255, 255, 255}, {255, 255, 0, 255}, {0, 255, 255, 255}, {0, 255, 0, 255},
		{255, 0, 255, 255}, {255, 0, 0, 255}, {0, 0, 255, 255}, {0, 0, 0, 255},
	}
}

// TestPattern is a picture in which every fault shows: from top to bottom colour
// bars; grey in 256 and in 64 steps; ramps of red, green and blue; and lines of one
// pixel, a chequer of one pixel and the colours of skin.
func TestPattern(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, max(w, 0), max(h, 0)))
	for y := range img.Rect.Dy() {
		part := y * 100 / h
		for x := range w {
			img.SetRGBA(x, y, patternAt(x, y, w, part))
		}
	}
	return img
}

// patternAt is one pixel; part is the height in percent.
func patternAt(x, y, w, part int) color.RGBA {
	v := uint8(x * 256 / w)
	switch {
	case part < 35:
		return bars()[x*8/w]
	case part < 45:
		return color.RGBA{v, v, v, 255}
	case part < 55:
		v = uint8(int(v) / 4 * 255 / 63)
		return color.RGBA{v, v, v, 255}
	case part < 62:
		return color.RGBA{v, 0, 0, 255}
	case part < 69:
		return color.RGBA{0, v, 0, 255}
	case part < 76:
		return color.RGBA{0, 0, v, 255}
	}
	switch on := uint8(255); {
	case x < w/3:
		on *= uint8((x + 1) & 1)
		return color.RGBA{on, on, on, 255}
	case x < 2*w/3:
		on *= uint8((x + y) & 1)
		return color.RGBA{on, on, on, 255}
	}
	// Skin: from light to dark across, a little redder downwards.
	across := (x - 2*w/3) * 255 / max(1, w-2*w/3)
	down := (part - 76) * 2
	return color.RGBA{uint8(250 - across*150/255), uint8(222 - across*160/255 - down/2), uint8(196 - across*160/255 - down/2), 255}
}
