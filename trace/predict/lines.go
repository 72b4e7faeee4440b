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
	bias  []int32 // branches that set the rest level behind coupling capacitors
}

// signal is what a part sends on one net.
type signal struct {
	node  int32
	mean  float64 // V
	swing float64 // V peak to peak, open circuit; negative on the second leg of a pair
	rate  float64 // Hz
	ohms  float64
	law   *circuit.Law // while it is sent
	burst bool         // its resistance is no branch of the circuit
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
	boosting = 600e3
)

// reading fills in the device of a read: its lines at both ends.
func (m *Model) reading(d *device, p *netlist.Part, rule *netlist.Rule) {
	from := &m.Board.Parts[rule.From]
	d.from = rule.From
	d.lines = from.Kind.OpenLines
	for i, n := range rule.Nets {
		s := signal{node: m.node(n), ohms: lineOhms, rate: readRate}
		if e, ok := m.swinging(n); ok {
			s.mean, s.swing = e.Value, e.Swing
			if e.Rate != 0 {
				s.rate = e.Rate
			}
			if i == 1 {
				s.swing = -s.swing
			}
		} else {
			s.swing = max(m.nominal(n), 1)
		}
		d.in = append(d.in, s.node)
		if !d.lines && s.mean != 0 {
			s.ohms = biasOhms
			d.branches = append(d.branches, m.add(s.node, m.groundOf(p), nil, nil))
		} else {
			d.branches = append(d.branches, -1)
		}
		d.sent = append(d.sent, s)
	}
	d.far = nil
	switch {
	case len(rule.At) > 0:
		for _, n := range rule.At {
			d.far = append(d.far, m.node(n))
		}
	case d.lines:
		d.far = []int32{m.pin(from, "scl"), m.pin(from, "sda")}
	default:
		d.far = slices.Clone(d.in)
	}
}

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
	for i := range m.devices {
		if d := &m.devices[i]; d.kind == sendDevice {
			for _, n := range d.in {
				driven[direct.find(n)] = true
			}
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
			var laws []*circuit.Law
			for k, n := range l.Nets {
				end.bias = append(end.bias, m.add(end.nodes[k], m.groundOf(&m.Board.Parts[end.panel]), nil, nil))
				laws = append(laws, circuit.EMF(m.nominal(n), biasOhms))
			}
			m.devices = append(m.devices, device{kind: biasDevice, part: end.panel, branches: end.bias, laws: laws})
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
	for i := range m.devices {
		d := &m.devices[i]
		if d.kind != sendDevice {
			continue
		}
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

// carries tells whether a branch is on the way of a signal: a series part, a
// switch or a coupling capacitor, no termination, pull or driver.
func (m *Model) carries(b int32) bool {
	i, found := slices.BinarySearchFunc(m.units, b, func(u unit, b int32) int { return int(u.main - b) })
	if !found {
		return false
	}
	l := m.rest[m.units[i].main]
	return l == nil || l.Segments() == 1 && (l.Slope(0) >= 1e-3 || l.Slope(0) <= circuit.OffLeak)
}
