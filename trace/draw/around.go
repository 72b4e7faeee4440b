package draw

import (
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
)

// around adds what a reading with all power out is about, which stands beside the path:
// the net with its suspects, also behind parts that conduct; of a part its neighbours on
// both sides.
func (k *pathMaker) around(w *trace.Walk) {
	for _, o := range w.Symptoms {
		if o.Cold == nil {
			continue
		}
		kept := map[netlist.PartID]bool{}
		var nets []netlist.NetID
		if id := o.Cold.Part; id != netlist.None {
			ends, _ := k.b.ChannelEnds(id, o.Cold.Channel)
			k.beside(id, ends)
			continue
		}
		for _, a := range w.Against {
			if a.Root == w.Graph.Seen(o) {
				for _, id := range a.Suspects {
					kept[id] = true
				}
			}
		}
		for _, n := range []netlist.NetID{o.Cold.Net, o.Cold.Other} {
			if n != netlist.None && !k.b.Nets[n].Ground {
				nets = append(nets, n)
			}
		}
		k.hang(nets, kept)
		i := k.at[k.netBox(o.Cold.Net)]
		k.d.Nodes[i].Knowledge, k.d.Nodes[i].Role = ReadsWrong, Symptom
	}
}

// beside joins a part to the nets at its ends, and each of these to what else is on it.
func (k *pathMaker) beside(id netlist.PartID, ends [2]netlist.NetID) {
	for side, n := range ends {
		if n == netlist.None || k.b.Nets[n].Ground {
			continue
		}
		left := side == 0
		k.tie(n, id, !left)
		for _, t := range k.b.Taps(n) {
			if t.Part != id && k.b.Parts[t.Part].Kind.Form != netlist.SingleForm {
				k.tie(n, t.Part, left == k.feeds(t, n))
			}
		}
	}
	i := k.at[k.partBox(id, ends[0])]
	k.d.Nodes[i].Knowledge, k.d.Nodes[i].Role = ReadsWrong, Symptom
}

// feeds reports whether a part brings a net its level, by the goals of the graph.
func (k *pathMaker) feeds(t netlist.Tap, n netlist.NetID) bool {
	return slices.ContainsFunc(k.g.Goals, func(x trace.Goal) bool {
		return (x.Kind == trace.PassGoal || x.Kind == trace.GiveGoal) && x.Part == t.Part && x.Net == n
	})
}

// hang joins nets to the parts on them that are kept, and goes on behind those that
// conduct to more of these.
func (k *pathMaker) hang(nets []netlist.NetID, kept map[netlist.PartID]bool) {
	for i := 0; i < len(nets); i++ {
		n := nets[i]
		for _, t := range k.b.Taps(n) {
			if !kept[t.Part] {
				continue
			}
			k.tie(n, t.Part, true)
			for _, far := range k.conducts(t) {
				more := func(x netlist.Tap) bool { return x.Part != t.Part && kept[x.Part] }
				if !slices.Contains(nets, far) && slices.ContainsFunc(k.b.Taps(far), more) {
					nets = append(nets, far)
					k.tie(far, t.Part, false)
				}
			}
		}
	}
}

// conducts lists the nets to which a part leads on for a meter.
func (k *pathMaker) conducts(t netlist.Tap) []netlist.NetID {
	p := &k.b.Parts[t.Part]
	here := p.Conns[t.Conn]
	var list []netlist.NetID
	for i := range p.Kind.Passes {
		s := &p.Kind.Passes[i]
		if s.AC || s.OneWay || s.Control != "" {
			continue
		}
		for _, c := range p.Conns {
			name := p.Pin(c).Name
			if c.Channel == here.Channel && c.Net != here.Net && (name == s.A || name == s.B) && !k.b.Nets[c.Net].Ground {
				list = append(list, c.Net)
			}
		}
	}
	return list
}

// tie joins a net and a part, in the direction in which the path has them where it has
// both, and else as told.
func (k *pathMaker) tie(n netlist.NetID, id netlist.PartID, netFirst bool) {
	from, to := k.netBox(n), k.partBox(id, n)
	for _, key := range [][2]string{{from, to}, {to, from}} {
		if i, ok := k.edge[key]; ok {
			k.d.Edges[i].Faded = false
			return
		}
	}
	if !netFirst {
		from, to = to, from
	}
	k.edge[[2]string{from, to}] = len(k.d.Edges)
	k.d.Edges = append(k.d.Edges, Edge{From: from, To: to, Class: Power})
}

// netBox returns the node of a net, which stands out, and makes it where the path has
// none.
func (k *pathMaker) netBox(id netlist.NetID) string {
	id = k.netNode(id)
	name := "net " + k.b.Nets[id].Name
	i, ok := k.at[name]
	if !ok {
		n := Node{ID: name}
		k.netDetail(&n, id)
		i = k.put(n)
	}
	k.d.Nodes[i].Faded = false
	return name
}

// partBox returns the node of a part on a net, as netBox does. Of a part with more ways
// through it is the one of that net.
func (k *pathMaker) partBox(id netlist.PartID, n netlist.NetID) string {
	p := &k.b.Parts[id]
	name := "part " + p.Name
	for goal := range k.g.Goals {
		g := &k.g.Goals[goal]
		if g.Kind != trace.PassGoal || g.Part != id || g.Net != n && g.From != n {
			continue
		}
		if i, ok := k.at[k.id(goal)]; ok {
			k.d.Nodes[i].Faded = false
			return k.id(goal)
		}
	}
	i, ok := k.at[name]
	if !ok {
		box := Node{ID: name, Label: p.Name, Detail: []string{partText(p)}}
		if p.Kind.Form == netlist.OutForm {
			box.Role = Source
		}
		k.number(&box, func(x Numbers) int { return x.Part(id) })
		i = k.put(box)
	}
	k.d.Nodes[i].Faded = false
	return name
}

// put adds a node and returns its place.
func (k *pathMaker) put(n Node) int {
	k.at[n.ID] = len(k.d.Nodes)
	k.d.Nodes = append(k.d.Nodes, n)
	return k.at[n.ID]
}
