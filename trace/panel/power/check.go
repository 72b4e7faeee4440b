package power

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist/say"
)

// Status is the verdict on one window.
type Status uint8

// The verdicts.
const (
	NotMeasured Status = iota
	InRange
	TooEarly
	TooLate
	Unsure    // what was measured leaves it open
	Never     // the second event did not come
	NotJudged // one of its events cannot be there, as another never came
)

var statusNames = [...]string{"not measured", "in range", "too early", "too late", "cannot tell", "never came", "cannot be judged"}

func (s Status) String() string { return statusNames[s] }

// MarshalText writes the word for the verdict.
func (s Status) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Wrong reports whether the panel does not get what it wants.
func (s Status) Wrong() bool { return s == TooEarly || s == TooLate || s == Never }

// Result is the verdict on one window, with what it means.
type Result struct {
	Window
	Status    Status `json:"status"`
	Value     *Span  `json:"value,omitempty"`             // what was measured, as far as it is known
	Tolerance Time   `json:"tolerance_seconds,omitempty"` // of Value, either way
	By        Time   `json:"by_seconds,omitempty"`
	Says      string `json:"says"`
	Meaning
}

// Missing is an event that never came.
type Missing struct {
	Event    Event  `json:"event"`
	WaitsFor string `json:"waits_for"`
}

// Disorder is two events that came the wrong way round, with no window of their own.
type Disorder struct {
	From Event  `json:"from"`
	To   Event  `json:"to"`
	Says string `json:"says"`
}

// Report is what was measured beside what the panel wants.
type Report struct {
	Profile  Profile    `json:"profile"`
	Measured Measured   `json:"measured"`
	Results  []Result   `json:"windows"`
	Order    []Disorder `json:"wrong_order,omitempty"`
	Missing  []Missing  `json:"never_came,omitempty"`
	Verdict  string     `json:"verdict"`
	Cautions []string   `json:"cautions"`
}

// Wrong reports whether the panel does not get what it wants.
func (r Report) Wrong() bool { return len(r.Suspects()) > 0 }

// Suspects lists the signals that came at the wrong time or never, each once.
func (r Report) Suspects() []Signal {
	var list []Signal
	add := func(e Event) {
		if !slices.Contains(list, e.Signal()) {
			list = append(list, e.Signal())
		}
	}
	for _, m := range r.Missing {
		add(m.Event)
	}
	for _, x := range r.Results {
		if x.Status.Wrong() {
			add(x.To)
		}
	}
	for _, d := range r.Order {
		add(d.To)
	}
	return list
}

// Check compares what was measured with the windows of a profile. The time of a window
// itself goes before those of its events.
func Check(p Profile, m Measured) Report {
	r := Report{Profile: p, Measured: m, Results: make([]Result, 0, len(p.Windows)), Cautions: cautions}
	before := p.order()
	root := before.stops(&m)
	for _, w := range p.Windows {
		r.Results = append(r.Results, judge(&p, &m, root, w))
	}
	for e := range eventCount {
		if a, _ := m.at(e); a.Never {
			r.Missing = append(r.Missing, Missing{e, p.waitsFor(e)})
		}
	}
	r.Order = disorder(&p, &m, before)
	r.Verdict = r.verdict()
	return r
}

// waitsFor tells what an event that never came waits for.
func (p *Profile) waitsFor(e Event) string {
	var before []string
	for _, w := range p.Windows {
		if w.To == e {
			before = append(before, w.From.String())
		}
	}
	if len(before) == 0 {
		return events[e].waits
	}
	return strings.Join(before, " and ") + "; then " + events[e].waits
}

// when is the time of an event and what it may be off by: a stretch where only the
// other end of a slope of the supply was measured.
func when(p *Profile, m *Measured, e Event) (at Span, tolerance Time, ok bool) {
	if a, ok := m.at(e); ok {
		return Span{a.Time, a.Time}, a.Tolerance, !a.Never
	}
	for _, w := range p.Windows {
		a, ok := m.at(w.From)
		if w.To != e || !ramp(w.From, e) || !ok || a.Never {
			continue
		}
		slope := w.Span
		if v, measured := m.value(w.Name); measured {
			slope, a.Tolerance = Span{v.Time, v.Time}, a.Tolerance+v.Tolerance
		}
		if slope.Max != Unlimited {
			return Span{a.Time + slope.Min, a.Time + slope.Max}, a.Tolerance, true
		}
	}
	return Span{}, 0, false
}

