package ink

import (
	"image"
	"image/color"
	stddraw "image/draw"

	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"github.com/srwiley/rasterx"
)

// scanner fills one path at a time on target. The one that comes with rasterx
// sweeps the whole picture for each path, which for a page of text takes
// seconds; this one sweeps the path's own bounding box.
type scanner struct {
	target  *image.RGBA
	source  image.Image
	steps   []step
	extent  fixed.Rectangle26_6
	clip    image.Rectangle
	vectors vector.Rasterizer
}

// step is a line to a point, or a move there.
type step struct {
	to    fixed.Point26_6
	start bool
}

func (s *scanner) add(p fixed.Point26_6, start bool) {
	if len(s.steps) == 0 {
		s.extent = fixed.Rectangle26_6{Min: p, Max: p}
	}
	s.extent.Min.X, s.extent.Min.Y = min(s.extent.Min.X, p.X), min(s.extent.Min.Y, p.Y)
	s.extent.Max.X, s.extent.Max.Y = max(s.extent.Max.X, p.X), max(s.extent.Max.Y, p.Y)
	s.steps = append(s.steps, step{p, start})
}

// Start begins a contour.
func (s *scanner) Start(p fixed.Point26_6) { s.add(p, true) }

// Line goes on with it.
func (s *scanner) Line(p fixed.Point26_6) { s.add(p, false) }

// Draw fills what was collected, by the non-zero winding rule.
func (s *scanner) Draw() {
	area := s.target.Bounds()
	if !s.clip.Empty() {
		area = area.Intersect(s.clip)
	}
	box := image.Rect(s.extent.Min.X.Floor(), s.extent.Min.Y.Floor(), s.extent.Max.X.Ceil(), s.extent.Max.Y.Ceil())
	// Parts outside cannot be left out of the sweep: they decide what is inside.
	if len(s.steps) == 0 || s.source == nil || box.Empty() || !box.Overlaps(area) {
		return
	}
	s.vectors.Reset(box.Dx(), box.Dy())
	for _, st := range s.steps {
		x := float32(st.to.X)/64 - float32(box.Min.X)
		y := float32(st.to.Y)/64 - float32(box.Min.Y)
		if st.start {
			s.vectors.MoveTo(x, y)
		} else {
			s.vectors.LineTo(x, y)
		}
	}
	target := s.target.SubImage(area).(stddraw.Image)
	s.vectors.Draw(target, box, s.source, image.Point{})
}

// Clear forgets what was collected.
func (s *scanner) Clear() { s.steps = s.steps[:0] }

// GetPathExtent is the bounding box of what was collected.
func (s *scanner) GetPathExtent() fixed.Rectangle26_6 { return s.extent }

// SetBounds has nothing to do: the target has its bounds.
func (s *scanner) SetBounds(int, int) {}

// SetColor sets the colour; the pictures drawn here have no gradients.
func (s *scanner) SetColor(c any) {
	if c, ok := c.(color.Color); ok {
		s.source = image.NewUniform(c)
	}
}

// SetWinding has nothing to do: the pictures drawn here need the non-zero rule only.
func (s *scanner) SetWinding(bool) {}

// SetClip limits the drawing to r, if r is not empty.
func (s *scanner) SetClip(r image.Rectangle) { s.clip = r }

var _ rasterx.Scanner = (*scanner)(nil)
