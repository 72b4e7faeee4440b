package predict

import (
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

var _ = acts("clamp", makeClamp)

// Of a clamp: common practice, no source.
const (
	clampOhms = 1.0
	standOff  = 5.0 // V without "volts"
	breakdown = 1.2 // times the stand-off voltage
)

// makeClamp makes protection diodes, which conduct above their breakdown voltage
// and below ground. They decide nothing.
func makeClamp(m *Model, _ netlist.PartID, p *netlist.Part) {
	for _, c := range p.Conns {
		if c.Pin == 0 {
			l := circuit.Clamping(bodyVolts, clampOhms, breakdown*m.attr(p, "volts", standOff), clampOhms)
			m.unit(m.add(m.node(c.Net), m.otherEnd(p, c, "b"), l, l))
		}
	}
}
