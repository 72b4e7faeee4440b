package draw

import (
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/probe"
)

// Path makes the diagram of a board. With a walk, what lies on it stands out and
// the rest is faded; with nil the whole path is drawn. Numbers are those of the
// points of the checklist; nil for none.
func Path(b *netlist.Board, w *trace.Walk, s netlist.Setting, numbers Numbers) Diagram {
	k := &pathMaker{b: b, s: s, numbers: numbers, g: trace.NewGraph(b, s), at: map[string]int{}, edge: map[[2]string]int{},
		alias: map[netlist.NetID]netlist.NetID{}, drawn: map[int]bool{}, names: map[netlist.NetID][]string{}}
	k.d.Title = b.Title
	k.d.Caption = b.SettingText(s)
	if w != nil {
		k.g = w.Graph.Clone()
	}
	var roots []int
	for i := range b.Facts {
		roots = append(roots, k.g.Want(netlist.Target{Net: netlist.None, Lane: netlist.None, Fact: i}))
	}
	for i := range b.Lanes {
		if b.Lanes[i].Idle {
			continue
		}
		roots = append(roots, k.g.Want(netlist.Target{Net: netlist.None, Lane: i, Fact: netlist.None}))
	}
	if text := b.PanelText(); text != "" {
		k.d.Caption += "; panel " + text
	}
	var symptoms, follow []int // where the picture begins, and from where the walk does
	if w != nil {
		k.d.Title += ": " + w.Observed(w.Symptoms)
		if text := w.NotValid(); text != "" {
			k.d.Caption = text + " " + k.d.Caption
		}
		if lines := w.AgainstText(); len(lines) > 0 {
			k.d.Caption = strings.Join(lines, " ") + " " + k.d.Caption
		}
		if len(w.Given) > 0 {
			k.d.Caption += "; given " + w.Observed(w.Given)
		}
		for _, o := range w.Symptoms {
			symptoms = append(symptoms, k.seen(o)...)
			if o.Cold == nil {
				follow = append(follow, k.seen(o)...)
			}
		}
	}
	k.healthy = slices.Clone(k.g.Holds())
	k.splitChips(append(slices.Clone(symptoms), roots...))
	k.pairs()
	k.classes(append(slices.Clone(symptoms), roots...))
	k.walked = make([]bool, len(k.g.Goals))
	if w == nil {
		for i := range k.walked {
			k.walked[i] = true
		}
	}
	if w != nil {
		k.walk(follow, w.Proven)
	}
	for _, r := range append(slices.Clone(symptoms), roots...) {
		for _, id := range k.g.Reachable(r) {
			k.goal(id)
		}
	}
	if w != nil {
		k.mark(w)
		k.around(w)
	}
	k.d.Notes = probe.Brief()
	return k.d
}

// seen returns the goals that show an observation: of ohms from end to end of a part
// its ways through, where the picture has them.
func (k *pathMaker) seen(o netlist.Observation) []int {
	k.g.Seen(o)
	var list []int
	for id := range k.g.Goals {
		if goal := &k.g.Goals[id]; o.Through(k.b, goal.Part, goal.Channel) && goal.Kind == trace.PassGoal {
			list = append(list, id)
		}
	}
	if len(list) == 0 {
		list = append(list, k.g.Seen(o))
	}
	return list
}

// Numbers gives the points of a checklist their numbers, 0 for what is none.
type Numbers interface {
	Net(id netlist.NetID) int
	Part(id netlist.PartID) int
	Fact(i int) int
}

type pathMaker struct {
	b       *netlist.Board
	s       netlist.Setting
	g       *trace.Graph
	d       Diagram
	numbers Numbers
	healthy []bool
	walked  []bool
	class   []Class
	at      map[string]int                  // node id to place
	edge    map[[2]string]int               // ends to place
	alias   map[netlist.NetID]netlist.NetID // second conductor of a pair to the first
	names   map[netlist.NetID][]string      // names of the conductors drawn as one
	drawn   map[int]bool                    // goals done
	split   map[netlist.PartID]bool         // chips drawn once for each thing that they do
}

