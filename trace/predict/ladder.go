package predict

import (
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
)

// Rung is a stage of the power-up order and whether it is reached.
type Rung struct {
	Stage   int // index into Board.Stages
	Reached bool
	Missing []netlist.Target // what is not as on the healthy board
}

// Ladder compares a run with the healthy board in its usual state, stage by stage:
// what rests in another state, as it should there, has not been reached.
func (m *Simulator) Ladder(r *Run) []Rung {
	usual := State{Setting: m.Board.Usual()}
	healthy := &Run{State: usual, s: m.base(usual)}
	list := make([]Rung, len(m.Board.Stages))
	for i := range m.Board.Stages {
		list[i] = Rung{Stage: i, Reached: true}
		for _, t := range m.Board.Stages[i].Targets {
			if !r.like(healthy, t) {
				list[i].Reached = false
				list[i].Missing = append(list[i].Missing, t)
			}
		}
	}
	return list
}

// Stops returns the first rung that is not reached, or None.
func Stops(list []Rung) int {
	for _, x := range list {
		if !x.Reached {
			return x.Stage
		}
	}
	return netlist.None
}

// like reports whether a target shows the same in two runs, by the eye of a person
// with a meter.
func (r *Run) like(o *Run, t netlist.Target) bool {
	switch {
	case t.Fact >= 0:
		return r.Holds(t.Fact) == o.Holds(t.Fact)
	case t.Lane >= 0:
		return r.Alive(t.Lane) == o.Alive(t.Lane)
	}
	a, b := r.Volts(t.Net), o.Volts(t.Net)
	if math.Abs(a-b) > Apart(Volts, min(math.Abs(a), math.Abs(b))) {
		return false
	}
	x, y := r.Swing(t.Net), o.Swing(t.Net)
	return math.Abs(x-y) <= Apart(Activity, min(x, y)) && r.Floats(t.Net) == o.Floats(t.Net)
}

// Words for a lane or a fact that say what is, whatever a healthy board does in
// the same state.
var (
	notThere = []string{"no", "absent", "missing", "unread", "dead", "quiet", "unseen"}
	isThere  = []string{"yes", "read", "present", "seen", "toggling", "alive"}
)

// SaysThere tells what an observation of a lane or a fact says of it, when a
// healthy board in the same state has it or not.
func SaysThere(o netlist.Observation, healthy bool) bool {
	switch word := strings.ToLower(o.Word); {
	case slices.Contains(isThere, word):
		return true
	case slices.Contains(notThere, word):
		return false
	}
	return healthy != o.Wrong
}

// Fits reports whether an observation, made in the state of the run, agrees with it.
func (r *Run) Fits(o netlist.Observation) bool {
	if o.Cold != nil || o.Moves() && o.Value > 0 {
		return r.fitsNumber(o)
	}
	t := o.Target
	healthy := &Run{State: r.State, s: r.s.lab.base(r.State)}
	switch {
	case t.Fact >= 0:
		return r.Holds(t.Fact) == SaysThere(o, healthy.Holds(t.Fact))
	case t.Lane >= 0:
		return r.Alive(t.Lane) == SaysThere(o, healthy.Alive(t.Lane))
	}
	v := r.Volts(t.Net)
	if x, err := netlist.ParseValue(o.Word, netlist.Volt); err == nil {
		return math.Abs(v-x) <= Apart(Volts, min(math.Abs(v), math.Abs(x)))
	}
	h := healthy.Volts(t.Net)
	switch {
	case o.Word == "floating":
		return r.Floats(t.Net)
	case o.Word == "low" || o.Word == "zero":
		return v < netlist.LowBelow
	case o.Word == "high":
		return v >= netlist.LowBelow
	case o.Word == "quiet":
		return r.Swing(t.Net) < moves
	case o.Word == "toggling" || o.Word == "alive":
		return r.Swing(t.Net) >= moves
	case o.Above:
		return v > h && !r.like(healthy, t)
	case o.Below:
		return v < h && !r.like(healthy, t)
	}
	return r.like(healthy, t) != o.Wrong
}

// Height is how far a board got, as far as observations tell.
type Height struct {
	// Explained counts the single faults, and the healthy board, that agree with
	// every observation. When it is 0 no single fault explains them.
	Explained int
	// Surely is for each stage whether every such fault reaches it, Never whether
	// none does.
	Surely, Never []bool
}

// HowFar asks every single fault that agrees with what was seen how far it lets
// the board get.
func (m *Simulator) HowFar(st State, seen []netlist.Observation) Height {
	n := len(m.Board.Stages)
	h := Height{Surely: make([]bool, n), Never: make([]bool, n)}
	for i := range n {
		h.Surely[i], h.Never[i] = true, true
	}
	all := []Hypothesis{{}}
	for _, f := range m.AllFaults() {
		all = append(all, m.Suppose(f))
	}
	for _, r := range m.Sweep(st, all) {
		fits := true
		for _, o := range seen {
			fits = fits && r.Fits(o)
		}
		if !fits {
			continue
		}
		h.Explained++
		for i, x := range m.Ladder(r) {
			h.Surely[i] = h.Surely[i] && x.Reached
			h.Never[i] = h.Never[i] && !x.Reached
		}
	}
	return h
}
