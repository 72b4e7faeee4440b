package probe

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/walkback/netlist"
)

// The words of safety. They stand here and nowhere else; whoever sends a hand to a
// board prints them from here. All are common practice, no source, but for the limit
// of ES1, which is from memory: IEC 62368-1.
const (
	PowerOut  = "ALL power and battery out, capacitors discharged"
	PowerDown = "shut down, adapter and battery out, hold the power button for 10 s, let capacitors discharge"
	PowerUp   = "battery and adapter in, switch on"
	VoltsLow  = "volts on the point first: under 50 mV, only then measure"
	ColdWay   = PowerOut + "; " + VoltsLow
	Cold      = "before ohms or diode mode: " + ColdWay
	Slip      = "the backlight rail can stand above 30 V beside pins of 3.3 V and less: " + slipWay
	Cable     = "never plug or unplug the panel cable with adapter or battery connected"
	GoodPanel = "plug in no known-good panel before the cold steps have passed"
	NoPower   = "no power before this reads right"
	Esd       = "ESD strap on, board on a mat; a swollen cell goes out of the building before any work"
	HotAir    = "hot air and iron only with the battery off the board and out of reach: a cell that gets hot can burst and burn"
	Lamp      = "a light that is no LED in the board file may be a fluorescent lamp: several hundred volts behind its inverter; measure " +
		"the supplies of the inverter alone, on the side away from the lamp, one hand in your pocket"
	Liquid    = "after liquid: clean and dry first, then the cold steps, power last and from a current-limited supply"
	LookFirst = "with all power out look under magnification at the connector, at the cable and along the path: green, black or " +
		"white crust, lifted or missing parts, bent contacts; clean and dry before you measure"
	Hurts     = "above 60 V DC a rail leaves the class ES1 of IEC 62368-1 and can hurt you; below it can still destroy the board"
	Local     = "local codes and licensed practice come first"
	Fuse      = "a fuse opens because of something: it is not the cause before the short behind it was sought"
	Unplug    = "with all power out unplug the panel cable and measure again: what goes with it is in the cable or the panel"
	Separate  = "with a limited supply find the one that gets warm; or lift one after the other with all power out and measure again"
	PowerGone = "power out now"
	ReadFirst = "before any power"
	Leak      = "a slip or a leak from the high rail destroys what is beside it"
	Floats    = "0 V or floating: a meter of 10 MΩ shows about 0 V on both; hold 1 MΩ from the point to a rail of its own level: " +
		"what floats rises, what is held at 0 V stays"

	powerLimited = "switch on from a current-limited supply"
	slipWay      = "one slip of the probe destroys the chip behind that pin; use the test points and the pads that are named, never a pin " +
		"of the connector"
	fast    = "the probe loads a fast line: a picture that changes while you probe is no fault by itself"
	burst   = "alive only while something is read: set the scope to catch one burst, then start the board"
	heldLow = "0 V proves nothing while what pulls the line up is missing"
	clip    = "clip to ground before power comes, the bare clip taped: one that slips off shorts what it falls on"
	retries = "a rail that rises and falls over and over is a converter that retries: note the highest, power out, and seek cold the " +
		"short or the open string that stops it"
	switching = "a switch node: short ground lead, and no meter lead that can touch its neighbours"
)

// General returns what stands over every checklist, a sentence each.
func General() []string {
	return sentences(Cold, Slip, Cable, GoodPanel, Esd, HotAir, Liquid, Hurts, Local)
}

// General returns the same with the rails of the board and what lies beside them.
func (x *Bench) General() []string {
	list := General()
	var rails []string
	for i := range x.b.Nets {
		n := netlist.NetID(i)
		if names := x.besides(n); x.High(n) && len(names) > 0 {
			rails = append(rails, fmt.Sprintf("%s can stand at %s beside %s", x.b.Nets[n].Name,
				netlist.FormatValue(math.Ceil(10*x.ceiling(n))/10, netlist.Volt), strings.Join(names, " and ")))
		}
	}
	if len(rails) > 0 {
		list[slices.Index(list, Sentence(Slip))] = Sentence(strings.Join(rails, ", ") + ": " + slipWay)
	}
	lit := func(p netlist.Part) bool { return p.Kind.Name == "leds" || p.Kind.Name == "boost" }
	if !slices.ContainsFunc(x.b.Parts, lit) {
		list = slices.Insert(list, slices.Index(list, Sentence(Hurts)), Sentence(Lamp))
	}
	if x.wet {
		list = slices.Insert(list, 0, Sentence(LookFirst))
	}
	return list
}

