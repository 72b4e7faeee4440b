package trace

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// maxSettings bounds the states of a board that Check tries, in all their
// combinations.
const maxSettings = 64

// Check finds what only the walk can tell: needs that nothing on the board can
// meet, chips that wait for each other for ever, and parts written against the
// direction in which energy flows through them.
func Check(b *netlist.Board) []mistake.Mistake {
	c := &checker{b: b, f: b.File()}
	g := NewGraph(b, b.Usual())
	for i := range b.Lanes {
		g.Want(netlist.Target{Net: netlist.None, Lane: i, Fact: netlist.None})
	}
	for i := range b.Facts {
		g.Want(netlist.Target{Net: netlist.None, Lane: netlist.None, Fact: i})
	}
	for i := range b.Parts {
		if b.Parts[i].Kind.Form == netlist.NamedForm || len(b.Parts[i].Rules) > 0 {
			g.WantPart(netlist.PartID(i))
		}
	}
	for _, list := range [][]netlist.Target{stageTargets(b), symptomTargets(b)} {
		for _, t := range list {
			g.Want(t)
		}
	}
	c.g = g
	c.holds = make([]bool, len(g.Goals))
	e := g.evaluator()
	for s := range settings(b) {
		g.Setting = s
		for i, h := range e.run(nil) {
			c.holds[i] = c.holds[i] || h
		}
	}
	g.Setting = b.Usual()
	c.noSource()
	c.deadlocks()
	c.never()
	c.backwards(slices.Clone(e.run(nil)))
	c.bridges()
	mistake.Sort(c.problems)
	return c.problems
}

func stageTargets(b *netlist.Board) (list []netlist.Target) {
	for _, s := range b.Stages {
		list = append(list, s.Targets...)
	}
	return list
}

func symptomTargets(b *netlist.Board) (list []netlist.Target) {
	for _, s := range b.Symptoms {
		for _, o := range s.Seen {
			list = append(list, o.Target)
		}
	}
	return list
}

// settings yields the combinations of states, the usual one first.
func settings(b *netlist.Board) func(yield func(netlist.Setting) bool) {
	return func(yield func(netlist.Setting) bool) {
		s := b.Usual()
		for range maxSettings {
			if !yield(s) {
				return
			}
			i := 0
			for ; i < len(s); i++ {
				s[i]++
				if s[i] < len(b.States[i].Values) {
					break
				}
				s[i] = 0
			}
			if i == len(s) {
				return
			}
		}
	}
}

type checker struct {
	b        *netlist.Board
	f        *netlist.File
	g        *Graph
	holds    []bool // in at least one state
	blamed   map[int]bool
	problems []mistake.Mistake
}

func (c *checker) add(s netlist.Span, sev mistake.Severity, code, msg, want string) {
	c.problems = append(c.problems, c.f.Problem(s, sev, code, msg, want, ""))
}

// bridges reports parts that join a high rail to what lies beside it at a plug: a board
// that has one in its file is no healthy board.
func (c *checker) bridges() {
	for i := range c.b.Parts {
		p := &c.b.Parts[i]
		if !p.Kind.Plugs {
			continue
		}
		for _, pair := range c.b.Beside(p) {
			rail, line := pair[0], pair[1]
			high, _ := c.b.Nets[rail.Net].Rests()
			low, known := c.b.Nets[line.Net].Rests()
			if low > high {
				rail, line, high, low = line, rail, low, high
				_, known = c.b.Nets[line.Net].Rests()
			}
			x := c.b.Joined(rail.Net, line.Net)
			if high <= netlist.LogicTop || low > netlist.LogicTop || !known || c.b.Nets[line.Net].Ground || !x.Kills() {
				continue
			}
			part := &c.b.Parts[x.Part]
			c.add(part.Span, mistake.Error, "bridge", fmt.Sprintf("%s joins %s, which rests at %s, to %s beside it at %s pin %d with %s: "+
				"with power on that kills what %s leads to", part.Name, c.b.Nets[rail.Net].Name, netlist.FormatValue(high, netlist.Volt),
				c.b.Nets[line.Net].Name, p.Name, line.Number, netlist.FormatValue(x.Ohms, netlist.Ohm), c.b.Nets[line.Net].Name),
				"the healthy board; what was measured on the one in hand is a reading, such as "+
					c.b.Nets[rail.Net].Name+"/"+c.b.Nets[line.Net].Name+"="+netlist.FormatValue(x.Ohms, netlist.NoUnit)+"ohm")
		}
	}
}

