package bench

import (
	"math"
	"strings"

	"example.org/walkback/netlist"
)

// output sets what a driver does: up, down or nothing.
func (s *specimen) output(c *chip, n netlist.NetID, to string) bool {
	d := s.drive[drivenNet{c.id, n}]
	switch {
	case d == nil:
		return false
	case s.flawed(c.id, "low", n) != nil:
		to = "low"
	case s.flawed(c.id, "high", n) != nil:
		to = "high"
	case s.flawed(c.id, "float", n) != nil:
		to = ""
	}
	up, down := 0.0, 0.0
	switch to {
	case "high":
		up = 1 / driveOhms
	case "low":
		down = 1 / driveOhms
	}
	s.branches[d.pull].emf = d.level
	news := set(&s.branches[d.pull].g, up)
	return set(&s.branches[d.sink].g, down) || news
}

// actRules lets a chip follow its rules and its gate.
func (s *specimen) actRules(c *chip, dead bool) bool {
	p, news := c.p, false
	c.on = s.supplied(p) && !dead
	if p.Kind.Logic != netlist.NoLogic {
		to := ""
		if c.on {
			to = "low"
			if s.gate(c) {
				to = "high"
			}
		}
		news = s.output(c, p.Net("out"), to)
	}
	for i := range p.Rules {
		r := &p.Rules[i]
		holds := c.on && s.holds(r.When, c)
		switch r.Word {
		case "makes", "reads":
			if r.Word == "reads" {
				news = s.tries(c, r) || news
				holds = holds && s.reads(c, r)
			}
			s.next[r.Fact] = s.next[r.Fact] || holds
			continue
		}
		for _, n := range r.Nets {
			to := ""
			switch {
			case !c.on:
			case r.Word == "pulls" && holds:
				to = "low"
			case r.Word == "pulls":
			case holds:
				to = "high"
			default:
				to = "low"
			}
			news = s.output(c, n, to) || news
		}
	}
	return news
}

// tries lets a chip rest the lines of a pair over which it reads; others rest by their
// pull-ups.
func (s *specimen) tries(c *chip, r *netlist.Rule) bool {
	news := false
	for _, n := range r.Nets {
		to := ""
		if c.on && !s.b.Parts[r.From].Kind.OpenLines {
			to = "high"
		}
		news = s.output(c, n, to) || news
	}
	return news
}

// gate is the function of a gate at its inputs.
func (s *specimen) gate(c *chip) bool {
	all, some := true, false
	for _, k := range c.p.Conns {
		if c.p.Pin(k).Name != "in" {
			continue
		}
		high := s.over(s.at[k.Net], s.ground(c.p)) > 0.5*nominal(s.b, c.p.Net("vdd")) && s.flawed(c.id, "deaf", k.Net) == nil
		all, some = all && high, some || high
	}
	switch c.p.Kind.Logic {
	case netlist.OrGate:
		return some
	case netlist.NorGate:
		return !some
	case netlist.NandGate:
		return !all
	}
	return all
}

// holds reports whether a condition of a rule does.
func (s *specimen) holds(e *netlist.Expr, c *chip) bool {
	if e == nil {
		return true
	}
	switch e.Op {
	case netlist.StateExpr:
		return s.setting[e.State.State] == e.State.Value
	case netlist.NotExpr:
		return !s.holds(e.Kids[0], c)
	case netlist.AndExpr, netlist.OrExpr:
		for _, k := range e.Kids {
			if s.holds(k, c) != (e.Op == netlist.AndExpr) {
				return e.Op == netlist.OrExpr
			}
		}
		return e.Op == netlist.AndExpr
	case netlist.AtomExpr:
		switch t := e.Target; {
		case t.Lane != netlist.None:
			return s.lanes[t.Lane]
		case t.Fact != netlist.None:
			return s.facts[t.Fact]
		case s.flawed(c.id, "deaf", t.Net) != nil:
			return false
		default:
			high := nominal(s.b, t.Net)
			if high == 0 {
				high = 3.3
			}
			share := 0.5
			for _, k := range c.p.Conns {
				if k.Net == t.Net && c.p.Pin(k).Need == netlist.Supply {
					share = 0.8
				}
			}
			return s.over(s.at[t.Net], s.ground(c.p)) > share*high
		}
	}
	return false
}

// reads reports whether a chip can read another over two lines: each must rest high
// and be pulled low from either end; or, where capacitors are between, what it sends
// must arrive.
func (s *specimen) reads(c *chip, r *netlist.Rule) bool {
	far := &s.b.Parts[r.From]
	if !s.supplied(far) || s.flawed(r.From, "dead", netlist.None) != nil || s.flawed(r.From, "garble", netlist.None) != nil {
		return false
	}
	at := r.At
	if len(at) == 0 {
		at = []netlist.NetID{far.Net("scl"), far.Net("sda")}
	}
	pair := !far.Kind.OpenLines
	if pair {
		for _, n := range r.Nets {
			if s.flawed(c.id, "float", n) != nil || s.flawed(c.id, "deaf", n) != nil {
				return false
			}
		}
		return s.received(r.Nets, at, c)
	}
	for i, n := range r.Nets {
		if s.flawed(c.id, "float", n) != nil || s.flawed(c.id, "deaf", n) != nil || s.flawed(r.From, "open", at[i]) != nil {
			return false
		}
		for _, from := range []netlist.NetID{n, at[i]} {
			to := at[i]
			if from == to {
				to = n
			}
			if v := s.v[s.at[to]]; v < 0.7*3.3 || s.pulled(s.at[from], s.at[to]) > 0.3*3.3 {
				return false
			}
		}
	}
	return true
}

