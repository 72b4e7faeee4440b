package view

import (
	"bytes"
	"fmt"
	"image"
	_ "image/gif"  // the formats that Decode reads
	_ "image/jpeg" // the same
	_ "image/png"  // the same
	"io"
)

// MaxPixels is the size up to which pictures are read.
const MaxPixels = 64_000_000

// Decode reads a PNG, JPEG or GIF. The size is looked at before any pixel is read.
func Decode(r io.Reader) (image.Image, error) {
	var head bytes.Buffer
	c, _, err := image.DecodeConfig(io.TeeReader(r, &head))
	if err != nil {
		return nil, fmt.Errorf("read picture: %w; expected PNG, JPEG or GIF", err)
	}
	if c.Width <= 0 || c.Height <= 0 {
		return nil, fmt.Errorf("read picture: it is %d by %d pixels", c.Width, c.Height)
	}
	if c.Width > MaxPixels/c.Height {
		return nil, fmt.Errorf("read picture: %d by %d pixels are too many, expected at most %d million", c.Width, c.Height, MaxPixels/1_000_000)
	}
	img, kind, err := image.Decode(io.MultiReader(&head, r))
	if err != nil {
		return nil, fmt.Errorf("read picture: %s of %d by %d pixels: %w", kind, c.Width, c.Height, err)
	}
	return img, nil
}
