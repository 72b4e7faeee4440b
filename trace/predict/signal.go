package predict

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// signals finds what moves, and how far: each driver of a fast line is a source
// behind its own resistance; levels, supplies and ground stand still, capacitors
// and coils count with the size of their impedance at the rate of the signal.
// Phases are left out. Each island of nets is solved by itself; what lies outside
// it, such as the ground wires of a cable, stands still for it.
func (s *sim) signals() {
	for len(s.isles) > 0 {
		group := s.linked(s.isles[0])
		for _, i := range group {
			for _, n := range s.m.isles[i] {
				if s.ac[n] != 0 {
					s.ac[n] = 0
					s.changed(n)
				}
			}
		}
		if from := s.senders(group); len(from) > 0 {
			s.solveSignals(from, group)
		}
		for _, i := range group {
			s.acDue[i] = false
		}
		s.isles = slices.DeleteFunc(s.isles, func(i int32) bool { return !s.acDue[i] })
	}
	for i := range s.m.lanes {
		s.judge(i)
	}
}

// linked returns an island with those that branches of faults join to it.
func (s *sim) linked(first int32) []int32 {
	s.group = append(s.group[:0], first)
	group := s.group
	for again := true; again; {
		again = false
		for _, b := range s.bridged {
			x, y := s.Branches[b].A, s.Branches[b].B
			if x == 0 || y == 0 {
				continue
			}
			i, j := slices.Contains(group, s.m.isle[x]), slices.Contains(group, s.m.isle[y])
			switch {
			case i && !j:
				group, again = append(group, s.m.isle[y]), true
			case j && !i:
				group, again = append(group, s.m.isle[x]), true
			}
		}
	}
	s.group = group
	return group
}

// senders lists what is sent into a group of islands.
func (s *sim) senders(group []int32) []signal {
	from := s.from[:0]
	for _, list := range s.sending {
		for _, x := range list {
			if slices.Contains(group, s.m.isle[x.node]) {
				from = append(from, x)
			}
		}
	}
	s.from = from
	return from
}

func (s *sim) solveSignals(from []signal, group []int32) {
	sv := s.m.s
	rate := 0.0
	s.moving = s.moving[:0]
	for _, x := range from {
		s.moving = append(s.moving, circuit.Drive{Node: x.node, Volts: x.swing, Ohms: x.ohms, Loose: x.burst})
		rate = max(rate, x.rate)
	}
	sv.Changes(&s.Circuit, s.moving, func(b int32) float64 { return s.admits(b, rate) },
		func(n int32) bool { return slices.Contains(group, s.m.isle[n]) })
	for _, n := range sv.Region() {
		if v := sv.Moves(n); math.Abs(v) > 1e-9 {
			s.ac[n] = v
			s.changed(n)
		}
	}
}

// admits returns the conductance of a branch for changes, in S.
func (s *sim) admits(b int32, rate float64) float64 {
	g := 0.0
	if l := s.Law[b]; l != nil {
		if g = l.Slope(s.Across(b)); g <= 2*circuit.OffLeak {
			g = 0
		}
		if h := s.m.henries[b]; h != 0 && g > 0 {
			g = 1 / (1/g + 2*math.Pi*rate*h)
		}
	}
	if f := s.m.farads[b]; f != 0 && !slices.Contains(s.broken, b) {
		g += 2 * math.Pi * rate * f
	}
	return g
}

// judge decides whether a lane is alive at the panel: its conductors move against
// each other by enough, and rest so near to each other that they cross; with one
// held at ground the receiver sees one level for ever.
func (s *sim) judge(i int) {
	l := &s.m.lanes[i]
	x := math.Abs(s.ac[l.nodes[0]])
	least := pairLeast * l.swing
	if len(l.nodes) == 2 {
		x, least = math.Abs(s.ac[l.nodes[0]]-s.ac[l.nodes[1]]), 2*least
	}
	alive := x >= least
	if len(l.nodes) == 2 {
		alive = alive && math.Abs(s.V[l.nodes[0]]-s.V[l.nodes[1]]) <= (x-least)/2
	}
	if alive != s.lane[i] {
		s.lane[i] = alive
		s.tell(func(t netlist.Target) bool { return t.Lane == i })
	}
}

// reads tries to read a part over two lines.
func (s *sim) reads(i int32, d *device) {
	trying := s.holds(d)
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
		x.burst, x.ohms = true, lineOhms
		if d.lines {
			// Nobody drives an open-drain line high: it moves from where it rests.
			x.swing = max(s.level(d.part, x.node), 0)
		}
		if trying && s.fault(d.part, netlist.Deafens, x.node) == nil {
			now = append(now, x)
		}
	}
	s.transmit(i, now)
	s.make(i, trying && len(now) == len(d.sent) && s.answers(d))
}

// answers tells whether the part at the far end can be read.
func (s *sim) answers(d *device) bool {
	if !s.powered(d.from) || s.fault(d.from, netlist.Garbles, 0) != nil {
		return false
	}
	for _, n := range d.far {
		f := s.fault(d.from, netlist.Opens, n)
		if f != nil && f.Mode.Per == netlist.PerPin || s.fault(d.from, netlist.Deafens, n) != nil {
			return false
		}
	}
	if !d.lines {
		return s.paired(d)
	}
	for k, near := range d.in {
		if !s.talks(d, near, d.far[k]) {
			return false
		}
	}
	// Two lines that touch carry each other's bits.
	for _, b := range s.bridged {
		x := &s.Branches[b]
		if s.sameLine(x.A, d, 0) && s.sameLine(x.B, d, 1) || s.sameLine(x.A, d, 1) && s.sameLine(x.B, d, 0) {
			return false
		}
	}
	return true
}

// sameLine tells whether a node moves with line k of a read.
func (s *sim) sameLine(n int32, d *device, k int) bool {
	return n != 0 && (n == d.in[k] || n == d.far[k] || s.m.isle[n] == s.m.isle[d.in[k]] && s.near(n, d.in[k]))
}

// near tells whether two nodes are joined by little resistance.
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

// paired tells whether what one end sends on a pair reaches the other end.
func (s *sim) paired(d *device) bool {
	if len(d.in) == 1 {
		return math.Abs(s.ac[d.far[0]]) >= pairLeast*math.Abs(d.sent[0].swing)
	}
	got := math.Abs(s.ac[d.far[0]] - s.ac[d.far[1]])
	sent := math.Abs(d.sent[0].swing - d.sent[1].swing)
	each := min(math.Abs(s.ac[d.far[0]]), math.Abs(s.ac[d.far[1]]))
	return got >= pairLeast*sent && each >= pairLeast*math.Abs(d.sent[0].swing)
}

// talks tells whether an open-drain line rests high and can be pulled low from
// either end, by the levels of UM10204.
func (s *sim) talks(d *device, near, far int32) bool {
	vdd := s.supplyOf(d.part)
	for _, p := range []struct {
		part netlist.PartID
		n    int32
	}{{d.part, near}, {d.from, far}} {
		if s.level(p.part, p.n) < busHigh*min(vdd, s.supplyOf(d.from)) {
			return false
		}
	}
	ends := [][2]int32{{near, far}, {far, near}}
	grounds := []int32{s.m.ground[d.part], s.m.ground[d.from]}
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
	sv, c := s.m.s, &s.Circuit
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
	v := c.V[watch]
	c.Shunt[n], c.Inject[n] = shunt, inject
	for i, x := range sv.Region() {
		c.V[x] = keep[i]
	}
	return v, ok
}
