package circuit

// Drive is a source of changes at a node, behind a resistance.
type Drive struct {
	Node  int32
	Volts float64 // without load; its sign tells phases apart
	Ohms  float64
	Loose bool // the resistance is no branch of the circuit
}

// Changes finds how far nodes move when all drives do, round the operating point,
// which stays: held nodes and ground stand still, and so do nodes that within does
// not report. A branch counts by what admit returns for it, in S. The nodes that are
// reached are then the Region, and Moves tells how far each moves.
func (s *Solver) Changes(c *Circuit, drives []Drive, admit func(branch int32) float64, within func(node int32) bool) {
	s.stamp++
	s.region, s.list, s.admit = s.region[:0], s.list[:0], s.admit[:0]
	add := func(n int32) {
		if n != 0 && !c.Held[n] && s.member[n] != s.stamp && within(n) {
			s.member[n] = s.stamp
			s.region = append(s.region, n)
		}
	}
	for _, x := range drives {
		add(x.Node)
	}
	for i := 0; i < len(s.region); i++ {
		for _, b := range c.At(s.region[i]) {
			x := &c.Branches[b]
			if x.A == x.B || s.used[b] == s.stamp {
				continue
			}
			s.used[b] = s.stamp
			if g := admit(b); g > 0 {
				s.list, s.admit = append(s.list, b), append(s.admit, g)
				add(x.A)
				add(x.B)
			}
		}
	}
	s.sort(c)
	for _, n := range s.region {
		s.excess[n], s.rhs[n] = Insulation, 0
		for _, slot := range c.later[n].slot {
			s.g[slot] = 0
		}
	}
	for i, b := range s.list {
		x, g := &c.Branches[b], s.admit[i]
		switch ina, inb := s.Has(x.A), s.Has(x.B); {
		case ina && inb:
			s.g[x.slot] += g
		case ina:
			s.excess[x.A] += g
		case inb:
			s.excess[x.B] += g
		}
	}
	for _, x := range drives {
		if s.Has(x.Node) {
			g := 1 / x.Ohms
			if x.Loose {
				s.excess[x.Node] += g
			}
			s.rhs[x.Node] += g * x.Volts
		}
	}
	s.sweep(c)
}

// Moves returns how far a node of the Region moves after Changes, in V.
func (s *Solver) Moves(node int32) float64 { return s.next[node] }
