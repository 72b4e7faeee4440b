package predict

import (
	"fmt"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// pass is a branch that something opens and closes.
type pass struct {
	own
	branch int32
	unit   int // its channel
	ohms   float64
	limit  float64 // A, 0 for none
	on     *circuit.Law
}

// pass makes a pass that is off, and gives it to what decides.
func (m *Model) pass(id netlist.PartID, p *netlist.Part, branch int32, ohms float64) pass {
	x := pass{own: own{id}, branch: branch, unit: len(m.units) - int(m.unitOf[id]), ohms: ohms, limit: m.attr(p, "limit", 0)}
	x.on = x.closed(1, 1)
	return x
}

// closed is the law while it is on, with its resistance and its limit as faults
// scale them.
func (x *pass) closed(scale, limit float64) *circuit.Law {
	if x.limit > 0 {
		return circuit.Limited(x.ohms*scale, x.limit*limit)
	}
	return circuit.Conductor(x.ohms * scale)
}

// turn opens or closes it.
func (x *pass) turn(s *sim, on bool) {
	switch scale, limit := s.factor(x.part, netlist.Scales), s.factor(x.part, netlist.Limits); {
	case !on:
		s.set(x.branch, offLaw)
	case scale != 1 || limit != 1:
		s.set(x.branch, x.closed(scale, limit))
	default:
		s.set(x.branch, x.on)
	}
}

// fail joins the ends for good; a resistance that has grown shows when it is on.
func (x *pass) fail(s *sim, f Fault) bool {
	if f.Mode.Does == netlist.Joins && (f.Mode.Per != netlist.PerChannel || f.Unit == x.unit) {
		s.force(x.branch, circuit.Conductor(f.size()))
	}
	return f.Mode.Does == netlist.Joins || f.Mode.Does == netlist.Scales
}

// stuck returns the state in which a fault keeps it, if one does.
func (x *pass) stuck(s *sim) (on, is bool) {
	if s.fault(x.part, netlist.StaysOff, 0) != nil {
		return false, true
	}
	is = s.fault(x.part, netlist.StaysOn, 0) != nil
	return is, is
}

// switched writes it into a deck, on while a condition holds.
func (x *pass) switched(d *deck, on string) {
	if d.s.forced[x.branch] {
		return // by a fault, as everything else
	}
	if on2, is := x.stuck(d.s); is {
		on = constant(on2)
	}
	d.alive[x.branch] = true
	l := x.closed(d.s.factor(x.part, netlist.Scales), d.s.factor(x.part, netlist.Limits))
	d.choice(x.branch, d.decision(d.label(x.branch), on), l, circuit.Leak())
}

// gateVolts is the voltage between gate and source at which a MOS switch is on, when
// its kind has no attribute "vth": common practice, no source.
const gateVolts = 1.5

// transistor is a pass that its gate opens and closes, judged against one end.
type transistor struct {
	pass
	gate, ref int32
	high      bool    // on while its gate is high
	volts     float64 // between gate and ref
}

func (d *transistor) look(m *Model) sight {
	x := d.seen()
	x.by, x.hears, x.on = []int32{d.gate}, []int32{d.ref}, []int32{m.branches[d.branch].B}
	return x
}

func (d *transistor) act(s *sim, _ int32) {
	on, is := d.stuck(s)
	d.turn(s, is && on || !is && d.opens(s))
}

// opens reports whether the gate lets it conduct.
func (d *transistor) opens(s *sim) bool {
	v := s.V[d.gate] - s.V[d.ref]
	return d.high && v >= d.volts || !d.high && v <= -d.volts
}

func (d *transistor) card(k *deck, _ *devState) {
	if d.high {
		d.switched(k, fmt.Sprintf("%s >= %s", k.across(d.gate, d.ref), spell(d.volts)))
	} else {
		d.switched(k, fmt.Sprintf("%s <= -%s", k.across(d.gate, d.ref), spell(d.volts)))
	}
}

// chipSwitch is a pass inside a chip, with an enable input or a select input.
type chipSwitch struct {
	pass
	en, sel         int32 // -1 for none
	enHigh, selHigh bool
}

func (d *chipSwitch) look(m *Model) sight {
	x := d.seen()
	x.by, x.on = []int32{d.sel, d.en}, []int32{m.branches[d.branch].B}
	return x
}

func (d *chipSwitch) act(s *sim, _ int32) {
	out := s.Branches[d.branch].B
	f := s.outFault(d.part, out)
	on, is := d.stuck(s)
	if !is {
		on = s.powered(d.part) && (d.sel < 0 || s.high(d.part, d.sel) == d.selHigh) && s.enabled(d.part, d.en, d.enHigh) && f == nil
	}
	d.turn(s, on)
	if o, ok := s.m.drive[pinKey{d.part, out}]; ok && f != nil {
		s.output(o, s.powered(d.part) && f.Mode.Does != netlist.Frees, f.Mode.Does == netlist.SticksHigh)
	}
}

func (d *chipSwitch) card(k *deck, _ *devState) {
	on := k.enabled(d.part, d.en, d.enHigh)
	if d.sel >= 0 {
		chosen := k.high(d.part, d.sel)
		if !d.selHigh {
			chosen = not(chosen)
		}
		on = all(k.powered(d.part), chosen, on, constant(k.s.outFault(d.part, k.s.Branches[d.branch].B) == nil))
	}
	d.switched(k, on)
}

// switching makes the device that opens and closes a controlled pass.
func (m *Model) switching(id netlist.PartID, p *netlist.Part, how *netlist.Pass, b int32) {
	x := m.pass(id, p, b, p.Ohms(how))
	control, high := m.pin(p, how.Control), how.Level == netlist.High
	switch closer := closers[p.Kind.Acts]; {
	case closer != nil:
		closer(m, p, how, x)
	case how.Ref != "":
		ref := m.branches[b].A
		if how.Ref == how.B {
			ref = m.branches[b].B
		}
		m.device(&transistor{x, control, ref, p.ControlLevel(how.Level) == netlist.High, m.attr(p, "vth", gateVolts)})
	case p.Kind.Pins[p.Kind.PinIndex(how.Control)].Need == netlist.Enable:
		m.device(&chipSwitch{pass: x, en: control, enHigh: p.ControlLevel(how.Level) == netlist.High, sel: -1})
	default:
		m.device(&chipSwitch{pass: x, en: m.pin(p, "en"), enHigh: p.ControlLevel(netlist.High) == netlist.High, sel: control, selHigh: high})
		m.driver(id, p, m.branches[b].B)
	}
}
