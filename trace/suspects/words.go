package suspects

import (
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// valueText puts the value of a probe into words.
func valueText(how netlist.Method, v float64) string {
	switch {
	case how == netlist.Look && v != 0:
		return "yes"
	case how == netlist.Look:
		return "no"
	case how == netlist.Volts && math.IsInf(v, 1):
		return predict.Floating
	case how == netlist.Activity && v < predict.Apart(netlist.Activity, 0):
		return predict.Quiet
	case how == netlist.Activity:
		return predict.Toggling + ", " + netlist.FormatValue(v, netlist.Volt)
	case math.IsInf(v, 1):
		return "OL"
	case how == netlist.Ohms || how == netlist.Across:
		return netlist.FormatValue(v, netlist.Ohm)
	}
	return predict.VoltText(v)
}

// Meter says how a meter is set for a probe.
func Meter(p netlist.Probe) string {
	switch p.Method {
	case netlist.Activity:
		return "scope, ground clip on ground: how many volts it moves"
	case netlist.Ohms:
		return "ohms, black lead on ground; wait until it settles"
	case netlist.Diode:
		return "diode mode, red lead on ground, black on the point"
	case netlist.Across:
		return "ohms, one lead on each; then the leads exchanged"
	case netlist.Look:
		return "no meter: look, or ask the operating system"
	case netlist.Volts:
	}
	return "DC volts, black lead on ground"
}

// Condition says in what state the board must be for a probe.
func Condition(b *netlist.Board, p netlist.Probe) string {
	panel := "panel plugged"
	if p.State.Unplugged {
		panel = "panel unplugged"
	}
	if p.Cold() {
		return "ALL power and battery out, capacitors discharged, " + panel
	}
	text := "power on"
	if s := b.SettingText(p.State.Setting); s != "" {
		text += ", " + s
	}
	return text + ", " + panel
}

// Place says where a probe lands: a test point, else the pad of a small part.
func Place(b *netlist.Board, p netlist.Probe) string {
	switch {
	case p.Fact != netlist.None:
		return ""
	case p.Part != netlist.None:
		return "both ends of " + b.PointText(p.Part)
	case p.Other != netlist.None:
		return netPlace(b, p.Net) + " and " + netPlace(b, p.Other)
	}
	return netPlace(b, p.Net)
}

func netPlace(b *netlist.Board, n netlist.NetID) string {
	for id := range b.Points(n) {
		return b.PointText(id)
	}
	best, rank := "any pad of "+b.Nets[n].Name, 9
	for _, t := range b.Taps(n) {
		p := &b.Parts[t.Part]
		side, _ := p.Attr("side")
		r := 2
		switch {
		case p.Kind.Form == netlist.RowsForm, p.Kind.InPanel, side.Text == "panel":
			continue // no probe lands there
		case p.Kind.Form == netlist.ArrowForm && len(p.Conns) <= 4:
			r = 1
		}
		if r < rank {
			best, rank = "the pad of "+p.Name+" on "+b.Nets[n].Name, r
		}
	}
	return best
}

// highRail is the voltage in V above which a slip destroys what is beside it: no
// logic input stands it. Common practice, no source.
const highRail = 10.0

// Caution warns of what a probe can do; empty when it can do nothing.
func Caution(b *netlist.Board, p netlist.Probe) string {
	switch {
	case p.Cold():
		return "all power and battery out; volts on the point first: under 50 mV, only then ohms or diode mode"
	case p.Net != netlist.None && slices.ContainsFunc(b.Nets[p.Net].Expect, func(e netlist.Expect) bool { return max(e.Value, e.Swing) >= highRail }):
		return "above 10 V: one slip to a neighbour destroys a chip; never at a pin of the connector"
	case p.Method == netlist.Activity:
		return "the probe loads a fast line: what changes while you probe is no fault by itself"
	}
	return ""
}

// Short joins the names of faults that stand at one place: U9:dead/no-switching.
func Short(names []string) string {
	var places []string
	modes := map[string][]string{}
	for _, n := range names {
		place, mode, _ := strings.Cut(n, ":")
		if modes[place] == nil {
			places = append(places, place)
		}
		modes[place] = append(modes[place], mode)
	}
	for i, p := range places {
		places[i] = p + ":" + strings.Join(modes[p], "/")
	}
	return strings.Join(places, ", ")
}