// ceiling is what a net can come to, in V: with nothing connected a converter goes up to
// its limit.
func (x *Bench) ceiling(n netlist.NetID) float64 {
	top := x.top[n]
	for _, t := range x.b.Taps(n) {
		p := &x.b.Parts[t.Part]
		if limit, ok := p.Attr("limit"); ok && limit.Attr.Unit == netlist.Volt && p.Pin(p.Conns[t.Conn]).Name == "out" {
			top = max(top, limit.Value)
		}
	}
	return top
}

// Brief returns what ends every text that sends a hand to a board to which something
// happened, in words of netlist.Histories.
func Brief(history ...string) []string {
	if wet(history) {
		return sentences(LookFirst, Liquid, Cold, Slip, Local)
	}
	return sentences(Cold, Slip, Local)
}

func wet(history []string) bool {
	return slices.ContainsFunc(netlist.Histories, func(h netlist.History) bool { return h.Wet && slices.Contains(history, h.Name) })
}

func sentences(list ...string) []string {
	out := make([]string, len(list))
	for i, text := range list {
		out[i] = Sentence(text)
	}
	return out
}

// Sentence writes words of safety as a sentence.
func Sentence(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[n:] + "."
}

// Cautions returns what to mind at a probe beside the condition of the board, which says
// what must be out; the gravest first.
func (x *Bench) Cautions(p netlist.Probe) []string {
	var list []string
	if x.wet && !p.Cold() {
		list = append(list, x.Limited())
	}
	if p.Method == netlist.Look {
		return list
	}
	if p.Cold() {
		list = append(list, VoltsLow)
		if x.Gates(p) {
			list = append(list, NoPower)
		}
		if p.Other != netlist.None && (!p.State.Unplugged || x.Gates(p)) {
			list = append(list, Cable)
		}
		return list
	}
	if text := cmp.Or(x.slip(p), x.beside(p.Net)); text != "" {
		list = append(list, text)
	}
	switch {
	case x.Switches(p.Net):
		list = append(list, switching)
	case x.fast(p.Net):
		list = append(list, fast)
	case p.Method == netlist.Activity && x.bursts(p.Net):
		list = append(list, burst)
	}
	switch {
	case p.Method == netlist.Activity:
		list = append(list, clip)
	case x.boosted(p.Net):
		list = append(list, retries)
	}
	if p.Method == netlist.Volts && x.held(p) {
		list = append(list, heldLow)
	}
	return list
}

// Limited says from what a machine that was wet gets its power: "battery and adapter stay
// out: VMAIN at 12.6 V from a supply …". It is empty for any other.
func (x *Bench) Limited() string {
	if !x.wet {
		return ""
	}
	input := "the input of the board"
	if i := slices.IndexFunc(x.b.Parts, func(p netlist.Part) bool { return p.Kind.Name == "supply" }); i >= 0 {
		if n := x.b.Parts[i].Net("out"); n != netlist.None && x.top[n] > 0 {
			input = x.b.Nets[n].Name + " at " + netlist.FormatValue(x.top[n], netlist.Volt)
		}
	}
	return "battery and adapter stay out: " + input + " from a supply with its current limit set low, raised only while nothing gets warm; " +
		"where it stays at the limit, power out and the cold steps again"
}

// Runaway says of a part whose failing open takes the limit from a rail what not to do;
// empty for any other.
func (x *Bench) Runaway(id netlist.PartID) string {
	rail := x.b.UpperLeg(id)
	if rail == netlist.None {
		return ""
	}
	return "with " + x.b.Parts[id].Name + " open do not power: nothing limits " + x.b.Nets[rail].Name + ", which can run away"
}

// boosted reports whether a converter gives a net and watches it.
func (x *Bench) boosted(n netlist.NetID) bool {
	return slices.ContainsFunc(x.b.Taps(n), func(t netlist.Tap) bool {
		p := &x.b.Parts[t.Part]
		return p.Kind.Name == "boost" && p.Pin(p.Conns[t.Conn]).Name == "out"
	})
}

// DangerText says why no power may come, or why it has to go: "VBL reads 0.1 Ω: no power
// before this reads right; find and clear it".
func (x *Bench) DangerText(d *Danger) string {
	name := At(x.b, d.Probe)
	if d.Rail != netlist.None {
		rail := x.b.Nets[d.Rail].Name
		return fmt.Sprintf("%s: %s stands at about %s, as on %s; then ohms from %s to %s; no power before that was read or %s reads right",
			PowerGone, name, netlist.FormatValue(d.Value, netlist.Volt), rail, name, rail, name)
	}
	reads := netlist.FormatValue(d.Value, netlist.Ohm)
	if d.Unlimited != netlist.None {
		if math.IsInf(d.Value, 1) {
			reads = "OL"
		}
		return fmt.Sprintf("%s reads %s: it is the upper leg of the divider that limits %s; do not power, the rail can run away", name, reads,
			x.b.Nets[d.Unlimited].Name)
	}
	if d.Value < 1 {
		reads = fmt.Sprintf("%.2g Ω", d.Value) // as the meter shows it
	}
	if d.Probe.Method == netlist.Diode {
		reads = netlist.FormatValue(d.Value, netlist.Volt) + " in diode mode"
	}
	return name + " reads " + reads + ": " + NoPower + "; find and clear it"
}

