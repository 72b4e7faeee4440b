package ink

import (
	"iter"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// em is the number of font units to the em in both embedded fonts, in which
// advances are kept. Outlines are kept in units four times as large: at the
// sizes used here that is still less than 1/25 of a pixel, and the files
// become a fifth smaller.
const (
	em     = 2048
	coarse = 4
)

// face is one embedded font. Glyphs are loaded when first used and kept.
type face struct {
	font   *sfnt.Font
	mu     sync.Mutex
	buf    sfnt.Buffer
	glyphs map[rune]glyph
}

type glyph struct {
	advance  int           // font units
	x, y     int           // where the outline starts, coarse units, y down
	path     string        // relative SVG path from there, "" for a blank
	segments sfnt.Segments // of an em of 2048 pixels, y down
	missing  bool
}

// missing stands for every character that the fonts lack: a box that says that
// something is there which could not be drawn.
var missing = func() glyph {
	var frame sfnt.Segments
	for i, p := range [][2]int{{33, 0}, {33, -358}, {267, -358}, {267, 0}, {68, -35}, {232, -35}, {232, -323}, {68, -323}} {
		op := sfnt.SegmentOpLineTo
		if i%4 == 0 {
			op = sfnt.SegmentOpMoveTo
		}
		frame = append(frame, sfnt.Segment{Op: op, Args: [3]fixed.Point26_6{{X: fixed.I(coarse * p[0]), Y: fixed.I(coarse * p[1])}}})
	}
	g := newGlyph(1200, frame)
	g.missing = true
	return g
}()

func newGlyph(advance int, segments sfnt.Segments) glyph {
	g := glyph{advance: advance, segments: segments}
	if len(segments) > 0 {
		g.x, g.y = coarsen(segments[0].Args[0])
		g.path = outline(segments)
	}
	return g
}

func newFace(ttf []byte) func() *face {
	return sync.OnceValue(func() *face {
		f, err := sfnt.Parse(ttf)
		if err != nil {
			// The font is compiled in, so this cannot depend on the user;
			// without a font every character becomes the replacement box.
			f = nil
		}
		return &face{font: f, glyphs: map[rune]glyph{}}
	})
}

var (
	regular = newFace(goregular.TTF)
	bold    = newFace(gobold.TTF)
)

func (f *face) glyph(r rune) glyph {
	f.mu.Lock()
	defer f.mu.Unlock()
	g, ok := f.glyphs[r]
	if !ok {
		g = f.load(r)
		f.glyphs[r] = g
	}
	return g
}

func (f *face) load(r rune) glyph {
	if f.font == nil {
		return missing
	}
	i, err := f.font.GlyphIndex(&f.buf, r)
	if err != nil || i == 0 {
		return missing
	}
	ppem := fixed.I(em)
	advance, err := f.font.GlyphAdvance(&f.buf, i, ppem, font.HintingNone)
	if err != nil {
		return missing
	}
	segments, err := f.font.LoadGlyph(&f.buf, i, ppem, nil)
	if err != nil {
		return missing
	}
	return newGlyph(advance.Round(), slices.Clone(segments))
}

// glyphsOf yields the glyphs of a text in turn.
func (f *face) glyphsOf(s string) iter.Seq[glyph] {
	return func(yield func(glyph) bool) {
		for _, r := range s {
			if !yield(f.glyph(r)) {
				return
			}
		}
	}
}

func coarsen(p fixed.Point26_6) (x, y int) {
	return (p.X / coarse).Round(), (p.Y / coarse).Round()
}

// outline writes relative commands in whole units, which is the shortest form,
// and leaves out the first move.
func outline(segments sfnt.Segments) string {
	var b strings.Builder
	startX, startY := coarsen(segments[0].Args[0])
	x, y := startX, startY
	number := func(n int, first bool) {
		if !first && n >= 0 {
			b.WriteByte(' ')
		}
		b.WriteString(strconv.Itoa(n))
	}
	points := func(cmd byte, args []fixed.Point26_6) {
		b.WriteByte(cmd)
		nx, ny := x, y
		for i, p := range args {
			nx, ny = coarsen(p)
			number(nx-x, i == 0)
			number(ny-y, false)
		}
		x, y = nx, ny
	}
	for i, s := range segments {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if i == 0 {
				continue
			}
			b.WriteByte('z')
			x, y = startX, startY
			points('m', s.Args[:1])
			startX, startY = x, y
		case sfnt.SegmentOpLineTo:
			points('l', s.Args[:1])
		case sfnt.SegmentOpQuadTo:
			points('q', s.Args[:2])
		case sfnt.SegmentOpCubeTo:
			points('c', s.Args[:3])
		}
	}
	b.WriteByte('z')
	return b.String()
}

// Typeface is one of the embedded fonts at a size in user units.
type Typeface struct {
	Size float64
	bold bool
}

// Regular is the plain font at a size.
func Regular(size float64) Typeface { return Typeface{Size: size} }

// Bold is the heavy font at a size.
func Bold(size float64) Typeface { return Typeface{size, true} }

func (t Typeface) font() *face {
	if t.bold {
		return bold()
	}
	return regular()
}

// LineHeight is the distance between base lines.
func (t Typeface) LineHeight() float64 { return t.Size * 1.24 }

// Width is the length of s in user units.
func (t Typeface) Width(s string) float64 {
	f := t.font()
	units := 0
	for _, r := range s {
		units += f.glyph(r).advance
	}
	return float64(units) * t.Size / em
}

// Fit shortens s with an ellipsis until it is no wider than limit.
func (t Typeface) Fit(s string, limit float64) string {
	if t.Width(s) <= limit {
		return s
	}
	runes := []rune(s)
	room := limit - t.Width("…")
	n := 0
	for n < len(runes) && room >= 0 {
		room -= t.Width(string(runes[n]))
		if room >= 0 {
			n++
		}
	}
	return strings.TrimRightFunc(string(runes[:n]), unicode.IsSpace) + "…"
}

// Wrap breaks s at spaces into at most `most` lines of the given width; what
// does not fit ends in an ellipsis. A single long word is shortened, never cut
// in two: half a designator would be another designator.
func (t Typeface) Wrap(s string, limit float64, most int) []string {
	var lines []string
	line := ""
	words := strings.Fields(s)
	for i, word := range words {
		joined := word
		if line != "" {
			joined = line + " " + word
		}
		if line == "" || t.Width(joined) <= limit {
			line = joined
			continue
		}
		if len(lines) == most-1 {
			return append(lines, t.Fit(line+" "+strings.Join(words[i:], " "), limit))
		}
		lines = append(lines, t.Fit(line, limit))
		line = word
	}
	if line != "" {
		lines = append(lines, t.Fit(line, limit))
	}
	return lines
}

// Clean makes s fit for one line of text and for XML: blanks of every kind
// become spaces, and control characters and invalid bytes the replacement
// character U+FFFD, for which the fonts have a sign of its own.
func Clean(s string) string {
	// Longer texts are cut here, before any work is spent on measuring them.
	const most = 2000
	if len(s) > most {
		cut := most
		for cut > 0 && !utf8.RuneStart(s[cut]) {
			cut--
		}
		s = s[:cut] + "…"
	}
	s = strings.ToValidUTF8(s, "\uFFFD")
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), r >= 0xFFFE && r <= 0xFFFF:
			return '\uFFFD'
		}
		return r
	}, s)
}
