package trace

import (
	"maps"
	"slices"

	"example.org/walkback/netlist"
)

// GoalKind is the form of a goal.
type GoalKind uint8

// The kinds of goal.
const (
	NetGoal   GoalKind = iota // a net has a quantity
	LaneGoal                  // all conductors of a lane are alive
	FactGoal                  // a fact holds
	StateGoal                 // a state of the board has a value
	PartGoal                  // a part has all that its pins need
	PassGoal                  // a part carries a quantity from one of its nets to another
	GiveGoal                  // a part drives a net of its own
	RuleGoal                  // a rule inside a part takes effect
	TermGoal                  // one of several terms of a condition holds
	NotGoal                   // a fact or a lane is absent
)

// Goal is one thing that must hold, a node of the AND/OR graph: it holds when
// all of All hold and, where Any is not empty, one of Any does.
type Goal struct {
	Kind    GoalKind
	Net     netlist.NetID // of a NetGoal; the net given or reached by a Pass, Give
	From    netlist.NetID // of a PassGoal: the net it comes from
	At      netlist.Quantity
	Part    netlist.PartID
	Index   int // pass, give, rule, lane, fact or state
	Channel int // of a PassGoal
	Value   int // of a StateGoal
	All     []Edge
	Any     []Edge
	expr    *netlist.Expr
	truth   bool
}

// Edge leads from a goal to one that it needs.
type Edge struct {
	To     int
	Reason netlist.Reason
}

type goalKey struct {
	kind         GoalKind
	at           netlist.Quantity
	truth        bool
	a, b, c, net int32
	expr         *netlist.Expr
}

// Graph is the AND/OR graph of what must hold for some goals, grown from them
// as far as the sources.
type Graph struct {
	Board   *netlist.Board
	Setting netlist.Setting
	Goals   []Goal
	index   map[goalKey]int
	todo    []int
	search  search
}

// NewGraph returns an empty graph for a board in a setting.
func NewGraph(b *netlist.Board, s netlist.Setting) *Graph {
	return &Graph{Board: b, Setting: s, index: map[goalKey]int{}}
}

// Clone returns a graph with the same goals at the same places, which can be
// grown on its own.
func (g *Graph) Clone() *Graph {
	return &Graph{Board: g.Board, Setting: g.Setting, Goals: slices.Clone(g.Goals), index: maps.Clone(g.index)}
}

// Want adds the goal that a target is as it should be, with all that it needs,
// and returns its place in Goals.
func (g *Graph) Want(t netlist.Target) int {
	var id int
	switch {
	case t.Net != netlist.None:
		id = g.net(t.Net, g.wanted(t.Net))
	case t.Lane != netlist.None:
		id = g.lane(t.Lane)
	default:
		id = g.fact(t.Fact)
	}
	g.grow()
	return id
}

// wanted returns what a net should do in the setting. Where it should rest low
// only because of the setting, that is what it usually does: the walk then names
// the state that keeps it from that.
func (g *Graph) wanted(n netlist.NetID) netlist.Quantity {
	if q := g.Board.HealthyIn(n, g.Setting); q != netlist.Low {
		return q
	}
	return g.Board.Healthy(n)
}

// WantNet adds the goal that a net has a quantity.
func (g *Graph) WantNet(n netlist.NetID, q netlist.Quantity) int {
	id := g.net(n, q)
	g.grow()
	return id
}

// WantPart adds the goals that a part has what it needs and that its rules take
// effect.
func (g *Graph) WantPart(p netlist.PartID) []int {
	ids := []int{g.part(p)}
	for i, r := range g.Board.Parts[p].Rules {
		ids = append(ids, g.rule(p, i, ruleQuantity(r.Word)))
	}
	g.grow()
	return ids
}

func ruleQuantity(word string) netlist.Quantity {
	switch word {
	case "pulls":
		return netlist.Low
	case "sends":
		return netlist.Toggling
	}
	return netlist.High
}

