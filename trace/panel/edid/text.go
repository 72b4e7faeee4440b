package edid

import (
	"fmt"
	"math"
	"strings"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/mode"
)

// Text tells a technician what the panel says of itself. Nothing of it can steer
// a terminal: bytes of strings outside printable ASCII are written as \xNN.
func Text(w *say.Writer, e *EDID) {
	p := page{w}
	p.identity(e)
	for _, d := range e.Descriptors {
		// A notebook panel has more than text in the last two.
		if e.Notebook != nil && d.Slot > 2 {
			continue
		}
		p.row(d.Name, d.Text)
	}
	if n := e.Notebook; n != nil {
		p.row("notebook panel", fmt.Sprintf("part %s, %s of LVDS", n.Part, say.Count(n.LVDSChannels, "channel")))
	}
	if len(e.Timings) > 0 {
		fmt.Fprintf(p, "\nDetailed timings\n")
	}
	for _, t := range e.Timings {
		p.timing(t)
	}
	for _, x := range e.Extensions {
		p.extension(x)
	}
}

// page writes rows of a label and texts.
type page struct{ *say.Writer }

// row writes a label in its column and the texts beside it, each on a line; those that
// are empty are left out. Blanks before the label move its column.
func (p page) row(label string, texts ...string) {
	indent := strings.Repeat(" ", len(label)-len(strings.TrimLeft(label, " "))+18)
	for _, text := range texts {
		if text != "" {
			p.Hang(fmt.Sprintf("%-*s", len(indent), label), indent, text)
			label = ""
		}
	}
}

// when is a text where it holds, and else nothing.
func when(holds bool, format string, args ...any) string {
	if !holds {
		return ""
	}
	return fmt.Sprintf(format, args...)
}

func (p page) identity(e *EDID) {
	p.row("panel", fmt.Sprintf("maker %s, product 0x%04X (%d)", e.Maker, e.Product, e.Product))
	p.row("serial number", when(e.Serial != 0, "%d", e.Serial))
	made := map[bool]string{true: "model year", false: "made"}[e.ModelYear]
	p.row(made, when(e.Week > 0, "week %d of ", e.Week)+fmt.Sprint(e.Year))
	p.row("data", fmt.Sprintf("EDID %d.%d, %d bytes, %s", e.Version, e.Revision, e.Bytes, say.Count(e.ExtensionCount, "extension")),
		when(e.Truncated, "CUT OFF: the data ends before the last block does"),
		when(!e.HeaderOK, "WRONG HEADER: does not start with 00 FF FF FF FF FF FF 00"),
		when(!e.ChecksumOK, "WRONG CHECKSUM in the base block"))
	input := "analog"
	if e.Digital {
		input = strings.TrimSuffix("digital, "+e.Interface, ", ")
	}
	p.row("input", input)
	p.row("depth", when(e.BitsPerColour > 0, "up to %d bits a colour, %d bits a pixel", e.BitsPerColour, 3*e.BitsPerColour))
	p.row("size", size(e))
}

// size is that of the preferred timing, which counts in millimetres, unless the base
// block, which counts in centimetres, tells another.
func size(e *EDID) string {
	const step = 10 // mm, of the base block
	t, _ := e.Preferred()
	w, h, by := t.WidthMM, t.HeightMM, ""
	if wider, higher := w-e.WidthMM, h-e.HeightMM; e.WidthMM > 0 && max(wider, -wider, higher, -higher) > step {
		w, h, by = e.WidthMM, e.HeightMM, " by the base block"
	}
	return when(w > 0 && h > 0, "%d x %d mm%s, diagonal %.1f inch", w, h, by, math.Hypot(float64(w), float64(h))/25.4)
}

