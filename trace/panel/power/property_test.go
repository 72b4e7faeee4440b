package power

import (
	"fmt"
	"io"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// anyProfile draws a built-in profile or a random one. No event of a random one
// ends two windows of which one has a Max, so that a schedule inside all windows
// can be made by going from event to event.
func anyProfile(t *rapid.T) Profile {
	if i := rapid.IntRange(0, 3).Draw(t, "profile"); i < len(profiles) {
		p, _ := Named(profiles[i].Name)
		return p
	}
	p := Profile{Name: "random", Title: rapid.StringMatching(`[a-zA-Zµ€>]+( [a-zA-Zµ€>]+){0,3}`).Draw(t, "title")}
	order := inEdgeOrder(rapid.Permutation(allEvents()).Draw(t, "order"))
	for i := range rapid.IntRange(1, 14).Draw(t, "windows") {
		to := rapid.IntRange(1, len(order)-1).Draw(t, "to")
		from := rapid.IntRange(0, to-1).Draw(t, "from")
		w := Window{Name: fmt.Sprintf("W%d", i), From: order[from], To: order[to], Span: anySpan(t)}
		if slices.ContainsFunc(p.Windows, func(o Window) bool { return o.To == w.To }) {
			continue
		}
		w.Doc = rapid.StringMatching(`([a-zA-Zµ€>]+( [a-zA-Zµ€>]+){0,3})?`).Draw(t, "doc")
		p.Windows = append(p.Windows, w)
	}
	return p
}

// inEdgeOrder swaps events of one signal so that its edges come in their order.
func inEdgeOrder(order []Event) []Event {
	for i := range order {
		for j := range i {
			if order[j].Signal() == order[i].Signal() && order[j] > order[i] {
				order[i], order[j] = order[j], order[i]
			}
		}
	}
	return order
}

func allEvents() []Event {
	list := make([]Event, eventCount)
	for e := range eventCount {
		list[e] = e
	}
	return list
}

func anyTime(t *rapid.T, most Time, label string) Time {
	return Time(rapid.Int64Range(0, int64(most)).Draw(t, label))
}

func anySpan(t *rapid.T) Span {
	s := Span{anyTime(t, Second, "min"), Unlimited}
	if rapid.Bool().Draw(t, "limit") {
		s.Max = s.Min + anyTime(t, Second, "room")
	}
	return s
}

// inside draws times for all events that lie in all windows.
func inside(t *rapid.T, p Profile) map[Event]Time {
	at := map[Event]Time{}
	var place func(e Event)
	place = func(e Event) {
		if _, done := at[e]; done {
			return
		}
		lo, hi := Time(0), Unlimited
		for _, w := range p.Windows {
			if w.To != e {
				continue
			}
			place(w.From)
			lo = max(lo, at[w.From]+w.Min)
			if w.Max != Unlimited {
				hi = min(hi, at[w.From]+w.Max)
			}
		}
		by, ok := e.before()
		for ok && !p.has(by) {
			by, ok = by.before()
		}
		if ok {
			place(by)
			lo = min(max(lo, at[by]), hi)
		}
		at[e] = lo + anyTime(t, min(hi, lo+5*Second)-lo, e.Name())
	}
	for _, e := range p.events() {
		place(e)
	}
	return at
}

// What lies in all windows, and in the order of the edges, is never called wrong,
// however little of it was measured.
func TestNoPartOfAGoodScheduleIsWrong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, _ := Named(rapid.SampledFrom(Names()).Draw(t, "profile"))
		at := inside(t, p)
		var m Measured
		for _, w := range p.Windows {
			if rapid.Bool().Draw(t, w.Name) {
				m.Values = append(m.Values, Value{Window: w.Name, Time: at[w.To] - at[w.From]})
			}
		}
		for _, e := range p.events() {
			if rapid.Bool().Draw(t, e.Name()) {
				m.Events = append(m.Events, At{Event: e, Time: at[e]})
			}
		}
		if r := Check(p, m); r.Wrong() {
			t.Fatalf("%+v: %s %+v", m, r.Verdict, r.Order)
		}
	})
}

