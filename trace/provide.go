package trace

import (
	"container/heap"
	"slices"

	"example.org/walkback/netlist"
)

// hop is one way to cross a part, from the net at hand to the far one.
type hop struct {
	part    netlist.PartID
	pass    int
	channel int
	far     netlist.NetID
	ohms    float64
}

// provider is a way in which a net gets its quantity: a goal of a part that
// drives it, or a hop to a net that has it.
type provider struct {
	goal int
	hop  hop // part is None when the provider drives the net itself
	cost float64
}

// A provider counts when the resistance from it to the net is not far above
// that of the best one. A pull-up of 10 kΩ beside a 33 Ω series resistor sets
// nothing. From memory, for divider action: a source ten times as strong as
// another moves the level to within a tenth of its own.
const (
	weakRatio = 10  // times the best resistance
	weakSlack = 1.0 // Ω by which a provider may always exceed it
)

// hops appends the ways to reach net n with quantity q through the parts on it.
// A hop starts at the net that would bring the quantity.
func (g *Graph) hops(list []hop, n netlist.NetID, q netlist.Quantity) []hop {
	b := g.Board
	for _, t := range b.Taps(n) {
		p := &b.Parts[t.Part]
		if len(p.Kind.Passes) == 0 {
			continue
		}
		here := p.Conns[t.Conn]
		name := p.Pin(here).Name
		for i := range p.Kind.Passes {
			ps := &p.Kind.Passes[i]
			other, forward := ps.B, false
			switch name {
			case ps.A:
			case ps.B:
				other, forward = ps.A, true
			default:
				continue
			}
			// Current that holds a net low flows out of it, so it goes the other way.
			if ps.AC && q != netlist.Toggling || ps.OneWay && forward != (q != netlist.Low) {
				continue
			}
			k := p.Kind.PinIndex(other)
			for _, c := range p.Conns {
				if int(c.Pin) != k || c.Channel != here.Channel || c.Net == n {
					continue
				}
				if q == netlist.High && b.Grounded(c.Net) || q == netlist.Toggling && b.Nets[c.Net].Ground {
					continue
				}
				list = append(list, hop{t.Part, i, int(here.Channel), c.Net, p.Ohms(ps)})
			}
		}
	}
	return list
}

// drivers returns the goals of the parts that themselves give net n quantity q.
func (g *Graph) drivers(n netlist.NetID, q netlist.Quantity) []int {
	var ids []int
	b := g.Board
	for _, t := range b.Taps(n) {
		p := &b.Parts[t.Part]
		pin := p.Pin(p.Conns[t.Conn])
		reads := false
		if i := ownGive(p.Kind, pin, q); i >= 0 {
			ids = append(ids, g.give(t.Part, i, n, q))
		}
		for i := range p.Rules {
			switch r := &p.Rules[i]; {
			case !ruleGives(r, n, q):
			case r.Word != "reads":
				ids = append(ids, g.rule(t.Part, i, q))
			case !reads:
				// Several things read over the same line are one way to drive it.
				reads = true
				ids = append(ids, g.bus(t.Part, i, n))
			}
		}
	}
	return ids
}

// ownGive returns which of its own levels a kind drives onto a pin, or -1. A gate
// drives its output to any.
func ownGive(k *netlist.Kind, pin *netlist.Pin, q netlist.Quantity) int {
	if k.Logic != netlist.NoLogic && pin.Name == "out" {
		return 0
	}
	return slices.IndexFunc(k.Gives, func(gv netlist.Give) bool { return gv.Pin == pin.Name && gv.At == q && !gv.Adds })
}

// ruleGives reports whether a rule can give a net a quantity.
func ruleGives(r *netlist.Rule, n netlist.NetID, q netlist.Quantity) bool {
	switch r.Word {
	case "drives":
		return q != netlist.Toggling && slices.Contains(r.Nets, n)
	case "pulls":
		return q == netlist.Low && slices.Contains(r.Nets, n)
	case "sends", "reads":
		return q == netlist.Toggling && slices.Contains(r.Nets, n)
	}
	return false
}

