package view

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"slices"
)

// Render sends a picture, whose corner is at 0,0, over a link with faults and returns what
// the panel paints: black where there is no stable picture.
func Render(img *image.RGBA, l Link, faults []Fault) (*image.RGBA, error) {
	w, err := newWire(l, faults)
	if err != nil {
		return nil, err
	}
	b := img.Bounds()
	out := image.NewRGBA(b)
	draw.Draw(out, b, image.NewUniform(color.Black), image.Point{}, draw.Src)
	if w.enable() != syncGood {
		return out, nil
	}
	src, dst := make([]uint32, b.Dx()), make([]uint32, b.Dx())
	for y := range b.Dy() {
		for x := range src {
			q := img.Pix[img.PixOffset(x, y):]
			src[x] = uint32(q[0])<<16 | uint32(q[1])<<8 | uint32(q[2])
		}
		w.line(dst, src, y)
		for x, v := range dst {
			out.SetRGBA(x, y, color.RGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 255})
		}
	}
	return out, nil
}

// notes are the assumptions behind a picture.
func (w *wire) notes(faults []Fault, de enabling) []string {
	var notes []string
	has := func(ks ...Kind) bool {
		return slices.ContainsFunc(faults, func(f Fault) bool { return slices.Contains(ks, f.Kind) })
	}
	switch de {
	case syncDead:
		notes = append(notes, "The panel never sees data enable move, so it has no picture: it stays black or shows a pattern of its own "+
			"(common practice). A panel that counts the sync pulses may roll instead.")
	case syncWild:
		notes = append(notes, "Data enable does not follow the sender: the picture rolls, tears or stays away. That is not drawn.")
	case syncGood:
	}
	if w.link.Channels == 2 && (has(ClockGone) || de != syncGood || w.pairGone(1, 2)) {
		notes = append(notes, "A panel with two channels takes data enable from channel A only (common practice).")
	}
	if has(WrongMap) {
		m := w.link.Map
		notes = append(notes, fmt.Sprintf("The map is the panel's, %s; the sender uses the other one, %s.", m, VESA+JEIDA-m))
	}
	if has(ClockGone) {
		notes = append(notes, "Without its clock pair a channel gives no data at all, so a channel that is missing as a whole (\"missing "+
			"B\") and \"clock gone B.CLK\" are the same fault here.")
	}
	if has(Missing, Stuck, WrongDepth) {
		notes = append(notes, "An open pair reads high at receivers with fail-safe; others may read low, or noise. Try both.")
	}
	if de == syncGood && has(ClockGone, OneChannel) {
		notes = append(notes, "A channel without a clock gives black or white columns, by the receiver (common practice); try =high and =low.")
	}
	if has(Leg) {
		notes = append(notes, "With one conductor open the receiver sees about half the swing: often that works, with specks, or it fails. "+
			"The specks drawn are random with a fixed seed, how many is invented; data enable is drawn as undisturbed.")
	}
	if has(OneChannel) {
		notes = append(notes, "The sender is taken to send whole lines on channel A, so that the left half fills the odd columns.")
	}
	if !w.send.deep || !w.panel.deep {
		notes = append(notes, "Six bits are cut, not dithered; a sender or panel that dithers shows finer steps.")
	}
	return notes
}

func (w *wire) pairGone(c, p int) bool { return w.taps[c][p].constant }
