package order

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/sequence"
	"example.org/walkback/trace/suspects"
)

// List fills the checklist of a walk by the tree, each step before those that it leads
// to and the likeliest branch first.
func (p *Plan) List(w *trace.Walk) *checklist.List {
	l := checklist.New(w, p.Bench)
	l.Order, l.Costs = p.Order, p.costs()
	if p.Tree.Root.Probe >= 0 {
		p.add(l, p.Tree.Root)
	}
	l.Note = fmt.Sprintf("%s for %s of %s", say.Count(len(l.Steps), "step"), say.Count(len(p.Faults), "fault"), say.Count(p.parts(), "part"))
	return l
}

// costs compares the tree with other orders.
func (p *Plan) costs() *checklist.Costs {
	spent := func(t *sequence.Tree) checklist.Spent { return checklist.Spent{Expected: t.Expected, Worst: t.Worst} }
	c := &checklist.Costs{Spent: spent(p.Tree), Lower: p.Tree.Lower, Optimal: p.Tree.Optimal}
	if p.Walk != nil {
		walk := spent(p.Walk)
		c.Walk = &walk
	}
	if p.Order != checklist.Half {
		half := spent(p.Half)
		c.Half = &half
	}
	return c
}

// add appends the step of a node and all behind it, and returns its number.
func (p *Plan) add(l *checklist.List, n *sequence.Node) int {
	at := len(l.Steps)
	k := p.Probes[n.Probe]
	s := l.Step(p.Dict.Probes[k])
	s.Number, s.Seconds, s.Change, s.Share = at+1, n.Cost, n.Change, n.Share
	branches := slices.Clone(n.Branches)
	slices.SortStableFunc(branches, func(a, b sequence.Branch) int { return cmp.Compare(b.Node.Share, a.Node.Share) })
	if len(branches) > 1 {
		s.AddWhy("splits what is left: " + p.split(branches))
	}
	l.Steps = append(l.Steps, s)
	var list []checklist.Outcome
	for _, b := range branches {
		shows := suspects.ValueText(s.Probe, p.reads(k, b.Node, b.Outcome))
		o := checklist.Outcome{Reading: shows, Healthy: b.Outcome == p.Dict.Healthy[k], Share: b.Node.Share / n.Share}
		if b.Node.Probe >= 0 {
			o.Next = p.add(l, b.Node)
		} else {
			o.Left = p.left(b.Node)
			o.Means = verdict(o.Left)
		}
		if s.Gate && !o.Healthy {
			o.Means = strings.TrimPrefix(o.Means+"; "+probe.NoPower, "; ")
		}
		list = append(list, o)
	}
	if s.Gate && len(branches) == 1 {
		means := "a bridge or a short that no fault in the board file explains: find and clear it; " + probe.NoPower
		list = append(list, checklist.Outcome{Reading: "near zero", Means: means})
	}
	l.Steps[at].Outcomes = list
	return at + 1
}

// How many branches of a step, and parts of each, are named in its reason.
const (
	fewBranches = 3
	fewParts    = 3
)

// split names what the branches of a step leave, the likeliest first.
func (p *Plan) split(branches []sequence.Branch) string {
	var words []string
	for _, b := range branches[:min(len(branches), fewBranches)] {
		list := p.left(b.Node)
		names := make([]string, 0, fewParts)
		for _, s := range list[:min(len(list), fewParts)] {
			names = append(names, s.Part)
		}
		text := strings.Join(names, ", ")
		if n := len(list) - fewParts; n > 0 {
			text += fmt.Sprintf(" and %d more", n)
		}
		words = append(words, text)
	}
	text := strings.Join(words, " | ")
	if n := len(branches) - fewBranches; n > 0 {
		text += fmt.Sprintf(" | %d more", n)
	}
	return text
}

// reads is what the likeliest suspect behind a branch shows, or the healthy board
// when that is in the same class.
func (p *Plan) reads(k int, n *sequence.Node, class uint16) float64 {
	if class == p.Dict.Healthy[k] {
		return p.Dict.Reads(k, -1)
	}
	best := n.Suspects[0]
	for _, h := range n.Suspects {
		if p.P[p.Faults[h]] > p.P[p.Faults[best]] {
			best = h
		}
	}
	return p.Dict.Reads(k, p.Faults[best])
}

// left lists the parts that a branch leaves, the likeliest first.
func (p *Plan) left(n *sequence.Node) []checklist.Suspect {
	var list []checklist.Suspect
	sum := 0.0
	for _, h := range n.Suspects {
		i := p.Faults[h]
		f := &p.Dict.Faults[i]
		name := p.Board.Parts[f.Faults[0].Part].Name
		k := slices.IndexFunc(list, func(s checklist.Suspect) bool { return s.Part == name })
		if k < 0 {
			k = len(list)
			list = append(list, checklist.Suspect{Part: name})
		}
		list[k].Share += p.P[i]
		sum += p.P[i]
		list[k].Faults = append(list[k].Faults, p.Dict.Names[i])
		for _, b := range f.Blown {
			if fuse := p.Board.Parts[b.Part].Name; !slices.Contains(list[k].Blown, fuse) {
				list[k].Blown = append(list[k].Blown, fuse)
			}
		}
	}
	for k := range list {
		list[k].Share /= sum
	}
	slices.SortStableFunc(list, func(a, b checklist.Suspect) int { return cmp.Compare(b.Share, a.Share) })
	return list
}

// fewLeft bounds the parts that a verdict names.
const fewLeft = 4

// verdict names what is left, and what the fault has led to.
func verdict(left []checklist.Suspect) string {
	var words []string
	for _, s := range left[:min(len(left), fewLeft)] {
		text := suspects.Short(s.Faults)
		for _, fuse := range s.Blown {
			text += " (has blown " + fuse + ")"
		}
		if len(left) > 1 {
			text += " " + say.Percent(s.Share)
		}
		words = append(words, text)
	}
	if n := len(left) - fewLeft; n > 0 {
		words = append(words, fmt.Sprintf("%d more", n))
	}
	return strings.Join(words, "; ")
}

// parts counts the parts that may have failed.
func (p *Plan) parts() int {
	seen := map[netlist.PartID]bool{}
	for _, i := range p.Faults {
		seen[p.Dict.Faults[i].Faults[0].Part] = true
	}
	return len(seen)
}