// splitChips finds the chips that wait for each other in turn. Each thing that
// such a chip does is drawn as a box of its own, so that the picture still runs
// from left to right.
func (k *pathMaker) splitChips(roots []int) {
	k.split = map[netlist.PartID]bool{}
	for _, r := range roots {
		for _, l := range k.g.Handshakes(r) {
			for _, p := range l.Parts {
				k.split[p] = true
			}
		}
	}
}

// walk marks what the symptoms need, as far as it is not proven right.
func (k *pathMaker) walk(symptoms []int, proven map[int]bool) {
	queue := slices.Clone(symptoms)
	for len(queue) > 0 {
		id := queue[0]
		queue = queue[1:]
		if k.walked[id] || !k.healthy[id] {
			continue
		}
		k.walked[id] = true
		if proven[id] {
			continue
		}
		for _, list := range [][]trace.Edge{k.g.Goals[id].All, k.g.Goals[id].Any} {
			for _, e := range list {
				queue = append(queue, e.To)
			}
		}
	}
}

// pairs finds the second conductors of lanes that run beside the first all the
// way, so that a pair is drawn as one line.
func (k *pathMaker) pairs() {
	for _, l := range k.b.Lanes {
		if l.Idle {
			continue
		}
		if len(l.Nets) != 2 {
			continue
		}
		p, n := k.g.WantNet(l.Nets[0], netlist.Toggling), k.g.WantNet(l.Nets[1], netlist.Toggling)
		for p != n {
			a, z := &k.g.Goals[p], &k.g.Goals[n]
			if _, done := k.alias[z.Net]; done || a.Net == z.Net {
				break
			}
			k.alias[z.Net] = a.Net
			k.names[a.Net] = []string{k.b.Nets[a.Net].Name, k.b.Nets[z.Net].Name}
			x, y := k.only(a), k.only(z)
			if x < 0 || y < 0 || k.g.Goals[x].Kind != trace.PassGoal || k.g.Goals[y].Kind != trace.PassGoal ||
				k.b.Parts[k.g.Goals[x].Part].Kind != k.b.Parts[k.g.Goals[y].Part].Kind {
				break
			}
			p, n = last(&k.g.Goals[x]), last(&k.g.Goals[y])
		}
	}
}

// only returns the one provider of a net, or -1.
func (k *pathMaker) only(goal *trace.Goal) int {
	found := -1
	for _, e := range goal.Any {
		if !k.healthy[e.To] {
			continue
		}
		if found >= 0 {
			return -1
		}
		found = e.To
	}
	return found
}

// last returns the net that a pass comes from.
func last(pass *trace.Goal) int { return pass.All[len(pass.All)-1].To }

// classes gives each goal the class of the branch it is on, the strongest one
// where several meet: power before data before the rest.
func (k *pathMaker) classes(roots []int) {
	k.class = make([]Class, len(k.g.Goals))
	rank := make([]int, len(k.g.Goals))
	type item struct {
		id int
		c  Class
	}
	queue := make([]item, 0, len(k.g.Goals))
	for _, r := range roots {
		queue = append(queue, item{r, Data})
	}
	strength := map[Class]int{Power: 5, Data: 4, Return: 3, Enable: 2, Sense: 1}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		if rank[at.id] >= strength[at.c] {
			continue
		}
		rank[at.id], k.class[at.id] = strength[at.c], at.c
		goal := &k.g.Goals[at.id]
		for _, list := range [][]trace.Edge{goal.All, goal.Any} {
			for _, e := range list {
				if k.healthy[e.To] {
					queue = append(queue, item{e.To, k.branchClass(goal, e, at.c)})
				}
			}
		}
	}
}

