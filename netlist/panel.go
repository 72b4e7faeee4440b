package netlist

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist/say"
)

// Panel is what a fitted panel makes of the lanes of a board.
type Panel struct {
	Words string          // what it asks for
	Idle  []int           // lanes that it does not use, indexes of Board.Lanes
	Rates map[int]float64 // how fast lanes run with it, Hz; 0 when that is not known
	Shown bool            // say which panel it is even when it uses every lane
}

// With returns the board as it is with a panel: on the conductors of the lanes that
// it does not use nothing is sent, they read 0 V, and conditions and stages no
// longer ask for them; the conductors of the others run at the panel's rates. The
// board itself is not changed.
func (b *Board) With(p Panel) *Board {
	out := *b
	if p.Shown || len(p.Idle) > 0 {
		out.Panel = p.Words
	}
	out.Lanes, out.Nets, out.Parts = slices.Clone(b.Lanes), slices.Clone(b.Nets), slices.Clone(b.Parts)
	quiet := map[NetID]bool{}
	for _, i := range p.Idle {
		out.Lanes[i].Idle = true
		b.conductors(b.Lanes[i].Nets, quiet)
	}
	alive := map[NetID]bool{} // also what an idle lane shares with one that is needed
	for i := range out.Lanes {
		if !out.Lanes[i].Idle {
			b.conductors(b.Lanes[i].Nets, alive)
		}
	}
	for n := range alive {
		delete(quiet, n)
	}
	for n := range quiet {
		out.Nets[n].Expect, out.Nets[n].Idle = []Expect{{}}, true
	}
	for i := range b.Lanes {
		rate, ok := p.Rates[i]
		if !ok {
			continue
		}
		paced := map[NetID]bool{}
		b.conductors(b.Lanes[i].Nets, paced)
		for n := range paced {
			out.Nets[n].Expect = slices.Clone(b.Nets[n].Expect)
			for k := range out.Nets[n].Expect {
				if e := &out.Nets[n].Expect[k]; e.Swing != 0 {
					e.Rate = rate
				}
			}
		}
	}
	for i := range out.Parts {
		out.Parts[i].Rules = out.leaveRules(out.Parts[i].Rules, quiet)
	}
	out.Stages = slices.Clone(b.Stages)
	for i := range out.Stages {
		out.Stages[i].Targets = slices.DeleteFunc(slices.Clone(out.Stages[i].Targets), func(t Target) bool {
			return t.Lane != None && out.Lanes[t.Lane].Idle
		})
	}
	return &out
}

// WriteHead begins a text about the board: its name and title, and the lanes that
// the fitted panel leaves quiet, if there are any.
func (b *Board) WriteHead(o *say.Writer) {
	o.Beside(b.Name+"  ", b.Title)
	if text := b.PanelText(); text != "" {
		o.Beside("panel     ", text)
	}
}

// PanelText is what the fitted panel asks for and which lanes it leaves quiet;
// empty when that is no news.
func (b *Board) PanelText() string {
	idle := b.IdleLanes()
	if len(idle) == 0 {
		return b.Panel
	}
	return b.Panel + "; quiet, and with this panel that is right: " + strings.Join(idle, " ")
}

// idle says that a reading of a net tells nothing, when the net carries only
// lanes that the fitted panel does not use: whether a board drives them all the
// same is its own choice. It is nil for other nets.
func (b *Board) idle(n NetID) *wrongWord {
	if !b.Nets[n].Idle {
		return nil
	}
	name := b.Nets[n].Name
	return &wrongWord{msg: fmt.Sprintf("the panel (%s) does not use the lane on %s: what it reads with power on tells of no fault", b.Panel,
		name), want: "another panel, or " + name + " left out"}
}

// IdleLanes lists the lanes that the fitted panel leaves quiet.
func (b *Board) IdleLanes() []string {
	var idle []string
	for _, l := range b.Lanes {
		if l.Idle {
			idle = append(idle, l.Name)
		}
	}
	return idle
}

// conductors adds to found the nets over which a lane comes to the panel: those
// reached through parts that carry signals, as long as a net swings in some
// state or has no value of its own.
func (b *Board) conductors(from []NetID, found map[NetID]bool) {
	todo := slices.Clone(from)
	for len(todo) > 0 {
		n := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		swings := func(e Expect) bool { return e.Swing != 0 }
		if x := &b.Nets[n]; found[n] || x.Ground || len(x.Expect) > 0 && !slices.ContainsFunc(x.Expect, swings) {
			continue
		}
		found[n] = true
		for _, t := range b.Taps(n) {
			p := &b.Parts[t.Part]
			here := p.Conns[t.Conn]
			for _, pass := range p.Kind.Passes {
				for _, c := range p.Conns {
					name, far := p.Pin(here).Name, p.Pin(c).Name
					if c.Channel == here.Channel && (name == pass.A && far == pass.B || name == pass.B && far == pass.A) {
						todo = append(todo, c.Net)
					}
				}
			}
		}
	}
}

// leaveRules returns the rules with idle lanes taken out. Rules keep their place,
// since facts point at them; what is never sent becomes a rule at the end.
func (b *Board) leaveRules(rules []Rule, quiet map[NetID]bool) []Rule {
	rules = slices.Clone(rules)
	for i := range rules {
		r := &rules[i]
		r.When, _ = b.leaveTerm(r.When)
		if r.Word != "sends" {
			continue
		}
		var idle, alive []NetID
		for _, n := range r.Nets {
			if quiet[n] {
				idle = append(idle, n)
			} else {
				alive = append(alive, n)
			}
		}
		never := &Expr{Op: NeverExpr, Target: Target{None, None, None}}
		switch {
		case len(idle) == 0:
		case len(alive) == 0:
			r.When = never
		default:
			rest := *r
			rest.Nets, rest.When = idle, never
			r.Nets = alive
			rules = append(rules, rest)
		}
	}
	return rules
}

// leaveTerm returns a condition without the idle lanes, and whether anything is
// left of it; nothing left means always.
func (b *Board) leaveTerm(e *Expr) (*Expr, bool) {
	if e == nil {
		return nil, false
	}
	if e.Op == AtomExpr {
		if e.Target.Lane != None && b.Lanes[e.Target.Lane].Idle {
			return nil, false
		}
		return e, true
	}
	if len(e.Kids) == 0 {
		return e, true
	}
	x := *e
	x.Kids = nil
	for _, k := range e.Kids {
		if k, ok := b.leaveTerm(k); ok {
			x.Kids = append(x.Kids, k)
		}
	}
	switch {
	case len(x.Kids) == 0:
		return nil, false
	case len(x.Kids) == 1 && x.Op != NotExpr:
		return x.Kids[0], true
	}
	return &x, true
}
