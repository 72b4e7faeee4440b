package predict

import (
	"math"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

var _ = acts("boost", makeBoost)

// boost is a boost converter, averaged over its switching: while it runs it
// holds its output and takes from its switch node the current that carries the
// same power, so that the mean of the switch node is (1 - D) of the output with
// the rectifier's drop, as inductor volt-second balance has it (Erickson and
// Maksimović, Fundamentals of Power Electronics, chapter 2, from memory). Losses
// are those of coil, rectifier and sinks.
type boost struct {
	own
	inp, en, lx, dim, fb int32
	enHigh               bool
	out                  int32 // behind its rectifier, -1 when there is none
	sinks                []int32
	branches             []int32      // of the sinks
	rectifiers           []int32      // branches
	ceiling              float64      // V, 0 when only a divider sets it
	headroom             float64      // V, left for the sinks
	vref                 float64      // V
	drop                 float64      // V, of the rectifier
	amps                 float64      // A of a string
	peak                 float64      // A in the coil
	draws                *circuit.Law // of a sink
	starts               float64      // V at which it runs
}

// Common practice, no source.
const (
	feedsBack   = 0.05  // share of its reference below which it takes its divider for missing
	stringLeast = 0.5   // share of its current at which it counts a string
	boosting    = 600e3 // Hz, unless its switch node tells
	usualVref   = 1.25  // V
	usualMost   = 60.0  // V, without a limit and a divider
)

func makeBoost(m *Model, id netlist.PartID, p *netlist.Part) {
	d := &boost{
		own:   own{id},
		inp:   m.pin(p, "in"),
		en:    m.pin(p, "en"),
		lx:    m.pin(p, "lx"),
		dim:   m.pin(p, "dim"),
		fb:    m.pin(p, "fb"),
		sinks: m.pins(p, "sink"),
		out:   -1,
	}
	d.starts, d.enHigh = p.Kind.Starts, p.ControlLevel(netlist.High) == netlist.High
	d.headroom, d.amps, d.peak = m.attr(p, "headroom", 0.5)*(1+0.2*m.corner), m.attr(p, "string", 0.02), m.attr(p, "peak", 2.5)
	d.draws = circuit.Drawing(d.amps, 0.8*d.headroom)
	d.vref, d.ceiling = m.attr(p, "vref", usualVref), m.attr(p, "limit", 0)
	if d.fb < 0 && d.ceiling == 0 {
		d.ceiling = usualMost
	}
	gnd := m.groundOf(p)
	for _, n := range d.sinks {
		d.branches = append(d.branches, m.unit(m.add(n, gnd, sinkLaw, offLaw)))
	}
	for _, t := range m.Board.Taps(p.Net("lx")) {
		q := &m.Board.Parts[t.Part]
		if len(q.Kind.Passes) == 1 && q.Kind.Passes[0].OneWay && q.Pin(q.Conns[t.Conn]).Name == q.Kind.Passes[0].A {
			d.out = m.node(q.Net(q.Kind.Passes[0].B))
			d.drop = m.attr(q, "vf", 0.4)
		}
	}
	m.output[id] = d.out
	m.source(d, d.out)
	m.later = append(m.later, func() {
		for i, b := range m.branches {
			if b.A == d.lx && b.B == d.out && m.rest[i] != nil && m.rest[i].Segments() == 2 {
				d.rectifiers = append(d.rectifiers, int32(i))
			}
		}
	})
}

func (d *boost) look(*Model) sight {
	x := d.seen()
	x.by, x.around, x.on = []int32{d.inp, d.en, d.dim}, []int32{d.out, d.lx}, []int32{d.out}
	x.hears = append([]int32{d.out, d.lx, d.fb}, d.sinks...)
	return x
}

// fail opens a sink.
func (d *boost) fail(s *sim, f Fault) bool {
	if f.Mode.Does != netlist.Frees || f.Mode.Per != netlist.PerChannel {
		return false
	}
	for k, b := range d.branches {
		if f.Unit == netlist.None || f.Unit == k {
			s.force(b, sinkLaw)
		}
	}
	return true
}

// card writes a converter by its regime: a source at the output, and at the
// switch node the mean current that carries the same power.
func (d *boost) card(k *deck, st *devState) {
	label := plain(d.name(k.s.m))
	k.say("* %s: %s, as computed", label, st.mode)
	if !runs(st.mode) {
		return
	}
	k.element("B", label, k.node[d.out], "0", "V = "+spell(st.level)+"+"+k.volts(k.s.m.ground[d.part]))
	k.element("I", label, k.node[d.lx], "0", spell(st.draw))
}

func (d *boost) act(s *sim, i int32) {
	st := &s.dev[i]
	on := s.powered(d.part) && s.level(d.part, d.inp) >= d.starts && s.enabled(d.part, d.en, d.enHigh)
	dimmed := d.dim < 0 || s.ac[d.dim] != 0 || s.level(d.part, d.dim) >= enableVolts
	if d.dim > 0 && s.fault(d.part, netlist.Deafens, d.dim) != nil {
		dimmed = false
	}
	for _, b := range d.branches {
		if on && dimmed {
			s.set(b, d.draws)
		} else {
			s.set(b, sinkLaw)
		}
	}
	if !on || !dimmed || d.out <= 0 || s.fault(d.part, netlist.StaysOff, 0) != nil {
		d.rests(s, st, off)
		return
	}
	if st.mode == hiccup && !s.recovers(st) {
		return
	}
	if !d.rectifies(s) {
		d.rests(s, st, hiccup)
		return
	}
	if factor := s.factor(d.part, netlist.Levels); !runs(st.mode) || st.factor != factor {
		st.mode, st.factor = off, factor
	}
	if !d.mayRise(s, st) {
		return
	}
	switch st.mode {
	case climbing:
		d.choose(s, st)
	case regulating:
		d.regulate(s, st)
	case off, blind, hiccup:
		st.mode, st.level = climbing, st.ceiling
	case ceiling, peaking, skewed, holding, limiting, idle:
	}
	if runs(st.mode) && !d.holdOut(s, st) {
		d.charges(s, st)
	}
}

// runs reports whether a converter is switching.
func runs(mode regime) bool {
	return mode == climbing || mode == regulating || mode == ceiling || mode == peaking || mode == skewed
}

// rests lets the output go: input level less the drops of coil and rectifier.
func (d *boost) rests(s *sim, st *devState, mode regime) {
	st.mode = mode
	st.rounds = len(s.blown)
	s.unpin(d.out)
	d.switchNode(s, 0)
	have := -st.draw
	s.put(d.lx, &have, 0)
	st.draw = -have
}

// recovers reports whether a fuse has blown since the converter gave up.
func (s *sim) recovers(st *devState) bool { return st.rounds != len(s.blown) }

// rectifies reports whether a rectifier conducts forwards and blocks backwards.
func (d *boost) rectifies(s *sim) bool {
	ok := false
	for _, b := range d.rectifiers {
		l := s.Law[b]
		if l == nil {
			continue
		}
		if l.Slope(math.Inf(-1)) > 0.1 {
			return false
		}
		ok = ok || l.Slope(math.Inf(1)) > 0.1
	}
	return ok
}

// mayRise finds the highest output that the converter allows itself, as its
// divider stands now, and reports whether it starts or goes on at all.
func (d *boost) mayRise(s *sim, st *devState) bool {
	out := s.level(d.part, d.out)
	top := d.ceiling
	if d.fb >= 0 {
		sense := s.level(d.part, d.fb)
		if s.fault(d.part, netlist.Deafens, d.fb) != nil {
			sense = 0
		}
		if sense <= feedsBack*d.vref {
			d.rests(s, st, blind)
			return false
		}
		if by := d.vref * out / sense; top == 0 || by < top {
			top = by
		}
	}
	if in := s.level(d.part, d.lx); in < dropOut || top <= in-d.drop {
		// The switch node has nothing to take from, or the input alone brings more.
		d.rests(s, st, off)
		return false
	}
	if runs(st.mode) && math.Abs(top-st.ceiling) > 1e-6*top {
		st.mode = climbing
	}
	// The ceiling moves a little with the drop in the ground wires of a cable.
	level := top
	if st.mode == skewed {
		level = top * st.factor
	}
	if (st.mode == climbing || st.mode == ceiling || st.mode == skewed) && math.Abs(level-st.level) > 1e-12*level {
		st.level = level
	}
	st.ceiling = top
	return true
}

// choose picks what to regulate on: the weakest string that carries current, or
// the divider when there are no sinks. Strings without current are dropped, as
// such drivers do with an open string (public datasheets).
func (d *boost) choose(s *sim, st *devState) {
	if st.factor != 1 {
		st.mode, st.level = skewed, st.ceiling*st.factor
		return
	}
	if len(d.sinks) == 0 {
		st.mode, st.level = regulating, st.ceiling
		return
	}
	least, lit := d.weakest(s)
	if !lit {
		st.mode = ceiling
		return
	}
	st.mode, st.level = regulating, st.level+d.headroom-least
}

// weakest returns the lowest voltage on a sink whose string carries current.
func (d *boost) weakest(s *sim) (v float64, lit bool) {
	v = math.Inf(1)
	for k, b := range d.branches {
		if s.forced[b] || s.Current(b) < stringLeast*d.amps {
			continue
		}
		lit = true
		v = min(v, s.V[d.sinks[k]])
	}
	return v, lit
}

func (d *boost) regulate(s *sim, st *devState) {
	if len(d.sinks) == 0 {
		return
	}
	least, lit := d.weakest(s)
	if !lit {
		st.mode = climbing
		st.level = st.ceiling
		return
	}
	if err := d.headroom - least; math.Abs(err) > 1e-11*st.level {
		st.level = min(st.level+err, st.ceiling)
	}
}

// holdOut holds the output and reports whether that is news.
func (d *boost) holdOut(s *sim, st *devState) bool {
	if st.level <= s.level(d.part, d.lx)-d.drop {
		// The input alone brings more than that.
		d.rests(s, st, off)
		return true
	}
	d.switchNode(s, st.level+d.drop)
	return s.pin(d.out, st.level+s.V[s.m.ground[d.part]])
}

// charges takes the coil's current from the switch node, up to its limit.
func (d *boost) charges(s *sim, st *devState) {
	amps, in := max(s.Leaving(d.out), 0), s.level(d.part, d.lx)
	coil := amps * (st.level + d.drop) / max(in, dropOut)
	if coil > d.peak*(1+1e-6) || st.mode == peaking && coil < d.peak*(1-1e-6) && st.level < st.ceiling {
		level := st.level * math.Sqrt(d.peak/max(coil, d.peak/100))
		if level < in+d.drop {
			d.rests(s, st, hiccup)
			return
		}
		st.mode, st.level = peaking, min(level, st.ceiling)
		coil = min(coil, d.peak)
		if !d.holdOut(s, st) {
			return
		}
	}
	have := -st.draw
	s.put(d.lx, &have, -coil)
	st.draw = -have
}

// switchNode lets the switch node swing, or rest at 0.
func (d *boost) switchNode(s *sim, swing float64) {
	if d.out <= 0 || s.m.holder[d.out] < 0 {
		return // no rectifier leads from it
	}
	i := s.m.holder[d.out]
	if swing <= 0 {
		if s.sending[i] != nil {
			s.sending[i] = nil
			s.touch(d.lx)
		}
		return
	}
	if now := s.sending[i]; len(now) == 1 && now[0].swing == swing {
		return
	}
	rate := boosting
	if x, ok := s.m.swinging(netlist.NetID(d.lx - 1)); ok && x.Rate != 0 {
		rate = x.Rate
	}
	s.sending[i] = []signal{{node: d.lx, swing: swing, rate: rate, ohms: 0.1, loose: true}}
	s.touch(d.lx)
}
