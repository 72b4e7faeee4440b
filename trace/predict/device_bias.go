package predict

import (
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// bias is a receiver that sets the rest level of a lane behind coupling capacitors.
type bias struct {
	own
	branches []int32
	laws     []*circuit.Law // of them, with power on
}

func (m *Model) bias(end laneEnd, l *netlist.Lane) {
	d := &bias{own: own{end.panel}}
	m.now = end.panel
	for k, n := range l.Nets {
		d.branches = append(d.branches, m.add(end.nodes[k], m.ground[end.panel], nil, nil))
		d.laws = append(d.laws, circuit.EMF(m.nominal(n), biasOhms))
	}
	m.now = netlist.None
	m.device(d)
}

func (d *bias) look(m *Model) sight {
	x := d.seen()
	x.by = d.supplies(m)
	return x
}

func (d *bias) act(s *sim, _ int32) {
	on := s.powered(d.part)
	for k, b := range d.branches {
		s.set(b, when(on, d.laws[k]))
	}
}