// noSource reports nets that a part needs and nothing brings.
func (c *checker) noSource() {
	for i := range c.g.Goals {
		goal := &c.g.Goals[i]
		for _, e := range append(slices.Clone(goal.All), goal.Any...) {
			t := &c.g.Goals[e.To]
			if t.Kind != NetGoal || len(t.Any) > 0 || c.b.Nets[t.Net].Ground || c.holds[e.To] {
				continue
			}
			if goal.Part == netlist.None {
				c.add(c.b.Nets[t.Net].Span, mistake.Error, "no-source", fmt.Sprintf("nothing on the board makes %s %s", c.b.Nets[t.Net].Name, t.At),
					c.wantSource(t))
				continue
			}
			p := &c.b.Parts[goal.Part]
			c.add(p.Span, mistake.Error, "no-source", fmt.Sprintf("%s needs %s %s (%s), and nothing on the board makes it so", p.Name,
				c.b.Nets[t.Net].Name, t.At, e.Reason), c.wantSource(t))
		}
	}
	slices.SortFunc(c.problems, func(a, b mistake.Mistake) int { return strings.Compare(a.Error(), b.Error()) })
	c.problems = slices.CompactFunc(c.problems, func(a, b mistake.Mistake) bool { return a.Error() == b.Error() })
}

func (c *checker) wantSource(t *Goal) string {
	switch t.At {
	case netlist.Toggling:
		return "a rule that sends it, or a part that leads to one"
	case netlist.Low:
		return "a part that leads to ground, or a rule that drives or pulls it low"
	}
	return "a supply, a regulator, a rule that drives it, or a part that leads to one"
}

// deadlocks reports sets of parts of which none can be first.
func (c *checker) deadlocks() {
	order := make([]int, len(c.g.Goals))
	for i := range order {
		order[i] = i
	}
	c.blamed = map[int]bool{}
	for _, scc := range components(len(order), func(i int, add func(int)) {
		c.g.eachNeed(i, c.holds, func(e Edge) { add(e.To) })
	}) {
		if c.g.loopKind(order, scc, c.holds) != Deadlock {
			continue
		}
		var names []string
		span, found := netlist.Span{}, false
		for _, id := range scc {
			c.blamed[id] = true
			goal := &c.g.Goals[id]
			if goal.Part == netlist.None {
				continue
			}
			p := &c.b.Parts[goal.Part]
			if !slices.Contains(names, p.Name) {
				names = append(names, p.Name)
			}
			if goal.Kind == RuleGoal && !found {
				span, found = p.Rules[goal.Index].Span, true
			}
			if !found {
				span = p.Span
			}
		}
		c.add(span, mistake.Error, "deadlock", "each of these waits for another, so none can be first: "+strings.Join(names, ", "),
			"a rail or a signal that is there before the others")
	}
}

// never reports rules whose condition no state of the board can meet, though
// every part of it can be met alone.
func (c *checker) never() {
	for i := range c.g.Goals {
		goal := &c.g.Goals[i]
		if goal.Kind != RuleGoal || c.holds[i] || c.blamed[i] {
			continue
		}
		own := true
		for _, e := range goal.All {
			own = own && (c.holds[e.To] || c.g.Goals[e.To].Kind == StateGoal)
		}
		r := &c.b.Parts[goal.Part].Rules[goal.Index]
		if !own || r.When == nil {
			continue
		}
		c.add(r.Span, mistake.Error, "never", fmt.Sprintf("%s can never meet this condition: %s", c.b.Parts[goal.Part].Name,
			c.b.ExprText(r.When)), "a condition that some state of the board meets")
	}
}

// backwards warns of parts that the walk only ever crosses against their arrow.
func (c *checker) backwards(healthy []bool) {
	type crossing struct{ with, against bool }
	seen := map[Unit]crossing{}
	var order []Unit
	for i := range c.g.Goals {
		goal := &c.g.Goals[i]
		if goal.Kind != PassGoal || !healthy[i] {
			continue
		}
		p := &c.b.Parts[goal.Part]
		ps := &p.Kind.Passes[goal.Index]
		if p.Kind.Form != netlist.ArrowForm || ps.OneWay || ps.AC || p.Kind.EitherWay {
			continue
		}
		u := Unit{goal.Part, goal.Channel}
		x, known := seen[u]
		if !known {
			order = append(order, u)
		}
		// What a net brings low flows the other way.
		with := p.Conns[slices.IndexFunc(p.Conns,
			func(k netlist.Conn) bool { return k.Net == goal.From && int(k.Channel) == goal.Channel })].Pin == 0
		if (goal.At == netlist.Low) == with {
			x.against = true
		} else {
			x.with = true
		}
		seen[u] = x
	}
	warned := map[netlist.PartID]bool{}
	for _, u := range order {
		if x := seen[u]; x.against && !x.with && !warned[u.Part] {
			warned[u.Part] = true
			p := &c.b.Parts[u.Part]
			c.add(p.Span, mistake.Warning, "backwards",
				fmt.Sprintf("%s is written against the direction in which energy or signal flows through it; the walk is the same", p.Name),
				"the source side on the left of the arrow")
		}
	}
}
