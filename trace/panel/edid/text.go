package edid

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"example.org/walkback/trace/panel/mode"

	"example.org/walkback/netlist"
)

// textWidth is the most columns that Text writes in a line.
const textWidth = 100

// Text tells a technician what the panel says of itself. Nothing of it can steer
// a terminal: bytes of strings outside printable ASCII are written as \xNN.
func Text(w io.Writer, e *EDID) error {
	p := page{bufio.NewWriter(w)}
	p.identity(e)
	p.display(e)
	for _, d := range e.Descriptors {
		// A notebook panel has more than text in these two.
		if e.Notebook == nil || d.Slot < 3 {
			p.descriptor(d)
		}
	}
	p.notebook(e.Notebook)
	p.heading("Detailed timings", len(e.Timings))
	for _, t := range e.Timings {
		p.timing(t)
	}
	for _, x := range e.Extensions {
		p.extension(x)
	}
	return p.Flush()
}

// page writes rows of a label and a text.
type page struct{ *bufio.Writer }

// row writes a label in its column and the text beside it, wrapped.
func (p page) row(label, text string) { p.rowAt(0, label, text) }

func (p page) rowAt(indent int, label, text string) {
	const column = 18
	room := textWidth - indent - column
	for i, line := range wrapText(text, room) {
		if i > 0 {
			label = ""
		}
		fmt.Fprintf(p, "%*s%-*s%s\n", indent, "", column, label, line)
	}
}

func (p page) heading(text string, n int) {
	if n > 0 {
		fmt.Fprintf(p, "\n%s\n", text)
	}
}

// wrapText breaks a text at spaces, and in a word that is longer than a line.
func wrapText(text string, room int) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(text) {
		for len(word) > room {
			if line != "" {
				lines = append(lines, line)
				line = ""
			}
			lines = append(lines, word[:room])
			word = word[room:]
		}
		switch {
		case line == "":
			line = word
		case len(line)+1+len(word) > room:
			lines = append(lines, line)
			line = word
		default:
			line += " " + word
		}
	}
	return append(lines, line)
}

func (p page) identity(e *EDID) {
	p.row("panel", fmt.Sprintf("maker %s, product 0x%04X (%d)", e.Maker, e.Product, e.Product))
	if e.Serial != 0 {
		p.row("serial number", strconv.FormatUint(uint64(e.Serial), 10))
	}
	switch {
	case e.ModelYear:
		p.row("model year", strconv.Itoa(e.Year))
	case e.Week > 0:
		p.row("made", fmt.Sprintf("week %d of %d", e.Week, e.Year))
	default:
		p.row("made", strconv.Itoa(e.Year))
	}
	p.row("data", fmt.Sprintf("EDID %d.%d, %d bytes, %s", e.Version, e.Revision, e.Bytes, netlist.Count(e.ExtensionCount, "extension")))
	if e.Surplus > 0 {
		p.row("", fmt.Sprintf("%s behind the announced blocks, not decoded", netlist.Count(e.Surplus, "byte")))
	}
	if e.Truncated {
		p.row("", "CUT OFF: the data ends before the last block does")
	}
	if !e.HeaderOK {
		p.row("", "WRONG HEADER: does not start with 00 FF FF FF FF FF FF 00")
	}
	if !e.ChecksumOK {
		p.row("", "WRONG CHECKSUM in the base block")
	}
}

func (p page) display(e *EDID) {
	input := "analog"
	if e.Digital {
		input = "digital"
		if e.Interface != "" {
			input += ", " + e.Interface
		}
	}
	p.row("input", input)
	if e.BitsPerColour > 0 {
		p.row("depth", fmt.Sprintf("%d bits a colour, %d bits a pixel", e.BitsPerColour, 3*e.BitsPerColour))
	}
	p.size(e)
	if e.Gamma > 0 {
		p.row("gamma", fmt.Sprintf("%.2f", e.Gamma))
	}
	c := e.Colours
	p.row("colours", fmt.Sprintf("red %s, green %s, blue %s, white %s", c.Red, c.Green, c.Blue, c.White))
	if len(e.Features.ColourFormats) > 0 {
		p.row("formats", strings.Join(e.Features.ColourFormats, ", "))
	}
	p.resolutions("established", e.Established)
	p.resolutions("standard", e.Standard)
}

// String is such as (0.3134, 0.3291).
func (p Point) String() string { return fmt.Sprintf("(%.4f, %.4f)", p.X, p.Y) }

// String is such as 1024x768 at 60 Hz.
func (r Resolution) String() string {
	scan := ""
	if r.Interlaced {
		scan = "i"
	}
	return fmt.Sprintf("%dx%d%s at %g Hz", r.Width, r.Height, scan, r.Rate)
}

