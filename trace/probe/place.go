package probe

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
)

// Place is where a probe lands: TP4, or the pad or pin of a part. It has no name where
// nothing is touched.
type Place = netlist.TestPoint

// spot is a place with its part, None where there is none.
type spot struct {
	Place
	part netlist.PartID
}

func (x *Bench) at(id netlist.PartID, name string) spot {
	s := spot{x.b.TestPoint(id), id}
	s.Name = name
	if s.Side == "cable" {
		s.Side = "" // a pin of it needs no more words
	}
	return s
}

// How well a place serves, the best first. The last two are for all power out only.
const (
	smallPad = iota
	plainRow // a connector that carries no high rail
	chipPin
	highRow // a connector or cable with a high rail
	inPanel
	nowhere
)

// spot picks where a probe of a net lands: a test point, else the pad of a small part,
// else a pin that no high rail stands beside, else a pin of a chip. Under a chip it
// never lands. With all power out any pin of a row does too.
func (x *Bench) spot(n netlist.NetID, cold bool) spot {
	for id := range x.b.Points(n) {
		return x.at(id, x.b.Parts[id].Name)
	}
	best, rank := spot{part: netlist.None}, nowhere
	for _, t := range x.b.Taps(n) {
		p := &x.b.Parts[t.Part]
		r := x.rank(t)
		if r >= rank || r >= highRow && !cold {
			continue
		}
		name := "the pad of " + p.Name + " on " + x.b.Nets[n].Name
		switch r {
		case plainRow, highRow:
			name = p.Name + " " + p.PinLabel(p.Conns[t.Conn])
		case chipPin, inPanel:
			name = "the " + x.b.Nets[n].Name + " pin of " + p.Name
		}
		best, rank = x.at(t.Part, name), r
	}
	return best
}

func (x *Bench) rank(t netlist.Tap) int {
	p := &x.b.Parts[t.Part]
	side, _ := p.Attr("side")
	switch {
	case p.Balls():
		return nowhere
	case p.Kind.InPanel || side.Text == "panel":
		return inPanel
	case p.Kind.Form == netlist.ArrowForm:
		return smallPad
	case p.Kind.Form == netlist.RowsForm && x.rails[t.Part]:
		return highRow
	case p.Kind.Form == netlist.RowsForm:
		return plainRow
	}
	return chipPin
}

// Place returns where a probe lands, and whether a hand can reach it. Where it cannot,
// the place names the nearest one: behind the part in series, what the pad of that part
// leads to.
func (x *Bench) Place(p netlist.Probe) (Place, bool) {
	switch {
	case p.Method == netlist.Look || p.Net == netlist.None && p.Part == netlist.None:
		return Place{}, true
	case p.Part != netlist.None:
		s := x.at(p.Part, "both ends of "+x.b.Parts[p.Part].Name)
		if names := x.b.Channels(p.Part); len(names) > 1 && p.Channel < len(names) {
			s.Name = "both ends of " + x.b.Parts[p.Part].Name + "." + names[p.Channel]
		}
		return s.Place, true
	case p.Other != netlist.None && p.State.Unplugged:
		if s, ok := x.sideBySide(p.Net, p.Other); ok {
			return s, true
		}
	}
	first, ok := x.reach(p.Net, p.Cold())
	if p.Other == netlist.None {
		return first, ok
	}
	second, too := x.reach(p.Other, p.Cold())
	return Place{Name: first.String() + " and " + second.String()}, ok && too
}

// reach returns the place of a net, or the other end of a part in series.
func (x *Bench) reach(n netlist.NetID, cold bool) (Place, bool) {
	if s := x.spot(n, cold); s.part != netlist.None {
		return s.Place, true
	}
	for _, t := range x.b.Taps(n) {
		p := &x.b.Parts[t.Part]
		here := p.Conns[t.Conn]
		for _, c := range p.Conns {
			if len(p.Kind.Passes) == 0 || c.Channel != here.Channel || c.Pin == here.Pin || x.b.Nets[c.Net].Ground {
				continue
			}
			if s := x.spot(c.Net, cold); s.part != netlist.None {
				return Place{Name: fmt.Sprintf("out of reach; the other end of %s: %s", p.Name, s)}, false
			}
		}
	}
	var names []string
	for _, t := range x.b.Taps(n) {
		if name := x.b.Parts[t.Part].Name; !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return Place{Name: "out of reach, under " + strings.Join(names, " and ")}, false
}

// sideBySide returns two pins of a connector that lie side by side.
func (x *Bench) sideBySide(a, z netlist.NetID) (Place, bool) {
	for id, pair := range x.pairsOn(a) {
		if pair[1].Net == z {
			return x.at(id, fmt.Sprintf("%s pin %d to pin %d", x.b.Parts[id].Name, pair[0].Number, pair[1].Number)).Place, true
		}
	}
	return Place{}, false
}
