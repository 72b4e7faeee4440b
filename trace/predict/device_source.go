package predict

import (
	"fmt"
	"math"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

var _, _ = acts("supply", makeSource), acts("regulator", makeSource)

// source holds its net at a level, up to its current limit: a supply, or a
// regulator, which takes from its input the power that it gives.
type source struct {
	own
	out    int32
	branch int32   // by which it gives at its limit
	level  float64 // V
	limit  float64 // A
	// Of a regulator; inp is -1 for a supply.
	inp, en int32
	enHigh  bool
	feed    int32 // branch by which it takes
}

const (
	dropOut  = 0.1 // V that a regulator needs above its output: common practice, no source
	converts = 0.9 // efficiency of a regulator: common practice, no source
)

func makeSource(m *Model, id netlist.PartID, p *netlist.Part) {
	out := p.Net("out")
	d := &source{own: own{id}, out: m.node(out), inp: m.pin(p, "in"), en: m.pin(p, "en"), limit: m.attr(p, "limit", usualLimit), feed: -1}
	d.level = m.attr(p, "gives", m.nominal(out))
	if d.level == 0 {
		m.Unknown = append(m.Unknown, id)
	}
	d.level *= 1 + m.tolerance(out)*m.corner
	if d.regulates() {
		d.enHigh = p.ControlLevel(netlist.High) == netlist.High
		d.feed = m.add(d.inp, m.groundOf(p), nil, nil)
	}
	d.branch = m.add(d.out, 0, nil, nil)
	m.source(d, d.out)
}

func (d *source) regulates() bool { return d.inp >= 0 }

func (d *source) look(*Model) sight {
	x := d.seen()
	x.by, x.hears, x.around, x.on = []int32{d.inp, d.en}, []int32{d.out}, []int32{d.out}, []int32{d.out}
	return x
}

func (d *source) act(s *sim, i int32) {
	st := &s.dev[i]
	level, limit := d.level*s.factor(d.part, netlist.Levels), d.limit*s.factor(d.part, netlist.Limits)
	on := level > 0 && s.fault(d.part, netlist.StaysOff, 0) == nil
	if d.regulates() {
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
		d.feeds(s, st, 0)
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
		case i < -1e-9 && d.regulates():
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
	d.feeds(s, st, amps)
}

// feeds takes from a regulator's input the power that its output gives.
func (d *source) feeds(s *sim, st *devState, amps float64) {
	if !d.regulates() {
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

// card writes a voltage that gives way once the current is at its limit. The slopes
// are those of circuit.Giving.
func (d *source) card(k *deck, _ *devState) {
	s, label := k.s, plain(d.name(k.s.m))
	k.alive[d.branch] = true
	if d.regulates() {
		k.alive[d.feed] = true
	}
	level, limit := spell(d.level*s.factor(d.part, netlist.Levels)), spell(d.limit*s.factor(d.part, netlist.Limits))
	if d.level <= 0 || s.fault(d.part, netlist.StaysOff, 0) != nil || d.out == 0 {
		k.say("* %s gives nothing", label)
		return
	}
	k.lines++
	meter, emf := fmt.Sprintf("Vout_%s_%d", label, k.lines), fmt.Sprintf("emf_%s_%d", label, k.lines)
	i := "i(" + meter + ")"
	limits := func(level string) string {
		return fmt.Sprintf("(%s < %s ? %s : %s-%s*(%s-%s))", i, limit, level, level, spell(1/circuit.FlatLeak), i, limit)
	}
	formula := limits(level)
	if d.regulates() {
		in := k.level(d.part, d.inp)
		room := fmt.Sprintf("(%s-%s)", in, spell(dropOut))
		on := k.decision(label, all(k.enabled(d.part, d.en, d.enHigh), room+" > "+spell(dropOut)))
		target := fmt.Sprintf("(%s < %s ? %s : %s)", room, level, room, level)
		formula = fmt.Sprintf("%s < 0.5 ? -%s*%s : (%s < 0 ? %s-%s*%s : %s)", on, idleOhms, i, i, target, idleOhms, i, limits(target))
		k.say("* %s takes the power that it gives, over %s", label, spell(converts))
		k.element("B", label, k.node[d.inp], "0", fmt.Sprintf("I = %s > 0 && %s > %s && %s > 0 ? %s*%s/(%s*%s) : 0",
			i, in, spell(dropOut), k.volts(d.out), i, k.volts(d.out), spell(converts), in))
	}
	k.element("B", label, emf, "0", "V = "+formula)
	k.say("%s %s %s 0", meter, emf, k.node[d.out])
}
