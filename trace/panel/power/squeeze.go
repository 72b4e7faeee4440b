package power

// ceiling is the measured event that an event must stand before in a chart.
type ceiling struct {
	at    Time // Unlimited for none
	late  Time // where the event stands if each window up to at has its usual length
	steps Time // windows up to at
}

// capsOf finds the ceilings of what was not measured.
func capsOf(m *Measured, all []link) [eventCount]ceiling {
	var caps [eventCount]ceiling
	for e := range caps {
		caps[e].at = Unlimited
	}
	for range eventCount {
		for _, l := range all {
			c := ceiling{caps[l.to].at, caps[l.to].late - l.gap, caps[l.to].steps + 1}
			if a, ok := m.at(l.to); ok && !a.Never {
				c = ceiling{a.Time, a.Time - l.gap, 1}
			}
			here := caps[l.from]
			if !l.soft && c.at != Unlimited && (c.at < here.at || c.at == here.at && c.steps > here.steps) {
				caps[l.from] = c
			}
		}
	}
	return caps
}

// squeeze puts a guess that lies behind its ceiling between its neighbours. Where
// measured events stand in the wrong order, so that there is no room, it stays.
func (c ceiling) squeeze(e Event, guess Time, m *Measured, all []link, at *[eventCount]Time) Time {
	if a, ok := m.at(e); ok && !a.Never || c.at == Unlimited || guess < c.at {
		return guess
	}
	floor, usual := -Unlimited, -Unlimited
	for _, l := range all {
		switch {
		case l.to != e:
		case l.exact:
			return guess
		case l.soft:
			usual = max(usual, at[l.from])
		default:
			floor = max(floor, at[l.from])
		}
	}
	switch {
	case floor >= c.at:
		return guess
	case max(floor, usual) < c.at && max(floor, usual) != -Unlimited:
		floor = max(floor, usual)
	case floor == -Unlimited:
		return c.late
	}
	return floor + (c.at-floor)/(c.steps+1)
}
