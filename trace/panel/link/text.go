package link

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

// Text tells what the panel asks for.
func Text(o *say.Writer, n Need) {
	size := ""
	if n.Mode.H.Active > 0 && n.Mode.V.Active > 0 {
		size = " (" + n.Mode.String() + ")"
	}
	Row(o, "pixel clock", mega(n.Mode.Clock)+size)
	label := func(string) string { return "link" }
	if n.Kind == Unknown {
		Row(o, "link", "not known; what each kind would ask for follows")
		label = func(kind string) string { return "if " + kind }
	}
	if l := n.LVDS; l != nil {
		no := map[bool]string{false: "; no part carries that"}[l.Carried]
		Row(o, label("LVDS"), fmt.Sprintf("LVDS, %s%s: clock pair %s, %s at %s each (%d bits a clock)%s", count(l.Channels, "channel"),
			how(l.ChannelsFrom), mega(l.Clock), count(l.Pairs, "data pair"), megabit(l.PairRate), slots, no))
		Row(o, "depth", depth(l.Bits, l.BitsFrom))
		Row(o, "readings", texts(l.Readings)...)
	}
	if n.EDP != nil {
		n.EDP.text(o, label("eDP"))
	}
}

// Row writes a label and beside it texts, each on a line of its own; an empty one is
// left out.
func Row(o *say.Writer, label string, texts ...string) {
	for _, text := range texts {
		if text != "" {
			o.Hang(fmt.Sprintf("%-*s", labelWidth, label), strings.Repeat(" ", labelWidth), text)
			label = ""
		}
	}
}

// labelWidth is that of what stands at the left, in columns.
const labelWidth = 14

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

func (e *EDPNeed) text(o *say.Writer, label string) {
	carries := fmt.Sprintf("%s%s at %s%s: %s of data", count(e.Lanes, "lane"), how(e.LanesFrom), giga(e.Rate), how(e.RateFrom),
		giga(e.Capacity))
	if e.Fits {
		Row(o, label, fmt.Sprintf("eDP, %s, %.0f %% of it used", carries, 100*e.Load))
	} else {
		Row(o, label, "eDP: over what can be carried by "+carries+"; with compression (DSC) it may fit")
	}
	text := depth(e.Bits, e.BitsFrom)
	switch {
	case e.Most > e.Bits:
		text += fmt.Sprintf(": the panel takes up to %d, which this link does not carry", e.Most)
	case e.Most > 0:
		text = "up to " + text + ", the panel's greatest; the picture chip may send fewer"
	}
	Row(o, "depth", text)
	Row(o, "payload", giga(e.Payload)+", pixel clock times bits")
	if e.Fits {
		Row(o, "settled", "when panel and picture chip train the link; the panel's limits are its DPCD registers"+
			" MAX_LINK_RATE and MAX_LANE_COUNT")
		Row(o, "readings", texts(e.Readings)...)
	}
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
func FitText(o *say.Writer, b *netlist.Board, f Fit) {
	Row(o, "PROBLEM", f.Problems...)
	lanes := func(label string, of []int, says string) {
		if f.OK() && len(of) > 0 {
			Row(o, label, names(b, of)+says)
		}
	}
	lanes("must be alive", f.Sure(), "")
	lanes("perhaps", f.Unsure, ": alive or quiet, that is not settled")
	lanes("quiet", f.Idle, ": with this panel that is right")
	for _, n := range f.Notes {
		Row(o, "note", n)
	}
}

// Sure are the lanes that must be alive beyond doubt.
func (f Fit) Sure() []int {
	return slices.DeleteFunc(slices.Clone(f.Alive), func(i int) bool { return slices.Contains(f.Unsure, i) })
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
