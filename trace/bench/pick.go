package bench

import (
	"cmp"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/suspects"
)

const (
	alive     = 1e-6 // share of a group that still counts
	leastBits = 0.01 // that a probe must promise
	mostTimes = 2    // that a probe is asked for: once more shows a slip
)

// live is a group of the dictionary, or two at once, with its share.
type live struct {
	group, second int // second is -1 for one alone
	p             float64
	rows          [2][]uint16 // of both: the class at each probe
}

// mass lists the groups and pairs that still count.
func (s *Session) mass(r *suspects.Report) ([]live, error) {
	singles, err := s.n.Weights(r.Readings, r.History)
	if err != nil {
		return nil, err
	}
	share := make([]float64, len(s.d.Groups))
	for g := range s.d.Groups {
		for _, i := range s.d.Groups[g].Faults {
			share[g] += singles[i] * (1 - r.Other - r.Two)
		}
	}
	var list []live
	sum := 0.0
	for g, p := range share {
		if s.d.Groups[g].Detected && p > alive {
			list = append(list, live{g, -1, p, [2][]uint16{r.Row(g), nil}})
			sum += p
		}
	}
	for _, p := range r.Pairs {
		if p.P > alive {
			list = append(list, live{p.Groups[0], p.Groups[1], p.P, [2][]uint16{r.Row(p.Groups[0]), r.Row(p.Groups[1])}})
			sum += p.P
		}
	}
	for i := range list {
		list[i].p /= sum
	}
	return list, nil
}

// class returns that of a group at a probe; two at once show what the one shows
// that the probe sees, and the first where it sees both, which is near enough to
// choose a probe by.
func (s *Session) class(k int, x live) uint16 {
	c := x.rows[0][k]
	if x.second >= 0 && c == s.d.Healthy[k] {
		return x.rows[1][k]
	}
	return c
}

// bits is the information that a probe is expected to give about what still counts.
func (s *Session) bits(k int, mass []live) float64 {
	var few [256]float64
	share := few[:0]
	shown := 0
	for _, x := range mass {
		c := int(s.class(k, x))
		for len(share) <= c {
			share = append(share, 0)
		}
		if share[c] == 0 {
			shown++
		}
		share[c] += x.p
	}
	return suspects.Bits(share, shown)
}

// next decides what is to be done.
func (s *Session) next(now *standing) Step {
	if len(now.repaired) > 0 && !slices.Contains(now.report.Healthy, false) {
		return s.nextConfirm(now)
	}
	r := now.report
	if x, ok := s.bridge(now); ok {
		return x
	}
	if f := r.Fuse; f != nil && f.Probe != netlist.None {
		// The short behind an open fuse is sought before the fuse is blamed.
		k := slices.IndexFunc(s.d.Probes, func(p netlist.Probe) bool { return p.Same(r.Next[f.Probe].Probe) })
		if k >= 0 && s.open(now, k) {
			return s.step(now, k, Fuse)
		}
	}
	if s.isSure(now) {
		if x, ok := s.stands(now); ok {
			return x
		}
		return Step{Kind: Verdict, index: -1}
	}
	if list := s.ranked(now); len(list) > 0 {
		return list[0]
	}
	return Step{Kind: Verdict, index: -1}
}

// stands is the step that repeats the reading on which a verdict stands.
func (s *Session) stands(now *standing) (Step, bool) {
	if now.report.Stands == netlist.None {
		return Step{}, false
	}
	p := now.readings[now.report.Stands].Probe
	k := slices.IndexFunc(s.d.Probes, func(x netlist.Probe) bool { return x.Same(p) })
	if k < 0 || !s.open(now, k) || s.x.NeedsGate(p) && !s.gatePassed(now) {
		return Step{}, false
	}
	return s.step(now, k, Stands), true
}

// notListed stands for a cause that is not in the board file.
const notListed = "unlisted"

// leading names what leads: a fault of the group, or of both.
func leading(r *suspects.Report) string {
	switch r.Leads() {
	case suspects.OneLeads:
		return r.Suspects[0].Names[0]
	case suspects.TwoLead:
		return r.Pairs[0].Names[0][0] + " " + r.Pairs[0].Names[1][0]
	case suspects.OtherLeads:
		return notListed
	case suspects.NoneLeads:
	}
	return ""
}

