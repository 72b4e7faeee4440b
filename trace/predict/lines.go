package predict

import (
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// laneEnd is where a lane reaches the panel.
type laneEnd struct {
	nodes []int32
	swing float64 // V peak to peak on each conductor
	panel netlist.PartID
}

// signal is what a part sends on one net.
type signal struct {
	node    int32
	mean    float64 // V
	swing   float64 // V peak to peak, open circuit; negative on the second leg of a pair
	rate    float64 // Hz
	ohms    float64
	law     *circuit.Law // while it is sent
	loose   bool         // its resistance is no branch of the circuit
	reading bool         // it moves only while something is read
}

func (m *Model) sending(id netlist.PartID, p *netlist.Part, n netlist.NetID) signal {
	m.driver(id, p, m.node(n))
	s := signal{node: m.node(n), ohms: lineOhms, rate: 1e3}
	if e, ok := m.swinging(n); ok {
		s.mean, s.swing = e.Value, e.Swing
		if e.Rate != 0 {
			s.rate = e.Rate
		}
		return s
	}
	full := 0.0
	for _, c := range p.Conns {
		if p.Pin(c).Need == netlist.Supply {
			full = max(full, m.nominal(c.Net))
		}
	}
	s.mean, s.swing = full/2, full
	return s
}

// Rates in Hz of what is sent without one: common practice.
const (
	readRate = 100e3 // of the two-wire bus in standard mode: UM10204, from memory
	laneRate = 100e6
)

// terminate joins the conductors of pairs at the panel, and sets their rest level
// there when capacitors keep the source's level off.
func (m *Model) terminate() {
	direct := newUnion(m.nodes)
	for _, u := range m.units {
		if b := &m.branches[u.main]; m.farads[u.main] == 0 && b.A != 0 && b.B != 0 && m.carries(u.main) {
			direct.join(b.A, b.B)
		}
	}
	driven := map[int32]bool{}
	for _, d := range m.senders {
		for _, n := range d.on {
			driven[direct.find(n)] = true
		}
	}
	for i := range m.Board.Lanes {
		l := &m.Board.Lanes[i]
		end := laneEnd{panel: netlist.None}
		for _, n := range l.Nets {
			end.nodes = append(end.nodes, m.node(n))
			if e, ok := m.swinging(n); ok && end.swing == 0 {
				end.swing = e.Swing
			}
			for _, t := range m.Board.Taps(n) {
				if m.Board.Parts[t.Part].Kind.InPanel {
					end.panel = t.Part
				}
			}
		}
		if end.swing == 0 {
			end.swing = pairSwing
		}
		if len(end.nodes) == 2 {
			m.add(end.nodes[0], end.nodes[1], circuit.Conductor(termination), circuit.Conductor(termination))
		}
		if end.panel != netlist.None && !driven[direct.find(end.nodes[0])] {
			m.bias(end, l)
		}
		m.lanes = append(m.lanes, end)
	}
}

// pairSwing is the usual differential output of TIA/EIA-644-A in V (247 to
// 454 mV), and pairLeast the share of it at which its receivers decide, ±100 mV;
// from memory. The same share is taken for other swings.
const (
	pairSwing = 0.35
	pairLeast = 0.1 / 0.35
)

// islands groups the nodes between which a signal can pass, sources and ground
// apart.
func (m *Model) islands() {
	u := newUnion(m.nodes)
	for i, b := range m.branches {
		if b.A != 0 && b.B != 0 && m.holder[b.A] < 0 && m.holder[b.B] < 0 && (m.farads[i] != 0 || m.rest[i] != nil) {
			u.join(b.A, b.B)
		}
	}
	m.isle = make([]int32, m.nodes)
	number := map[int32]int32{}
	for n := int32(1); n < int32(m.nodes); n++ {
		root := u.find(n)
		k, ok := number[root]
		if !ok {
			k = int32(len(m.isles))
			number[root] = k
			m.isles = append(m.isles, nil)
		}
		m.isle[n] = k
		m.isles[k] = append(m.isles[k], n)
	}
}

// directions finds which leg of which pair each sent line leads to: the two legs
// move against each other, and behind a pair stands its termination, so that
// the open-circuit swing is twice the declared one.
func (m *Model) directions() {
	leg := map[int32]int{}
	for _, l := range m.lanes {
		if len(l.nodes) != 2 {
			continue
		}
		for k, n := range l.nodes {
			for _, x := range m.leg(n) {
				if _, ok := leg[x]; !ok {
					leg[x] = k
				}
			}
		}
	}
	for _, d := range m.senders {
		for j := range d.sent {
			s := &d.sent[j]
			k, ok := leg[s.node]
			if !ok {
				continue
			}
			s.swing *= 2
			if k == 1 {
				s.swing = -s.swing
			}
			if s.rate == 1e3 {
				s.rate = laneRate
			}
		}
	}
}

// leg lists the nodes on the way of a conductor, from a node at its end.
func (m *Model) leg(end int32) []int32 {
	seen, way := map[int32]bool{end: true}, []int32{end}
	for i := 0; i < len(way); i++ {
		for _, b := range m.net.At(way[i]) {
			o := m.net.Other(b, way[i])
			if o != 0 && !seen[o] && m.holder[o] < 0 && m.carries(b) {
				seen[o] = true
				way = append(way, o)
			}
		}
	}
	return way
}

// carries reports whether a branch is on the way of a signal: a series part, a
// switch or a coupling capacitor, no termination, pull or driver.
func (m *Model) carries(b int32) bool {
	if !m.isUnit(b) {
		return false
	}
	l := m.rest[b]
	return l == nil || l.Segments() == 1 && (l.Slope(0) >= 1e-3 || l.Slope(0) <= circuit.OffLeak)
}

// isUnit reports whether a branch is the main one of a channel of a part.
func (m *Model) isUnit(b int32) bool {
	_, found := slices.BinarySearchFunc(m.units, b, func(u unit, b int32) int { return int(u.main - b) })
	return found
}
