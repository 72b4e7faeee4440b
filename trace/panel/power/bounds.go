package power

// bounds holds, for every two events, how much later than the first the second can
// be; Unlimited where nothing tells. It is kept closed: what follows from two
// entries by way of a third event is in it.
type bounds [eventCount][eventCount]Time

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

// allows reports whether any time of s is left open between two events.
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

// comesBefore holds which event always comes before which: by the order of the edges
// of a signal, and by windows.
type comesBefore [eventCount][eventCount]bool

func edgeOrder() *comesBefore {
	var c comesBefore
	for e := range eventCount {
		if by, ok := e.before(); ok {
			c.add(by, e)
		}
	}
	return &c
}

func (p *Profile) order() *comesBefore {
	c := edgeOrder()
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

// rank counts what comes before an event: less for what comes before another.
func (c *comesBefore) rank(e Event) int {
	n := 0
	for a := range eventCount {
		if c[a][e] {
			n++
		}
	}
	return n
}
