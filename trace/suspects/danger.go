package suspects

import (
	"cmp"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/probe"
)

// What finds the cause of a danger. Common practice, no source.
const (
	findShort  = "with all power out lift one after the other, and measure again; what stays is in the copper and under the sockets"
	findOpen   = "with all power out replace it, look at its joints, and measure it again"
	findBridge = "with all power out look at both points and at all between them under magnification, clean or repair, and measure again"
)

// dangers lists what keeps power off, with the faults that show it by themselves.
func (w *weigher) dangers(r *Report) {
	judged := make([]probe.Judged, len(w.readings))
	for k := range w.readings {
		judged[k] = probe.Judged{Reading: w.readings[k], Healthy: r.Healthy[k]}
		if p := w.readings[k].Probe; p.Cold() {
			judged[k].Should = max(w.coldValues(p)[0], w.bench.Floor(p))
		}
	}
	for _, d := range w.bench.Dangers(judged) {
		x := Danger{Danger: d, Action: findShort}
		if d.Unlimited != netlist.None {
			x.Action = findOpen
		}
		if d.Rail != netlist.None || d.Probe.Other != netlist.None {
			x.Action = findBridge
		}
		var show []int
		for i := range w.list {
			if w.list[i].Agrees[d.Index] >= explains {
				show = append(show, i)
			}
		}
		slices.SortStableFunc(show, func(a, b int) int { return cmp.Compare(w.list[b].P, w.list[a].P) })
		for _, i := range show {
			x.Names = append(x.Names, w.list[i].Name)
		}
		r.Dangers = append(r.Dangers, x)
	}
	r.Runaway = netlist.None
	for i := range r.Suspects {
		x := &r.Suspects[i]
		open := slices.ContainsFunc(x.Faults, func(f int) bool { return w.list[f].Faults[0].Mode.Does == netlist.Opens })
		if x.P >= leastRunaway && open && len(r.Dangers) == 0 && r.Bench.Runaway(x.Parts[0]) != "" {
			r.Runaway = x.Parts[0]
			return
		}
	}
}

// leastRunaway is the share of a suspect from which it is said that a rail may run away.
const leastRunaway = 0.05

// Unread lists the probes that come before any power and were not read right.
func (r *Report) Unread() []netlist.Probe {
	return slices.DeleteFunc(slices.Clone(r.Bench.Gate()), func(p netlist.Probe) bool {
		right := false
		for k := range r.Readings {
			if r.Readings[k].Probe.Same(p) {
				right = r.Healthy[k]
			}
		}
		return right
	})
}

// keptOff reports whether nothing that needs power is proposed: after a danger, and on a
// machine that was wet until all that comes before any power has read right.
func (r *Report) keptOff() bool {
	return len(r.Dangers) > 0 || r.Bench.Wet() && len(r.Unread()) > 0
}

// nextOfGate proposes what must read right before any power, where too little else tells
// anything.
func (w *weigher) nextOfGate(r *Report, mass []live, times map[string]int) {
	for _, p := range r.Unread() {
		k := slices.IndexFunc(w.d.Probes, p.Same)
		if len(r.Next) == mostNext {
			return
		}
		if k < 0 || times[w.keys[k]] > 0 || slices.ContainsFunc(r.Next, func(x Next) bool { return x.Probe.Same(p) }) {
			continue
		}
		r.Next = append(r.Next, Next{w.d.Probes[k], w.bits(k, mass), w.seconds(p), false, w.outcomes(k, mass)})
	}
}

// First lists what must read right before a proposed probe, as Unread has it; nothing
// where the probe needs no gate.
func (r *Report) First(p netlist.Probe) []netlist.Probe {
	if !r.Bench.NeedsGate(p) {
		return nil
	}
	return r.Unread()
}
