package power

import (
	"cmp"
	"slices"
)

// comesBefore holds which event always comes before which: by the order of the edges
// of a signal, by windows, and by way of other events.
type comesBefore [eventCount][eventCount]bool

func (p *Profile) order() *comesBefore {
	c := &comesBefore{}
	for e := range eventCount {
		if by, ok := e.before(); ok {
			c.add(by, e)
		}
	}
	for _, w := range p.Windows {
		c.add(w.From, w.To)
	}
	return c
}

func (c *comesBefore) add(from, to Event) {
	for a := range eventCount {
		for b := range eventCount {
			if (a == from || c[a][from]) && (b == to || c[to][b]) {
				c[a][b] = true
			}
		}
	}
}

// stops finds what cannot come: each event that was not seen and needs one that never
// came, with that one. On the way down nothing waits for what a failed start has left
// without work, but for the fall of what never rose: a source takes the supply away
// whether there was data or not.
func (c *comesBefore) stops(m *Measured) map[Event]Event {
	root := map[Event]Event{}
	for e := range eventCount {
		if a, ok := m.at(e); ok {
			if a.Never {
				root[e] = e
			}
			continue
		}
		by, edge := e.before()
		_, flat := root[by]
		for _, a := range m.Events {
			if a.Never && c[a.Event][e] && (!e.down() || a.Event.down() || edge && flat) {
				root[e] = a.Event
				break
			}
		}
	}
	return root
}

// mark is one event of a report. What was not measured has a place in the order and no
// time.
type mark struct {
	Event
	at      Time // where timed
	timed   bool
	never   bool
	stopped bool // never, or it cannot come without what never came
}

// when is the time of an event in words; "" where it was not measured.
func (k mark) when() string {
	switch {
	case k.never:
		return "never"
	case k.stopped:
		return "does not come"
	case k.timed:
		return k.at.String()
	}
	return ""
}

// schedule puts the events of a profile in order: what was measured by its time, the
// others as early as the windows leave it and no earlier than usual.
func schedule(p *Profile, m *Measured) []mark {
	before := p.order()
	root := before.stops(m)
	var marks, rest []mark
	for _, e := range p.events() {
		a, seen := m.at(e)
		_, stopped := root[e]
		k := mark{e, a.Time, seen && !a.Never, a.Never, stopped}
		if k.timed {
			marks = append(marks, k)
		} else {
			rest = append(rest, k)
		}
	}
	slices.SortStableFunc(marks, func(a, b mark) int { return cmp.Compare(a.at, b.at) })
	for len(rest) > 0 {
		i := slices.IndexFunc(rest, func(k mark) bool {
			return !slices.ContainsFunc(rest, func(o mark) bool { return before[o.Event][k.Event] })
		})
		marks = slices.Insert(marks, placeFor(rest[i].Event, marks, before), rest[i])
		rest = slices.Delete(rest, i, i+1)
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
