package probe

import (
	"slices"

	"example.org/walkback/netlist"
)

// neighbourOhms is the least resistance in Ω between a high rail and its neighbour on
// a board without leakage. Common practice, no source.
const neighbourOhms = 100e3

// makeGate lists the probes that come before any power: at each connector, every high
// rail to ground and to its neighbours, with the panel unplugged. On a wet board every pin
// to its neighbours follows, and every rail to ground.
func (x *Bench) makeGate() []netlist.Probe {
	var list []netlist.Probe
	add := func(m netlist.Method, n, other netlist.NetID) {
		if p := netlist.ColdProbe(m, n, other); !slices.ContainsFunc(list, p.Same) {
			list = append(list, p)
		}
	}
	for i := range x.b.Parts {
		p := &x.b.Parts[i]
		if !p.Kind.Plugs || !x.rails[i] {
			continue
		}
		for _, pair := range x.b.Beside(p) {
			a, z := pair[0].Net, pair[1].Net
			if x.meantHigh(z) {
				a, z = z, a
			}
			if x.High(a) && !x.meantHigh(z) && (!x.b.Grounded(z) || x.b.Nets[z].Idle) {
				add(netlist.Across, a, z)
			}
		}
		for _, pin := range p.Row() {
			if x.High(pin.Net) {
				add(netlist.Ohms, pin.Net, netlist.None)
			}
		}
	}
	if !x.wet {
		return list
	}
	for i := range x.b.Parts {
		p := &x.b.Parts[i]
		if !p.Kind.Plugs {
			continue
		}
		for _, pair := range p.Neighbours() {
			a, z := pair[0].Net, pair[1].Net
			switch {
			case x.b.Nets[a].Ground && !x.beyond(z):
				add(netlist.Ohms, z, netlist.None)
			case x.b.Nets[z].Ground && !x.beyond(a):
				add(netlist.Ohms, a, netlist.None)
			case !x.beyond(a) && !x.beyond(z):
				add(netlist.Across, min(a, z), max(a, z))
			}
		}
	}
	for i, feeds := range x.feeds {
		if n := netlist.NetID(i); feeds && !x.beyond(n) {
			add(netlist.Ohms, n, netlist.None)
		}
	}
	return list
}

// meantHigh reports whether the board file declares a net as a high rail, or computes it
// where it declares nothing: a bridge in the file lifts what is computed of a neighbour,
// which is asked for all the same.
func (x *Bench) meantHigh(n netlist.NetID) bool {
	if top, known := declared(&x.b.Nets[n]); known {
		rests, _ := x.b.Nets[n].Rests()
		return top >= netlist.HighRail || x.plug[n] && rests > netlist.LogicTop
	}
	return x.High(n)
}

// Floor returns the least resistance in Ω after which power may come, whatever is computed
// of a healthy board: between neighbours in the gate it is Apart, elsewhere 0.
func (x *Bench) Floor(p netlist.Probe) float64 {
	if p.Method != netlist.Across || !x.Gates(p) || !x.High(p.Net) && !x.High(p.Other) {
		return 0
	}
	return x.Apart(p.Net, p.Other)
}

// Gate lists the probes that come before any power: the pins beside a high rail at a
// connector first, then the rail itself to ground.
func (x *Bench) Gate() []netlist.Probe { return x.gate }

// Gates reports whether a probe is one of those that come before any power.
func (x *Bench) Gates(p netlist.Probe) bool { return slices.ContainsFunc(x.gate, p.Same) }

// GateWhy says why a probe comes before any power; empty where it does not.
func (x *Bench) GateWhy(p netlist.Probe) string {
	high, pair := x.High(p.Net) || x.High(p.Other), p.Method == netlist.Across
	switch {
	case !x.Gates(p):
		return ""
	case high && pair:
		return "neighbour of a high rail"
	case pair:
		return "neighbours at the connector, after liquid"
	case high && x.plug[p.Net]:
		return "a high rail at the connector"
	case x.feeds[p.Net]:
		return "a rail, after liquid"
	}
	return "beside ground at the connector, after liquid"
}

// NeedsGate reports whether a probe may come only after the gate has passed: each
// that touches the board with power on; and after what may have left a bridge, such as
// liquid or a repair by others, each that needs power at all, looking too.
func (x *Bench) NeedsGate(p netlist.Probe) bool {
	return !p.Cold() && (p.Method != netlist.Look || x.waits)
}

// Apart returns the least resistance in Ω to expect between two neighbours. Through
// ground they are joined by what each has to ground, so where that is declared, half of
// their sum is still a healthy board; and so is half of what a resistor between them has,
// such as a pull-up.
func (x *Bench) Apart(a, z netlist.NetID) float64 {
	least := neighbourOhms
	if sum := x.b.Nets[a].Cold.Value + x.b.Nets[z].Cold.Value; sum > 0 {
		least = min(least, sum/2)
	}
	if j := x.b.Joined(a, z); j.Part != netlist.None && !j.Kills() {
		least = min(least, j.Ohms/2)
	}
	return least
}

// contactOhms is the most that a good row of contacts and conductors reads in
// Ω, meter leads included. Common practice, no source.
const contactOhms = 1.0

// Through returns the most in Ω that a good part reads from end to end, or a good row
// of contacts when there is none.
func (x *Bench) Through(part netlist.PartID) float64 {
	if part == netlist.None {
		return contactOhms
	}
	p := &x.b.Parts[part]
	if len(p.Kind.Passes) == 0 {
		return contactOhms
	}
	r := p.Ohms(&p.Kind.Passes[0])
	if r < seriesOhms {
		return contactOhms + 2*r
	}
	return 1.1 * r
}
