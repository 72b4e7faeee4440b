package predict

import (
	"fmt"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

var _ = closes("npn", makeNPN)

// npn is a bipolar switch with a resistor before its base and one from base to
// emitter. It begins to conduct when the divider of both has vbe across the second,
// at vbe·(r1 + r2)/r2 (a forward-biased junction beside a divider), and carries at
// most its gain times what then flows into the base.
type npn struct {
	pass
	base, emitter     int32
	input             int32 // branch from base to emitter
	r1, r2, vbe, gain float64
}

func makeNPN(m *Model, p *netlist.Part, how *netlist.Pass, x pass) {
	d := &npn{pass: x, base: m.pin(p, how.Control), emitter: m.branches[x.branch].B, vbe: m.attr(p, "vbe", 0) * (1 + tolJunction*m.corner)}
	d.r1, d.r2, d.gain = max(m.attr(p, "r1", 0), 1), max(m.attr(p, "r2", 0), 1), m.attr(p, "gain", 0)
	l := circuit.Base(d.r1, d.r2, d.vbe)
	d.input = m.add(d.base, d.emitter, l, l)
	m.device(d)
}

func (d *npn) look(m *Model) sight {
	x := d.seen()
	x.by, x.on = []int32{d.base, d.emitter}, []int32{m.branches[d.branch].A}
	return x
}

func (d *npn) act(s *sim, _ int32) {
	v := s.V[d.base] - s.V[d.emitter]
	amps := d.gain * ((v-d.vbe)/d.r1 - d.vbe/d.r2)
	if on, is := d.stuck(s); is && !on || amps <= 0 {
		s.set(d.branch, offLaw)
	} else {
		s.set(d.branch, circuit.Limited(d.ohms, amps))
	}
}

func (d *npn) fail(s *sim, f Fault) bool {
	if f.Mode.Does == netlist.StaysOff {
		s.force(d.input, nil)
		return true
	}
	return d.pass.fail(s, f)
}

// card writes the collector as a switch that carries no more than its base asks for.
func (d *npn) card(k *deck, _ *devState) {
	if k.s.forced[d.branch] || k.s.forced[d.input] {
		return
	}
	k.alive[d.branch] = true
	c, label := &k.s.Branches[d.branch], k.label(d.branch)
	k.lines++
	node := fmt.Sprintf("amps_%s_%d", label, k.lines)
	vb, v := k.across(d.base, d.emitter), k.across(c.A, c.B)
	k.say("B%s %s 0 V = max(0, %s*((%s-%s)/%s-%s/%s))", node, node, spell(d.gain), vb, spell(d.vbe), spell(d.r1), spell(d.vbe), spell(d.r2))
	on := fmt.Sprintf("min(max(%s/%s, -v(%s)), v(%s))", v, spell(d.ohms), node, node)
	k.element("B", label, k.node[c.A], k.node[c.B], fmt.Sprintf("I = v(%s) > 0 ? %s : %s*%s", node, on, spell(circuit.OffLeak), v))
}
