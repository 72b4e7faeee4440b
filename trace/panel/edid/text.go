package edid

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/mode"
)

// Text tells a technician what the panel says of itself. Nothing of it can steer
// a terminal: bytes of strings outside printable ASCII are written as \xNN.
func Text(w io.Writer, e *EDID) error {
	p := page{say.NewWriter(w)}
	p.identity(e)
	p.display(e)
	for _, d := range e.Descriptors {
		// A notebook panel has more than text in these two.
		if e.Notebook == nil || d.Slot < 3 {
			p.descriptor(d)
		}
	}
	p.notebook(e.Notebook)
	if len(e.Timings) > 0 {
		fmt.Fprintf(p, "\nDetailed timings\n")
	}
	for _, t := range e.Timings {
		p.timing(t)
	}
	for _, x := range e.Extensions {
		p.extension(x)
	}
	return p.Flush()
}

// page writes rows of a label and a text.
type page struct{ *say.Writer }

// row writes a label in its column and the text beside it.
func (p page) row(label, text string) { p.rowAt("", label, text) }

func (p page) rowAt(indent, label, text string) {
	p.Hang(fmt.Sprintf("%s%-18s", indent, label), fmt.Sprintf("%s%-18s", indent, ""), text)
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
	p.row("data", fmt.Sprintf("EDID %d.%d, %d bytes, %s", e.Version, e.Revision, e.Bytes, say.Count(e.ExtensionCount, "extension")))
	if e.Surplus > 0 {
		p.row("", fmt.Sprintf("%s behind the announced blocks, not decoded", say.Count(e.Surplus, "byte")))
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
		input = strings.TrimSuffix("digital, "+e.Interface, ", ")
	}
	p.row("input", input)
	if e.BitsPerColour > 0 {
		p.row("depth", fmt.Sprintf("up to %d bits a colour, %d bits a pixel", e.BitsPerColour, 3*e.BitsPerColour))
	}
	p.size(e)
}

// size tells the size of the picture: that of the preferred timing, which counts in
// millimetres, where it can be that of the base block, which counts in centimetres.
func (p page) size(e *EDID) {
	const slack = 10 // mm, a step of the base block
	t, _ := e.Preferred()
	inTiming := sensible(t.WidthMM, t.HeightMM)
	inBase := e.WidthMM > 0 && e.HeightMM > 0
	base := sizeText(e.WidthMM, e.HeightMM, " by the base block")
	var rows []string
	if inTiming {
		rows = append(rows, sizeText(t.WidthMM, t.HeightMM, ""))
	}
	switch {
	case inBase && inTiming && (t.WidthMM > e.WidthMM+slack || t.HeightMM > e.HeightMM+slack):
		// No picture is larger than its display.
		rows = []string{base, fmt.Sprintf("the timing says %d x %d mm, which does not fit", t.WidthMM, t.HeightMM)}
	case inBase && (!inTiming || max(e.WidthMM-t.WidthMM, t.WidthMM-e.WidthMM, e.HeightMM-t.HeightMM, t.HeightMM-e.HeightMM) >= slack):
		rows = append(rows, base)
	}
	if t.WidthMM > 0 && t.HeightMM > 0 && !inTiming {
		rows = append(rows, notSensible)
	}
	label := "size"
	for _, text := range rows {
		p.row(label, text)
		label = ""
	}
}

func sizeText(w, h int, by string) string {
	return fmt.Sprintf("%d x %d mm%s, diagonal %.1f inch", w, h, by, math.Hypot(float64(w), float64(h))/25.4)
}

// notSensible stands where a size has all bits set, as bytes of FF read.
const notSensible = "size not told sensibly"

// sensible reports whether a timing gives a size: 0 is none, and all twelve bits of
// either number set is what bytes of FF say.
func sensible(w, h int) bool {
	const ones = 1<<12 - 1 // mm
	return w > 0 && h > 0 && w != ones && h != ones
}

func (p page) descriptor(d Descriptor) {
	switch {
	case d.Text != "":
		p.row(d.Name, d.Text)
	case d.Range != nil:
		r := d.Range
		text := fmt.Sprintf("%g to %g Hz, lines at %g to %g kHz", r.MinRate, r.MaxRate, r.MinLineRate/1e3, r.MaxLineRate/1e3)
		if r.MaxClock > 0 {
			text += fmt.Sprintf(", pixel clock up to %g MHz", r.MaxClock/1e6)
		}
		p.row("follows", text)
	}
}

func (p page) notebook(n *NotebookData) {
	if n == nil {
		return
	}
	test := "absent"
	if n.SelfTest {
		test = "present"
	}
	p.row("notebook panel", fmt.Sprintf("part %s, maker's part of the computer %s", n.Part, n.PCMakerPart))
	p.row("", fmt.Sprintf("%s of LVDS, self test %s", say.Count(n.LVDSChannels, "channel"), test))
	p.row("", fmt.Sprintf("brightness over SMBus, dark to bright: % x", []byte(n.Brightness)))
}

