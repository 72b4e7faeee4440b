package power

import "fmt"

// chains finds pairs of measured events that break what lies between them, the nearest
// ones, and none around a window that is known to be wrong. What the windows allow is
// counted on the way up and on the way down apart, as a start may be broken off; between
// the two only the order counts.
func chains(p *Profile, m *Measured, f *fates, results []Result) []Chain {
	before, room := p.order(), newBounds()
	for _, w := range p.Windows {
		if w.From.down() == w.To.down() && !f.stopped[w.From] && !f.stopped[w.To] && room.allows(w.From, w.To, w.Span) {
			room.add(w.From, w.To, w.Span)
		}
	}
	var list []Chain
	for _, a := range m.Events {
		for _, b := range m.Events {
			if !before[a.Event][b.Event] || a.Never || b.Never || told(before, m, f, results, a.Event, b.Event) {
				continue
			}
			c := Chain{From: a.Event, To: b.Event, Value: b.Time - a.Time}
			want := room.between(a.Event, b.Event)
			tolerance := a.Tolerance + b.Tolerance
			switch {
			case c.Value+tolerance < 0:
				c.Says = fmt.Sprintf("%s came %s BEFORE %s; it should come after it", c.To, -c.Value, c.From)
				if c.From == SupplyOn && c.To == SupplyOff {
					c.Says += ". A supply that comes on once more is " + SupplyAgain.Name()
				}
			case c.Value+tolerance < want.Min:
				c.Says = fmt.Sprintf("%s came %s after %s, %s too early: the windows between them ask for at least %s",
					c.To, c.Value, c.From, want.Min-c.Value, want.Min)
			case want.Max != Unlimited && c.Value-tolerance > want.Max:
				c.Says = fmt.Sprintf("%s came %s after %s, %s too late: the windows between them allow %s at most",
					c.To, c.Value, c.From, c.Value-want.Max, want.Max)
			default:
				continue
			}
			list = append(list, c)
		}
	}
	return list
}

// told reports whether a pair needs no word of its own: it is a window, a window between
// the two is known to be wrong, or a measured event between them makes it two.
func told(before *comesBefore, m *Measured, f *fates, results []Result, from, to Event) bool {
	leads := func(a, b Event) bool { return a == b || before[a][b] }
	for _, r := range results {
		if (r.Status.Wrong() && !f.stopped[r.To] || r.From == from && r.To == to) && leads(from, r.From) && leads(r.To, to) {
			return true
		}
	}
	for _, a := range m.Events {
		if !a.Never && before[from][a.Event] && before[a.Event][to] {
			return true
		}
	}
	return false
}