func (p page) timing(t Timing) {
	text := fmt.Sprintf("%.3f Hz, pixel clock %.3f MHz, lines at %.3f kHz", t.Rate(), t.Clock/1e6, t.LineRate()/1e3)
	if why := t.Impossible(); why != "" {
		text = fmt.Sprintf("impossible: %s; pixel clock %.3f MHz", why, t.Clock/1e6)
	}
	size := when(t.WidthMM > 0 && t.HeightMM > 0, "%d x %d mm", t.WidthMM, t.HeightMM)
	p.row(fmt.Sprintf("  %dx%d", t.H.Active, t.V.Active), text, strings.TrimPrefix(size+when(t.Preferred, ", preferred"), ", "))
	p.row("    across, pixels", axisText(t.H, t.HPos))
	p.row("    down, lines", axisText(t.V, t.VPos))
}

func axisText(a mode.Axis, positive bool) string {
	sign := map[bool]string{true: "+", false: "-"}[positive]
	back := fmt.Sprintf(", back %d; total %d", a.Back, a.Total())
	if a.Back < 0 {
		back = fmt.Sprintf(" want %d", a.Front+a.Sync)
	}
	return fmt.Sprintf("%d and %d blank: front %d, sync %d (%s)", a.Active, a.Blank(), a.Front, a.Sync, sign) + back
}

func (p page) extension(x Extension) {
	fmt.Fprintf(p, "\nBlock %d: %s\n", x.Block, strings.TrimSuffix(x.Name+" "+x.Version, " "))
	p.row("  ", when(!x.ChecksumOK, "WRONG CHECKSUM in this block"),
		when(x.SectionSumWrong, "the DisplayID section has a wrong sum of its own"))
	p.row("  overrun", x.Overrun)
	if d := x.Parameters; d != nil {
		p.row("  display", when(d.WidthMM > 0, "%.1f x %.1f mm, ", d.WidthMM, d.HeightMM)+
			fmt.Sprintf("%d x %d pixels", d.Width, d.Height)+when(d.BitsPerColour > 0, ", %d bits a colour", d.BitsPerColour))
	}
	for _, text := range x.Texts {
		p.row("  text", text)
	}
	if s := x.Power; s != nil {
		for i, says := range []string{"supply rises from 10 to 90 %", "supply to signal", "signal off to supply off",
			"supply off before it comes again", "signal to backlight", "backlight off to signal off"} {
			p.row(fmt.Sprintf("  T%d", i+1), says+": "+[]Span{s.T1, s.T2, s.T3, s.T4, s.T5, s.T6}[i].String())
		}
	}
	for _, t := range x.Timings {
		p.timing(t)
	}
}

// String is such as "0.5 to 10 ms" or "at least 500 ms".
func (s Span) String() string {
	if s.Max == 0 {
		return fmt.Sprintf("at least %.4g ms", s.Min*1e3)
	}
	return fmt.Sprintf("%.4g to %.4g ms", s.Min*1e3, s.Max*1e3)
}

// Text writes the sums, which byte may be off under a wrong one, and whether the read is
// sound.
func (c Check) Text(w *say.Writer) {
	guess := c.Guessed
	for _, s := range c.Sums {
		if s.OK {
			fmt.Fprintf(w, "block %d: checksum %02X, right\n", s.Block, s.Have)
			continue
		}
		fmt.Fprintf(w, "block %d: checksum reads %02X, the bytes want %02X\n", s.Block, s.Have, s.Want)
		if guess {
			guess = false
			text := "Which byte is off cannot be told from this read: read three times and compare. Always the same byte is the memory, " +
				"another one each time is the line."
			if c.Suspect != nil {
				text = c.Suspect.String()
			}
			w.Hang("  ", "  ", text)
		}
	}
	for _, note := range c.Notes {
		w.Hang("note: ", "  ", note+".")
	}
	verdict := "Header and sums are right: the read is good."
	if len(c.Wrong) > 0 {
		verdict = "The read is not sound: " + strings.Join(c.Wrong, "; ") + "."
	}
	w.Hang("", "", verdict)
}