// branchClass returns the class of what an edge leads to.
func (k *pathMaker) branchClass(goal *trace.Goal, e trace.Edge, c Class) Class {
	to := &k.g.Goals[e.To]
	switch e.Reason {
	case netlist.Supply:
		return Power
	case netlist.Clock, netlist.Data:
		return Data
	case netlist.Sense:
		return Sense
	case netlist.Return:
		return Return
	case netlist.Enable, netlist.Permission:
		if to.Kind == trace.NetGoal && to.At == netlist.Toggling {
			return Data
		}
		return Enable
	}
	// The current of a converter is power whatever it is asked for.
	if goal.Kind == trace.PassGoal && k.b.Parts[goal.Part].Kind.Passes[goal.Index].OneWay {
		return Power
	}
	return c
}

func (k *pathMaker) netNode(n netlist.NetID) netlist.NetID {
	if first, ok := k.alias[n]; ok {
		return first
	}
	return n
}

// goal adds what a goal is about, and the edges to what it needs.
func (k *pathMaker) goal(id int) {
	if k.drawn[id] || !k.healthy[id] {
		return
	}
	k.drawn[id] = true
	goal := &k.g.Goals[id]
	switch goal.Kind {
	case trace.NetGoal:
		if k.b.Nets[goal.Net].Ground {
			return
		}
		to := k.node(id)
		for _, list := range [][]trace.Edge{goal.Any, goal.All} {
			for _, e := range list {
				k.join(e.To, to, k.class[id], k.walked[id])
			}
		}
	case trace.FactGoal:
		to := k.node(id)
		for _, e := range goal.Any {
			k.join(e.To, to, Data, k.walked[id])
		}
	case trace.PassGoal, trace.GiveGoal, trace.RuleGoal, trace.PartGoal:
		k.needs(id, k.node(id), goal.All, id)
		k.needs(id, k.node(id), goal.Any, id)
	}
}

// needs joins what a part needs to it. Its own supply, kept in a goal of its
// own, and the terms of a choice count as its own needs.
func (k *pathMaker) needs(owner int, to string, list []trace.Edge, from int) {
	for _, e := range list {
		t := &k.g.Goals[e.To]
		switch {
		case t.Kind == trace.PartGoal && t.Part == k.g.Goals[owner].Part, t.Kind == trace.TermGoal:
			k.needs(owner, to, t.All, from)
			k.needs(owner, to, t.Any, from)
		case t.Kind == trace.LaneGoal:
			for _, x := range t.All {
				k.join(x.To, to, Data, k.walked[from])
			}
		default:
			c := k.class[e.To]
			if e.Reason == netlist.Sense {
				c = Sense
			}
			if e.Reason == netlist.Permission {
				c = Enable
			}
			k.join(e.To, to, c, k.walked[from])
			if e.Reason == netlist.Sense {
				if i, ok := k.edge[[2]string{k.id(e.To), to}]; ok {
					k.d.Edges[i].Loop = true
				}
			}
		}
	}
}

// join draws an edge from what a goal is about to a node.
func (k *pathMaker) join(from int, to string, c Class, walked bool) {
	goal := &k.g.Goals[from]
	if !k.healthy[from] || goal.Kind == trace.StateGoal || goal.Kind == trace.NotGoal || goal.Kind == trace.NetGoal &&
		k.b.Nets[goal.Net].Ground {
		return
	}
	a := k.node(from)
	if a == to {
		return
	}
	faded := !walked || !k.walked[from]
	if i, ok := k.edge[[2]string{a, to}]; ok {
		k.d.Edges[i].Faded = k.d.Edges[i].Faded && faded
		return
	}
	if i, ok := k.edge[[2]string{to, a}]; ok && c != Sense {
		k.d.Edges[i].Faded = k.d.Edges[i].Faded && faded
		return
	}
	k.edge[[2]string{a, to}] = len(k.d.Edges)
	k.d.Edges = append(k.d.Edges, Edge{From: a, To: to, Class: c, Faded: faded})
}