// isDriven reports whether some part gives n quantity q of its own.
func (g *Graph) isDriven(n netlist.NetID, q netlist.Quantity) bool {
	b := g.Board
	if b.Nets[n].Ground {
		return q == netlist.Low
	}
	for _, t := range b.Taps(n) {
		p := &b.Parts[t.Part]
		pin := p.Pin(p.Conns[t.Conn])
		if ownGive(p.Kind, pin, q) >= 0 || slices.ContainsFunc(p.Rules, func(r netlist.Rule) bool { return ruleGives(&r, n, q) }) {
			return true
		}
	}
	return false
}

// search is the scratch space of providers, kept between calls.
type search struct {
	queue frontier
	seen  map[seenKey]bool
	hops  []hop
}

type seenKey struct {
	net   netlist.NetID
	first int32
}

type reach struct {
	net   netlist.NetID
	first int32 // which hop from the net at hand it came by
	ohms  float64
}

type frontier []reach

func (f frontier) Len() int { return len(f) }
func (f frontier) Less(i, j int) bool {
	if f[i].ohms != f[j].ohms {
		return f[i].ohms < f[j].ohms
	}
	if f[i].first != f[j].first {
		return f[i].first < f[j].first
	}
	return f[i].net < f[j].net
}
func (f frontier) Swap(i, j int) { f[i], f[j] = f[j], f[i] }

// Push and Pop make a heap of it.
func (f *frontier) Push(x any) { *f = append(*f, x.(reach)) }

// Pop takes the last one.
func (f *frontier) Pop() any {
	old := *f
	x := old[len(old)-1]
	*f = old[:len(old)-1]
	return x
}

// providers returns what gives net n quantity q: its own drivers, and each hop
// behind which a driver can be reached without coming back through n. It walks
// outwards in order of resistance, a Dijkstra search for each first hop at once,
// stops at nets that are driven, and leaves out what is too weak to matter.
func (g *Graph) providers(n netlist.NetID, q netlist.Quantity) []provider {
	var list []provider
	best, found := 0.0, false
	for _, id := range g.drivers(n, q) {
		list = append(list, provider{goal: id, hop: hop{part: netlist.None}})
		found = true
	}
	s := &g.search
	s.queue = s.queue[:0]
	if s.seen == nil {
		s.seen = map[seenKey]bool{}
	}
	clear(s.seen)
	first := g.hops(nil, n, q)
	for i, h := range first {
		s.queue = append(s.queue, reach{h.far, int32(i), h.ohms})
	}
	heap.Init(&s.queue)
	done := make([]bool, len(first))
	open := make([]int, len(first)) // how often each first hop stands in the queue
	for i := range open {
		open[i] = 1
	}
	pending := len(first) // of those that are not done, how many stand there
	for s.queue.Len() > 0 && pending > 0 {
		r := heap.Pop(&s.queue).(reach)
		if open[r.first]--; open[r.first] == 0 && !done[r.first] {
			pending--
		}
		if found && r.ohms > max(best*weakRatio, best+weakSlack) {
			break
		}
		k := seenKey{r.net, r.first}
		if done[r.first] || s.seen[k] {
			continue
		}
		s.seen[k] = true
		if g.isDriven(r.net, q) {
			if !found {
				best, found = r.ohms, true
			}
			if done[r.first] = true; open[r.first] > 0 {
				pending--
			}
			list = append(list, provider{hop: first[r.first], cost: r.ohms})
			continue
		}
		s.hops = g.hops(s.hops[:0], r.net, q)
		for _, h := range s.hops {
			if h.far != n && !s.seen[seenKey{h.far, r.first}] {
				heap.Push(&s.queue, reach{h.far, r.first, r.ohms + h.ohms})
				if open[r.first]++; open[r.first] == 1 {
					pending++
				}
			}
		}
	}
	g.sortProviders(list)
	return list
}

// sortProviders orders providers by resistance and then by name, so that the
// order of the file does not show.
func (g *Graph) sortProviders(list []provider) {
	name := func(p provider) string {
		if p.hop.part != netlist.None {
			return g.Board.Parts[p.hop.part].Name
		}
		return g.Board.Parts[g.Goals[p.goal].Part].Name
	}
	slices.SortStableFunc(list, func(a, b provider) int {
		switch {
		case a.cost < b.cost:
			return -1
		case a.cost > b.cost:
			return 1
		case name(a) < name(b):
			return -1
		case name(a) > name(b):
			return 1
		}
		return a.hop.channel - b.hop.channel
	})
}
