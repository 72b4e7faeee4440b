package predict

import (
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// fault returns the fault of a part with an effect, on a node where that is asked
// for (node > 0).
func (s *sim) fault(part netlist.PartID, does netlist.Effect, node int32) *Fault {
	for i := range s.faults {
		f := &s.faults[i]
		if f.Part != part || f.Mode.Does != does {
			continue
		}
		if node > 0 && f.Unit != netlist.None && f.Mode.Per != netlist.PerChannel && s.m.node(s.m.Board.Parts[part].Conns[f.Unit].Net) != node {
			continue
		}
		return f
	}
	return nil
}

// factor is the product of the values of a part's faults with an effect.
func (s *sim) factor(part netlist.PartID, does netlist.Effect) float64 {
	x := 1.0
	for i := range s.faults {
		if f := &s.faults[i]; f.Part == part && f.Mode.Does == does {
			x *= f.size()
		}
	}
	return x
}

// apply puts a fault into the circuit: a device in its own way, all else by what
// the table of kinds says that the fault does.
func (s *sim) apply(f Fault) {
	s.faults = append(s.faults, f)
	taken := false
	for _, i := range s.m.of[f.Part] {
		taken = s.m.devices[i].fail(s, f) || taken
	}
	if !taken {
		s.spoil(f)
	}
	for _, i := range s.m.wakes[f.Part] {
		s.wake(i)
	}
}

// spoil does what a fault does to branches.
func (s *sim) spoil(f Fault) {
	m, p := s.m, &s.m.Board.Parts[f.Part]
	units := m.channels(f.Part)
	if f.Unit != netlist.None && f.Mode.Per == netlist.PerChannel {
		units = units[f.Unit : f.Unit+1]
	}
	switch f.Mode.Does {
	case netlist.Opens:
		if f.Mode.Per == netlist.PerPin {
			s.opens(f)
			break
		}
		for _, u := range units {
			s.cut(u.main)
			if u.body >= 0 {
				s.cut(u.body)
			}
		}
	case netlist.Joins:
		for _, u := range units {
			l := circuit.Conductor(f.size())
			if old := m.rest[u.main]; old != nil && len(p.Kind.Passes) > 0 {
				l = old.Plus(l.Slope(0))
			}
			s.force(u.main, l)
		}
	case netlist.Resists, netlist.Scales:
		for _, u := range units {
			l := m.rest[u.main]
			if l == nil || l.Segments() != 1 {
				continue
			}
			ohms := f.size() / l.Slope(0)
			if f.Mode.Does == netlist.Resists {
				ohms = f.size() + 1/l.Slope(0)
			}
			s.force(u.main, circuit.Conductor(ohms))
		}
	case netlist.Grounds, netlist.Bridges, netlist.LeaksGate:
		for _, j := range m.joints {
			if j.part == f.Part && j.effect == f.Mode.Does && j.over == f.Mode.Over && (j.unit == f.Unit || f.Unit == netlist.None) &&
				(f.Mode.Pin == "" || f.Mode.Per != netlist.PerPart || m.reaches(j.branch, m.groundedNode(f.Part, p, f.Mode, 0))) {
				s.force(j.branch, circuit.Conductor(f.size()))
				s.bridged = append(s.bridged, j.branch)
			}
		}
	}
}

func (m *Model) reaches(b, n int32) bool { return m.branches[b].A == n || m.branches[b].B == n }

// cut opens a branch for levels and for changes.
func (s *sim) cut(b int32) {
	s.force(b, nil)
	s.touch(s.Branches[b].A)
	s.touch(s.Branches[b].B)
	s.broken = append(s.broken, b)
}

// open opens a fuse that blew.
func (s *sim) open(fuse netlist.PartID) {
	for _, f := range s.m.fuses {
		if f.part == fuse {
			s.cut(f.branch)
		}
	}
}

// opens takes a pin of a chip off its net.
func (s *sim) opens(f Fault) {
	for _, j := range s.m.joints {
		if j.part == f.Part && j.effect == netlist.Opens && j.unit == f.Unit {
			s.cut(j.branch)
		}
	}
}
