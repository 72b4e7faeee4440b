// Package probe is how a probe is made on a board: where it lands, how the meter is
// set, in which condition of the board, what to mind, and what it costs.
//
//	x := probe.On(board, nil)
//	place, ok := x.Place(p)
//
// The words of safety of the whole program stand in caution.go.
package probe

import (
	"slices"

	"example.org/walkback/netlist"
)

// Rates in Hz. A line between the first two is alive for a moment only, while something
// is read over it; one above the second is too fast for a plain scope. A power net that
// swings faster than the third is the switch node of a converter: those of panels run
// at 300 kHz and more. Common practice, no source.
const (
	burstRate  = 10e3
	fastRate   = 20e6
	switchRate = 100e3
)

// pairSwing is the swing in V under which a line without a rate is a leg of a
// fast pair: 247 to 454 mV in TIA/EIA-644-A, from memory.
const pairSwing = 1.0

// Bench is a board as a hand with a meter meets it.
type Bench struct {
	b     *netlist.Board
	top   []float64 // V, the highest that each net reaches in any state
	known []bool    // whether that is declared or computed at all
	plug  []bool    // nets on a plug, where a net above a logic level is a high rail
	rails []bool    // parts with pins in a row, one of them at a high rail
	bus   []bool    // nets over which something is read now and then
	feeds []bool    // rails: nets that power comes over
	gate  []netlist.Probe

	history []string
	waits   bool // what is only looked at waits for the gate too
	wet     bool // dirt may join what lies side by side anywhere
}

// On makes a bench of a board. Computed holds the highest voltage in V that a
// simulation of the healthy board shows on each net, in any state; nil where there is
// none.
func On(b *netlist.Board, computed []float64) *Bench {
	n := len(b.Nets)
	x := &Bench{b: b, top: make([]float64, n), known: make([]bool, n), rails: make([]bool, len(b.Parts)), bus: make([]bool, n),
		feeds: make([]bool, n), plug: make([]bool, n)}
	for i := range b.Nets {
		x.top[i], x.known[i] = declared(&b.Nets[i])
		if computed != nil {
			x.top[i], x.known[i] = max(x.top[i], computed[i]), true
		}
	}
	for i := range b.Parts {
		if p := &b.Parts[i]; p.Kind.Plugs {
			for _, c := range p.Conns {
				x.plug[c.Net] = true
			}
		}
	}
	x.findRails()
	for i := range b.Parts {
		p := &b.Parts[i]
		x.rails[i] = p.Kind.Form == netlist.RowsForm && slices.ContainsFunc(p.Conns, func(c netlist.Conn) bool { return x.High(c.Net) })
		for _, r := range p.Rules {
			if r.From != netlist.None {
				x.reads(slices.Concat(r.Nets, r.At))
			}
		}
	}
	x.gate = x.makeGate()
	return x
}

// After returns the bench of a machine to which something happened, in words of
// netlist.Histories.
func (x *Bench) After(history []string) *Bench {
	y := *x
	y.history, y.wet = history, wet(history)
	y.waits = slices.ContainsFunc(netlist.Histories, func(h netlist.History) bool { return h.Waits && slices.Contains(history, h.Name) })
	y.gate = y.makeGate()
	return &y
}

// History returns what happened to the machine, in words of netlist.Histories.
func (x *Bench) History() []string { return x.history }

// Wet reports whether dirt may join what lies side by side anywhere.
func (x *Bench) Wet() bool { return x.wet }

// declared returns the highest that the board file has a net reach, in V, and whether it
// says anything of it.
func declared(n *netlist.Net) (top float64, known bool) {
	for _, e := range n.Expect {
		top = max(top, e.Value, e.Value+e.Swing)
	}
	return top, len(n.Expect) > 0
}

// High reports whether one slip from a net destroys what is beside it: whether the
// highest that it reaches, mean and swing together, is a high rail, or, on a plug, it
// rests above a logic level.
func (x *Bench) High(n netlist.NetID) bool {
	if n == netlist.None {
		return false
	}
	rests, known := x.b.Nets[n].Rests()
	if !known && x.feeds[n] {
		rests = x.top[n]
	}
	return x.top[n] >= netlist.HighRail || x.plug[n] && rests > netlist.LogicTop
}

// reads marks the lines over which something is read, with what carries them on.
func (x *Bench) reads(queue []netlist.NetID) {
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		if x.bus[n] || x.b.Nets[n].Ground {
			continue
		}
		x.bus[n] = true
		for _, t := range x.b.Taps(n) {
			p := &x.b.Parts[t.Part]
			if len(p.Kind.Passes) != 1 || p.Kind.Passes[0].Control != "" || !p.Kind.Passes[0].AC && p.Ohms(&p.Kind.Passes[0]) > seriesOhms {
				continue
			}
			for _, c := range p.Conns {
				if c.Channel == p.Conns[t.Conn].Channel && c.Net != n && x.b.Nets[c.Net].Expect != nil {
					queue = append(queue, c.Net)
				}
			}
		}
	}
}

// seriesOhms is the most in Ω that carries a line on and does not pull it.
const seriesOhms = 100.0

// Switches reports whether a net is the switch node of a converter. Its mean is that of
// its input, whether it switches or not, so DC volts there prove nothing.
func (x *Bench) Switches(n netlist.NetID) bool {
	return n != netlist.None && x.swings(n, func(e netlist.Expect) bool { return e.Rate >= switchRate }) &&
		slices.ContainsFunc(x.b.Taps(n), func(t netlist.Tap) bool {
			p := &x.b.Parts[t.Part]
			pin := p.Pin(p.Conns[t.Conn]).Name
			return p.Kind.Bears == netlist.BearsSteady ||
				slices.ContainsFunc(p.Kind.Gives, func(g netlist.Give) bool { return g.Adds && g.Pin == pin })
		})
}

// swings reports whether a net swings in some state in a way.
func (x *Bench) swings(n netlist.NetID, how func(netlist.Expect) bool) bool {
	return slices.ContainsFunc(x.b.Nets[n].Expect, func(e netlist.Expect) bool { return e.Swing > 0 && how(e) })
}

func (x *Bench) fast(n netlist.NetID) bool {
	return x.swings(n, func(e netlist.Expect) bool { return e.Rate >= fastRate || e.Rate == 0 && e.Swing < pairSwing })
}

// bursts reports whether a net is alive for moments only.
func (x *Bench) bursts(n netlist.NetID) bool {
	return x.bus[n] || x.swings(n, func(e netlist.Expect) bool { return e.Rate >= burstRate && e.Rate < fastRate })
}

// Sinks reports whether a net is held low by drawing a current through it, so that it
// stands above zero.
func (x *Bench) Sinks(n netlist.NetID) bool {
	return slices.ContainsFunc(x.b.Nets[n].Expect, func(e netlist.Expect) bool {
		return e.Swing == 0 && e.Value > 0 && e.Value < netlist.LowBelow && e.Low() > 0
	})
}

// held reports whether a net is held at ground on a healthy board, so that it reads the
// same when nothing pulls it up.
func (x *Bench) held(p netlist.Probe) bool {
	e, ok := x.b.ExpectIn(p.Net, p.State.Setting)
	return ok && e.Swing == 0 && e.Value < netlist.LowBelow && !x.Sinks(p.Net) && !x.b.Grounded(p.Net)
}

// Asks reports whether a checklist asks for a probe: a hand can reach its place, and
// what the meter shows there means something.
func (x *Bench) Asks(p netlist.Probe) bool {
	if p.Method == netlist.Volts && x.Switches(p.Net) {
		return false
	}
	_, ok := x.Place(p)
	return ok
}