// isSure reports whether one group, one pair, or what is not in the board file, has
// nearly all and was not turned down.
func (s *Session) isSure(now *standing) bool {
	r := now.report
	if slices.Contains(now.turned, leading(r)) {
		return false
	}
	if slices.ContainsFunc(r.Clash, func(set []int) bool {
		return len(set) == 2 && now.readings[set[0]].Probe.Same(now.readings[set[1]].Probe)
	}) {
		return true // one of the two is a slip, and no other probe tells which
	}
	switch r.Leads() {
	case suspects.OneLeads:
		return r.Suspects[0].P >= sure
	case suspects.TwoLead:
		return r.Pairs[0].P >= sure
	case suspects.OtherLeads:
		return r.Other >= sure
	case suspects.NoneLeads:
	}
	return false
}

// bridge is the step that seeks what lifts a line to a rail, and whether it is to be
// made.
func (s *Session) bridge(now *standing) (Step, bool) {
	if len(now.report.Dangers) == 0 || now.report.Dangers[0].Rail == netlist.None {
		return Step{}, false
	}
	p := now.report.Dangers[0].Bridge()
	if skipped(now.skips, p) || !s.x.Asks(p) {
		return Step{}, false
	}
	change := s.costs.Change(s.b, s.last(now), p)
	return Step{Probe: p, Reason: Bridge, Change: change, Seconds: s.costs.Probe(s.x, p) + change, index: -1}, true
}

// endangered lists what still counts of that which shows the gravest danger, alone:
// while power is kept off only its place is sought. It is empty where nothing in the
// board file shows it.
func (s *Session) endangered(now *standing) []live {
	d := &now.report.Dangers[0]
	share := map[int]float64{}
	sum := 0.0
	for _, x := range now.mass {
		for _, g := range []int{x.group, x.second} {
			if g >= 0 && s.shows(g, d.Names) {
				share[g] += x.p
				sum += x.p
				break
			}
		}
	}
	var list []live
	for g := range s.d.Groups {
		if share[g] > 0 {
			list = append(list, live{g, -1, share[g] / sum, [2][]uint16{now.report.Row(g), nil}})
		}
	}
	return list
}

// shows reports whether a fault of a group is among some names.
func (s *Session) shows(g int, names []string) bool {
	return slices.ContainsFunc(s.d.Groups[g].Faults, func(i int) bool { return slices.Contains(names, s.d.Names[i]) })
}

// open reports whether a probe may still be asked for.
func (s *Session) open(now *standing, k int) bool {
	p := s.d.Probes[k]
	return s.x.Asks(p) && !skipped(now.skips, p) && times(now.readings, p) < mostTimes
}

// ranked lists the probes that tell anything, the best for its cost first. While
// the gate has not passed, no probe with power on is among them, and the gate comes
// where the best one would have needed power. After a reading that keeps power off
// nothing that needs power is among them, looking neither.
func (s *Session) ranked(now *standing) []Step {
	var list, powered []Step
	passed, mass := s.gatePassed(now), now.mass
	danger := len(now.report.Dangers) > 0
	if danger {
		mass = s.endangered(now)
	}
	for k := range s.d.Probes {
		if !s.open(now, k) {
			continue
		}
		bits := s.bits(k, mass)
		if bits < leastBits || danger && !s.d.Probes[k].Cold() {
			continue
		}
		x := s.step(now, k, Tells)
		x.Bits = bits
		if !passed && s.x.NeedsGate(x.Probe) {
			powered = append(powered, x)
		} else {
			list = append(list, x)
		}
	}
	list = s.sorted(list)
	powered = s.sorted(powered)
	if len(powered) > 0 && (len(list) == 0 || score(powered[0]) > score(list[0])) {
		var gate []Step
		for _, k := range s.gates {
			if passes, read := s.gateRead(now, k); !passes && !read && s.open(now, k) {
				x := s.step(now, k, Gate)
				x.Bits = s.bits(k, now.mass)
				gate = append(gate, x)
			}
		}
		list = slices.DeleteFunc(list, func(x Step) bool {
			return slices.ContainsFunc(gate, func(g Step) bool { return g.index == x.index })
		})
		list = append(gate, list...)
	}
	return list
}

// sorted puts the best first, and only the best of each place.
func (s *Session) sorted(list []Step) []Step {
	slices.SortStableFunc(list, func(a, b Step) int { return cmp.Compare(score(b), score(a)) })
	type place struct {
		net, other netlist.NetID
		part       netlist.PartID
		fact       int
	}
	seen := map[place]bool{}
	return slices.DeleteFunc(list, func(x Step) bool {
		at := place{x.Probe.Net, x.Probe.Other, x.Probe.Part, x.Probe.Fact}
		twice := seen[at]
		seen[at] = true
		return twice
	})
}

