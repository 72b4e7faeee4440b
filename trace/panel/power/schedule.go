package power

import (
	"cmp"
	"slices"
)

// mark is one event of a chart. What was not measured has a place in the order and no
// time.
type mark struct {
	Event
	at      Time    // where timed
	x       float64 // 0 to 1 along the axis, not to scale
	timed   bool
	never   bool
	stopped bool // never, or it cannot come without what never came
}

// schedule puts the events of a profile in order: what was measured by its time, the
// others as early as the windows leave it and no earlier than usual.
func schedule(p *Profile, m *Measured) []mark {
	f, before := fatesOf(p, m), p.order()
	var marks, rest []mark
	for _, e := range p.events() {
		k := mark{Event: e, never: f.never[e], stopped: f.stopped[e]}
		if a, ok := m.at(e); ok && !a.Never {
			k.at, k.timed = a.Time, true
			marks = append(marks, k)
		} else {
			rest = append(rest, k)
		}
	}
	slices.SortStableFunc(marks, func(a, b mark) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(before.rank(a.Event), before.rank(b.Event)))
	})
	for len(rest) > 0 {
		i := slices.IndexFunc(rest, func(k mark) bool {
			return !slices.ContainsFunc(rest, func(o mark) bool { return before[o.Event][k.Event] })
		})
		marks = slices.Insert(marks, placeFor(rest[i].Event, marks, before), rest[i])
		rest = slices.Delete(rest, i, i+1)
	}
	x := 0.0
	for i := range marks {
		if i == 0 || !marks[i].timed || !marks[i-1].timed || marks[i].at != marks[i-1].at {
			x++
		}
		marks[i].x = x
	}
	for i := range marks {
		marks[i].x /= x + 1
	}
	return marks
}

// placeFor finds where an event belongs among others: behind all that come before it by
// the windows, in front of what comes after it, and between these behind what usually
// comes before it. Where that was measured in the wrong order, behind goes first.
func placeFor(e Event, marks []mark, before *comesBefore) int {
	lo, hi := 0, len(marks)
	for i, k := range marks {
		if before[k.Event][e] {
			lo = i + 1
		}
		if before[e][k.Event] {
			hi = min(hi, i)
		}
	}
	at := lo
	for i := lo; i < hi; i++ {
		if marks[i].Event < e {
			at = i + 1
		}
	}
	return at
}

// pause returns the index of the first event of the way down, before which the
// panel runs for a time that is not drawn; 0 when the two ways are not apart.
func pause(marks []mark) int {
	i := slices.IndexFunc(marks, func(k mark) bool { return k.down() })
	if i > 0 && !slices.ContainsFunc(marks[i:], func(k mark) bool { return !k.down() }) {
		return i
	}
	return 0
}

// row is one signal of a chart: pieces of its level from left to right, and the events
// that did not come.
type row struct {
	signal Signal
	pieces []piece
	stops  []mark
}

// piece is a stretch of a level, or an edge; x from 0 to 1.
type piece struct {
	x0, x1 float64
	y0, y1 float64 // 0 low, 1 high
	edge   bool
	timed  bool // an edge that was measured
	open   bool // high to the end of the chart, as no event tells when it falls
}

// endOf names the events with which a signal ends that no window has a say in: the
// first of them that comes.
var endOf = map[Signal][]Event{HPD: {SupplyOff}, AUX: {SupplyOff}, Link: {DataOff, SupplyOff}}

// rows draws the events by what they happen on.
func rows(marks []mark) []row {
	var list []row
	for s := range signalCount {
		var edges []mark
		for _, k := range marks {
			if k.Signal() == s {
				edges = append(edges, k)
			}
		}
		if len(edges) == 0 {
			continue
		}
		if end, ok := endOfSignal(s, marks); ok {
			edges = append(edges, end)
		}
		r := row{signal: s}
		r.draw(edges)
		list = append(list, r)
	}
	return list
}

// endOfSignal is the end of a signal that has no event of its own for it.
func endOfSignal(s Signal, marks []mark) (mark, bool) {
	for _, e := range endOf[s] {
		for _, k := range marks {
			if k.Event == e && !k.stopped {
				k.timed = false // what is seen elsewhere
				return k, true
			}
		}
	}
	return mark{}, false
}

// draw makes pieces of edges. A signal that begins with the way down was high, unless it
// failed to start; after what never came it stays where it is, and a supply that does
// not come to the end of its slope hangs between.
func (r *row) draw(edges []mark) {
	x, y := 0.0, 0.0
	if !events[edges[0].Event].rising && !slices.ContainsFunc(edges, func(k mark) bool { return k.stopped && !k.down() }) {
		y = 1
	}
	ended := false
	for i, k := range edges {
		to := 0.0
		if events[k.Event].rising {
			to = 1
		}
		slope := i+1 < len(edges) && ramp(k.Event, edges[i+1].Event)
		ended = ended || to == 0
		if k.stopped {
			r.stops = append(r.stops, k)
			if y == 0.5 && k.Event == SupplyUp { // it collapses
				r.pieces = append(r.pieces, piece{x, k.x, y, y, false, false, false}, piece{k.x, k.x, y, 0, true, false, false})
				x, y = k.x, 0
			}
			continue
		}
		if y == to {
			continue // the other end of a slope, or no edge from where the signal is
		}
		end := k.x
		if slope && edges[i+1].stopped {
			to = 0.5
		} else if slope {
			end = edges[i+1].x
		}
		r.pieces = append(r.pieces, piece{x, k.x, y, y, false, false, false}, piece{k.x, end, y, to, true, k.timed, false})
		x, y = end, to
	}
	r.pieces = append(r.pieces, piece{x, 1, y, y, false, false, y == 1 && !ended})
}

// open lists the signals that are drawn high to the end because no event tells when
// they fall.
func open(list []row) []string {
	var names []string
	for _, r := range list {
		if r.pieces[len(r.pieces)-1].open {
			names = append(names, r.signal.String())
		}
	}
	return names
}
