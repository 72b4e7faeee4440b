package predict

import (
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

var _ = acts("shifter", makeShifter)

// shifter is the bidirectional level shifter of NXP AN10441: on each line a MOSFET
// with its gate on the lower supply, its source on the low side and its drain on the
// high side, and a pull-up to its own supply on either side. At rest the MOSFET is
// off and each side reads its own supply. The low side pulled down turns it on, and
// the high side follows; the high side pulled down takes the low side along through
// the diode of the MOSFET until that turns on.
//
// The MOSFETs are passes as those of any transistor; what is added here are the
// pull-ups, and that changes pass, since each edge turns the MOSFET on.
type shifter struct {
	own
	pulls []int32 // branches, from a supply to a line
}

func makeShifter(m *Model, id netlist.PartID, p *netlist.Part) {
	d := &shifter{own: own{id}}
	l := circuit.Conductor(m.attr(p, "pull", 0))
	for _, side := range []string{"a", "b"} {
		for _, n := range m.pins(p, side) {
			d.pulls = append(d.pulls, m.add(m.pin(p, "v"+side), n, l, l))
		}
	}
	for _, x := range m.devices[len(m.devices)-len(m.pins(p, "b")):] {
		x := x.(*transistor)
		m.shifts[x.branch] = x
	}
	m.device(d)
}

func (d *shifter) look(*Model) sight { return d.seen() }
func (d *shifter) act(*sim, int32)   {}

// fail takes a pull-up away.
func (d *shifter) fail(s *sim, f Fault) bool {
	if f.Mode.Does != netlist.Frees {
		return false
	}
	n := s.m.node(s.m.Board.Parts[d.part].Conns[f.Unit].Net)
	for _, b := range d.pulls {
		if s.Branches[b].B == n {
			s.cut(b)
		}
	}
	return true
}