// id returns the node that shows a goal.
func (k *pathMaker) id(id int) string {
	goal := &k.g.Goals[id]
	switch goal.Kind {
	case trace.NetGoal:
		return "net " + k.b.Nets[k.netNode(goal.Net)].Name
	case trace.FactGoal:
		return "fact " + k.b.Facts[goal.Index].Name
	case trace.PassGoal:
		p := &k.b.Parts[goal.Part]
		if p.Kind.Form == netlist.RowsForm || len(p.Kind.Passes) > 1 {
			return "part " + p.Name + " " + k.b.Nets[k.netNode(goal.Net)].Name
		}
		if from := k.netNode(goal.From); from != goal.From {
			// The other winding of a choke, or the other capacitor of a pair.
			return "pair " + k.b.Nets[from].Name + " " + p.Kind.Name
		}
		if _, paired := k.names[goal.From]; paired && goal.At == netlist.Toggling {
			return "pair " + k.b.Nets[goal.From].Name + " " + p.Kind.Name
		}
	}
	name := "part " + k.b.Parts[goal.Part].Name
	if k.split[goal.Part] {
		switch goal.Kind {
		case trace.RuleGoal:
			name += " rule " + strconv.Itoa(goal.Index)
		case trace.GiveGoal:
			if goal.Net == netlist.None {
				return name + " answers"
			}
			name += " " + k.b.Nets[goal.Net].Name
		}
	}
	return name
}

// node returns the id of the node that shows a goal, and makes it if need be.
func (k *pathMaker) node(id int) string {
	name := k.id(id)
	goal := &k.g.Goals[id]
	if i, ok := k.at[name]; ok {
		n := &k.d.Nodes[i]
		n.Faded = n.Faded && !k.walked[id]
		if goal.Kind == trace.PassGoal {
			k.addPass(n, goal)
		}
		return name
	}
	n := Node{ID: name, Faded: !k.walked[id]}
	switch goal.Kind {
	case trace.NetGoal:
		k.netDetail(&n, k.netNode(goal.Net))
	case trace.FactGoal:
		n.Shape, n.Label = Fact, k.b.Facts[goal.Index].Name
		k.number(&n, func(x Numbers) int { return x.Fact(goal.Index) })
	default:
		p := &k.b.Parts[goal.Part]
		k.number(&n, func(x Numbers) int { return x.Part(goal.Part) })
		n.Label, n.Detail = p.Name, []string{partText(p)}
		if p.Kind.Form == netlist.OutForm {
			n.Role = Source
		}
		if goal.Kind == trace.PassGoal {
			k.addPass(&n, goal)
		}
		if k.split[goal.Part] && goal.Kind == trace.RuleGoal {
			n.Detail = append(n.Detail, p.Rules[goal.Index].Word)
		}
	}
	k.put(n)
	return name
}

// addPass adds the pin, or the twin part, of one more conductor to a node.
func (k *pathMaker) addPass(n *Node, goal *trace.Goal) {
	p := &k.b.Parts[goal.Part]
	k.number(n, func(x Numbers) int { return x.Part(goal.Part) })
	if p.Kind.Form == netlist.RowsForm {
		for _, c := range p.Conns {
			if c.Net == goal.Net && int(c.Channel) == goal.Channel && c.Num != "" {
				switch {
				case len(n.Detail) == 1:
					n.Detail = append(n.Detail, "pin "+c.Num)
				case !slices.Contains(strings.FieldsFunc(n.Detail[1], func(r rune) bool { return r == ' ' || r == ',' }), c.Num):
					n.Detail[1] = "pins" + strings.TrimPrefix(strings.TrimPrefix(n.Detail[1], "pins"), "pin") + ", " + c.Num
				}
			}
		}
		return
	}
	if !slices.Contains(strings.Split(n.Label, ", "), p.Name) {
		n.Label += ", " + p.Name
	}
}

