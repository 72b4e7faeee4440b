package probe

import (
	"slices"

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

// Title names how a probe is made and what is read: "ohms to ground, VBL".
func Title(b *netlist.Board, p netlist.Probe) string {
	how := p.Method.String()
	oneWay := func(s netlist.Pass) bool { return s.OneWay }
	if p.Method == netlist.Across && p.Part != netlist.None && slices.ContainsFunc(b.Parts[p.Part].Kind.Passes, oneWay) {
		how = "diode mode across"
	}
	return how + ", " + At(b, p)
}

// Landing writes where a probe lands, "at TP4 top (beside L2)"; empty where nothing is
// touched.
func (x *Bench) Landing(p netlist.Probe) string {
	if place, _ := x.Place(p); place.Name != "" {
		return " at " + place.String()
	}
	return ""
}

// MeterText writes how a meter is set and where its leads go, in one line.
func (x *Bench) MeterText(p netlist.Probe) string {
	set, leads := x.Meter(p)
	return set + ": " + leads
}
