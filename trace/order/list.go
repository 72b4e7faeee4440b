package order

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/repair"
	"example.org/walkback/trace/sequence"
	"example.org/walkback/trace/suspects"
)

// List fills the checklist of a walk by the tree, each step before those that it leads
// to and the likeliest branch first.
func (p *Plan) List(w *trace.Walk) *checklist.List {
	l := checklist.New(w, p.Bench)
	l.Order, l.Costs = p.Order, p.costs()
	if p.Tree.Root.Probe >= 0 {
		p.add(l, p.Tree.Root, len(p.Gate))
	} else {
		l.Last = "No probe is worth its time: " + p.verdict(p.Tree.Root, p.left(p.Tree.Root), len(p.Gate)) + "."
	}
	l.Note = fmt.Sprintf("%s for %s of %s", say.Count(len(l.Steps), "step"), say.Count(len(p.Faults), "fault"), say.Count(p.parts(), "part"))
	if p.LeftOut >= 0.005 {
		l.Note += fmt.Sprintf("; rarer ones, together %s, are left out", strings.TrimSpace(say.Share(p.LeftOut)))
	}
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

// add appends the step of a node and all behind it, and returns its number. Of the gate so
// many probes have not passed on the way to it.
func (p *Plan) add(l *checklist.List, n *sequence.Node, gate int) int {
	at := len(l.Steps)
	k := p.Probes[n.Probe]
	s := l.Step(p.Dict.Probes[k])
	if s.Expect == "" { // the board file gives nothing for it
		s.Expect = suspects.ValueText(s.Probe, p.Dict.Reads(k, -1))
	}
	s.Number, s.Seconds, s.Change, s.Share = at+1, n.Cost, n.Change, n.Share
	branches := slices.Clone(n.Branches)
	slices.SortStableFunc(branches, func(a, b sequence.Branch) int { return cmp.Compare(b.Node.Share, a.Node.Share) })
	if len(branches) > 1 {
		s.AddWhy("splits what is left: " + p.split(branches))
	}
	l.Steps = append(l.Steps, s)
	var list []checklist.Outcome
	for _, b := range branches {
		o := p.outcome(k, b, s.Gate)
		left := gate
		if s.Gate && o.Healthy {
			left--
		}
		o.Share = b.Node.Share / n.Share
		if b.Node.Probe >= 0 {
			o.Next = p.add(l, b.Node, left)
		} else {
			o.Left = p.left(b.Node)
			o.Do = p.do(b.Node)
			o.Means = p.verdict(b.Node, o.Left, left)
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
	if slices.ContainsFunc(list, func(o checklist.Outcome) bool { return o.Reading == predict.Floating }) {
		l.Steps[at].Tell = probe.Floats
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

// outcome is what the suspects behind a branch show: one value, or the band from the
// lowest to the highest. It is as it should be where what the healthy board shows is
// among them. At a gate, where the whole class lets power on, that is always so.
func (p *Plan) outcome(k int, b sequence.Branch, gate bool) checklist.Outcome {
	x, healthy := p.Dict.Probes[k], p.Dict.Reads(k, -1)
	low, high := math.Inf(1), math.Inf(-1)
	take := func(v float64) { low, high = min(low, v), max(high, v) }
	for _, h := range b.Node.Suspects {
		take(p.Dict.Reads(k, p.Faults[h]))
	}
	o := checklist.Outcome{}
	if b.Outcome == p.Dict.Healthy[k] {
		if gate {
			take(healthy)
		}
		same := lastDigit * math.Abs(healthy)
		o.Healthy = healthy >= p.Bench.Floor(x) && (healthy == low || low-same <= healthy && healthy <= high+same)
	}
	o.Low, o.High = low, high
	o.Reading = suspects.ValueText(x, low)
	if last := suspects.ValueText(x, high); last != o.Reading {
		o.Reading += " to " + strings.TrimPrefix(last, predict.Toggling+", ")
	}
	return o
}

// lastDigit is the share of a value that is lost when three digits of it are printed.
const lastDigit = 0.005

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

// do lists what is done at the end of a branch, in the order that costs least.
func (p *Plan) do(n *sequence.Node) []checklist.Act {
	share, sum := make([]float64, len(p.Repairs)), 0.0
	for g := range p.Repairs {
		for _, h := range p.Repairs[g].Causes {
			if slices.Contains(n.Suspects, h) {
				share[g] += p.P[p.Faults[h]]
			}
		}
		sum += share[g]
	}
	list := make([]checklist.Act, 0, len(n.Order))
	for _, g := range n.Order {
		a := &p.Repairs[g]
		list = append(list, checklist.Act{Name: a.Name, Share: share[g] / sum, Minutes: a.Minutes})
	}
	return list
}

// How many actions a verdict names, and faults of each.
const (
	fewDone   = 3
	fewFaults = 3
)

// verdict names what is done about what is left, in the order that costs least, and what
// the fault has led to. A known-good panel waits while some of the gate has not passed.
func (p *Plan) verdict(n *sequence.Node, left []checklist.Suspect, gate int) string {
	var words []string
	for k, a := range p.do(n) {
		if k == fewDone {
			words = append(words, fmt.Sprintf("%d more", len(n.Order)-k))
			break
		}
		var faults, blown []string
		for _, h := range p.Repairs[n.Order[k]].Causes {
			if !slices.Contains(n.Suspects, h) {
				continue
			}
			faults = append(faults, p.Dict.Names[p.Faults[h]])
			for _, b := range p.Dict.Faults[p.Faults[h]].Blown {
				if fuse := p.Board.Parts[b.Part].Name; !slices.Contains(blown, fuse) {
					blown = append(blown, fuse)
				}
			}
		}
		text := a.Name
		if gate > 0 && p.Repairs[n.Order[k]].Kind == repair.Panel {
			text += ", once all that comes before any power has read right,"
		}
		if len(n.Order) > 1 {
			text += " " + say.Percent(a.Share)
		}
		text = strings.TrimSuffix(text, ",") + ": " + suspects.Short(faults[:min(len(faults), fewFaults)])
		if more := len(faults) - fewFaults; more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		if len(blown) > 0 {
			text += " (has blown " + strings.Join(blown, ", ") + ")"
		}
		words = append(words, text)
	}
	fuse := func(s checklist.Suspect) bool {
		id, ok := p.Board.Part(s.Part)
		return ok && p.Board.Parts[id].Kind.Victim
	}
	text := strings.Join(words, "; then ")
	if slices.ContainsFunc(left, fuse) {
		text += "; " + probe.Fuse
	}
	for _, h := range n.Suspects {
		f := p.Dict.Faults[p.Faults[h]].Faults[0]
		if away := p.Bench.Runaway(f.Part); away != "" && f.Mode.Does == netlist.Opens && !strings.Contains(text, away) {
			text += "; " + away
		}
	}
	return text
}

// parts counts the parts that may have failed.
func (p *Plan) parts() int {
	seen := map[netlist.PartID]bool{}
	for _, i := range p.Faults {
		seen[p.Dict.Faults[i].Faults[0].Part] = true
	}
	return len(seen)
}
