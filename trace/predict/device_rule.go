package predict

import (
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// ruled is a device that follows the condition of a rule under a chip.
type ruled struct {
	own
	rule *netlist.Rule
	on   []int32 // nodes that the rule names
}

func (x *ruled) look(m *Model) sight {
	v := x.seen()
	v.rule, v.by, v.on = x.rule, x.supplies(m), x.on
	return v
}

// rules is what makes the devices of rules, by the word of the rule.
var rules = map[string]func(m *Model, x ruled, p *netlist.Part){
	"drives": func(m *Model, x ruled, p *netlist.Part) { m.device(&driver{m.driving(x, p)}) },
	"pulls":  func(m *Model, x ruled, p *netlist.Part) { m.device(&puller{m.driving(x, p)}) },
	"sends":  makeSender,
	"reads":  makeReader,
	"makes": func(m *Model, x ruled, _ *netlist.Part) {
		m.device(&maker{x, m.lit[x.part]})
	},
}

// driving makes the branches by which a part drives the nets of a rule.
func (m *Model) driving(x ruled, p *netlist.Part) ruled {
	for _, n := range x.rule.Nets {
		m.driver(x.part, p, m.node(n))
		x.on = append(x.on, m.node(n))
	}
	return x
}

// driver holds nets high while its condition holds, and low otherwise.
type driver struct{ ruled }

func (d *driver) act(s *sim, _ int32) {
	powered, on := s.powered(d.part), s.holds(d.part, d.rule)
	for _, n := range d.on {
		s.drives(d.part, n, powered, on)
	}
}

// puller is an open-drain output.
type puller struct{ ruled }

func (d *puller) act(s *sim, _ int32) {
	on := s.holds(d.part, d.rule)
	for _, n := range d.on {
		s.pulls(d.part, n, on)
	}
}

// maker makes a fact hold: of a lamp while it glows, of a chip while it works.
type maker struct {
	ruled
	lamp *leds // nil for a chip
}

func (d *maker) look(m *Model) sight {
	x := d.ruled.look(m)
	x.fact = d.rule.Fact
	if d.lamp != nil {
		x.by, x.hears = []int32{d.lamp.anode}, d.lamp.cathodes
	}
	return x
}

func (d *maker) act(s *sim, i int32) {
	if d.lamp != nil {
		s.make(i, d.lamp.glows(s) && s.condition(d.part, d.rule.When))
		return
	}
	s.make(i, s.holds(d.part, d.rule))
}

// sender drives lines that carry clock, data or PWM.
type sender struct {
	ruled
	sent []signal
}

func makeSender(m *Model, x ruled, p *netlist.Part) {
	d := &sender{ruled: x}
	for _, n := range x.rule.Nets {
		sent := m.sending(x.part, p, n)
		sent.mean *= 1 + m.tolerance(n)*m.corner
		sent.law = circuit.EMF(sent.mean, sent.ohms)
		d.on, d.sent = append(d.on, sent.node), append(d.sent, sent)
	}
	m.senders = append(m.senders, d)
	m.device(d)
}

func (d *sender) act(s *sim, i int32) {
	on, powered := s.holds(d.part, d.rule), s.powered(d.part)
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
