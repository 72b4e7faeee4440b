package plan

import (
	"slices"
	"strconv"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
)

// place picks where to probe a net: a test point, else the pad of a small part,
// else a pin. It tells whether a slip there would destroy something.
func (m *maker) place(s *trace.Step) (best Place, slip bool) {
	if len(s.Points) > 0 {
		p := &m.b.Parts[s.Points[0]]
		return Place{p.Name, side(p), at(p)}, false
	}
	best = Place{Name: "any pad of " + m.b.Nets[s.Net].Name}
	rank := 9
	for _, t := range m.b.Taps(s.Net) {
		p := &m.b.Parts[t.Part]
		c := p.Conns[t.Conn]
		r := 3
		switch {
		case p.Kind.InPanel:
			r = 5 // inside the panel
		case p.Kind.Form == netlist.ArrowForm && len(p.Conns) <= 4:
			r = 1
		case p.Kind.Form == netlist.RowsForm && m.carriesHigh(p):
			r = 4
		case p.Kind.Form == netlist.RowsForm:
			r = 2
		}
		if r >= rank {
			continue
		}
		name := p.Name + " " + p.PinLabel(c)
		if r == 1 {
			name = "the pad of " + p.Name + " on " + m.b.Nets[s.Net].Name
		}
		best, rank = Place{name, side(p), at(p)}, r
	}
	return best, rank == 4
}

// carriesHigh tells whether a connector or a cable has a pin with a voltage that
// destroys its neighbours. No powered probe belongs on any of its pins.
func (m *maker) carriesHigh(p *netlist.Part) bool {
	if is, known := m.rails[p]; known {
		return is
	}
	is := slices.ContainsFunc(p.Conns, func(x netlist.Conn) bool { return m.high(x.Net) })
	m.rails[p] = is
	return is
}

func pinNumber(c netlist.Conn) (int, bool) {
	n, err := strconv.Atoi(c.Num)
	return n, err == nil
}

// unsafe tells whether a powered probe of a net would have to touch a pin of a
// connector that carries a voltage which destroys its neighbours, or is such a
// neighbour.
func (m *maker) unsafe(s *trace.Step) bool {
	if s.Kind != trace.NetStep {
		return false
	}
	_, slip := m.place(s)
	return slip
}

func side(p *netlist.Part) string { a, _ := p.Attr("side"); return a.Text }
func at(p *netlist.Part) string   { a, _ := p.Attr("at"); return a.Text }
