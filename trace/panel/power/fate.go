package power

import "fmt"

// fates tells, for each event, whether it came, and what the others wait for.
type fates struct {
	came    [eventCount]bool  // by a time of its own, or of a window
	never   [eventCount]bool  // it was looked for and did not come
	stopped [eventCount]bool  // never, or not possible without what never came
	root    [eventCount]Event // of what is stopped: the event that never came
}

func fatesOf(p *Profile, m *Measured) *fates {
	var f fates
	for _, v := range m.Values {
		if w := p.window(v.Window); w != nil {
			f.came[w.From] = true // who waits for the end has seen the beginning
			f.came[w.To] = f.came[w.To] || !v.Never
			f.never[w.To] = f.never[w.To] || v.Never
		}
	}
	for _, a := range m.Events {
		f.came[a.Event], f.never[a.Event] = !a.Never, a.Never
	}
	for e := range eventCount {
		if f.never[e] {
			f.stopped[e], f.root[e] = true, e
		}
	}
	for range eventCount {
		f.spread(p)
	}
	return &f
}

// spread stops what waits for a stopped event. On the way down a window stops
// nothing that a failed start has left without work: a source takes the supply away
// whether there was data or not.
func (f *fates) spread(p *Profile) {
	stops := func(e, by Event) {
		if !f.stopped[e] && !f.came[e] && f.stopped[by] {
			f.stopped[e], f.root[e] = true, f.root[by]
		}
	}
	for e := range eventCount {
		if by, ok := e.before(); ok {
			stops(e, by)
		}
	}
	for _, w := range p.Windows {
		if !w.To.down() || f.root[w.From].down() {
			stops(w.To, w.From)
		}
	}
}

// needs reports whether an edge is impossible without an earlier one of its signal. A
// supply that hangs below 90 % can be taken away, and one that never empties can be
// switched on again; both are faults, and no mistakes in what was measured.
func needs(later, e Event) bool {
	switch {
	case later.Signal() != e.Signal() || e == SupplyUp || e == SupplyDown:
		return false
	case e == SupplyOn:
		return later != SupplyAgain
	}
	return true
}

// contradictions finds what was measured and cannot all be true: a window that its own
// events make another one, and what came without what it cannot come without.
func contradictions(p *Profile, m *Measured, f *fates) []string {
	var list []string
	for _, v := range m.Values {
		w := p.window(v.Window)
		if w == nil {
			continue
		}
		from, loose, begins := when(p, m, w.From)
		to, wide, ends := when(p, m, w.To)
		if v.Never || !begins || !ends {
			continue
		}
		others := Span{to.Min - from.Max, to.Max - from.Min}
		slack := max(v.Tolerance+loose+wide, v.Time/20) // 5 %: common practice, no source
		if v.Time+slack < others.Min || v.Time-slack > others.Max {
			list = append(list, fmt.Sprintf("%s was given as %s, and its events make it %s. It is judged by %s; measure "+
				"again", w.Name, v.Time, others, v.Time))
		}
	}
	for e := range eventCount {
		for later := e + 1; later < eventCount; later++ {
			if f.never[e] && f.came[later] && needs(later, e) {
				list = append(list, fmt.Sprintf("%s never came, and %s came%s. Each is judged as it was given; measure "+
					"again", e, later, m.atText(later)))
			}
		}
	}
	return list
}

// atText is " at 5 ms", or nothing where only a window tells that an event came.
func (m *Measured) atText(e Event) string {
	if a, ok := m.at(e); ok {
		return " at " + a.Time.String()
	}
	return ""
}
