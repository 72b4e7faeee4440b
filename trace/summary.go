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
		reach := g.reachable(r, k.healthy)
		if k.bare[r] {
			reach = []int{r} // nothing is said of what brings it
		}
		explains, singles := k.explain(r, reach)
		for _, u := range singles {
			if !single[u] {
				single[u] = true
				w.Singles = append(w.Singles, u)
			}
		}
		for _, id := range reach {
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

// explain returns what would explain a symptom, and its single points of
// failure. A symptom that no missing need explains has its own suspects and none
// of these.
func (k *walker) explain(root int, reach []int) (explained, []Unit) {
	explains := explained{}
	if a := k.isAgainst(root); a != nil {
		for _, p := range a.Suspects {
			explains.add(p, shorted)
		}
		return explains, nil
	}
	for _, is := range k.lost(root) {
		if !k.stands(root) && !slices.Contains(k.w.Held, is) {
			k.w.Held = append(k.w.Held, is)
		}
	}
	singles := k.g.singles(root, reach, k.healthy, k.good)
	felt := map[feltKey]bool{}
	for _, id := range reach {
		if u, ok := k.g.unit(&k.g.Goals[id]); ok && !k.good(id) && slices.Contains(singles, u) {
			explains.add(u.Part, id)
		}
		k.shorts(id, explains, felt)
	}
	return explains, singles
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
	if goal.Kind != NetGoal || k.proven[id] || k.clear[goal.Net] || k.g.Board.Nets[goal.Net].Ground || felt[feltKey{goal.Net, goal.At}] {
		return
	}
	done := func(n netlist.NetID) bool { return k.provenNet[n] || k.clear[n] || felt[feltKey{n, goal.At}] }
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
