package predict

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// Thresholds. Common practice, no source, where nothing is said.
const (
	enableVolts = 1.2  // V of an enable input
	gateVolts   = 1.5  // V between gate and source of a MOS switch
	suppliedBy  = 0.8  // share of its supply at which a chip works
	logicShare  = 0.5  // share of its level at which a net counts as high
	dropOut     = 0.1  // V that a regulator needs above its output
	converts    = 0.9  // efficiency of a regulator
	startsAt    = 2.5  // V at which a boost converter starts
	feedsBack   = 0.05 // share of its reference below which a converter takes its divider for missing
	litShare    = 0.1  // share of its current at which a string counts as lit
	stringLeast = 0.5  // share of its current at which a converter counts a string
	// The two-wire bus, UM10204: low below 0.3 VDD, high above 0.7 VDD.
	busLow, busHigh = 0.3, 0.7
)

// act lets a device look at the last solution and do what follows from it.
func (s *sim) act(i int32) {
	d, st := &s.m.devices[i], &s.dev[i]
	switch d.kind {
	case supplyDevice, regulatorDevice:
		s.source(d, st)
	case switchDevice:
		s.switches(d)
	case gateDevice:
		s.gate(d)
	case driveDevice:
		on := s.holds(d)
		for _, n := range d.in {
			s.drives(d.part, n, s.powered(d.part), on)
		}
	case pullDevice:
		on := s.holds(d)
		for _, n := range d.in {
			s.pulls(d.part, n, on)
		}
	case sendDevice:
		s.sends(i, d)
	case readDevice:
		s.reads(i, d)
	case makeDevice:
		s.make(i, s.holds(d))
	case shineDevice:
		lit := false
		for _, b := range d.branches {
			lit = lit || s.Current(b) >= litShare*d.limit
		}
		s.make(i, lit && s.condition(d.part, d.rule.When))
	case biasDevice:
		on := s.powered(d.part)
		for k, b := range d.branches {
			if on {
				s.set(b, d.laws[k])
			} else {
				s.set(b, nil)
			}
		}
	case boostDevice:
		s.boosts(d, st)
	}
}

// level is the voltage of a node against the ground of a part.
func (s *sim) level(part netlist.PartID, n int32) float64 {
	return s.V[n] - s.V[s.m.ground[part]]
}

// powered tells whether every supply pin of a part has what it needs.
func (s *sim) powered(id netlist.PartID) bool {
	if s.fault(id, netlist.Dies, 0) != nil {
		return false
	}
	for _, x := range s.m.feeds[id] {
		if f := s.fault(id, netlist.Opens, x.node); f != nil && f.Mode.Per == netlist.PerPin || s.level(id, x.node) < x.least {
			return false
		}
	}
	return true
}

// high tells whether a part takes a net for high.
func (s *sim) high(id netlist.PartID, n int32) bool {
	if s.fault(id, netlist.Deafens, n) != nil {
		return false
	}
	full := 0.0
	if n > 0 {
		full = s.m.nominal(netlist.NetID(n - 1))
	}
	if full < 2*netlist.LowBelow {
		full = max(full, s.supplyOf(id))
	}
	return s.level(id, n) >= logicShare*max(full, 1)
}

// supplyOf returns the highest voltage on the supply pins of a part.
func (s *sim) supplyOf(id netlist.PartID) float64 {
	v := 0.0
	for _, x := range s.m.feeds[id] {
		v = max(v, s.level(id, x.node))
	}
	return v
}

// enabled tells whether an enable pin lets a part run.
func (s *sim) enabled(id netlist.PartID, n int32, high bool) bool {
	if s.fault(id, netlist.StaysOn, 0) != nil {
		return true
	}
	if n < 0 {
		return true
	}
	if s.fault(id, netlist.Deafens, n) != nil {
		return !high
	}
	return (s.level(id, n) >= enableVolts) == high
}

