// Package order plans where to put the probe first: a decision tree over the
// suspects and the states of the board, as a checklist.
//
//	plan, err := order.Make(narrower, readings, order.Options{Costs: probe.UsualCosts()})
//
// What each suspect shows at each probe comes from the simulation, how likely it
// is from the readings so far, and the search from package sequence. Powering up
// and down costs minutes where a probe costs seconds, so the condition of the board
// is part of the plan.
package order

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/repair"
	"example.org/walkback/trace/sequence"
	"example.org/walkback/trace/suspects"
)

// Options are how to plan.
type Options struct {
	Order   string // of checklist.Orders; checklist.Best when empty
	Costs   probe.Costs
	History []string
	Walk    []netlist.NetID // nets in walking order, for comparison
}

// Plan is a decision tree with its cost.
type Plan struct {
	Board   *netlist.Board
	Bench   *probe.Bench
	Model   *predict.Simulator
	Table   *repair.Table
	Order   string
	Dict    *predict.Dictionary
	P       []float64       // of each fault of the dictionary
	Faults  []int           // of the hypotheses: place in the dictionary
	Repairs []repair.Action // what is done about them; the groups of the problem
	Probes  []int           // of the probes of the tree: place in the dictionary
	Tree    *sequence.Tree
	Walk    *sequence.Tree // following the walk; nil when no walk was given
	Half    *sequence.Tree
	LeftOut float64 // share of the faults that it leaves out, each too rare
	Gate    []int   // probes of the tree that come before any power, places in Probes
}

// fewSuspects is for how many the best plan is to be found.
const fewSuspects = 40

// least is the share of a suspect below which the plan leaves it out.
const least = 1e-3

// Make plans for the suspects that readings leave. It returns ErrNothing when
// there is nothing to tell apart.
func Make(n *suspects.Narrower, readings []netlist.Reading, o Options) (*Plan, error) {
	o.History = netlist.WithHistory(o.History, readings)
	p := &Plan{Board: n.Model().Board, Bench: n.Bench().After(o.History), Model: n.Model(),
		Order: cmp.Or(o.Order, checklist.Best), Dict: n.Dictionary(), Table: n.Repairs()}
	var err error
	if p.P, err = n.Weights(readings, o.History); err != nil {
		return nil, err
	}
	problem := p.problem(readings, o)
	if len(p.Faults) == 0 {
		return nil, ErrNothing
	}
	if p.Half, err = sequence.Half(problem); err != nil {
		return nil, err
	}
	walk := p.walkOrder(o.Walk)
	if len(walk) > 0 {
		if p.Walk, err = sequence.Evaluate(problem, walk); err != nil {
			return nil, err
		}
	}
	if p.Order == checklist.Half {
		p.Tree = p.Half
	}
	budget := sequence.DefaultBudget
	if len(p.Faults) <= fewSuspects {
		budget *= 3
	}
	best, err := sequence.Plan(problem, budget)
	if err != nil {
		return nil, err
	}
	if p.Tree == nil {
		// The search does not always find what a simple rule happens to find.
		p.Tree = best
		for _, t := range []*sequence.Tree{p.Half, p.Walk} {
			if t != nil && t.Expected < p.Tree.Expected {
				p.Tree = t
			}
		}
	}
	t := *p.Tree
	t.Lower, t.Optimal = best.Lower, t.Expected <= best.Lower*(1+1e-9)
	p.Tree = &t
	return p, nil
}

// problem puts the suspects and the probes into the form of package sequence. A
// group is what is done about it.
func (p *Plan) problem(readings []netlist.Reading, o Options) *sequence.Problem {
	d := p.Dict
	seen := make([]bool, len(d.Faults))
	for _, g := range d.Groups {
		for _, i := range g.Faults {
			seen[i] = g.Detected
		}
	}
	q := &sequence.Problem{}
	var causes []repair.Cause
	for i, x := range p.P {
		if x < least && seen[i] {
			p.LeftOut += x
		}
		if x < least || !seen[i] {
			continue
		}
		p.Faults = append(p.Faults, i)
		q.Weights = append(q.Weights, x)
		causes = append(causes, repair.Cause{Faults: d.Faults[i].Faults[:1], P: x})
	}
	p.Repairs = p.Table.Actions(causes)
	q.Group, q.Act = make([]int, len(causes)), make([]float64, len(causes))
	for g, a := range p.Repairs {
		for _, h := range a.Causes {
			q.Group[h], q.Act[h] = g, 60*a.Minutes
		}
	}
	states := p.Model.Distinct()
	q.Change = changes(p.Board, states, o.Costs)
	for k, x := range d.Probes {
		outcome := make([]uint16, len(p.Faults))
		for h, i := range p.Faults {
			outcome[h] = d.Classes[i][k]
		}
		splits := slices.ContainsFunc(outcome, func(c uint16) bool { return c != outcome[0] })
		if p.known(readings, x) || !p.Bench.Asks(x) || !p.Bench.Gates(x) && !splits {
			continue
		}
		p.Probes = append(p.Probes, k)
		q.Probes = append(q.Probes, sequence.Probe{Outcome: outcome, Cost: o.Costs.Probe(p.Bench, x), Condition: condition(states, x)})
	}
	p.guard(q)
	if len(readings) > 0 {
		// The board still is where the last reading was taken.
		q.Start = condition(states, nearest(p.Model, readings[len(readings)-1].Probe))
	}
	return q
}