// Two events of a start are wrong when they break the window between them, where need be
// with the rise of the supply before it, or come the wrong way round. The oracle follows the
// windows along every way.
func TestTwoEventsOfAStart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, _ := Named(rapid.SampledFrom(Names()).Draw(t, "profile"))
		from := Event(rapid.IntRange(0, int(LightOff)-2).Draw(t, "from"))
		to := Event(rapid.IntRange(int(from)+1, int(LightOff)-1).Draw(t, "to"))
		gap := Time(rapid.Int64Range(-int64(Second), int64(Second)).Draw(t, "gap"))
		least, most, leads := -Unlimited, Unlimited, false
		var walk func(e Event, steps int, lo, hi Time)
		walk = func(e Event, steps int, lo, hi Time) {
			leads = leads || e == to
			if e == to && (steps == 1 || steps == 2 && from == SupplyOn) {
				least, most = lo, hi
			}
			for _, w := range p.Windows {
				switch {
				case w.From != e:
				case hi == Unlimited || w.Max == Unlimited:
					walk(w.To, steps+1, lo+w.Min, Unlimited)
				default:
					walk(w.To, steps+1, lo+w.Min, hi+w.Max)
				}
			}
		}
		walk(from, 0, 0, 0)
		r := Check(p, Measured{Events: []At{{Event: from}, {Event: to, Time: gap}}})
		if want := leads && (gap < max(least, 0) || gap > most); r.Wrong() != want {
			t.Fatalf("%s to %s is %s, wanted %s to %s: %s", from, to, gap, least, most, r.Verdict)
		}
	})
}

func measuredAt(at map[Event]Time) Measured {
	var m Measured
	for e := range eventCount {
		if v, ok := at[e]; ok {
			m.Events = append(m.Events, At{Event: e, Time: v})
		}
	}
	return m
}

func TestAScheduleInsideAllWindowsIsInRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyProfile(t)
		for _, r := range Check(p, measuredAt(inside(t, p))).Results {
			if r.Status != InRange || r.By != 0 || r.Means != "" {
				t.Fatalf("%s: %s", r.Name, r.Says)
			}
		}
	})
}

// Moving one event breaks those windows that begin or end with it and that its new
// place is outside of, by as much as it is outside, and no other.
func TestMovingOneEventBreaksWhatTouchesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyProfile(t)
		at := inside(t, p)
		e := rapid.SampledFrom(p.events()).Draw(t, "moved")
		at[e] += Time(rapid.Int64Range(-int64(10*Second), int64(10*Second)).Draw(t, "by"))
		for _, r := range Check(p, measuredAt(at)).Results {
			gap := at[r.To] - at[r.From]
			outside := max(r.Min-gap, 0)
			if r.Max != Unlimited {
				outside = max(outside, gap-r.Max)
			}
			switch {
			case r.From != e && r.To != e && r.Status != InRange:
				t.Fatalf("%s does not touch %s, and: %s", r.Name, e, r.Says)
			case r.Status.Wrong() != (outside > 0), r.By != outside:
				t.Fatalf("%s is %s outside, and: %s", r.Name, outside, r.Says)
			case r.Status == TooEarly && gap >= r.Min, r.Status == TooLate && gap <= r.Max:
				t.Fatalf("%s is on the other side: %s", r.Name, r.Says)
			}
		}
	})
}

// An event that never came makes the windows that end with it wrong and those that
// begin with it impossible to judge, whatever was measured elsewhere.
func TestOneEventThatNeverCame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyProfile(t)
		m := measuredAt(inside(t, p))
		i := rapid.IntRange(0, len(m.Events)-1).Draw(t, "never")
		m.Events[i].Never = true
		e := m.Events[i].Event
		r := Check(p, m)
		for _, x := range r.Results {
			want := InRange
			switch e {
			case x.From:
				want = TooEarly // its end came all the same
				if x.To.down() != e.down() {
					want = NotJudged
				}
			case x.To:
				want = Never
			}
			if x.Status != want {
				t.Fatalf("%s: %s, want %s", x.Name, x.Status, want)
			}
			if !r.Wrong() {
				t.Fatal("not wrong")
			}
		}
		if len(r.Missing) != 1 || r.Missing[0].Event != e {
			t.Fatalf("missing is %v, not %s", r.Missing, e)
		}
	})
}

