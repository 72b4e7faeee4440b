package trace

import (
	"slices"

	"example.org/walkback/netlist"
)

// summarise marks the single points of failure and finds the loops.
func (k *walker) summarise(roots []int) {
	w, g := k.w, k.g
	var all []explained
	single := map[Unit]bool{}
	var order []int
	ordered := map[int]bool{}
	for _, r := range roots {
		if !k.healthy[r] && k.isAgainst(r) == nil {
			k.heldBy(r)
		}
		explains, felt := explained{}, map[feltKey]bool{}
		reach := g.reachable(r, k.healthy)
		against := k.isAgainst(r)
		if against != nil {
			for _, p := range against.Suspects {
				explains.add(p, shorted)
			}
		}
		for _, u := range g.singles(r, reach, k.healthy, k.good) {
			if against != nil {
				break
			}
			if !single[u] {
				single[u] = true
				w.Singles = append(w.Singles, u)
			}
			for _, id := range reach {
				if v, ok := g.unit(&g.Goals[id]); ok && v == u && !k.good(id) {
					explains.add(u.Part, id)
				}
			}
		}
		for _, id := range reach {
			if against == nil {
				k.shorts(id, explains, felt)
			}
			if ordered[id] {
				continue
			}
			ordered[id] = true
			order = append(order, id)
			if goal := &g.Goals[id]; goal.Kind == GiveGoal && g.Board.Parts[goal.Part].Kind.Form == netlist.OutForm {
				w.Sources = append(w.Sources, Source{goal.Part, k.proven[id]})
			}
			if red, ok := g.redundancy(id, k.healthy); ok && !k.proven[id] {
				w.Redundant = append(w.Redundant, red)
			}
		}
		all = append(all, explains)
	}
	for i := range w.Steps {
		s := &w.Steps[i]
		if u, ok := g.unit(&g.Goals[s.Goal]); ok && s.Kind == PartStep {
			s.Single = single[u]
		}
	}
	for i := range w.Steps {
		k.addCommon(w.Steps[i].Part, all)
		for _, l := range w.Steps[i].Loads {
			k.addCommon(l.Part, all)
		}
	}
	w.Loops = g.loops(order, k.healthy)
}

// shorted stands for a short in a part among what would explain a symptom, or at
// its first pin; numbers below it are its other pins.
const shorted = -1

type feltKey struct {
	net netlist.NetID
	at  netlist.Quantity
}

// shorts notes the parts that would spoil a net by a short to the wrong level.
// Nets whose parts were noted already are in felt and not gone over again.
func (k *walker) shorts(id int, explains explained, felt map[feltKey]bool) {
	goal := &k.g.Goals[id]
	if goal.Kind != NetGoal || k.proven[id] || k.g.Board.Nets[goal.Net].Ground || felt[feltKey{goal.Net, goal.At}] {
		return
	}
	done := func(n netlist.NetID) bool { return k.provenNet[n] || felt[feltKey{n, goal.At}] }
	k.hanging(goal.Net, goal.At, done, func(id netlist.PartID, here netlist.Conn, at branch, _ netlist.NetID) {
		felt[feltKey{at.net, goal.At}] = true
		what := shorted
		if p := &k.g.Board.Parts[id]; len(p.Conns) > 2 {
			// Each pin of a larger part fails on its own.
			what -= slices.Index(p.Conns, here)
		}
		explains.add(id, what)
	})
}

// explained holds, for each part, what of it would explain a symptom: its goals,
// or that it is shorted.
type explained map[netlist.PartID]map[int]bool

func (x explained) add(p netlist.PartID, what int) {
	if x[p] == nil {
		x[p] = map[int]bool{}
	}
	x[p][what] = true
}

// addCommon sorts a part in by how it explains all symptoms, if it does.
func (k *walker) addCommon(p netlist.PartID, all []explained) {
	if p == netlist.None || slices.Contains(k.w.Common, p) || slices.Contains(k.w.Several, p) {
		return
	}
	for _, x := range all {
		if x[p] == nil {
			return
		}
	}
	for what := range all[0][p] {
		if !slices.ContainsFunc(all, func(x explained) bool { return !x[p][what] }) {
			k.w.Common = append(k.w.Common, p)
			return
		}
	}
	k.w.Several = append(k.w.Several, p)
}

// heldBy notes the states that keep a goal from holding.
func (k *walker) heldBy(root int) {
	for _, id := range k.g.reachable(root, k.healthy) {
		goal := &k.g.Goals[id]
		if goal.Kind != StateGoal || goal.Index == netlist.None || k.healthy[id] {
			continue
		}
		is := netlist.StateIs{State: goal.Index, Value: k.g.Setting[goal.Index]}
		if !slices.Contains(k.w.Held, is) {
			k.w.Held = append(k.w.Held, is)
		}
	}
}
