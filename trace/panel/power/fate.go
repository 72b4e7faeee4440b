package power

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
		}
	}
	for e := range eventCount {
		if a, ok := m.at(e); ok {
			f.came[e] = !a.Never
		}
		if missed(p, m, e) {
			f.never[e] = true
			f.stop(e, e)
		}
	}
	for range eventCount {
		f.spread(p)
	}
	return &f
}

func (f *fates) stop(e, root Event) { f.stopped[e], f.root[e] = true, root }

// spread stops what waits for a stopped event. On the way down a window stops
// nothing that a failed start has left without work: a source takes the supply away
// whether there was data or not.
func (f *fates) spread(p *Profile) {
	stops := func(e, by Event) {
		if !f.stopped[e] && !f.came[e] && f.stopped[by] {
			f.stop(e, f.root[by])
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

// missed tells whether an event was looked for and did not come.
func missed(p *Profile, m *Measured, e Event) bool {
	if a, ok := m.at(e); ok {
		return a.Never
	}
	for _, v := range m.Values {
		if w := p.window(v.Window); v.Never && w != nil && w.To == e {
			return true
		}
	}
	return false
}