// judge gives the verdict on one window; root tells what cannot come, and why.
func judge(p *Profile, m *Measured, root map[Event]Event, w Window) Result {
	res := Result{Window: w}
	start := w.From // what a meaning is looked up by
	v, given := m.value(w.Name)
	end, came := m.at(w.To)
	came = came && !end.Never
	never, stopped := root[w.From]
	last, open := root[w.To]
	switch {
	case given:
		res.compare(Span{v.Time, v.Time}, v.Tolerance)
	case stopped && came && never.down() == w.To.down():
		res.Status, res.Says = TooEarly, fmt.Sprintf("%s came at %s although %s never came", w.To, end.Time, never)
		if ruleFor(never, w.To, TooEarly) != nil {
			start = never
		}
	case !stopped && open && last == w.To:
		res.Status, res.Says = Never, fmt.Sprintf("%s never came", w.To)
	case stopped:
		res.Status, res.Says = NotJudged, fmt.Sprintf("cannot be judged: %s never came", never)
	case open:
		res.Status, res.Says = NotJudged, fmt.Sprintf("cannot be judged: %s never came", last)
	case came || !ramp(w.From, w.To): // what a slope's own window says about its end proves nothing
		from, loose, begins := when(p, m, w.From)
		to, slack, ends := when(p, m, w.To)
		if begins && ends {
			res.compare(Span{to.Min - from.Max, to.Max - from.Min}, loose+slack)
		}
	}
	if res.Says == "" {
		res.Says = res.says()
	}
	res.explain(start)
	return res
}

// compare sets what was measured beside the window. What lies outside by no more than
// the times may be off is not called wrong.
func (r *Result) compare(v Span, tolerance Time) {
	r.Value, r.Tolerance = &v, tolerance
	switch {
	case v.Max+tolerance < r.Min:
		r.Status, r.By = TooEarly, r.Min-v.Max
	case r.Max != Unlimited && v.Min-tolerance > r.Max:
		r.Status, r.By = TooLate, v.Min-r.Max
	case v.Min >= r.Min && v.Max <= r.Max:
		r.Status = InRange
	default:
		r.Status = Unsure
	}
}

// says puts a verdict by times into one sentence.
func (r *Result) says() string {
	from, to := r.From.String(), r.To.String()
	switch r.Status {
	case NotMeasured:
		return fmt.Sprintf("%s to %s was not measured", from, to)
	case InRange:
		return fmt.Sprintf("%s came %s after %s", to, r.Value, from)
	case TooLate:
		return fmt.Sprintf("%s came %s after %s, %s too late", to, r.Value, from, r.By)
	case Unsure:
		if r.Value.Min != r.Value.Max {
			return fmt.Sprintf("%s came %s after %s: measure both to tell", to, r.Value, from)
		}
		return fmt.Sprintf("%s came %s after %s, and %s is wanted: too near the border to call it wrong, as the times were read to ±%s",
			to, r.Value, from, r.Span, r.Tolerance)
	}
	if r.Value.Max >= 0 {
		return fmt.Sprintf("%s came %s after %s, %s too early", to, r.Value, from, r.By)
	}
	want := ""
	if r.Min > 0 || r.Max != Unlimited {
		want = fmt.Sprintf("%s ", r.Span)
	}
	return fmt.Sprintf("%s came %s BEFORE %s; it should come %safter it", to, Span{-r.Value.Max, -r.Value.Min}, from, want)
}

// disorder finds pairs of measured events that came the wrong way round, the nearest
// ones; a pair with a window is judged there.
func disorder(p *Profile, m *Measured, before *comesBefore) []Disorder {
	var list []Disorder
	for _, a := range m.Events {
		for _, b := range m.Events {
			between := func(c At) bool { return before[a.Event][c.Event] && before[c.Event][b.Event] }
			window := func(w Window) bool { return w.From == a.Event && w.To == b.Event }
			late := a.Time - b.Time
			if a.Never || b.Never || !before[a.Event][b.Event] || late <= a.Tolerance+b.Tolerance ||
				slices.ContainsFunc(m.Events, between) || slices.ContainsFunc(p.Windows, window) {
				continue
			}
			says := fmt.Sprintf("%s came %s BEFORE %s; it should come after it", b.Event, late, a.Event)
			list = append(list, Disorder{a.Event, b.Event, says})
		}
	}
	return list
}

// verdict sums a report up.
func (r *Report) verdict() string {
	var parts, names []string
	for _, m := range r.Missing {
		names = append(names, m.Event.String())
	}
	if len(names) > 0 {
		parts = append(parts, few(names)+" never came")
	}
	if len(r.Order) > 0 {
		parts = append(parts, fmt.Sprintf("%s came before %s", r.Order[0].To, r.Order[0].From))
	}
	var count [len(statusNames)]int
	for _, x := range r.Results {
		count[x.Status]++
	}
	wrong, good := count[TooEarly]+count[TooLate]+count[Never], count[InRange]
	judged := wrong + good + count[Unsure]
	switch {
	case wrong > 0:
		parts = append(parts, fmt.Sprintf("%d of %s wrong", wrong, say.Count(judged, "measured window")))
	case good < judged:
		parts = append(parts, fmt.Sprintf("%d of %s in range, for the others measure more", good, say.Count(judged, "measured window")))
	case judged > 0:
		parts = append(parts, fmt.Sprintf("%s in range, %d not measured", say.Count(judged, "window"), len(r.Results)-judged))
	case len(parts) == 0 && len(r.Measured.Events) > 0:
		return "no window can be judged by these events alone; measure both ends of one"
	case len(parts) == 0:
		return "nothing measured yet; the panel wants " + say.Count(len(r.Results), "window")
	}
	return strings.Join(parts, "; ")
}