// source is a supply or a regulator: it holds its net up to its current limit.
func (s *sim) source(d *device, st *devState) {
	level, limit := d.level*s.factor(d.part, netlist.Levels), d.limit*s.factor(d.part, netlist.Limits)
	on := level > 0 && s.fault(d.part, netlist.StaysOff, 0) == nil
	if d.kind == regulatorDevice {
		on = on && s.enabled(d.part, d.en, d.enHigh)
		top := s.level(d.part, d.inp) - dropOut
		st.sags = top < level
		level = min(level, top)
		on = on && level > dropOut
	}
	if !on {
		st.mode = off
		s.unpin(d.out)
		s.set(d.branch, nil)
		s.feeds(d, st, 0)
		return
	}
	if st.mode == off {
		st.mode = holding
	}
	ground := s.V[s.m.ground[d.part]]
	switch st.mode {
	case holding:
		if s.pin(d.out, level+ground) {
			return
		}
		switch i := s.Leaving(d.out); {
		case i > limit*(1+1e-9):
			st.mode = limiting
			s.unpin(d.out)
			s.set(d.branch, circuit.Giving(limit, level+ground))
		case i < -1e-9 && d.kind == regulatorDevice:
			st.mode = idle
			s.unpin(d.out)
		}
	case limiting:
		if s.V[d.out]-ground > level*(1+1e-9) {
			st.mode = holding
			s.set(d.branch, nil)
			s.pin(d.out, level+ground)
		} else {
			s.set(d.branch, circuit.Giving(limit, level+ground))
		}
	case idle:
		if s.V[d.out]-ground < level*(1-1e-9) {
			st.mode = holding
			s.pin(d.out, level+ground)
		}
	}
	amps := 0.0
	switch st.mode {
	case holding:
		amps = max(s.Leaving(d.out), 0)
	case limiting:
		amps = limit
	}
	s.feeds(d, st, amps)
}

// feeds takes from a regulator's input the power that its output gives.
func (s *sim) feeds(d *device, st *devState, amps float64) {
	if d.kind != regulatorDevice {
		return
	}
	in, draw := s.level(d.part, d.inp), 0.0
	if amps > 0 && in > dropOut {
		draw = amps * max(s.level(d.part, d.out), 0) / (converts * in)
	}
	if s.round > fuseRounds && st.draw > 0 && draw > 0 {
		draw = (draw + st.draw) / 2 // at its drop-out on a weak source it would swing about
	}
	switch {
	case draw == 0:
		st.draw = 0
		s.set(d.feed, nil)
	case math.Abs(draw-st.draw) > 1e-13*draw || in < st.level:
		// A constant power takes more the lower its input is; below where it stands
		// now it takes less here, so that a weak source is not driven below zero.
		st.draw, st.level = draw, 0.9*in
		s.set(d.feed, circuit.Taking(draw, st.level))
	}
}

// switches opens or closes a controlled pass.
func (s *sim) switches(d *device) {
	var on bool
	p := &s.m.Board.Parts[d.part]
	switch {
	case s.fault(d.part, netlist.StaysOff, 0) != nil:
	case s.fault(d.part, netlist.StaysOn, 0) != nil:
		on = true
	case d.ref >= 0: // a transistor
		v := s.V[d.en] - s.V[d.ref]
		on = d.enHigh && v >= gateVolts || !d.enHigh && v <= -gateVolts
	case p.Kind.PinIndex("vdd") < 0: // a load switch
		on = s.enabled(d.part, d.en, d.enHigh)
	default: // a multiplexer
		on = s.powered(d.part) && s.high(d.part, d.en) == d.enHigh && s.enabled(d.part, d.also, d.alsoHigh) && s.outFault(d.part, s.Branches[d.branch].B) == nil
	}
	switch scale, limit := s.factor(d.part, netlist.Scales), s.factor(d.part, netlist.Limits); {
	case !on:
		s.set(d.branch, offLaw)
	case scale != 1 || limit != 1:
		s.set(d.branch, d.closed(scale, limit))
	default:
		s.set(d.branch, d.on)
	}
	if o, ok := s.m.drive[pinKey{d.part, s.Branches[d.branch].B}]; ok {
		if f := s.outFault(d.part, s.Branches[d.branch].B); f != nil {
			s.output(o, s.powered(d.part) && f.Mode.Does != netlist.Frees, f.Mode.Does == netlist.SticksHigh)
		}
	}
}

// outFault returns the fault of an output, if it has one.
func (s *sim) outFault(id netlist.PartID, n int32) *Fault {
	for _, e := range []netlist.Effect{netlist.SticksLow, netlist.SticksHigh, netlist.Frees} {
		if f := s.fault(id, e, n); f != nil {
			return f
		}
	}
	return nil
}

func (s *sim) gate(d *device) {
	all, some := true, false
	for _, n := range d.in {
		h := s.high(d.part, n)
		all, some = all && h, some || h
	}
	on := all
	switch s.m.Board.Parts[d.part].Kind.Logic {
	case netlist.OrGate:
		on = some
	case netlist.NandGate:
		on = !all
	case netlist.NorGate:
		on = !some
	}
	s.drives(d.part, d.out, s.powered(d.part), on)
}

// drives puts a level on a net, as faults of the output allow.
func (s *sim) drives(id netlist.PartID, n int32, powered, on bool) {
	if f := s.outFault(id, n); f != nil {
		powered = powered && f.Mode.Does != netlist.Frees
		on = f.Mode.Does == netlist.SticksHigh
	}
	s.output(s.m.drive[pinKey{id, n}], powered, on)
}

