package probe

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
)

// Bounds, common practice, no source.
const (
	shortOhms  = 10.0 // a rail that reads less to ground is shorted, but for one that is far below 100 Ω anyway
	shortShare = 0.1  // of what a healthy board shows, or less: a short, and no leak
	shortDiode = 0.1  // V, the most that diode mode shows on a short
	farBelow   = 0.3  // the most of what a healthy board shows that such a rail may read
	railOhms   = 1.0  // the most of what passes a rail on
	overShare  = 1.3  // times the highest that a line can have is far above it
	asHigh     = 0.1  // share within which a line stands as high as a rail
)

// Judged is a reading beside a healthy board.
type Judged struct {
	netlist.Reading
	Healthy bool
	Should  float64 // with all power out: what a healthy board shows, in V or Ω, +Inf for OL
}

// Danger is a reading after which no power may come before Probe reads right.
type Danger struct {
	Index int // of the reading
	Probe netlist.Probe
	Value float64 // V or Ω
	// Rail is the rail as high as the net of Probe was found to stand with power on;
	// None where ohms or diode mode show a short or a bridge.
	Rail netlist.NetID
	// Unlimited is the rail that nothing limits while the part of Probe is open, or None.
	Unlimited netlist.NetID
}

// Bridge is the probe that seeks what lifts a line to a rail, with all power out.
func (d *Danger) Bridge() netlist.Probe {
	return netlist.Probe{Method: netlist.Across, Net: d.Probe.Net, Other: d.Rail, Part: netlist.None, Fact: netlist.None,
		State: netlist.Condition{Unplugged: true}}
}

// Dangers lists what keeps power off after these readings, the gravest first: a line
// that stands as high as a rail above it, then an open part that a rail needs for its
// limit, then shorts and bridges. The last reading of a
// probe is what counts of it, and a line that stood too high may come back once ohms to
// that rail were read.
func (x *Bench) Dangers(readings []Judged) []Danger {
	var over, open, shorts []Danger
	for i := range readings {
		r := &readings[i]
		later := func(p netlist.Probe) bool {
			return slices.ContainsFunc(readings[i+1:], func(o Judged) bool { return o.Probe.Same(p) })
		}
		if r.Seen != nil || later(r.Probe) {
			continue
		}
		d := Danger{i, r.Probe, r.Value, netlist.None, netlist.None}
		switch {
		case !r.Healthy && r.Probe.Part != netlist.None && r.Value > overShare*r.Should:
			if d.Unlimited = x.b.UpperLeg(r.Probe.Part); d.Unlimited != netlist.None {
				open = append(open, d)
			}
		case !r.Healthy && x.shorts(r.Probe, r.Value, r.Should):
			shorts = append(shorts, d)
		case r.Probe.Method == netlist.Volts:
			if d.Rail = x.above(r.Probe.Net, r.Value); d.Rail != netlist.None && !later(d.Bridge()) {
				over = append(over, d)
			}
		}
	}
	return slices.Concat(over, open, shorts)
}

// shorts reports whether a reading that differs from a healthy board shows a short or a
// bridge of a rail or of what lies beside a high one. Of the gate any that reads too low
// does.
func (x *Bench) shorts(p netlist.Probe, reads, should float64) bool {
	low := reads <= max(min(shortOhms, farBelow*should), min(shortShare*should, neighbourOhms))
	switch {
	case p.Part != netlist.None || reads >= should:
		return false
	case x.Gates(p):
		return true
	case p.Method == netlist.Across:
		return low && (x.guarded(p.Net) || x.guarded(p.Other)) && !x.joined(p.Net, p.Other)
	case p.Method == netlist.Ohms:
		return low && x.guarded(p.Net)
	}
	return p.Method == netlist.Diode && reads <= min(shortDiode, farBelow*should) && x.guarded(p.Net)
}

// guarded reports whether a short of a net keeps power off: of a rail, and of what the
// gate asks for.
func (x *Bench) guarded(n netlist.NetID) bool {
	return n != netlist.None && (x.feeds[n] ||
		slices.ContainsFunc(x.gate, func(p netlist.Probe) bool { return p.Net == n || p.Other == n }))
}

// joined reports whether a part conducts between two nets, so that little between them
// is no bridge.
func (x *Bench) joined(a, z netlist.NetID) bool {
	return slices.ContainsFunc(x.b.Taps(a), func(t netlist.Tap) bool {
		p := &x.b.Parts[t.Part]
		return len(p.Kind.Passes) > 0 && slices.ContainsFunc(p.Conns, func(c netlist.Conn) bool {
			return c.Net == z && c.Channel == p.Conns[t.Conn].Channel
		})
	})
}

// above returns the rail as high as a net stands that is far above all that it can have,
// or None. A line that is low on a healthy board counts from netlist.HighRail on: a level that
// should not be there is no danger.
func (x *Bench) above(n netlist.NetID, volts float64) netlist.NetID {
	if n == netlist.None || !x.known[n] {
		return netlist.None
	}
	limit := overShare * x.top[n]
	if x.top[n] < netlist.LowBelow {
		limit = netlist.HighRail
	}
	if volts <= limit {
		return netlist.None
	}
	best, nearest := netlist.NetID(netlist.None), math.Inf(1)
	for i := range x.b.Nets {
		m := netlist.NetID(i)
		if m == n || !x.feeds[m] || x.top[m] <= limit {
			continue
		}
		off := math.Abs(volts-x.top[m]) / x.top[m]
		if off > asHigh {
			continue
		}
		if _, beside := x.sideBySide(n, m); beside {
			off = -1
		}
		if off < nearest {
			best, nearest = m, off
		}
	}
	return best
}

// findRails marks what gets power from a supply or a regulator, through all that passes
// it on with little resistance.
func (x *Bench) findRails() {
	var queue []netlist.NetID
	for i := range x.b.Parts {
		p := &x.b.Parts[i]
		for _, c := range p.Conns {
			if slices.ContainsFunc(p.Kind.Gives, func(g netlist.Give) bool {
				return g.At == netlist.High && !g.Adds && !g.Weak && g.Pin == p.Pin(c).Name
			}) {
				queue = append(queue, c.Net)
			}
		}
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		if n == netlist.None || x.feeds[n] || x.b.Nets[n].Ground {
			continue
		}
		x.feeds[n] = true
		for _, t := range x.b.Taps(n) {
			queue = append(queue, x.passedOn(t)...)
		}
	}
}

// passedOn lists the nets to which a part passes power on from one of its pins.
func (x *Bench) passedOn(t netlist.Tap) []netlist.NetID {
	p := &x.b.Parts[t.Part]
	here := p.Conns[t.Conn]
	pin := p.Pin(here).Name
	var list []netlist.NetID
	for i := range p.Kind.Passes {
		s := &p.Kind.Passes[i]
		to := ""
		switch {
		case s.AC || p.Ohms(s) > railOhms:
		case s.A == pin:
			to = s.B
		case s.B == pin && !s.OneWay:
			to = s.A
		}
		for _, c := range p.Conns {
			if to != "" && c.Channel == here.Channel && p.Pin(c).Name == to {
				list = append(list, c.Net)
			}
		}
	}
	return list
}
