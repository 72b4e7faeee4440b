package draw

import (
	"context"
	"fmt"
	"io"
)

// PNG draws the very picture that SVG writes, at dpi dots an inch on a white
// ground; 0 stands for 150.
func PNG(ctx context.Context, w io.Writer, d Diagram, o Options, dpi int) error {
	pic, err := render(ctx, d, o)
	if err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	if err := pic.PNG(ctx, w, dpi); err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	return nil
}

// PDF writes the very picture that SVG writes as a page of PDF.
func PDF(ctx context.Context, w io.Writer, d Diagram, o Options) error {
	pic, err := render(ctx, d, o)
	if err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	if err := pic.PDF(ctx, w); err != nil {
		return fmt.Errorf("draw: %w", err)
	}
	return nil
}