func (k *pathMaker) netDetail(n *Node, id netlist.NetID) {
	n.Shape, n.Label = Net, k.b.Nets[id].Name
	if twins := k.names[id]; twins != nil {
		n.Label = strings.Join(twins, ", ")
	}
	if e, ok := k.b.ExpectIn(id, k.s); ok {
		n.Detail = strings.Split(e.String(), ", ")
	}
	for p := range k.b.Points(id) {
		n.Mark = k.b.Parts[p].Name
		break
	}
	k.number(n, func(x Numbers) int { return x.Net(id) })
	for _, name := range k.names[id] {
		if twin, ok := k.b.Net(name); ok {
			k.number(n, func(x Numbers) int { return x.Net(twin) })
		}
	}
}

// number adds the number of one more point that a node stands for.
func (k *pathMaker) number(n *Node, of func(Numbers) int) {
	if k.numbers == nil {
		return
	}
	if x := of(k.numbers); x > 0 && !slices.Contains(n.Points, x) {
		n.Points = append(n.Points, x)
	}
}

// partText is the kind of a part and its value.
func partText(p *netlist.Part) string {
	text := p.Kind.Name
	for _, name := range []string{p.Kind.Main, "rating"} {
		if a, ok := p.Attr(name); ok && name != "" {
			return text + " " + netlist.FormatValue(a.Value, a.Attr.Unit)
		}
	}
	return text
}

// mark shows what is known: the symptoms, what observations have proven, and
// the single points of failure.
func (k *pathMaker) mark(w *trace.Walk) {
	for i := range w.Steps {
		s := &w.Steps[i]
		if s.Kind == trace.LaneStep && s.Parent == 0 {
			k.markLane(w.Graph.Goals[s.Goal].Index)
		}
		if s.Kind == trace.PartStep && s.Parent == 0 {
			for _, o := range w.Symptoms {
				k.markSeen(o)
			}
		}
		if s.Kind != trace.NetStep && s.Kind != trace.FactStep && s.Kind != trace.PartStep {
			continue
		}
		at, ok := k.at[k.id(s.Goal)]
		if !ok {
			continue
		}
		n := &k.d.Nodes[at]
		n.Single = n.Single || s.Single
		switch {
		case s.Parent == 0:
			n.Knowledge, n.Role = ReadsWrong, Symptom
		case s.Proven && s.Kind == trace.PartStep && n.Knowledge == NotProbed && !s.Single:
			n.Knowledge = Cleared
		case s.Proven && s.Kind != trace.PartStep:
			n.Knowledge = ReadsRight
		}
	}
}

// markSeen shows a part that was read from end to end.
func (k *pathMaker) markSeen(o netlist.Observation) {
	if o.Cold == nil || o.Cold.Part == netlist.None {
		return
	}
	for _, id := range k.seen(o) {
		if i, ok := k.at[k.id(id)]; ok {
			k.d.Nodes[i].Knowledge, k.d.Nodes[i].Role = ReadsWrong, Symptom
		}
	}
}

// markLane shows a lane that is the symptom at its conductors.
func (k *pathMaker) markLane(lane int) {
	for _, n := range k.b.Lanes[lane].Nets {
		if i, ok := k.at["net "+k.b.Nets[k.netNode(n)].Name]; ok {
			k.d.Nodes[i].Knowledge, k.d.Nodes[i].Role = ReadsWrong, Symptom
		}
	}
}

// Focus returns a diagram without what is faded.
func Focus(d Diagram) Diagram {
	d.Nodes = slices.DeleteFunc(slices.Clone(d.Nodes), func(n Node) bool { return n.Faded })
	d.Edges = slices.DeleteFunc(slices.Clone(d.Edges), func(e Edge) bool { return e.Faded })
	joined := map[string]bool{}
	for _, e := range d.Edges {
		joined[e.From], joined[e.To] = true, true
	}
	// A box whose wires are all off the path would stand alone.
	d.Nodes = slices.DeleteFunc(d.Nodes, func(n Node) bool { return !joined[n.ID] && n.Role != Symptom })
	return d
}
