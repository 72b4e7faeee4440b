package link

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

// labelWidth is that of what stands at the left, in columns.
const labelWidth = 14

// Text tells what the panel asks for.
func Text(w io.Writer, n Need) error {
	o := say.NewWriter(w)
	size := ""
	if n.Mode.H.Active > 0 && n.Mode.V.Active > 0 {
		size = " (" + n.Mode.String() + ")"
	}
	line(o, "pixel clock", mega(n.Mode.Clock)+size)
	label := func(string) string { return "link" }
	if n.Kind == Unknown {
		line(o, "link", "not known; what each kind would ask for follows")
		label = func(kind string) string { return "if " + kind }
	}
	if n.LVDS != nil {
		n.LVDS.text(o, label("LVDS"))
	}
	if n.EDP != nil {
		n.EDP.text(o, label("eDP"), n.Blank)
	}
	return o.Flush()
}

// String is what the panel asks for in a few words, as netlist.Panel takes
// them: "1366x768 at 59.99 Hz, LVDS, one channel of three data pairs".
func (n Need) String() string {
	s := mega(n.Mode.Clock)
	if n.Mode.H.Active > 0 && n.Mode.V.Active > 0 {
		s = n.Mode.String()
	}
	switch {
	case n.LVDS != nil && n.EDP == nil:
		s += fmt.Sprintf(", LVDS, %s of %s", count(n.LVDS.Channels, "channel")+assumed(n.LVDS.ChannelsFrom), count(n.LVDS.Pairs, "data pair"))
	case n.EDP != nil && n.LVDS == nil:
		s += fmt.Sprintf(", eDP, %s", count(n.EDP.Lanes, "lane")+assumed(n.EDP.LanesFrom))
	}
	return s
}

func assumed(f From) string {
	if f == Assumed {
		return " (assumed)"
	}
	return ""
}

func (l *LVDSNeed) text(o *say.Writer, label string) {
	line(o, label, fmt.Sprintf("LVDS, %s%s: clock pair %s, %s at %s each (%d bits a clock)",
		count(l.Channels, "channel"), how(l.ChannelsFrom), mega(l.Clock), count(l.Pairs, "data pair"), megabit(l.PairRate), slots))
	line(o, "depth", depth(l.Bits, l.BitsFrom))
	var splits []string
	for _, s := range l.Splits {
		if s.Channels <= max(2, l.Channels) {
			carried := map[bool]string{false: "; no part carries that"}[s.Carried]
			splits = append(splits, fmt.Sprintf("%s: clock %s, %s a pair%s", spell(s.Channels), mega(s.Clock), megabit(s.PairRate), carried))
		}
	}
	line(o, "channels", splits...)
	line(o, "readings", texts(l.Readings)...)
}

func (e *EDPNeed) text(o *say.Writer, label string, blank float64) {
	word := "carry"
	if e.Lanes == 1 {
		word = "carries"
	}
	if e.Fits {
		line(o, label, fmt.Sprintf("eDP, %s%s at %s%s: %s %s, %.0f %% of it used",
			count(e.Lanes, "lane"), how(e.LanesFrom), giga(e.Rate), how(e.RateFrom), word, giga(e.Capacity), 100*e.Load))
	} else {
		line(o, label, fmt.Sprintf("eDP: over what %s at %s %s (%s); with compression (DSC) it may fit",
			count(e.Lanes, "lane"), giga(e.Rate), word, giga(e.Capacity)))
	}
	switch text := depth(e.Bits, e.BitsFrom); {
	case e.Most > e.Bits:
		line(o, "depth", text+fmt.Sprintf(": the panel takes up to %d, which this link does not carry", e.Most))
	case e.Most > 0:
		line(o, "depth", "up to "+text+", the panel's greatest; the picture chip may send fewer")
	default:
		line(o, "depth", text)
	}
	payload := giga(e.Payload) + ", pixel clock times bits"
	if blank > 0 {
		payload += fmt.Sprintf("; %.0f %% of it is blanking", 100*blank)
	}
	line(o, "payload", payload)
	var least []string
	for _, c := range e.Least {
		text := fmt.Sprintf("%s: %s, %.0f %% used", giga(c.Rate), count(c.Lanes, "lane"), 100*c.Load)
		if !c.Fits {
			text = fmt.Sprintf("%s: over what %s carry", giga(c.Rate), count(c.Lanes, "lane"))
		}
		least = append(least, text)
	}
	line(o, "least", least...)
	if !e.Fits {
		return
	}
	line(o, "settled", "when panel and picture chip train the link; the panel's limits are its DPCD registers"+
		" MAX_LINK_RATE and MAX_LANE_COUNT")
	line(o, "readings", texts(e.Readings)...)
}

func texts(rs []Reading) []string {
	var list []string
	for _, r := range rs {
		list = append(list, fmt.Sprintf("%s: %s (%s)", r.Name, r.value(), r.Why))
	}
	return list
}

func (r Reading) value() string {
	switch r.Unit {
	case "V":
		return volts(r.Low) + " to " + volts(r.High)
	case "s":
		return netlist.FormatValue(r.Low, netlist.Second)
	}
	return mega(r.Low)
}

// FitText tells how the panel fits a board. Of a panel that does not fit it tells the
// problems alone: which lanes would be alive with it is of no use.
func FitText(w io.Writer, b *netlist.Board, f Fit) error {
	o := say.NewWriter(w)
	for _, p := range f.Problems {
		line(o, "PROBLEM", p)
	}
	lanes := func(label string, of []int, says string) {
		if f.OK() && len(of) > 0 {
			line(o, label, names(b, of)+says)
		}
	}
	lanes("must be alive", slices.DeleteFunc(slices.Clone(f.Alive), func(i int) bool { return slices.Contains(f.Unsure, i) }), "")
	lanes("perhaps", f.Unsure, ": alive or quiet, that is not settled")
	lanes("quiet", f.Idle, ": with this panel that is right")
	for _, n := range f.Notes {
		line(o, "note", n)
	}
	return o.Flush()
}

// line writes a label and beside it texts, each on a line of its own.
func line(o *say.Writer, label string, texts ...string) {
	for _, text := range texts {
		o.Hang(fmt.Sprintf("%-*s", labelWidth, label), strings.Repeat(" ", labelWidth), text)
		label = ""
	}
}

func depth(bits int, from From) string {
	s := fmt.Sprintf("%d bits a pixel", bits)
	if from == Assumed {
		s += ", assumed: the depth is not known"
	}
	return s
}

// how tells what is not given.
func how(f From) string {
	if f == Given {
		return ""
	}
	return " (" + f.String() + ")"
}

// count is such as "one lane" or "two channels".
func count(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return spell(n) + " " + what
}

// spell writes small numbers as words.
func spell(n int) string {
	if small := []string{"no", "one", "two", "three", "four", "five"}; n < len(small) {
		return small[n]
	}
	return strconv.Itoa(n)
}

// volts keeps the four digits of the limits in the standard.
func volts(v float64) string {
	if v < 0.1 {
		return netlist.FormatValue(v, netlist.Volt)
	}
	return strconv.FormatFloat(v, 'g', 4, 64) + " V"
}

// mega writes Hz as MHz, as data sheets of panels do.
func mega(hertz float64) string { return strconv.FormatFloat(hertz/1e6, 'f', 2, 64) + " MHz" }

func megabit(rate float64) string { return strconv.FormatFloat(rate/1e6, 'f', 1, 64) + " Mbit/s" }

func giga(rate float64) string {
	return strconv.FormatFloat(float64(int64(rate/1e6+0.5))/1e3, 'f', -1, 64) + " Gbit/s"
}
