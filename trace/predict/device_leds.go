package predict

import (
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

var _ = acts("leds", makeLEDs)

// leds is strings of LEDs with a common anode.
type leds struct {
	own
	anode    int32
	cathodes []int32
	branches []int32
	series   float64
	vf       float64 // V of one LED at its current
	warm     float64 // times vf, at this corner of the tolerances
	amps     float64 // A of a string
}

const (
	ledOhms  = 5.0 // slope of one LED at its current: common practice, no source
	litShare = 0.1 // share of its current at which a string counts as lit: common practice, no source
)

func makeLEDs(m *Model, id netlist.PartID, p *netlist.Part) {
	d := &leds{
		own:      own{id},
		anode:    m.pin(p, "a"),
		cathodes: m.pins(p, "k"),
		series:   m.attr(p, "series", 10),
		vf:       m.attr(p, "vf", 3.1),
		warm:     1 + tolJunction*m.corner,
		amps:     m.attr(p, "current", 0.02),
	}
	for _, n := range d.cathodes {
		l := d.law(0)
		d.branches = append(d.branches, m.unit(m.add(d.anode, n, l, l)))
	}
	m.device(d)
	m.lit[id] = d
}

// law is that of a string with some of its LEDs bridged. The forward voltage holds
// at the string's current, so the knee lies below it by the slope.
func (d *leds) law(bridged float64) *circuit.Law {
	n := max(d.series-bridged, 0)
	if n == 0 {
		return circuit.Conductor(ledOhms)
	}
	slope := min(ledOhms, 0.5*d.vf/max(d.amps, 1e-6))
	return circuit.Junction(n*(d.vf*d.warm-d.amps*slope), n*slope)
}

func (d *leds) look(*Model) sight { return d.seen() }
func (d *leds) act(*sim, int32)   {}

// glows reports whether some string is lit.
func (d *leds) glows(s *sim) bool {
	for _, b := range d.branches {
		if s.Current(b) >= litShare*d.amps {
			return true
		}
	}
	return false
}

// fail bridges some LEDs of a string.
func (d *leds) fail(s *sim, f Fault) bool {
	if f.Mode.Does != netlist.Darkens {
		return false
	}
	for k, b := range d.branches {
		if f.Unit == netlist.None || f.Unit == k {
			s.force(b, d.law(f.size()))
		}
	}
	return true
}