func (s *sim) output(o outputs, powered, on bool) {
	s.set(o.high, when(powered && on, driveLaw))
	s.set(o.low, when(powered && !on, driveLaw))
}

// pulls is an open-drain output.
func (s *sim) pulls(id netlist.PartID, n int32, on bool) {
	o := s.m.drive[pinKey{id, n}]
	on = on && s.powered(id)
	if f := s.outFault(id, n); f != nil {
		on = s.powered(id) && f.Mode.Does == netlist.SticksLow
		s.set(o.high, when(s.powered(id) && f.Mode.Does == netlist.SticksHigh, driveLaw))
	}
	s.set(o.low, when(on, pullLaw))
}

var (
	driveLaw = circuit.Conductor(outputOhms)
	pullLaw  = circuit.Conductor(pullOhms)
	quietLaw = circuit.Conductor(quietOhms)
	offLaw   = circuit.Leak()
	sinkLaw  = circuit.Conductor(sinkOffOhms)
)

func when(on bool, l *circuit.Law) *circuit.Law {
	if on {
		return l
	}
	return nil
}

// sends drives lines that carry clock, data or PWM.
func (s *sim) sends(i int32, d *device) {
	on, powered := s.holds(d), s.powered(d.part)
	var now []signal
	for k := range d.sent {
		x := &d.sent[k]
		o := s.m.drive[pinKey{d.part, x.node}]
		if f := s.outFault(d.part, x.node); f != nil {
			s.drives(d.part, x.node, powered, false)
			continue
		}
		switch {
		case on && powered:
			s.set(o.low, x.law)
			now = append(now, *x)
		case powered:
			s.set(o.low, quietLaw)
		default:
			s.set(o.low, nil)
		}
	}
	s.transmit(i, now)
}

// transmit notes what a device sends now.
func (s *sim) transmit(i int32, now []signal) {
	if slices.EqualFunc(now, s.sending[i], func(a, b signal) bool {
		return a.node == b.node && math.Abs(a.swing-b.swing) <= 1e-12*math.Abs(a.swing)
	}) {
		return
	}
	for _, list := range [][]signal{now, s.sending[i]} {
		for _, x := range list {
			s.touch(x.node)
		}
	}
	s.sending[i] = now
}

// make sets what a device says of a fact, which holds when one of its makers says so.
func (s *sim) make(i int32, holds bool) {
	fact := s.m.devices[i].fact
	if fact < 0 || s.dev[i].makes == holds {
		return
	}
	s.dev[i].makes = holds
	s.touches++
	made := slices.ContainsFunc(s.m.makers[fact], func(d int32) bool { return s.dev[d].makes })
	if s.fact[fact] != made {
		s.fact[fact] = made
		s.tell(func(t netlist.Target) bool { return t.Fact == fact })
	}
}

// tell wakes the devices whose rule names a target.
func (s *sim) tell(is func(netlist.Target) bool) {
	for i := range s.m.devices {
		d := &s.m.devices[i]
		if d.rule != nil && !d.rule.When.Targets(func(t netlist.Target) bool { return !is(t) }) {
			s.wake(int32(i))
		}
	}
}

// holds tells whether a part works and its rule's condition is met.
func (s *sim) holds(d *device) bool {
	return s.powered(d.part) && s.condition(d.part, d.rule.When)
}

func (s *sim) condition(id netlist.PartID, e *netlist.Expr) bool {
	if e == nil {
		return true
	}
	switch e.Op {
	case netlist.NeverExpr:
		return false
	case netlist.StateExpr:
		return s.setting[e.State.State] == e.State.Value
	case netlist.NotExpr:
		return !s.condition(id, e.Kids[0])
	case netlist.AndExpr:
		for _, k := range e.Kids {
			if !s.condition(id, k) {
				return false
			}
		}
		return true
	case netlist.OrExpr:
		for _, k := range e.Kids {
			if s.condition(id, k) {
				return true
			}
		}
		return false
	}
	switch t := e.Target; {
	case t.Fact >= 0:
		return s.fact[t.Fact]
	case t.Lane >= 0:
		return s.lane[t.Lane] && !s.deafLane(id, t.Lane)
	default:
		n := s.m.node(t.Net)
		if x, ok := s.m.swinging(t.Net); ok && s.m.Board.Healthy(t.Net) == netlist.Toggling {
			return math.Abs(s.ac[n]) >= pairLeast*x.Swing
		}
		return s.high(id, n)
	}
}

// deafLane tells whether a part no longer listens to a conductor of a lane.
func (s *sim) deafLane(id netlist.PartID, lane int) bool {
	for _, n := range s.m.lanes[lane].nodes {
		if s.fault(id, netlist.Deafens, n) != nil {
			return true
		}
	}
	return false
}