func (g *Graph) add(k goalKey, goal Goal) int {
	if id, ok := g.index[k]; ok {
		return id
	}
	id := len(g.Goals)
	g.index[k] = id
	g.Goals = append(g.Goals, goal)
	g.todo = append(g.todo, id)
	return id
}

func (g *Graph) net(n netlist.NetID, q netlist.Quantity) int {
	return g.add(goalKey{kind: NetGoal, at: q, net: int32(n)}, Goal{Kind: NetGoal, Net: n, At: q, Part: netlist.None})
}

func (g *Graph) lane(i int) int {
	return g.add(goalKey{kind: LaneGoal, a: int32(i)}, Goal{Kind: LaneGoal, Index: i, At: netlist.Toggling, Part: netlist.None,
		Net: netlist.None})
}

func (g *Graph) fact(i int) int {
	return g.add(goalKey{kind: FactGoal, a: int32(i)}, Goal{Kind: FactGoal, Index: i, Part: netlist.None, Net: netlist.None})
}

func (g *Graph) part(p netlist.PartID) int {
	return g.add(goalKey{kind: PartGoal, a: int32(p)}, Goal{Kind: PartGoal, Part: p, Net: netlist.None})
}

func (g *Graph) rule(p netlist.PartID, i int, q netlist.Quantity) int {
	return g.add(goalKey{kind: RuleGoal, at: q, a: int32(p), b: int32(i)}, Goal{Kind: RuleGoal, Part: p, Index: i, At: q, Net: netlist.None})
}

// A GiveGoal of a part with rules stands for one of two things that no rule says.
const (
	drivesBus = 1 // it drives its side of the lines that it reads over
	answers   = 2 // it answers when it is read
)

// bus is the goal that the chip which reads a part drives its side of the lines.
func (g *Graph) bus(p netlist.PartID, i int, n netlist.NetID) int {
	return g.add(goalKey{kind: GiveGoal, a: int32(p), b: int32(i), c: drivesBus, net: int32(n)},
		Goal{Kind: GiveGoal, Part: p, Index: i, At: netlist.Toggling, Net: n, Channel: drivesBus})
}

// answer is the goal that a part answers when it is read: a function of its own,
// which nothing else that the part does proves.
func (g *Graph) answer(p, reader netlist.PartID, rule int) int {
	return g.add(goalKey{kind: GiveGoal, a: int32(p), b: int32(rule), c: answers, net: int32(reader)},
		Goal{Kind: GiveGoal, Part: p, Index: rule, Net: netlist.None, Channel: answers})
}

func (g *Graph) give(p netlist.PartID, i int, n netlist.NetID, q netlist.Quantity) int {
	return g.add(goalKey{kind: GiveGoal, at: q, a: int32(p), b: int32(i), net: int32(n)},
		Goal{Kind: GiveGoal, Part: p, Index: i, At: q, Net: n})
}

func (g *Graph) pass(h hop, to netlist.NetID, q netlist.Quantity) int {
	return g.add(goalKey{kind: PassGoal, at: q, a: int32(h.part), b: int32(h.pass)<<16 | int32(h.channel), c: int32(h.far), net: int32(to)},
		Goal{Kind: PassGoal, Part: h.part, Index: h.pass, Channel: h.channel, Net: to, From: h.far, At: q})
}

