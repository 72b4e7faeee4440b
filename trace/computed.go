package trace

import (
	"math"

	"example.org/walkback/netlist"
)

// Computed is what a simulation of the healthy board gives for a net, in V.
type Computed struct {
	Known     bool
	Volts     float64 // what a meter reads
	Low, High float64 // its band
	Swing     float64 // V peak to peak
	Floats    bool    // nothing holds the net
}

// differs is the share of a declared value above which a computed one is told
// beside it.
const differs = 0.02

// Expect returns what a net reads on a healthy board in the walk's state: what
// the board file declares, or else what was computed.
func (w *Walk) Expect(n netlist.NetID) (e netlist.Expect, known bool) {
	if e, ok := w.Board.ExpectIn(n, w.Setting); ok {
		return e, true
	}
	c := w.computed(n)
	if !c.Known || c.Floats {
		return netlist.Expect{}, false
	}
	e.Swing = c.Swing
	if math.Abs(c.Volts) >= zeroVolts {
		e.Value = c.Volts
		e.Tol = math.Ceil(100*max(c.High-c.Volts, c.Volts-c.Low)/math.Abs(c.Volts)) / 100
	}
	return e, true
}

// zeroVolts is what a meter shows on a grounded point at most.
const zeroVolts = 0.05

func (w *Walk) computed(n netlist.NetID) Computed {
	if w.Computed == nil {
		return Computed{}
	}
	return w.Computed[n]
}

// ExpectText prints what a net reads on a healthy board in the walk's state, and
// the computed value where the declared one is another; empty when nothing is
// known.
func (w *Walk) ExpectText(n netlist.NetID) string {
	c := w.computed(n)
	e, declared := w.Board.ExpectIn(n, w.Setting)
	switch {
	case !declared && !c.Known:
		return ""
	case !declared && c.Floats:
		return "computed: floating"
	case !declared:
		e, _ := w.Expect(n)
		return "computed " + e.String()
	case c.Known && !c.Floats && math.Abs(c.Volts-e.Value) > max(zeroVolts, differs*math.Abs(e.Value)):
		return e.String() + ", computed " + netlist.FormatValue(math.Round(c.Volts*1000)/1000, netlist.Volt)
	}
	return e.String()
}
