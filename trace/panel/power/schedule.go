package power

import (
	"math"
	"slices"
)

// Gaps that stand for what no window and no measurement tells.
const (
	usualGap   = 10 * Millisecond
	runningGap = 300 * Millisecond // between the last event of the start and the first of the way down
)

// mark is one event of a chart.
type mark struct {
	Event
	at       Time
	x        float64 // 0 to 1 along the axis, not to scale
	measured bool    // by its time, or by a window that ends with it
	timed    bool    // by its time
	never    bool
	stopped  bool // never, or it cannot come without what never came
}

// link is what puts one event behind another.
type link struct {
	from, to Event
	gap      Time
	exact    bool // measured
	soft     bool // no window, only the usual order
}

// usual is the length drawn for a window that was not measured.
func (w *Window) usual() Time {
	switch {
	case w.Max == Unlimited && w.Min == 0:
		return usualGap
	case w.Max == Unlimited:
		return w.Min
	}
	return (w.Min + w.Max) / 2
}

// links are the windows, and for events that no window leads to, what comes
// before them in the usual order.
func links(p *Profile, m *Measured) []link {
	var list []link
	var reach [eventCount][eventCount]bool
	add := func(l link) {
		list = append(list, l)
		for a := range eventCount {
			for b := range eventCount {
				if (a == l.from || reach[a][l.from]) && (b == l.to || reach[l.to][b]) {
					reach[a][b] = true
				}
			}
		}
	}
	var led [eventCount]bool
	for i := range p.Windows {
		w := &p.Windows[i]
		l := link{w.From, w.To, w.usual(), false, false}
		if v, ok := m.value(w.Name); ok && !v.Never {
			l.gap, l.exact = v.Time, true
		}
		led[w.To] = true
		add(l)
	}
	present := p.events()
	for _, e := range present {
		if led[e] {
			continue
		}
		for _, f := range present {
			if f >= e || reach[e][f] {
				continue
			}
			gap := usualGap
			if e.down() && !f.down() {
				gap = runningGap
			}
			add(link{f, e, gap, false, true})
		}
	}
	return list
}

// schedule places every event of a profile: where it was measured, else where it
// usually comes.
func schedule(p *Profile, m *Measured) []mark {
	all := links(p, m)
	at := settle(p, m, all, 0)
	// What comes before the first measured event stands before it.
	usual, begin := settle(p, &Measured{}, all, 0), Time(0)
	for _, a := range m.Events {
		if early := a.Time - usual[a.Event]; p.has(a.Event) && !a.Never && early < begin {
			begin = early
		}
	}
	if begin < 0 {
		at = settle(p, m, all, begin)
	}
	f := fatesOf(p, m)
	var marks []mark
	for _, e := range p.events() {
		k := mark{Event: e, at: at[e], never: f.never[e], stopped: f.stopped[e]}
		if a, ok := m.at(e); ok {
			k.timed = !a.Never
			k.measured = k.timed
		}
		for _, l := range all {
			k.measured = k.measured || l.to == e && l.exact
		}
		marks = append(marks, k)
	}
	slices.SortStableFunc(marks, func(a, b mark) int { return int(min(max(a.at-b.at, -1), 1)) })
	place(marks)
	return marks
}

// settle gives every event its time; begin is that of those that nothing leads to.
func settle(p *Profile, m *Measured, all []link, begin Time) [eventCount]Time {
	var at [eventCount]Time
	caps := capsOf(m, all)
	// The links make no circle, so that this many rounds settle everything.
	for range eventCount {
		for _, e := range p.events() {
			at[e] = caps[e].squeeze(e, timeOf(m, e, all, &at, begin), m, all, &at)
		}
	}
	return at
}

func timeOf(m *Measured, e Event, all []link, at *[eventCount]Time, begin Time) Time {
	if a, ok := m.at(e); ok && !a.Never {
		return a.Time
	}
	latest, first := begin, true
	for _, l := range all {
		if l.to != e {
			continue
		}
		t := at[l.from] + l.gap
		if l.exact {
			return t
		}
		if first || t > latest {
			latest, first = t, false
		}
	}
	return latest
}

// place spreads sorted events along the axis: a gap gets room by its logarithm,
// so that 1 ms and 500 ms can both be seen.
func place(marks []mark) {
	const pad = 0.7
	x := pad
	for i := range marks {
		if i > 0 {
			if dt := marks[i].at - marks[i-1].at; dt > 0 {
				x += 1 + 0.8*math.Log10(1+float64(dt)/float64(Millisecond))
			}
		}
		marks[i].x = x
	}
	for i := range marks {
		marks[i].x /= x + pad
	}
}

// pause returns the index of the first event of the way down, before which the
// panel runs for a time that is not drawn; 0 when the two ways are not apart.
func pause(marks []mark) int {
	for i := 1; i < len(marks); i++ {
		if marks[i].down() && !marks[i-1].down() {
			for _, k := range marks[i:] {
				if !k.down() {
					return 0
				}
			}
			return i
		}
	}
	return 0
}

// row is one signal of a chart and its edges, in time.
type row struct {
	signal Signal
	edges  []mark
}

// endOf names the events with which a signal ends that no window has a say in: the
// first of them that comes.
var endOf = map[Signal][]Event{HPD: {SupplyOff}, AUX: {SupplyOff}, Link: {DataOff, SupplyOff}}

// rows sorts the events by what they happen on.
func rows(marks []mark) []row {
	var list []row
	for s := range signalCount {
		r := row{signal: s}
		for _, k := range marks {
			if k.Signal() == s {
				r.edges = append(r.edges, k)
			}
		}
		if len(r.edges) == 0 {
			continue
		}
		r.end(marks)
		list = append(list, r)
	}
	return list
}

// end adds the end of a signal that has no event of its own for it.
func (r *row) end(marks []mark) {
	for _, e := range endOf[r.signal] {
		for _, k := range marks {
			if k.Event == e && !k.stopped {
				k.measured = false // what is seen elsewhere
				r.edges = append(r.edges, k)
				return
			}
		}
	}
}

// startsHigh tells whether a row is high before its first edge: one that begins
// with the way down, and did not fail to start.
func (r *row) startsHigh() bool {
	for _, k := range r.edges {
		if k.stopped && !k.down() {
			return false
		}
	}
	return !events[r.edges[0].Event].rising
}

// halts tells whether edge i is the begin of a slope that does not come to its end.
func (r *row) halts(i int) bool {
	return i+1 < len(r.edges) && ramp(r.edges[i].Event, r.edges[i+1].Event) && r.edges[i+1].stopped
}