// grow expands goals until the sources are reached.
func (g *Graph) grow() {
	for len(g.todo) > 0 {
		id := g.todo[0]
		g.todo = g.todo[1:]
		goal := g.Goals[id]
		switch goal.Kind {
		case NetGoal:
			g.growNet(&goal)
		case LaneGoal:
			l := &g.Board.Lanes[goal.Index]
			for _, n := range l.Nets {
				goal.All = append(goal.All, Edge{g.net(n, netlist.Toggling), laneReason(l)})
			}
		case FactGoal:
			for _, m := range g.Board.Facts[goal.Index].Makers {
				goal.Any = append(goal.Any, Edge{g.rule(m.Part, m.Rule, netlist.High), netlist.Series})
			}
		case PartGoal:
			goal.All = g.needs(goal.Part, "")
		case PassGoal:
			g.growPass(&goal)
		case GiveGoal:
			g.growGive(&goal)
		case RuleGoal:
			g.growRule(&goal)
		case TermGoal:
			for _, k := range goal.expr.Kids {
				goal.Any = append(goal.Any, g.terms(goal.Part, k, goal.truth, true)...)
			}
		}
		g.Goals[id] = goal
	}
}

func laneReason(l *netlist.Lane) netlist.Reason {
	if l.Clock {
		return netlist.Clock
	}
	return netlist.Data
}

// needs returns what the pins of a part need, but for the pin named except.
func (g *Graph) needs(id netlist.PartID, except string) []Edge {
	p := &g.Board.Parts[id]
	var edges []Edge
	var anyOf []Edge
	for _, c := range p.Conns {
		pin := p.Pin(c)
		if pin.Need == netlist.NoReason || pin.Name == except {
			continue
		}
		q := pin.At
		if pin.Need == netlist.Enable {
			q = p.ControlLevel(q)
		}
		if q == netlist.Toggling && g.wanted(c.Net) != netlist.Toggling {
			q = g.wanted(c.Net)
		}
		if e := (Edge{g.net(c.Net, q), pin.Need}); pin.AnyOf {
			anyOf = append(anyOf, e)
		} else {
			edges = append(edges, e)
		}
	}
	if len(anyOf) > 0 {
		choice := g.add(goalKey{kind: TermGoal, a: int32(id), b: 2}, Goal{Kind: TermGoal, Part: id, expr: &netlist.Expr{}, Net: netlist.None})
		g.Goals[choice].Any = anyOf
		edges = append(edges, Edge{choice, anyOf[0].Reason})
	}
	return edges
}

func (g *Graph) growNet(goal *Goal) {
	if g.Board.Nets[goal.Net].Ground && goal.At == netlist.Low {
		return
	}
	for _, pr := range g.providers(goal.Net, goal.At) {
		to := pr.goal
		if pr.hop.part != netlist.None {
			to = g.pass(pr.hop, goal.Net, goal.At)
		}
		goal.Any = append(goal.Any, Edge{to, netlist.Series})
	}
	if goal.At != netlist.High {
		return
	}
	g.released(goal)
	for _, t := range g.Board.Taps(goal.Net) {
		p := &g.Board.Parts[t.Part]
		for i, gv := range p.Kind.Gives {
			if gv.Adds && p.Pin(p.Conns[t.Conn]).Name == gv.Pin {
				goal.All = append(goal.All, Edge{g.give(t.Part, i, goal.Net, netlist.High), netlist.Series})
			}
		}
	}
}

// maxLine bounds the nets that a line held by a pull-up is followed over, so that
// a rail without a driver of its own does not lead over the whole board.
const maxLine = 64

// released adds that every open-drain output on a net that rests high lets go
// of it, also one behind a part that bears the level on.
func (g *Graph) released(goal *Goal) {
	b := g.Board
	if len(goal.Any) == 0 || g.isDriven(goal.Net, netlist.High) {
		return
	}
	seen := map[netlist.NetID]bool{goal.Net: true}
	queue := []netlist.NetID{goal.Net}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		for _, t := range b.Taps(n) {
			p := &b.Parts[t.Part]
			for i, r := range p.Rules {
				if r.Word == "pulls" && r.When != nil && slices.Contains(r.Nets, n) {
					goal.All = append(goal.All, Edge{g.rule(t.Part, i, netlist.High), netlist.Permission})
				}
			}
		}
		if len(seen) >= maxLine {
			continue
		}
		for _, h := range g.hops(nil, n, netlist.Toggling) {
			p := &b.Parts[h.part]
			if !seen[h.far] && h.ohms <= stiff && p.Kind.Passes[h.pass].Control == "" && !p.Kind.Passes[h.pass].AC &&
				!g.isDriven(h.far, netlist.High) {
				seen[h.far] = true
				queue = append(queue, h.far)
			}
		}
	}
}