// size tells the size of the picture: that of the preferred timing, which counts in
// millimetres, where it can be that of the base block, which counts in centimetres.
func (p page) size(e *EDID) {
	const slack = 10 // mm, a step of the base block
	t, _ := e.Preferred()
	inTiming := sensible(t.WidthMM, t.HeightMM)
	inBase := e.WidthMM > 0 && e.HeightMM > 0
	base := fmt.Sprintf("%d x %d mm by the base block, diagonal %.1f inch", e.WidthMM, e.HeightMM, inches(e.WidthMM, e.HeightMM))
	var rows []string
	if inTiming {
		rows = append(rows, fmt.Sprintf("%d x %d mm, diagonal %.1f inch", t.WidthMM, t.HeightMM, inches(t.WidthMM, t.HeightMM)))
	}
	switch {
	case inBase && inTiming && (t.WidthMM > e.WidthMM+slack || t.HeightMM > e.HeightMM+slack):
		// No picture is larger than its display.
		rows = []string{base, fmt.Sprintf("the timing says %d x %d mm, which does not fit", t.WidthMM, t.HeightMM)}
	case inBase && (!inTiming || abs(t.WidthMM-e.WidthMM) >= slack || abs(t.HeightMM-e.HeightMM) >= slack):
		rows = append(rows, base)
	case !inBase && e.Aspect > 0:
		rows = append(rows, fmt.Sprintf("width by height is %.2f by the base block", e.Aspect))
	}
	if t.WidthMM > 0 && t.HeightMM > 0 && !inTiming {
		rows = append(rows, notSensible)
	}
	for i, text := range rows {
		label := ""
		if i == 0 {
			label = "size"
		}
		p.row(label, text)
	}
}

// notSensible stands where a size has all bits set, as bytes of FF read.
const notSensible = "size not told sensibly"

// sensible tells whether a timing gives a size: 0 is none, and all twelve bits of
// either number set is what bytes of FF say.
func sensible(w, h int) bool {
	const ones = 1<<12 - 1 // mm
	return w > 0 && h > 0 && w != ones && h != ones
}

func abs(n int) int { return max(n, -n) }

func inches(w, h int) float64 { return math.Hypot(float64(w), float64(h)) / 25.4 }

func (p page) resolutions(label string, all []Resolution) {
	words := make([]string, len(all))
	for i, r := range all {
		words[i] = r.String()
	}
	if len(words) > 0 {
		p.row(label, strings.Join(words, ", "))
	}
}

func (p page) descriptor(d Descriptor) {
	switch {
	case d.Text != "":
		p.row(d.Name, d.Text)
	case d.Range != nil:
		r := d.Range
		p.row("follows", fmt.Sprintf("%g to %g Hz, lines at %g to %g kHz", r.MinRate, r.MaxRate, r.MinLineRate/1e3, r.MaxLineRate/1e3))
		if r.MaxClock > 0 {
			p.row("", fmt.Sprintf("pixel clock up to %g MHz (%s)", r.MaxClock/1e6, r.Formula))
		}
	case d.Standard != nil:
		p.resolutions("standard", d.Standard)
	case d.White != nil:
		for _, w := range d.White {
			p.row("white point", fmt.Sprintf("%d: %s", w.Index, w.White))
		}
	case d.Tag != tagDummy && !allZero(d.Data):
		p.row("descriptor", fmt.Sprintf("tag 0x%02X, %s: % x", d.Tag, d.Name, []byte(d.Data)))
	}
}

func allZero(b []byte) bool {
	for _, v := range b {
		if v != 0 {
			return false
		}
	}
	return true
}

func (p page) notebook(n *NotebookData) {
	if n == nil {
		return
	}
	p.row("notebook panel", fmt.Sprintf("part %s, maker's part of the computer %s", n.Part, n.PCMakerPart))
	p.row("", fmt.Sprintf("%s of LVDS, self test %s", netlist.Count(n.LVDSChannels, "channel"), presence(n.SelfTest)))
	p.row("", fmt.Sprintf("brightness over SMBus, dark to bright: % x", []byte(n.Brightness)))
}

func (p page) timing(t Timing) {
	notes := []string{}
	switch {
	case sensible(t.WidthMM, t.HeightMM):
		notes = append(notes, fmt.Sprintf("%d x %d mm", t.WidthMM, t.HeightMM))
	case t.WidthMM > 0 && t.HeightMM > 0:
		notes = append(notes, notSensible)
	}
	if t.Preferred {
		notes = append(notes, "preferred")
	}
	if t.Native {
		notes = append(notes, "native")
	}
	if t.Interlaced {
		notes = append(notes, "interlaced, lines of a field")
	}
	if t.Stereo != "" {
		notes = append(notes, t.Stereo)
	}
	if t.Sync != syncSeparate {
		notes = append(notes, t.Sync+" sync")
	}
	name := fmt.Sprintf("%dx%d", t.H.Active, t.V.Active)
	if t.Interlaced {
		name = fmt.Sprintf("%dx%di", t.H.Active, 2*t.V.Active)
	}
	text := fmt.Sprintf("%.3f Hz, pixel clock %.3f MHz, lines at %.3f kHz", t.Rate(), t.Clock/1e6, t.LineRate()/1e3)
	if why := t.Impossible(); why != "" {
		text = fmt.Sprintf("impossible: %s; pixel clock %.3f MHz", why, t.Clock/1e6)
	}
	p.rowAt(2, name, text)
	if len(notes) > 0 {
		p.rowAt(2, "", strings.Join(notes, ", "))
	}
	p.axis("across, pixels", t.H, t.HPos, t.BorderH)
	p.axis("down, lines", t.V, t.VPos, t.BorderV)
}

func (p page) axis(label string, a mode.Axis, positive bool, border int) {
	sign := "-"
	if positive {
		sign = "+"
	}
	text := fmt.Sprintf("%d and %d blank: front %d, sync %d (%s)", a.Active, a.Blank(), a.Front, a.Sync, sign)
	if a.Back < 0 {
		text += fmt.Sprintf(" want %d", a.Front+a.Sync)
	} else {
		text += fmt.Sprintf(", back %d; total %d", a.Back, a.Total())
	}
	if border > 0 {
		text += fmt.Sprintf("; border %d", border)
	}
	p.rowAt(4, label, text)
}

func presence(there bool) string {
	if there {
		return "present"
	}
	return "absent"
}
