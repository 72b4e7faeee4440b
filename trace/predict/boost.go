package predict

import (
	"math"

	"example.org/walkback/netlist"
)

// boosts is the boost converter, averaged over its switching: while it runs it
// holds its output and takes from its switch node the current that carries the
// same power, so that the mean of the switch node is (1 - D) of the output with
// the rectifier's drop, as inductor volt-second balance has it (Erickson and
// Maksimović, Fundamentals of Power Electronics, chapter 2, from memory). Losses
// are those of coil, rectifier and sinks.
func (s *sim) boosts(d *device, st *devState) {
	x := d.boost
	on := s.powered(d.part) && s.level(d.part, d.inp) >= startsAt && s.enabled(d.part, d.en, d.enHigh)
	dimmed := x.dim < 0 || s.ac[x.dim] != 0 || s.level(d.part, x.dim) >= enableVolts
	if x.dim > 0 && s.fault(d.part, netlist.Deafens, x.dim) != nil {
		dimmed = false
	}
	for _, b := range x.branches {
		if on && dimmed {
			s.set(b, x.draws)
		} else {
			s.set(b, sinkLaw)
		}
	}
	if !on || !dimmed || d.out <= 0 || s.fault(d.part, netlist.StaysOff, 0) != nil {
		s.rests(d, st, off)
		return
	}
	if st.mode == hiccup && !s.recovers(st) {
		return
	}
	if !s.rectifies(x) {
		s.rests(d, st, hiccup)
		return
	}
	if factor := s.factor(d.part, netlist.Levels); !runs(st.mode) || st.factor != factor {
		st.mode, st.factor = off, factor
	}
	if !s.mayRise(d, st) {
		return
	}
	switch st.mode {
	case climbing:
		s.choose(d, st)
	case regulating:
		s.regulate(d, st)
	case off, blind, hiccup:
		st.mode, st.level = climbing, st.ceiling
	case ceiling, peaking, skewed, holding, limiting, idle:
	}
	if runs(st.mode) && !s.holdOut(d, st) {
		s.charges(d, st)
	}
}

// runs tells whether a converter is switching.
func runs(mode regime) bool {
	return mode == climbing || mode == regulating || mode == ceiling || mode == peaking || mode == skewed
}

// rests lets the output go: input level less the drops of coil and rectifier.
func (s *sim) rests(d *device, st *devState, mode regime) {
	st.mode = mode
	st.rounds = len(s.blown)
	s.unpin(d.out)
	s.switchNode(d, 0)
	have := -st.draw
	s.put(d.boost.lx, &have, 0)
	st.draw = -have
}

// recovers tells whether a fuse has blown since the converter gave up.
func (s *sim) recovers(st *devState) bool { return st.rounds != len(s.blown) }

// rectifies tells whether a rectifier conducts forwards and blocks backwards.
func (s *sim) rectifies(x *boostPins) bool {
	ok := false
	for _, b := range x.rectifiers {
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
// divider stands now, and tells whether it starts or goes on at all.
func (s *sim) mayRise(d *device, st *devState) bool {
	x := d.boost
	out := s.level(d.part, d.out)
	top := x.ceiling
	if x.fb >= 0 {
		sense := s.level(d.part, x.fb)
		if s.fault(d.part, netlist.Deafens, x.fb) != nil {
			sense = 0
		}
		if sense <= feedsBack*x.vref {
			s.rests(d, st, blind)
			return false
		}
		if by := x.vref * out / sense; top == 0 || by < top {
			top = by
		}
	}
	if in := s.level(d.part, x.lx); in < dropOut || top <= in-x.drop {
		// The switch node has nothing to take from, or the input alone brings more.
		s.rests(d, st, off)
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
func (s *sim) choose(d *device, st *devState) {
	x := d.boost
	if st.factor != 1 {
		st.mode, st.level = skewed, st.ceiling*st.factor
		return
	}
	if len(x.sinks) == 0 {
		st.mode, st.level = regulating, st.ceiling
		return
	}
	least, lit := s.weakest(x)
	if !lit {
		st.mode = ceiling
		return
	}
	st.mode, st.level = regulating, st.level+x.headroom-least
}

// weakest returns the lowest voltage on a sink whose string carries current.
func (s *sim) weakest(x *boostPins) (v float64, lit bool) {
	v = math.Inf(1)
	for k, b := range x.branches {
		if s.forced[b] || s.Current(b) < stringLeast*x.amps {
			continue
		}
		lit = true
		v = min(v, s.V[x.sinks[k]])
	}
	return v, lit
}

func (s *sim) regulate(d *device, st *devState) {
	x := d.boost
	if len(x.sinks) == 0 {
		return
	}
	least, lit := s.weakest(x)
	if !lit {
		st.mode = climbing
		st.level = st.ceiling
		return
	}
	if err := x.headroom - least; math.Abs(err) > 1e-11*st.level {
		st.level = min(st.level+err, st.ceiling)
	}
}

// holdOut holds the output and tells whether that is news.
func (s *sim) holdOut(d *device, st *devState) bool {
	if st.level <= s.level(d.part, d.boost.lx)-d.boost.drop {
		// The input alone brings more than that.
		s.rests(d, st, off)
		return true
	}
	s.switchNode(d, st.level+d.boost.drop)
	return s.pin(d.out, st.level+s.V[s.m.ground[d.part]])
}

// charges takes the coil's current from the switch node, up to its limit.
func (s *sim) charges(d *device, st *devState) {
	x := d.boost
	amps, in := max(s.Leaving(d.out), 0), s.level(d.part, x.lx)
	coil := amps * (st.level + x.drop) / max(in, dropOut)
	if coil > x.peak*(1+1e-6) || st.mode == peaking && coil < x.peak*(1-1e-6) && st.level < st.ceiling {
		level := st.level * math.Sqrt(x.peak/max(coil, x.peak/100))
		if level < in+x.drop {
			s.rests(d, st, hiccup)
			return
		}
		st.mode, st.level = peaking, min(level, st.ceiling)
		coil = min(coil, x.peak)
		if !s.holdOut(d, st) {
			return
		}
	}
	have := -st.draw
	s.put(x.lx, &have, -coil)
	st.draw = -have
}

// switchNode lets the switch node swing, or rest at 0.
func (s *sim) switchNode(d *device, swing float64) {
	if d.out <= 0 || s.m.holder[d.out] < 0 {
		return // no rectifier leads from it
	}
	i := s.m.holder[d.out]
	if swing <= 0 {
		if s.sending[i] != nil {
			s.sending[i] = nil
			s.touch(d.boost.lx)
		}
		return
	}
	if now := s.sending[i]; len(now) == 1 && now[0].swing == swing {
		return
	}
	rate := boosting
	if x, ok := s.m.swinging(netlist.NetID(d.boost.lx - 1)); ok && x.Rate != 0 {
		rate = x.Rate
	}
	s.sending[i] = []signal{{node: d.boost.lx, swing: swing, rate: rate, ohms: 0.1, burst: true}}
	s.touch(d.boost.lx)
}