func (g *Graph) growPass(goal *Goal) {
	p := &g.Board.Parts[goal.Part]
	ps := &p.Kind.Passes[goal.Index]
	goal.All = g.needs(goal.Part, ps.Control)
	if ps.Control != "" {
		goal.All = append([]Edge{{g.net(p.Net(ps.Control), p.ControlLevel(ps.Level)), netlist.Enable}}, goal.All...)
	}
	goal.All = append(goal.All, Edge{g.net(goal.From, goal.At), netlist.Series})
}

func (g *Graph) growGive(goal *Goal) {
	p := &g.Board.Parts[goal.Part]
	if p.Kind.Logic == netlist.NoLogic || goal.Channel != 0 {
		goal.All = []Edge{{g.part(goal.Part), netlist.Series}}
		// Open-drain lines rest high through a pull-up (UM10204, 3.1.1); AC-coupled
		// ones between other chips have no level to rest at.
		if goal.Channel == drivesBus && g.Board.Parts[p.Rules[goal.Index].From].Kind.OpenLines {
			goal.All = append(goal.All, Edge{g.net(goal.Net, netlist.High), netlist.Supply})
		}
		return
	}
	goal.All = g.needs(goal.Part, "")
	in := p.Kind.PinIndex("in")
	all, inputs := gateNeeds(p.Kind.Logic, goal.At)
	for _, c := range p.Conns {
		if int(c.Pin) != in {
			continue
		}
		q := inputs
		if goal.At == netlist.Toggling {
			if g.wanted(c.Net) == netlist.Toggling {
				q = netlist.Toggling
			}
		}
		e := Edge{g.net(c.Net, q), netlist.Enable}
		if q == netlist.Toggling {
			e.Reason = netlist.Clock
		}
		if all {
			goal.All = append(goal.All, e)
		} else {
			goal.Any = append(goal.Any, e)
		}
	}
}

// gateNeeds returns what a gate needs of its inputs for a quantity on its
// output: all or one of them, and at which level. To let a toggling input
// through, the others must not hold the output.
func gateNeeds(l netlist.Logic, out netlist.Quantity) (all bool, in netlist.Quantity) {
	high := out == netlist.High
	switch l {
	case netlist.NandGate, netlist.NorGate:
		high = !high
	}
	switch l {
	case netlist.AndGate, netlist.NandGate:
		if out == netlist.Toggling || high {
			return true, netlist.High
		}
		return false, netlist.Low
	default:
		if out == netlist.Toggling || !high {
			return true, netlist.Low
		}
		return false, netlist.High
	}
}

func (g *Graph) growRule(goal *Goal) {
	p := &g.Board.Parts[goal.Part]
	r := &p.Rules[goal.Index]
	if r.Word == "pulls" && goal.At == netlist.High {
		// An output that must let go needs no power for that.
		goal.All = g.terms(goal.Part, r.When, false, false)
		return
	}
	truth := r.Word != "drives" || goal.At != netlist.Low
	goal.All = append(goal.All, Edge{g.part(goal.Part), netlist.Series})
	if r.When != nil {
		goal.All = append(goal.All, g.terms(goal.Part, r.When, truth, false)...)
	} else if !truth {
		// An output that is always high is never low: a term that cannot hold.
		goal.All = append(goal.All, g.impossible())
	}
	if r.Word != "reads" || r.From == netlist.None {
		return
	}
	goal.All = append(goal.All, Edge{g.answer(r.From, goal.Part, goal.Index), netlist.Series})
	for i, n := range r.At {
		reason := netlist.Data
		if i == 0 {
			reason = netlist.Clock
		}
		goal.All = append(goal.All, Edge{g.net(n, netlist.Toggling), reason})
	}
}

