package probe

import (
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
)

// At names what is read: VBL, L0P to L0N, R12, LIGHT.
func At(b *netlist.Board, p netlist.Probe) string {
	switch {
	case p.Fact != netlist.None:
		return b.Facts[p.Fact].Name
	case p.Part != netlist.None:
		name := b.Parts[p.Part].Name
		if ways := b.Channels(p.Part); len(ways) > 1 && p.Channel < len(ways) {
			name += "." + ways[p.Channel]
		}
		return name
	case p.Net == netlist.None:
		return ""
	case p.Other != netlist.None:
		return b.Nets[p.Net].Name + " to " + b.Nets[p.Other].Name
	}
	return b.Nets[p.Net].Name
}

// Names lists from where to where each of some probes with all power out is read: "VBL to
// BL_K4", "VBL to ground".
func Names(b *netlist.Board, list []netlist.Probe) []string {
	names := make([]string, len(list))
	for i, p := range list {
		names[i] = At(b, p)
		if p.Method == netlist.Ohms {
			names[i] += " to ground"
		}
	}
	return names
}

// Title names how a probe is made and what is read: "ohms to ground, VBL".
func Title(b *netlist.Board, p netlist.Probe) string {
	how := p.Method.String()
	oneWay := func(s netlist.Pass) bool { return s.OneWay }
	if p.Method == netlist.Across && p.Part != netlist.None && slices.ContainsFunc(b.Parts[p.Part].Kind.Passes, oneWay) {
		how = "diode mode across"
	}
	return how + ", " + At(b, p)
}

// Change says how the board comes from the condition of one probe into that of another:
// "plug the panel cable in, then battery and adapter in, switch on"; empty when it is
// there.
func (x *Bench) Change(from, to netlist.Probe) string {
	b := x.b
	var words []string
	plug := func() {
		switch {
		case to.State.Unplugged && !from.State.Unplugged:
			words = append(words, "unplug the panel cable")
		case !to.State.Unplugged && from.State.Unplugged:
			words = append(words, "plug the panel cable in")
		}
	}
	setting := from.State.Setting
	switch {
	case to.Cold() && from.Cold():
		plug()
		return strings.Join(words, ", ")
	case to.Cold():
		words = append(words, PowerDown)
		plug()
		if x.wet {
			words = append(words, LookFirst)
		}
		return strings.Join(words, ", then ")
	case from.Cold():
		plug()
		words = append(words, x.powerUp())
		setting = b.Usual()
	case to.State.Unplugged != from.State.Unplugged:
		words = append(words, PowerDown)
		plug()
		words = append(words, x.powerUp())
	}
	for i, v := range to.State.Setting {
		if i < len(setting) && setting[i] != v {
			words = append(words, "bring it to "+b.States[i].Name+"="+b.States[i].Values[v])
		}
	}
	return strings.Join(words, ", then ")
}

// powerUp says how power comes on.
func (x *Bench) powerUp() string {
	if x.wet {
		return powerLimited
	}
	return PowerUp
}

// Ask writes what to do: "DC volts, VBL at TP4 top (beside L2)", and whether once more.
func (x *Bench) Ask(p netlist.Probe, again bool) string {
	text := Title(x.b, p)
	if place, _ := x.Place(p); place.Name != "" {
		text += " at " + place.String()
	}
	if again {
		text += ", once more"
	}
	return text
}

// Band returns what the board file gives for a probe, and whether it gives anything.
func (x *Bench) Band(p netlist.Probe) (netlist.Band, bool) {
	if p.Net == netlist.None || p.Other != netlist.None {
		return netlist.Band{}, false
	}
	n := &x.b.Nets[p.Net]
	switch {
	case p.Method == netlist.Volts && !p.State.Unplugged:
		e, ok := x.b.ExpectIn(p.Net, p.State.Setting)
		return e.Band, ok
	case p.Method == netlist.Ohms && p.State.Unplugged:
		return n.Cold, n.Cold.Value > 0
	case p.Method == netlist.Diode && p.State.Unplugged:
		return n.Diode, n.Diode.Value > 0
	}
	return netlist.Band{}, false
}

// LimitText writes a limit of a band in three digits, which is what a bench meter is
// read to.
func LimitText(v float64, unit netlist.Unit) string {
	if v != 0 {
		last := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
		v = math.Round(v/last) * last
	}
	return netlist.FormatValue(v, unit)
}

// MeterText writes how a meter is set and where its leads go, in one line.
func (x *Bench) MeterText(p netlist.Probe) string {
	set, leads := x.Meter(p)
	return set + ": " + leads
}