// FirstText says what must read right before any power: "before any power: VBL to BL_K4,
// VBL to ground". It is empty where nothing must.
func (x *Bench) FirstText(list []netlist.Probe) string {
	if len(list) == 0 {
		return ""
	}
	names := Names(x.b, list)
	if !x.wet || len(names) <= fewFirst {
		return ReadFirst + ": " + strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s: %s and %d more, every pin of the connector to its neighbours and every rail to ground", ReadFirst,
		strings.Join(names[:fewFirst], ", "), len(names)-fewFirst)
}

// fewFirst is how many of many probes before any power are named.
const fewFirst = 3

// slip warns beside a rail that destroys what it touches: on the net itself, or on
// another pin of the part where the probe lands. It is empty where nothing is.
func (x *Bench) slip(p netlist.Probe) string {
	const so = ": one slip of the probe destroys what it touches"
	if x.High(p.Net) {
		text := x.topText(p.Net) + so
		if names := x.besides(p.Net); len(names) > 0 {
			text += "; it stands beside " + strings.Join(names, " and ") + ", so never probe the connector"
		}
		return text
	}
	if s := x.spot(p.Net, false); s.part != netlist.None {
		for _, c := range x.b.Parts[s.part].Conns {
			if x.b.Parts[s.part].Kind.Form != netlist.SingleForm && x.High(c.Net) {
				return x.b.Parts[s.part].Name + " is also on " + x.topText(c.Net) + so
			}
		}
	}
	return ""
}

// beside warns of the connector at a line that lies beside a high rail there, though the
// probe lands elsewhere. It is empty where none does.
func (x *Bench) beside(n netlist.NetID) string {
	if x.High(n) {
		return ""
	}
	var rails []string
	for id, pair := range x.pairsOn(n) {
		if z := pair[1]; x.High(z.Net) {
			rails = append(rails, fmt.Sprintf("%s at %s pin %d", x.topText(z.Net), x.b.Parts[id].Name, z.Number))
		}
	}
	if len(rails) == 0 {
		return ""
	}
	return "at the connector it lies beside " + strings.Join(rails, " and ") + ", so never probe it there: one slip of the probe destroys " +
		"what it leads to"
}

// pairsOn yields the pins of plugs on a net, each with one that a bridge can join it to.
func (x *Bench) pairsOn(n netlist.NetID) iter.Seq2[netlist.PartID, [2]netlist.RowPin] {
	return func(yield func(netlist.PartID, [2]netlist.RowPin) bool) {
		for _, t := range x.b.Taps(n) {
			p := &x.b.Parts[t.Part]
			if !p.Kind.Plugs || p.Conns[t.Conn].Pin != 0 {
				continue
			}
			for _, pair := range x.b.Beside(p) {
				if pair[1].Net == n {
					pair[0], pair[1] = pair[1], pair[0]
				}
				if pair[0].Net == n && pair[0].Channel == int(p.Conns[t.Conn].Channel) && !yield(t.Part, pair) {
					return
				}
			}
		}
	}
}

// topText names a net with the highest that it reaches: "VBL, at 31.5 V".
func (x *Bench) topText(n netlist.NetID) string {
	text := x.b.Nets[n].Name + ", "
	for _, e := range x.b.Nets[n].Expect {
		if max(e.Value, e.Value+e.Swing) < x.top[n] {
			continue
		}
		text += "at " + netlist.FormatValue(e.Value, netlist.Volt)
		if e.Swing > 0 {
			text += " with a swing of " + netlist.FormatValue(e.Swing, netlist.Volt)
		}
		return text
	}
	return text + "up to " + netlist.FormatValue(math.Ceil(10*x.top[n])/10, netlist.Volt)
}

// besides names what lies beside a rail at the connectors, but for ground and the same
// rail.
func (x *Bench) besides(n netlist.NetID) []string {
	var names []string
	for id, pair := range x.pairsOn(n) {
		z := pair[1]
		if name := fmt.Sprintf("%s at %s pin %d", x.b.Nets[z.Net].Name, x.b.Parts[id].Name, z.Number); !x.b.Nets[z.Net].Ground &&
			!slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}
