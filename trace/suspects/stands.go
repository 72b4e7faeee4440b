package suspects

import (
	"slices"

	"example.org/walkback/netlist"
)

// When a leader stands on one reading: from this share on, and without the reading below
// the other. Common practice, no source: what one misreading would overturn is read
// once more.
const (
	standsFrom = 0.8
	fallsTo    = 0.2
)

// stands finds the reading with a meter, taken once, without which the leader would lead
// no more; None where it stands on several.
func (w *weigher) stands(r *Report) int {
	if r.Leads() != OneLeads || r.Suspects[0].P < standsFrom {
		return netlist.None
	}
	lead := w.group[r.Suspects[0].Faults[0]]
	found, least := netlist.None, fallsTo
	for k := range w.readings {
		p := w.readings[k].Probe
		if p.Method == netlist.Look || w.times[k] != 1 || !w.asksAgain(p, r) {
			continue
		}
		o := &weigher{Narrower: w.Narrower, readings: slices.Delete(slices.Clone(w.readings), k, k+1)}
		if o.weigh(r.History) != nil {
			return netlist.None
		}
		all, share := o.other(), 0.0
		for i := range o.list {
			all += o.list[i].P
			if w.group[i] == lead {
				share += o.list[i].P
			}
		}
		if share /= all; share < least {
			found, least = k, share
		}
	}
	return found
}

// asksAgain reports whether a probe may be made once more.
func (w *weigher) asksAgain(p netlist.Probe, r *Report) bool {
	n := 0
	for k := range w.readings {
		if probeKey(w.readings[k].Probe) == probeKey(p) {
			n++
		}
	}
	return n < mostTimes && (len(r.Dangers) == 0 || p.Cold()) && w.probeAt(p) >= 0
}

// probeAt returns the place of a probe in the dictionary, or -1.
func (w *weigher) probeAt(p netlist.Probe) int {
	if !p.Cold() {
		p.State.Setting = w.m.Same(p.State).Setting
	}
	return slices.Index(w.keys, probeKey(p))
}