func score(x Step) float64 {
	v := x.Bits / (x.Seconds + probe.Handling)
	if x.Again {
		v /= 2 // the same hand may slip at the same place
	}
	return v
}

func (s *Session) step(now *standing, k int, why Reason) Step {
	p := s.d.Probes[k]
	change := s.costs.Change(s.b, s.last(now), p)
	return Step{Probe: p, Reason: why, Change: change, Seconds: s.costs.Probe(s.x, p) + change, Again: times(now.readings, p) > 0,
		Bits: s.bits(k, now.mass), index: k}
}

// last returns the probe of the last reading: the board still is as it was left
// then. It comes in with power on in its usual state, and from a repair cold.
func (s *Session) last(now *standing) netlist.Probe {
	if n := len(now.readings); n > 0 {
		return now.readings[n-1].Probe
	}
	if len(now.repaired) > 0 {
		return netlist.Probe{Method: netlist.Ohms, State: netlist.Condition{Unplugged: true}}
	}
	return netlist.Probe{Method: netlist.Look, State: netlist.Condition{Setting: s.b.Usual()}}
}

func times(readings []netlist.Reading, p netlist.Probe) int {
	n := 0
	for i := range readings {
		if readings[i].Probe.Same(p) {
			n++
		}
	}
	return n
}

// gateRead reports whether a probe of the gate has passed, by its last reading, and
// whether it was read at all.
func (s *Session) gateRead(now *standing, k int) (passes, read bool) {
	for i := range now.readings {
		if now.readings[i].Probe.Same(s.d.Probes[k]) {
			passes, read = now.report.Healthy[i], true
		}
	}
	return passes, read
}

// gatePassed reports whether power may come.
func (s *Session) gatePassed(now *standing) bool { return s.gateLeft(now) == 0 }

// gateLeft counts the probes of the gate that have not passed.
func (s *Session) gateLeft(now *standing) int {
	left := 0
	for _, k := range s.gates {
		if passes, _ := s.gateRead(now, k); !passes {
			left++
		}
	}
	return left
}

// Others lists the probes to choose from, the best first.
func (s *Session) Others() []Step {
	const few = 6
	list := s.ranked(&s.now)
	if s.now.step.Kind == Ask {
		list = slices.DeleteFunc(list, func(x Step) bool { return x.index == s.now.step.index })
	}
	return list[:min(len(list), few)]
}

// Choose makes one of Others, counted from 1, the step; it holds until the next
// answer.
func (s *Session) Choose(number int) error {
	list := s.Others()
	if number < 1 || number > len(list) {
		return mistake.Mistake{Code: "word", Msg: "that is no number of the list", Want: "o, and then o with one of its numbers"}
	}
	s.now.step = list[number-1]
	return nil
}

// Outcome is one thing that the probe of a step may show.
type Outcome struct {
	Value   float64
	P       float64
	Healthy bool
	Leaves  []Left // the likeliest groups that are left then
}

// Left is what an outcome leaves: the faults of a group, or of two at once.
type Left struct {
	Names [][]string
	P     float64 // of all that this outcome leaves
}

// names lists the faults of a group, and of the other one of a pair.
func (s *Session) names(x live) [][]string {
	var list [][]string
	for _, g := range []int{x.group, x.second} {
		if g >= 0 {
			list = append(list, s.n.Names(g))
		}
	}
	return list
}

// Outcomes tells what each reading of the step would mean, the likeliest first.
func (s *Session) Outcomes() []Outcome {
	k := s.now.step.index
	if s.now.step.Kind != Ask || k < 0 {
		return nil
	}
	by := map[uint16][]live{}
	var classes []uint16
	for _, x := range s.now.mass {
		c := s.class(k, x)
		if by[c] == nil {
			classes = append(classes, c)
		}
		by[c] = append(by[c], x)
	}
	var list []Outcome
	for _, c := range classes {
		left := by[c]
		slices.SortStableFunc(left, func(a, b live) int { return cmp.Compare(b.p, a.p) })
		o := Outcome{Healthy: c == s.d.Healthy[k]}
		o.Value = s.n.Typical(k, c, left[0].group, left[0].second)
		for _, x := range left {
			o.P += x.p
		}
		for _, x := range left {
			o.Leaves = append(o.Leaves, Left{s.names(x), x.p / o.P})
		}
		list = append(list, o)
	}
	slices.SortStableFunc(list, func(a, b Outcome) int { return cmp.Compare(b.P, a.P) })
	return list
}
