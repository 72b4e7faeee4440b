package predict

import "example.org/walkback/netlist"

// Grounded returns the net that a fault joins to ground by whatever resistance, as a
// short or a leak does, and whether it does so.
func (m *Model) Grounded(f Fault) (netlist.NetID, bool) {
	p := &m.Board.Parts[f.Part]
	switch f.Mode.Does {
	case netlist.Grounds:
		if f.Unit != netlist.None {
			return p.Conns[f.Unit].Net, true
		}
		n := m.groundedNode(f.Part, p, f.Mode, 0)
		return netlist.NetID(n - 1), n > 0
	case netlist.Joins:
		units := m.channels(f.Part)
		if f.Unit != netlist.None {
			units = units[f.Unit : f.Unit+1]
		}
		for _, u := range units {
			if n, ok := m.overGround(u.main); ok {
				return n, true
			}
		}
	case netlist.LeaksGate:
		for _, j := range m.joints {
			if j.part == f.Part && j.effect == f.Mode.Does {
				return m.overGround(j.branch)
			}
		}
	}
	return netlist.None, false
}

// overGround returns the net at one end of a branch whose other end is ground.
func (m *Model) overGround(branch int32) (netlist.NetID, bool) {
	a, b := m.branches[branch].A, m.branches[branch].B
	if min(a, b) != 0 || max(a, b) <= 0 {
		return netlist.None, false
	}
	return netlist.NetID(max(a, b) - 1), true
}
