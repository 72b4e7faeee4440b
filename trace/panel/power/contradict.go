package power

import "fmt"

// clash is one contradiction among the measured times.
type clash struct {
	window string // the one with two times; "" where it is about events
	says   string
}

// given lays all measured times beside each other. A window whose time does not fit
// the others is a clash and is left out. The slopes of the supply stand with what
// the panel allows where they were not measured.
func given(p *Profile, m *Measured) (*bounds, []clash) {
	b := newBounds()
	for e := range eventCount {
		if a, ok := m.at(e); ok && !a.Never {
			b.add(origin, e, Span{a.Time, a.Time})
		}
	}
	var list []clash
	for _, slopes := range []bool{true, false} {
		for i := range p.Windows {
			w := &p.Windows[i]
			if v, ok := m.value(w.Name); ok && !v.Never && ramp(w.From, w.To) == slopes {
				list = append(list, b.take(w, v.Time)...)
			}
		}
		for i := range p.Windows {
			w := &p.Windows[i]
			if slopes && ramp(w.From, w.To) && !b.exact(w.From, w.To) && b.allows(w.From, w.To, w.Span) {
				b.add(w.From, w.To, w.Span)
			}
		}
	}
	return b, list
}

// take adds the measured time of a window. A difference of 5 % or 0.5 ms is one of
// reading: common practice, no source.
func (b *bounds) take(w *Window, t Time) []clash {
	if v := (Span{t, t}); b.allows(w.From, w.To, v) {
		b.add(w.From, w.To, v)
		return nil
	}
	if slack := max(t/20, Millisecond/2); b.allows(w.From, w.To, Span{t - slack, t + slack}) {
		return nil // both read from a screen, not to the last digit
	}
	other, slope := b.between(w.From, w.To), ""
	if !b.exact(w.From, w.To) {
		slope = ", with the slope of the supply inside its window"
	}
	return []clash{{w.Name, fmt.Sprintf("%s was given as %s, and the other times make it %s%s. It is judged by %s; measure again",
		w.Name, t, other.reach(), slope, t)}}
}

// reach is a span that may be open on both sides, in words.
func (s Span) reach() string {
	if s.Min == -Unlimited {
		return "at most " + s.Max.String()
	}
	return s.String()
}

// neverClashes finds what came, although it cannot have come.
func neverClashes(p *Profile, m *Measured, f *fates) []clash {
	var list []clash
	for i := range p.Windows {
		w := &p.Windows[i]
		v, ok := m.value(w.Name)
		if !ok {
			continue
		}
		if a, timed := m.at(w.To); v.Never && timed && !a.Never {
			list = append(list, clash{w.Name, fmt.Sprintf("%s was given as never, and %s at %s. It is judged as never; measure again", w.Name, w.To, a.Time)})
		}
		for _, e := range []Event{w.From, w.To} {
			if f.never[e] && !v.Never {
				list = append(list, clash{w.Name, fmt.Sprintf("%s was given as %s, and %s never came. It is judged by %s; measure again", w.Name, v.Time, e, v.Time)})
			}
		}
	}
	for e := range eventCount {
		for later := e + 1; later < eventCount; later++ {
			if f.never[e] && f.came[later] && needs(later, e) {
				list = append(list, clash{"", fmt.Sprintf("%s never came, and %s came%s. Each is judged as it was given; measure again", e, later, m.atText(later))})
			}
		}
	}
	return list
}

// needs tells whether an edge is impossible without an earlier one of its signal. A
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

// atText is " at 5 ms", or nothing where only a window tells that an event came.
func (m *Measured) atText(e Event) string {
	if a, ok := m.at(e); ok {
		return " at " + a.Time.String()
	}
	return ""
}