// What only the start of a slope tells never contradicts what both ends tell.
func TestASlopeThatWasNotMeasuredProvesNothingWrong(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyProfile(t)
		at := inside(t, p)
		full := Check(p, measuredAt(at))
		delete(at, SupplyUp)
		delete(at, SupplyDown)
		for i, r := range Check(p, measuredAt(at)).Results {
			if r.Status.Wrong() || r.Status == InRange && full.Results[i].Status != InRange {
				t.Fatalf("%s: %s; with all measured: %s", r.Name, r.Says, full.Results[i].Says)
			}
		}
	})
}

func TestTimesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := Time(rapid.Int64Range(-int64(maxTime), int64(maxTime)).Draw(t, "time"))
		if got, _, err := ParseTime(want.String()); err != nil || got != want {
			t.Fatalf("%d comes back as %d, %v", want, got, err)
		}
	})
}

func TestEventsStandInTheOrderOfTheirTimes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyProfile(t)
		m := measuredAt(inside(t, p))
		m.Events = m.Events[:rapid.IntRange(0, len(m.Events)).Draw(t, "measured")]
		marks := schedule(&p, &m)
		if len(marks) != len(p.events()) {
			t.Fatalf("%d marks for %d events", len(marks), len(p.events()))
		}
		last := mark{}
		for i, k := range marks {
			if a, ok := m.at(k.Event); ok != k.timed || ok && a.Time != k.at {
				t.Fatalf("%s was measured at %s and stands at %s", k.Event, a.Time, k.at)
			}
			if slices.ContainsFunc(marks[:i], func(o mark) bool { return o.Event == k.Event }) {
				t.Fatalf("%s stands twice", k.Event)
			}
			if !k.timed {
				continue
			}
			if last.timed && k.at < last.at {
				t.Fatalf("%s at %s follows %s at %s", k.Event, k.at, last.Event, last.at)
			}
			last = k
		}
	})
}

// With nothing measured, and with what was measured inside the windows, the report shows
// an order that the panel would accept.
func TestTheOrderIsThatOfTheWindows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyProfile(t)
		m := measuredAt(inside(t, p))
		m.Events = slices.DeleteFunc(m.Events, func(At) bool { return rapid.Bool().Draw(t, "drop") })
		before := p.order()
		for _, a := range m.Events {
			for _, b := range m.Events {
				if before[a.Event][b.Event] && a.Time > b.Time {
					t.Skip("edges in the wrong order, which no window forbids")
				}
			}
		}
		place := map[Event]int{}
		for i, k := range schedule(&p, &m) {
			place[k.Event] = i
		}
		for _, w := range p.Windows {
			a, from := m.at(w.From)
			z, to := m.at(w.To)
			if place[w.From] >= place[w.To] && (!from || !to || a.Time < z.Time) {
				t.Fatalf("%s: %s is number %d, %s number %d", w.Name, w.From, place[w.From], w.To, place[w.To])
			}
		}
	})
}

// checkAll runs everything that follows on reading.
func checkAll(t *testing.T, p Profile, m Measured) {
	r := Check(p, m)
	if never := slices.ContainsFunc(m.Events, func(a At) bool { return a.Never }); never && !r.Wrong() {
		t.Fatal("an event never came, and nothing is wrong")
	}
	if err := Text(io.Discard, r); err != nil {
		t.Fatal(err)
	}
}

func FuzzParseMeasured(f *testing.F) {
	f.Add("supply=0 hpd=85ms data=120ms backlight=90ms")
	f.Add("T3=never t12=1us supply-up=-3600s backlight-off=3600s data-off=never")
	f.Add("T3=85ms supply=0 hpd=300ms light=never light-off=1s")
	f.Add("supply=50ms supply-off=5ms T1=never T1=1h data=never")
	f.Add("T3=85 hdp=3ms = \"x=\" # \xff")
	p, _ := Named("edp")
	f.Fuzz(func(t *testing.T, args string) {
		m, problems := ParseMeasured(p, []string{args})
		for _, x := range problems {
			if x.Line != 1 || x.Column < 1 || x.Width < 1 || x.Report() == "" {
				t.Fatalf("%+v", x)
			}
		}
		if len(problems) == 0 {
			checkAll(t, p, m)
		}
	})
}
