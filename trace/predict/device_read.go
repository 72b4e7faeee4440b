package predict

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// reader tries to read another part over two lines, and makes a fact hold once it
// can.
type reader struct {
	ruled            // on: its own ends of the lines, clock first
	far      []int32 // their ends at the part that is read
	lines    bool    // they are open-drain
	branches []int32 // that set the rest level of lines that are not, -1 for none
	sent     []signal
}

// The two-wire bus, UM10204: low below 0.3 VDD, high above 0.7 VDD.
const busLow, busHigh = 0.3, 0.7

func makeReader(m *Model, x ruled, p *netlist.Part) {
	from := &m.Board.Parts[x.rule.From]
	d := &reader{ruled: x, lines: from.Kind.OpenLines}
	for i, n := range x.rule.Nets {
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
		d.on = append(d.on, s.node)
		if !d.lines && s.mean != 0 {
			s.ohms = biasOhms
			d.branches = append(d.branches, m.add(s.node, m.groundOf(p), nil, nil))
		} else {
			d.branches = append(d.branches, -1)
		}
		d.sent = append(d.sent, s)
	}
	switch {
	case len(x.rule.At) > 0:
		for _, n := range x.rule.At {
			d.far = append(d.far, m.node(n))
		}
	case d.lines:
		d.far = []int32{m.pin(from, "scl"), m.pin(from, "sda")}
	default:
		d.far = slices.Clone(d.on)
	}
	m.device(d)
}

func (d *reader) look(m *Model) sight {
	x := d.ruled.look(m)
	x.asks, x.fact, x.on = d.rule.From, d.rule.Fact, nil
	x.by = append(append(x.by, d.far...), own{d.rule.From}.supplies(m)...)
	x.hears = d.on
	return x
}

func (d *reader) act(s *sim, i int32) {
	trying := s.holds(d.part, d.rule)
	var now []signal
	for k := range d.sent {
		x := d.sent[k]
		if b := d.branches[k]; b >= 0 {
			if trying || s.powered(d.part) {
				s.set(b, circuit.EMF(x.mean, x.ohms))
			} else {
				s.set(b, nil)
			}
		}
		x.loose, x.reading, x.ohms = true, true, lineOhms
		if d.lines {
			// Nobody drives an open-drain line high: it moves from where it rests.
			x.swing = max(s.level(d.part, x.node), 0)
		}
		if trying && s.fault(d.part, netlist.Deafens, x.node) == nil {
			now = append(now, x)
		}
	}
	s.transmit(i, now)
	s.make(i, trying && len(now) == len(d.sent) && d.answers(s))
}

// answers reports whether the part at the far end can be read.
func (d *reader) answers(s *sim) bool {
	if !s.powered(d.rule.From) || s.fault(d.rule.From, netlist.Garbles, 0) != nil {
		return false
	}
	for _, n := range d.far {
		f := s.fault(d.rule.From, netlist.Opens, n)
		if f != nil && f.Mode.Per == netlist.PerPin || s.fault(d.rule.From, netlist.Deafens, n) != nil {
			return false
		}
	}
	if !d.lines {
		return d.paired(s)
	}
	for k, near := range d.on {
		if !d.talks(s, near, d.far[k]) {
			return false
		}
	}
	// Two lines that touch carry each other's bits.
	for _, b := range s.bridged {
		x := &s.Branches[b]
		if d.sameLine(s, x.A, 0) && d.sameLine(s, x.B, 1) || d.sameLine(s, x.A, 1) && d.sameLine(s, x.B, 0) {
			return false
		}
	}
	return true
}

// sameLine reports whether a node moves with line k of a read.
func (d *reader) sameLine(s *sim, n int32, k int) bool {
	return n != 0 && (n == d.on[k] || n == d.far[k] || s.m.isle[n] == s.m.isle[d.on[k]] && s.near(n, d.on[k]))
}

// near reports whether two nodes are joined by little resistance.
func (s *sim) near(a, b int32) bool {
	seen := map[int32]bool{a: true}
	queue := []int32{a}
	for len(queue) > 0 {
		x := queue[0]
		queue = queue[1:]
		if x == b {
			return true
		}
		for _, br := range s.At(x) {
			l := s.Law[br]
			if l == nil || slices.Contains(s.bridged, br) {
				continue
			}
			o := s.Other(br, x)
			if l.Segments() == 1 && l.Slope(0) >= 1e-3 && o != 0 && !s.Held[o] && !seen[o] {
				seen[o] = true
				queue = append(queue, o)
			}
		}
	}
	return false
}

// paired reports whether what one end sends on a pair reaches the other end.
func (d *reader) paired(s *sim) bool {
	if len(d.on) == 1 {
		return math.Abs(s.ac[d.far[0]]) >= pairLeast*math.Abs(d.sent[0].swing)
	}
	got := math.Abs(s.ac[d.far[0]] - s.ac[d.far[1]])
	sent := math.Abs(d.sent[0].swing - d.sent[1].swing)
	each := min(math.Abs(s.ac[d.far[0]]), math.Abs(s.ac[d.far[1]]))
	return got >= pairLeast*sent && each >= pairLeast*math.Abs(d.sent[0].swing)
}

// talks reports whether an open-drain line rests high and can be pulled low from
// either end, by the levels of UM10204.
func (d *reader) talks(s *sim, near, far int32) bool {
	vdd := s.supplyOf(d.part)
	for _, p := range []struct {
		part netlist.PartID
		n    int32
	}{{d.part, near}, {d.rule.From, far}} {
		if s.level(p.part, p.n) < busHigh*min(vdd, s.supplyOf(d.rule.From)) {
			return false
		}
	}
	ends := [][2]int32{{near, far}, {far, near}}
	grounds := []int32{s.m.ground[d.part], s.m.ground[d.rule.From]}
	for k, e := range ends {
		if v, ok := s.pulled(e[0], grounds[k], e[1]); !ok || v > busLow*vdd {
			return false
		}
	}
	return true
}

// pulled returns the voltage of a node while another one is pulled to ground,
// without changing anything.
func (s *sim) pulled(n, ground, watch int32) (float64, bool) {
	sv, c := s.lab.solver, &s.Circuit
	sv.Gather(c, []int32{n, watch})
	if !sv.Has(n) || !sv.Has(watch) {
		return c.V[watch], c.Held[watch]
	}
	keep := make([]float64, len(sv.Region()))
	for i, x := range sv.Region() {
		keep[i] = c.V[x]
	}
	g := 1 / pullOhms
	shunt, inject := c.Shunt[n], c.Inject[n]
	c.Shunt[n] += g
	c.Inject[n] += g * c.V[ground]
	ok := sv.Relax(c)
	var closed []int32 // an edge closes the MOSFETs of a level shifter
	for more := true; more && ok; {
		more = false
		for b, x := range s.m.shifts {
			if s.Law[b] == offLaw && !s.forced[b] && sv.Has(x.ref) && x.opens(s) {
				c.Law[b], closed, more = x.on, append(closed, b), true
			}
		}
		ok = !more || sv.Relax(c)
	}
	v := c.V[watch]
	for _, b := range closed {
		c.Law[b] = offLaw
	}
	c.Shunt[n], c.Inject[n] = shunt, inject
	for i, x := range sv.Region() {
		c.V[x] = keep[i]
	}
	return v, ok
}