func (p page) timing(t Timing) {
	var notes []string
	switch {
	case sensible(t.WidthMM, t.HeightMM):
		notes = append(notes, fmt.Sprintf("%d x %d mm", t.WidthMM, t.HeightMM))
	case t.WidthMM > 0 && t.HeightMM > 0:
		notes = append(notes, notSensible)
	}
	if t.Preferred {
		notes = append(notes, "preferred")
	}
	name := fmt.Sprintf("%dx%d", t.H.Active, t.V.Active)
	if t.Interlaced {
		name = fmt.Sprintf("%dx%di", t.H.Active, 2*t.V.Active)
		notes = append(notes, "interlaced, lines of a field")
	}
	if t.Sync != syncSeparate {
		notes = append(notes, t.Sync+" sync")
	}
	text := fmt.Sprintf("%.3f Hz, pixel clock %.3f MHz, lines at %.3f kHz", t.Rate(), t.Clock/1e6, t.LineRate()/1e3)
	if why := t.Impossible(); why != "" {
		text = fmt.Sprintf("impossible: %s; pixel clock %.3f MHz", why, t.Clock/1e6)
	}
	p.rowAt("  ", name, text)
	if len(notes) > 0 {
		p.rowAt("  ", "", strings.Join(notes, ", "))
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
	p.rowAt("    ", label, text)
}

func (p page) extension(x Extension) {
	fmt.Fprintf(p, "\nBlock %d: %s\n", x.Block, strings.TrimSuffix(x.Name+" "+x.Version, " "))
	if !x.ChecksumOK {
		p.rowAt("  ", "", "WRONG CHECKSUM in this block")
	}
	if x.SectionSumWrong {
		p.rowAt("  ", "", "the DisplayID section has a wrong sum of its own")
	}
	if x.Overrun != "" {
		p.rowAt("  ", "overrun", x.Overrun)
	}
	if d := x.Parameters; d != nil {
		text := fmt.Sprintf("%.1f x %.1f mm", d.WidthMM, d.HeightMM)
		if d.ones {
			text = notSensible
		}
		text += fmt.Sprintf(", %d x %d pixels", d.Width, d.Height)
		if d.BitsPerColour > 0 {
			text += fmt.Sprintf(", %d bits a colour", d.BitsPerColour)
		}
		p.rowAt("  ", "display", text)
	}
	for _, text := range x.Texts {
		p.rowAt("  ", "text", text)
	}
	if x.Power != nil {
		p.power(*x.Power)
	}
	for _, t := range x.Timings {
		p.timing(t)
	}
	if len(x.Skipped) > 0 {
		p.rowAt("  ", "not decoded", "data blocks for "+strings.Join(x.Skipped, ", "))
	}
}

func (p page) power(s PowerSequence) {
	for _, r := range []struct {
		label string
		span  Span
		what  string
	}{
		{"T1", s.T1, "supply rises from 10 to 90 %"},
		{"T2", s.T2, "supply to signal"},
		{"T3", s.T3, "signal off to supply off"},
		{"T4", s.T4, "supply off before it comes again"},
		{"T5", s.T5, "signal to backlight"},
		{"T6", s.T6, "backlight off to signal off"},
	} {
		p.rowAt("  ", r.label, fmt.Sprintf("%s: %s", r.what, r.span))
	}
}

// String is such as "0.5 to 10 ms" or "at least 500 ms".
func (s Span) String() string {
	if s.Max == 0 {
		return fmt.Sprintf("at least %.4g ms", s.Min*1e3)
	}
	return fmt.Sprintf("%.4g to %.4g ms", s.Min*1e3, s.Max*1e3)
}

// CheckText writes the sums, which byte may be off under a wrong one, and whether the
// read is sound. With guess it takes one wrong byte for granted: without guess is
// right where bytes were not read, or where they show another fault.
func CheckText(w io.Writer, data []byte, guess bool) error {
	p := say.NewWriter(w)
	guessed := false
	for _, s := range Sums(data) {
		if s.OK {
			fmt.Fprintf(p, "block %d: checksum %02X, right\n", s.Block, s.Have)
			continue
		}
		fmt.Fprintf(p, "block %d: checksum reads %02X, the bytes want %02X\n", s.Block, s.Have, s.Want)
		if guess && !guessed {
			guessed = true
			text := "Which byte is off cannot be told from this read: read again and compare."
			if suspect, ok := FindSuspect(data, s.Block); ok {
				text = suspect.String()
			}
			p.Hang("  ", "  ", text)
		}
	}
	wrong, notes := Faults(data)
	for _, note := range notes {
		p.Hang("note: ", "  ", note+".")
	}
	switch {
	case len(wrong) > 0:
		p.Hang("", "", "The read is not sound: "+strings.Join(wrong, "; ")+".")
	default:
		p.Hang("", "", "Header and sums are right: the read is good.")
	}
	return p.Flush()
}