// pulled is what a node shows while another is pulled low by 30 Ω, for small signals.
func (s *specimen) pulled(from, to int) float64 {
	s.linear(0)
	x := make([]float64, s.nodes)
	x[from] = 1
	s.back(x)
	// Thevenin at the pulled node, and what of its fall reaches the other.
	fall := s.v[from] * x[from] / (x[from] + 30)
	for n := range s.moving {
		if m := s.at[n]; m > 0 && x[from] > 0 {
			s.moving[n] = max(s.moving[n], fall*x[m]/x[from])
		}
	}
	return s.v[to] - fall*x[to]/x[from]
}

// received reports whether what is sent on a pair reaches another.
func (s *specimen) received(from, at []netlist.NetID, c *chip) bool {
	d := s.drive[drivenNet{c.id, from[0]}]
	if d == nil || d.swing == 0 {
		return false
	}
	x := s.sent(c, from)
	return math.Abs(x[s.at[at[0]]]-x[s.at[at[1]]]) > pairFrom*2*d.swing*pairLoss
}

// pairLoss is about what is left of a swing between a source of 40 Ω a leg and an end
// of 100 Ω.
const pairLoss = 0.5

// sent solves for what moves when a chip drives nets: the first up, the second down.
func (s *specimen) sent(c *chip, nets []netlist.NetID) []float64 {
	x := make([]float64, s.nodes)
	for i, n := range nets {
		d := s.drive[drivenNet{c.id, n}]
		if s.stuck(c.id, n) {
			continue
		}
		if i == 0 || x[0] == 0 {
			s.linear(d.rate)
			x[0] = 1
		}
		x[s.at[n]] += (1 - 2*float64(i%2)) * d.swing * s.branches[d.pull].g
	}
	if x[0] == 0 {
		return x
	}
	s.back(x)
	for n := range s.moving {
		s.moving[n] = max(s.moving[n], math.Abs(x[s.at[n]]))
	}
	return x
}

func (s *specimen) stuck(id netlist.PartID, n netlist.NetID) bool {
	return s.flawed(id, "low", n) != nil || s.flawed(id, "high", n) != nil || s.flawed(id, "float", n) != nil
}

// signals finds what moves, and which lanes reach the panel.
func (s *specimen) signals() {
	clear(s.moving)
	clear(s.lanes)
	for _, c := range s.chips {
		if c.p.Kind.Name == "boost" && c.out >= 0 && s.branches[c.out].g > 0 {
			n, out := c.p.Net("lx"), s.at[s.rectified(c.p)]
			if s.v[out] > s.v[s.at[n]]+1 {
				s.moving[n] = s.v[out]
			}
		}
		if !c.on {
			continue
		}
		for i := range c.p.Rules {
			if r := &c.p.Rules[i]; r.Word == "sends" && s.holds(r.When, c) {
				for _, group := range s.legs(r.Nets) {
					s.arrive(c, group)
				}
			}
		}
	}
}

// bursts finds what moves while chips try to read, whether they can or not.
func (s *specimen) bursts() {
	for _, c := range s.chips {
		for i := range c.p.Rules {
			r := &c.p.Rules[i]
			if r.Word != "reads" || !c.on || !s.holds(r.When, c) {
				continue
			}
			if !s.b.Parts[r.From].Kind.OpenLines {
				s.sent(c, r.Nets)
				continue
			}
			for _, n := range r.Nets {
				if s.flawed(c.id, "float", n) == nil {
					s.pulled(s.at[n], s.at[n])
				}
			}
		}
	}
}

// arrive sees which lanes a line or a pair brings to life.
func (s *specimen) arrive(c *chip, nets []netlist.NetID) {
	swing := s.drive[drivenNet{c.id, nets[0]}].swing
	x := s.sent(c, nets)
	for i := range s.b.Lanes {
		switch l := s.b.Lanes[i].Nets; len(l) {
		case 1:
			s.lanes[i] = s.lanes[i] || math.Abs(x[s.at[l[0]]]) > pairFrom*swing
		case 2:
			s.lanes[i] = s.lanes[i] || math.Abs(x[s.at[l[0]]]-x[s.at[l[1]]]) > pairFrom*2*swing*pairLoss
		}
	}
}

// legs puts the two legs of a pair together: names that differ in a last P and N.
func (s *specimen) legs(nets []netlist.NetID) (list [][]netlist.NetID) {
	for i := 0; i < len(nets); i++ {
		if i+1 < len(nets) {
			a, aP := strings.CutSuffix(s.b.Nets[nets[i]].Name, "P")
			z, zN := strings.CutSuffix(s.b.Nets[nets[i+1]].Name, "N")
			if aP && zN && a == z {
				list = append(list, nets[i:i+2])
				i++
				continue
			}
		}
		list = append(list, nets[i:i+1])
	}
	return list
}
