package predict

import (
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

var _ = acts("zener", makeZener)

// zener conducts in reverse above its voltage: V = Vz + r·(I - Itest), the line that
// data sheets draw through the test point, and forwards like any diode.
type zener struct {
	own
	branch       int32
	volts, vf, r float64
	test         float64 // A
}

func makeZener(m *Model, id netlist.PartID, p *netlist.Part) {
	d := &zener{own: own{id}, vf: m.attr(p, "vf", 0) * (1 + tolJunction*m.corner), r: m.attr(p, "r", 0), test: m.attr(p, "test", 0)}
	d.volts = m.attr(p, "volts", 0) * (1 + m.attr(p, "tol", 0)*m.corner)
	l := d.law(1)
	d.branch = m.unit(m.add(m.pin(p, "k"), m.pin(p, "a"), l, l))
	m.device(d)
}

// law is that of a zener whose voltage is so many times the right one. A slope that
// would leave nothing of the voltage at no current is taken as less.
func (d *zener) law(times float64) *circuit.Law {
	volts := times * d.volts
	r := min(d.r, 0.5*volts/max(d.test, 1e-9))
	return circuit.Clamping(d.vf, bodyOhms, volts-r*d.test, r)
}

func (d *zener) look(*Model) sight { return d.seen() }
func (d *zener) act(*sim, int32)   {}

func (d *zener) fail(s *sim, f Fault) bool {
	if f.Mode.Does == netlist.Levels {
		s.force(d.branch, d.law(f.size()))
	}
	return f.Mode.Does == netlist.Levels
}
