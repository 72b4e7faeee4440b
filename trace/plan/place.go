package plan

import (
	"slices"
	"strconv"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
)

// place picks where to probe a net: a test point, else the pad of a small part,
// else a pin. It tells whether a slip there
// would destroy something.
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
		case p.Kind.Form == netlist.RowsForm && m.besideHigh(p, c):
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
	return best, rank == 4 || rank == 2 && m.high(s.Net)
}

// besideHigh tells whether a pin of a connector or a cable sits beside one with
// a voltage that destroys it.
func (m *maker) besideHigh(p *netlist.Part, c netlist.Conn) bool {
	here, ok := pinNumber(c)
	return ok && slices.ContainsFunc(p.Conns, func(x netlist.Conn) bool {
		n, ok := pinNumber(x)
		return ok && x.Net != c.Net && max(n-here, here-n) <= 2 && m.high(x.Net)
	})
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