// nearest takes a probe to the state among the distinct ones that shows the same.
func nearest(m *predict.Simulator, x netlist.Probe) netlist.Probe {
	if !x.Cold() {
		x.State = m.Same(x.State)
	}
	return x
}

// known reports whether a probe was made already; one of the gate only when it read right
// at last, so that power waits for it.
func (p *Plan) known(readings []netlist.Reading, x netlist.Probe) bool {
	for i := range slices.Backward(readings) {
		r := &readings[i]
		if !r.Probe.Same(x) {
			continue
		}
		o, err := p.Board.Judge(*r, p.Model.HealthyBand)
		return !p.Bench.Gates(x) || err == nil && !o.Wrong && r.Value >= p.Bench.Floor(x)
	}
	return false
}

// The conditions of the board: all power out with the panel unplugged or plugged,
// then the states.
const (
	coldOut = iota
	coldIn
	hotFirst
)

func condition(states []netlist.Condition, x netlist.Probe) int {
	switch {
	case x.Cold() && x.State.Unplugged:
		return coldOut
	case x.Cold():
		return coldIn
	}
	return hotFirst + slices.IndexFunc(states, func(s netlist.Condition) bool { return slices.Equal(s.Setting, x.State.Setting) })
}

// changes is the table of what it costs to bring the board from one condition
// into another.
func changes(b *netlist.Board, states []netlist.Condition, c probe.Costs) [][]float64 {
	at := make([]netlist.Probe, hotFirst+len(states))
	at[coldOut] = netlist.Probe{Method: netlist.Ohms, State: netlist.Condition{Unplugged: true}}
	at[coldIn] = netlist.Probe{Method: netlist.Ohms}
	for i, st := range states {
		at[hotFirst+i] = netlist.Probe{Method: netlist.Volts, State: st}
	}
	t := make([][]float64, len(at))
	for i := range t {
		t[i] = make([]float64, len(at))
		for j := range t[i] {
			t[i][j] = c.Change(b, at[i], at[j])
		}
	}
	return t
}

// never is an outcome that no probe has, so that nothing follows it.
const never = math.MaxUint16

// guard holds back what needs the gate.
func (p *Plan) guard(q *sequence.Problem) {
	var after []sequence.Guard
	for i, k := range p.Probes {
		if p.Bench.Gates(p.Dict.Probes[k]) {
			p.Gate = append(p.Gate, i)
			pass := p.Dict.Healthy[k]
			if p.Dict.Reads(k, -1) < p.Bench.Floor(p.Dict.Probes[k]) {
				pass = never
			}
			after = append(after, sequence.Guard{Probe: i, Pass: []uint16{pass}})
		}
	}
	if len(after) == 0 {
		return
	}
	for i, k := range p.Probes {
		if p.Bench.NeedsGate(p.Dict.Probes[k]) {
			q.Probes[i].After = after
		}
	}
}

// walkOrder lists the probes by the walk: volts of each net in the usual state,
// activity where it moves, the facts first.
func (p *Plan) walkOrder(nets []netlist.NetID) []int {
	if len(nets) == 0 {
		return nil
	}
	var list []int
	usual := p.Board.Usual()
	add := func(is func(netlist.Probe) bool) {
		for i, k := range p.Probes {
			if x := p.Dict.Probes[k]; is(x) && (x.Cold() || slices.Equal(x.State.Setting, usual)) {
				list = append(list, i)
			}
		}
	}
	list = append(list, p.Gate...)
	for _, n := range nets {
		add(func(x netlist.Probe) bool { return x.Net == n && x.Method == netlist.Volts })
		add(func(x netlist.Probe) bool { return x.Net == n && x.Method == netlist.Activity })
	}
	for _, n := range nets {
		add(func(x netlist.Probe) bool { return x.Net == n && x.Method == netlist.Ohms })
		add(func(x netlist.Probe) bool { return x.Net == n && x.Method == netlist.Diode })
	}
	for i := range p.Probes {
		if !slices.Contains(list, i) {
			list = append(list, i)
		}
	}
	return list
}

// ErrNothing is returned when the readings leave nothing that probes tell apart.
var ErrNothing = fmt.Errorf("no single fault that a probe could show is left")
