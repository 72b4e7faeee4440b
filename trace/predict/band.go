package predict

import (
	"math"

	"example.org/walkback/netlist"
)

// floatsUpTo is the voltage in V up to which a meter may read on a net that nothing
// holds. Common practice, no source.
const floatsUpTo = 5.0

// HealthyBand returns between what a probe reads on the healthy board, in V or Ω, both
// +Inf where the meter shows OL: the computed value with what a person would not tell
// from it. Known is false where the board cannot be simulated in that state.
func (m *Simulator) HealthyBand(p Probe) (low, high float64, known bool) {
	var v float64
	if p.Cold() {
		v = m.Cold(p.State.Unplugged, Hypothesis{}).Value(p)
	} else {
		if m.Simulates(p.State) != nil {
			return 0, 0, false
		}
		v = m.Run(p.State, Hypothesis{}).Value(p)
	}
	switch {
	case math.IsInf(v, 1) && p.Method == Volts:
		return -noiseVolts, floatsUpTo, true
	case math.IsInf(v, 1):
		return v, v, true
	}
	apart := Apart(p.Method, v)
	if p.Method == Activity && v >= moves {
		return v / 2, v * 2, true // as Alike has it
	}
	return v - apart, v + apart, true
}

// fitsNumber reports whether a reading with all power out, or of how far a net moves,
// agrees with the run.
func (r *Run) fitsNumber(o netlist.Observation) bool {
	p := Probe{Method: Activity, Net: o.Target.Net, Other: netlist.None, Part: netlist.None, Fact: netlist.None}
	v := 0.0
	if o.Cold != nil {
		p = *o.Cold
		v = r.s.lab.Cold(p.State.Unplugged, r.Hypothesis).Value(p)
	} else {
		v = r.Value(p)
	}
	if math.IsInf(v, 1) || math.IsInf(o.Value, 1) {
		return math.IsInf(v, 1) == math.IsInf(o.Value, 1)
	}
	return math.Abs(v-o.Value) <= Apart(p.Method, min(v, o.Value))
}
