package probe

import (
	"fmt"
	"slices"

	"example.org/walkback/netlist"
)

// Meter says how a meter is set, with its range, and where its leads go.
func (x *Bench) Meter(p netlist.Probe) (set, leads string) {
	switch p.Method {
	case netlist.Look:
		return "no meter", "look at the panel, ask the operating system, read its log"
	case netlist.Activity:
		return x.scope(p.Net)
	case netlist.Ohms:
		return "ohms", "black lead on ground, red on the point; wait until it settles"
	case netlist.Diode:
		return "diode mode", "red lead on ground, black on the point"
	case netlist.Across:
		return x.across(p)
	case netlist.Volts:
	}
	set, leads = "DC volts", "black lead on ground, red on the point"
	switch {
	case x.Sinks(p.Net):
		// With a string open or LEDs shorted it can stand at many volts.
		set += ", 60 V range"
	case x.known[p.Net]:
		set += fmt.Sprintf(", %g V range", meterRange(x.top[p.Net]))
	}
	switch {
	case x.Switches(p.Net):
		leads += "; it shows the mean, which is there without switching too"
	case x.fast(p.Net):
		leads += " through 1 kΩ at the tip"
	}
	return set, leads
}

func (x *Bench) scope(n netlist.NetID) (set, leads string) {
	switch {
	case x.Switches(n):
		return "scope, 10:1 probe",
			"ground clip beside the point; a meter on DC volts shows the mean, which is there without switching too"
	case x.fast(n):
		return "a fast scope, or DC volts through 1 kΩ at the tip",
			"compare the two legs and the other pairs; on a meter a missing leg shows, a frozen pair does not"
	}
	return "scope, 10:1 probe", "ground clip beside the point; a meter on DC volts shows only the mean"
}

func (x *Bench) across(p netlist.Probe) (set, leads string) {
	switch {
	case p.Part != netlist.None:
		part := &x.b.Parts[p.Part]
		if i := slices.IndexFunc(part.Kind.Passes, func(s netlist.Pass) bool { return s.OneWay }); i >= 0 {
			return "diode mode", fmt.Sprintf("red on %s; then the leads exchanged", x.b.Nets[part.Net(part.Kind.Passes[i].A)].Name)
		}
		if len(part.Kind.Passes) > 0 && part.Ohms(&part.Kind.Passes[0]) < seriesOhms {
			return "ohms, lowest range", "one lead on each end; what the leads read when held together comes off"
		}
		return "ohms", "one lead on each end; less is right where other ways lead round it"
	case x.Contact(p):
		return "ohms, lowest range", "one lead on each; move the cable while you watch"
	case p.State.Unplugged:
		return "ohms, highest range", "one lead on each; then the leads exchanged"
	}
	return "ohms", "one lead on each; then the leads exchanged"
}

// Contact reports whether a probe goes along contacts and conductors to a net behind
// the panel's cable.
func (x *Bench) Contact(p netlist.Probe) bool {
	return p.Other != netlist.None && (x.beyond(p.Net) || x.beyond(p.Other))
}

// beyond reports whether a net is inside the panel or its cable, where no part of the
// board itself is on it.
func (x *Bench) beyond(n netlist.NetID) bool {
	return !slices.ContainsFunc(x.b.Taps(n), func(t netlist.Tap) bool {
		p := &x.b.Parts[t.Part]
		side, _ := p.Attr("side")
		return p.Kind.Form != netlist.RowsForm && !p.Kind.InPanel && side.Text != "panel" && side.Text != "cable"
	})
}

// meterRange returns the range of a common 6000-count meter in V.
func meterRange(v float64) float64 {
	for _, r := range []float64{6, 60, 600} {
		if v < r*0.95 {
			return r
		}
	}
	return 1000
}

// Condition says in what condition the board must be for a probe.
func Condition(b *netlist.Board, p netlist.Probe) string {
	if p.Cold() {
		return PowerOut + ", " + p.State.PanelText()
	}
	return "power on, " + p.State.Text(b)
}
