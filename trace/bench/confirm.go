package bench

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/predict"
)

// fewChanged bounds the points that a repair should have changed and that are
// probed for it, with all power out and with power.
const fewChanged = 3

// applyRepair begins anew: what was read before the repair is of another board.
func (s *Session) applyRepair(now *standing, text string) error {
	var parts []netlist.PartID
	var faults []int
	weights, err := s.n.Weights(now.readings, now.history)
	if err != nil {
		return err
	}
	for _, word := range strings.Fields(text) {
		list, err := s.repairable(word)
		if err != nil {
			return err
		}
		if id := s.d.Faults[list[0]].Faults[0].Part; !slices.Contains(parts, id) {
			parts = append(parts, id)
		}
		// What the readings say of the part is what was repaired.
		faults = append(faults, slices.MaxFunc(list, func(a, b int) int { return cmp.Compare(weights[a], weights[b]) }))
	}
	if len(parts) == 0 {
		return errors.New("it is not said what was repaired")
	}
	*now = standing{history: now.history, skips: now.skips, repaired: parts, confirm: s.confirming(faults, now.readings)}
	return nil
}

// repairable lists the faults of a part, or the one that is named.
func (s *Session) repairable(word string) ([]int, error) {
	place, _, named := strings.Cut(word, ":")
	name, _, _ := strings.Cut(place, ".")
	id, ok := s.b.FindPart(name)
	if !ok {
		return nil, mistake.Mistake{Code: "word", Text: word, Msg: fmt.Sprintf("no part is called %q", name),
			Want: "a part such as C34, or a fault such as C34:short", Near: mistake.Nearest(name, s.b.PartNames())}
	}
	var list []int
	var names []string
	for i := range s.d.Faults {
		if s.d.Faults[i].Faults[0].Part != id {
			continue
		}
		names = append(names, s.d.Names[i])
		if !named || strings.EqualFold(s.d.Names[i], word) {
			list = append(list, i)
		}
	}
	if len(list) == 0 {
		return nil, mistake.Mistake{Code: "word", Text: word, Msg: fmt.Sprintf("%s has no such fault", name),
			Want: "one of " + strings.Join(names, ", "), Near: mistake.Nearest(word, names)}
	}
	return list, nil
}

// confirming lists what shows that faults are gone and no second one is left, with
// all power out first: points that read wrong, a few more that the faults changed,
// fuses that they opened, the gate, then the power-up order. A rung of it is left out where all that could
// be wrong with it shows at a point that is read anyway.
func (s *Session) confirming(faults []int, before []netlist.Reading) []int {
	var list []int
	shown := make([]bool, len(s.d.Faults))
	add := func(k int) {
		if slices.Contains(list, k) {
			return
		}
		list = append(list, k)
		for i := range s.d.Faults {
			shown[i] = shown[i] || s.d.Classes[i][k] != s.d.Healthy[k]
		}
	}
	changed := func(k int) bool {
		return slices.ContainsFunc(faults, func(i int) bool { return s.d.Classes[i][k] != s.d.Healthy[k] })
	}
	tells := func(k int) bool {
		for i := range shown {
			if !shown[i] && s.d.Classes[i][k] != s.d.Healthy[k] {
				return true
			}
		}
		return false
	}
	var cold, hot []int
	for k, p := range s.d.Probes {
		switch {
		case p.Part != netlist.None && p.State.Unplugged && s.blew(faults, p.Part):
			add(k)
		case !changed(k) || !p.Cold() && p.State.Setting.Distance(s.b.Usual()) > 0 && times(before, p) == 0:
		case times(before, p) > 0:
			add(k)
		case p.Cold():
			cold = append(cold, k)
		case p.Method != netlist.Look:
			hot = append(hot, k)
		}
	}
	for _, kind := range [][]int{cold, hot} {
		slices.SortStableFunc(kind, func(a, b int) int {
			return cmp.Compare(s.costs.Probe(s.x, s.d.Probes[a]), s.costs.Probe(s.x, s.d.Probes[b]))
		})
		for _, k := range kind[:min(len(kind), fewChanged)] {
			add(k)
		}
	}
	for _, k := range s.gates {
		add(k)
	}
	for _, method := range []netlist.Method{netlist.Look, netlist.Volts, netlist.Activity} {
		for _, k := range s.rungs(method) {
			if method == netlist.Look || tells(k) {
				add(k)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b int) int { return cmp.Compare(s.turn(a), s.turn(b)) })
	return list
}

// blew reports whether one of the faults opened a fuse, which has to be new then.
func (s *Session) blew(faults []int, fuse netlist.PartID) bool {
	return slices.ContainsFunc(faults, func(i int) bool {
		return slices.ContainsFunc(s.d.Faults[i].Blown, func(x predict.Blown) bool { return x.Part == fuse })
	})
}

// rungs lists the probes of one method at the power-up order, in the usual state.
// A lane has no probe of its own: the picture shows that it lives.
func (s *Session) rungs(method netlist.Method) []int {
	var list []int
	for _, stage := range s.b.Stages {
		for _, t := range stage.Targets {
			k := slices.IndexFunc(s.d.Probes, func(p netlist.Probe) bool {
				return p.Method == method && !p.Cold() && slices.Equal(p.State.Setting, s.b.Usual()) &&
					(t.Net != netlist.None && p.Net == t.Net || t.Fact != netlist.None && p.Fact == t.Fact)
			})
			if k >= 0 {
				list = append(list, k)
			}
		}
	}
	return list
}

// turn orders probes by the state of the board: cold first, and with power on what
// needs no meter before what does.
func (s *Session) turn(k int) int {
	p := s.d.Probes[k]
	switch {
	case p.Cold() && p.State.Unplugged:
		return 0
	case p.Cold():
		return 1
	case p.State.Setting.Distance(s.b.Usual()) > 0:
		return 4
	case p.Method == netlist.Look:
		return 2
	}
	return 3
}

// nextConfirm asks for what confirms a repair, as long as all is well.
func (s *Session) nextConfirm(now *standing) Step {
	passed := s.gatePassed(now)
	for _, k := range now.confirm {
		p := s.d.Probes[k]
		if times(now.readings, p) > 0 || skipped(now.skips, p) || !passed && s.x.NeedsGate(p) {
			continue
		}
		return s.step(now, k, Confirms)
	}
	return Step{Kind: Confirmed, index: -1}
}

// Unchecked counts the probes of the confirmation that were not made.
func (s *Session) Unchecked() int {
	n := 0
	for _, k := range s.now.confirm {
		if times(s.now.readings, s.d.Probes[k]) == 0 {
			n++
		}
	}
	return n
}
