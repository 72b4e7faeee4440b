package predict

import (
	"strings"

	"example.org/walkback/netlist"
)

// gate drives its output by the levels of its inputs.
type gate struct {
	own
	in     []int32
	out    int32
	some   bool // one high input is enough
	invert bool
}

func (m *Model) gate(id netlist.PartID, p *netlist.Part) {
	d := &gate{own: own{id}, in: m.pins(p, "in"), out: m.pin(p, "out")}
	d.some = p.Kind.Logic == netlist.OrGate || p.Kind.Logic == netlist.NorGate
	d.invert = p.Kind.Logic == netlist.NandGate || p.Kind.Logic == netlist.NorGate
	m.driver(id, p, d.out)
	m.device(d)
}

func (d *gate) look(m *Model) sight {
	x := d.seen()
	x.by, x.on = append(d.supplies(m), d.in...), []int32{d.out}
	return x
}

func (d *gate) act(s *sim, _ int32) {
	on := !d.some
	for _, n := range d.in {
		if s.high(d.part, n) == d.some {
			on = d.some
			break
		}
	}
	s.drives(d.part, d.out, s.powered(d.part), on != d.invert)
}

func (d *gate) card(k *deck, _ *devState) {
	var inputs []string
	for _, n := range d.in {
		inputs = append(inputs, "("+k.high(d.part, n)+")")
	}
	word := strings.Join(inputs, " && ")
	if d.some {
		word = strings.Join(inputs, " || ")
	}
	if d.invert {
		word = not(word)
	}
	powered := k.powered(d.part)
	if f := k.s.outFault(d.part, d.out); f != nil {
		powered = all(powered, constant(f.Mode.Does != netlist.Frees))
		word = constant(f.Mode.Does == netlist.SticksHigh)
	}
	o := k.s.m.drive[pinKey{d.part, d.out}]
	for _, half := range []struct {
		branch int32
		on     string
	}{{o.high, all(powered, word)}, {o.low, all(powered, not(word))}} {
		if half.branch < 0 || k.s.forced[half.branch] || k.s.Branches[half.branch].A == k.s.Branches[half.branch].B {
			continue
		}
		k.alive[half.branch] = true
		k.choice(half.branch, k.decision(k.label(half.branch), half.on), driveLaw, nil)
	}
}