// impossible is a need that nothing can meet.
func (g *Graph) impossible() Edge {
	return Edge{g.add(goalKey{kind: StateGoal, a: -1}, Goal{Kind: StateGoal, Index: netlist.None, Part: netlist.None, Net: netlist.None}),
		netlist.Permission}
}

// terms returns the edges that make a condition true or false. A choice inside
// one becomes a goal of its own unless it stands alone.
func (g *Graph) terms(part netlist.PartID, e *netlist.Expr, truth, inChoice bool) []Edge {
	switch e.Op {
	case netlist.NeverExpr:
		if truth {
			return []Edge{g.impossible()}
		}
		return nil
	case netlist.NotExpr:
		return g.terms(part, e.Kids[0], !truth, inChoice)
	case netlist.AtomExpr:
		return []Edge{g.atom(part, e.Target, truth)}
	case netlist.StateExpr:
		k := goalKey{kind: StateGoal, truth: truth, a: int32(e.State.State), b: int32(e.State.Value)}
		return []Edge{{g.add(k, Goal{Kind: StateGoal, Index: e.State.State, Value: e.State.Value, truth: truth, Part: netlist.None,
			Net: netlist.None}), netlist.Permission}}
	}
	if (e.Op == netlist.AndExpr) == truth && !inChoice {
		var edges []Edge
		for _, k := range e.Kids {
			edges = append(edges, g.terms(part, k, truth, false)...)
		}
		return edges
	}
	goal := Goal{Kind: TermGoal, Part: part, expr: e, truth: truth, Net: netlist.None}
	if (e.Op == netlist.AndExpr) == truth {
		// All terms of a group inside a choice: the goal keeps them together.
		id := g.add(goalKey{kind: TermGoal, expr: e, truth: truth, b: 1}, Goal{Kind: TermGoal, Part: part, expr: &netlist.Expr{},
			Net: netlist.None})
		if len(g.Goals[id].All) == 0 {
			var edges []Edge
			for _, k := range e.Kids {
				edges = append(edges, g.terms(part, k, truth, false)...)
			}
			g.Goals[id].All = edges
		}
		return []Edge{{id, netlist.Enable}}
	}
	return []Edge{{g.add(goalKey{kind: TermGoal, expr: e, truth: truth}, goal), netlist.Enable}}
}

// atom returns the edge for a name in a condition.
func (g *Graph) atom(part netlist.PartID, t netlist.Target, truth bool) Edge {
	not := func(kind GoalKind, i int) Edge {
		return Edge{g.add(goalKey{kind: NotGoal, a: int32(kind), b: int32(i)},
			Goal{Kind: NotGoal, Index: i, Value: int(kind), Part: netlist.None, Net: netlist.None}), netlist.Permission}
	}
	switch {
	case t.Fact != netlist.None:
		if !truth {
			return not(FactGoal, t.Fact)
		}
		return Edge{g.fact(t.Fact), netlist.Permission}
	case t.Lane != netlist.None:
		if !truth {
			return not(LaneGoal, t.Lane)
		}
		return Edge{g.lane(t.Lane), laneReason(&g.Board.Lanes[t.Lane])}
	}
	q, reason := netlist.Low, netlist.Enable
	if truth {
		q = netlist.High
		if g.wanted(t.Net) == netlist.Toggling {
			q, reason = netlist.Toggling, netlist.Data
		}
	}
	p := &g.Board.Parts[part]
	for _, c := range p.Conns {
		if c.Net == t.Net && p.Pin(c).Need != netlist.NoReason {
			reason = p.Pin(c).Need
		}
	}
	return Edge{g.net(t.Net, q), reason}
}
