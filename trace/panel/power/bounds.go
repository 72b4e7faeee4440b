package power

// origin is the node of the zero of the time base, beside those of the events.
const origin = eventCount

// bounds holds, for every two events, how much later than the first the second can
// be; Unlimited where nothing tells. It is kept closed: what follows from two
// entries by way of a third event is in it.
type bounds [eventCount + 1][eventCount + 1]Time

func newBounds() *bounds {
	var b bounds
	for i := range b {
		for j := range b[i] {
			if i != j {
				b[i][j] = Unlimited
			}
		}
	}
	return &b
}

// between is the stretch in which to lies behind from; a Min of -Unlimited is none.
func (b *bounds) between(from, to Event) Span { return Span{-b[to][from], b[from][to]} }

// exact tells whether the time between two events is known, and not only a stretch.
func (b *bounds) exact(from, to Event) bool {
	s := b.between(from, to)
	return s.Max != Unlimited && s.Min == s.Max
}

// allows tells whether any time of s is left open between two events.
func (b *bounds) allows(from, to Event, s Span) bool {
	r := b.between(from, to)
	return s.Min <= r.Max && s.Max >= r.Min
}

// add takes in that to lies behind from by a time of s, which b must allow.
func (b *bounds) add(from, to Event, s Span) {
	b.limit(from, to, s.Max)
	b.limit(to, from, -s.Min)
}

func (b *bounds) limit(from, to Event, most Time) {
	if most >= b[from][to] {
		return
	}
	for i := range b {
		for j := range b {
			if b[i][from] != Unlimited && b[to][j] != Unlimited {
				b[i][j] = min(b[i][j], b[i][from]+most+b[to][j])
			}
		}
	}
}
