package predict

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// Thresholds: common practice, no source.
const (
	enableVolts = 1.2 // V of an enable input
	suppliedBy  = 0.8 // share of its supply at which a chip works
	logicShare  = 0.5 // share of its level at which a net counts as high
)

// level is the voltage of a node against the ground of a part.
func (s *sim) level(part netlist.PartID, n int32) float64 {
	return s.V[n] - s.V[s.m.ground[part]]
}

// powered reports whether every supply pin of a part has what it needs.
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

// high reports whether a part takes a net for high.
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

// enabled reports whether an enable pin lets a part run.
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

// outFault returns the fault of an output, if it has one.
func (s *sim) outFault(id netlist.PartID, n int32) *Fault {
	for _, e := range []netlist.Effect{netlist.SticksLow, netlist.SticksHigh, netlist.Frees} {
		if f := s.fault(id, e, n); f != nil {
			return f
		}
	}
	return nil
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
	fact := s.m.sights[i].fact
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
	for i := range s.m.sights {
		d := &s.m.sights[i]
		if d.rule != nil && !d.rule.When.Targets(func(t netlist.Target) bool { return !is(t) }) {
			s.wake(int32(i))
		}
	}
}

// holds reports whether a part works and a rule's condition is met.
func (s *sim) holds(id netlist.PartID, r *netlist.Rule) bool {
	return s.powered(id) && s.condition(id, r.When)
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

// deafLane reports whether a part no longer listens to a conductor of a lane.
func (s *sim) deafLane(id netlist.PartID, lane int) bool {
	for _, n := range s.m.lanes[lane].nodes {
		if s.fault(id, netlist.Deafens, n) != nil {
			return true
		}
	}
	return false
}
