package power

import (
	"fmt"
	"strings"
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
	NotJudged // the first event did not come
)

var statusNames = [...]string{"not measured", "in range", "too early", "too late", "cannot tell", "never came", "cannot be judged"}

func (s Status) String() string { return statusNames[s] }

// MarshalText writes the word for the verdict.
func (s Status) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Wrong tells whether the panel does not get what it wants.
func (s Status) Wrong() bool { return s == TooEarly || s == TooLate || s == Never }

// Result is the verdict on one window, with what it means.
type Result struct {
	Window
	Status Status `json:"status"`
	Value  *Span  `json:"value,omitempty"` // what was measured, as far as it is known
	By     Time   `json:"by_seconds,omitempty"`
	Says   string `json:"says"`
	Means  string `json:"means,omitempty"` // what the eye or the board may show
	Basis  string `json:"basis,omitempty"` // where Means and Look come from
	Look   []Look `json:"look_at,omitempty"`
}

// Look is one thing to probe or to suspect.
type Look string

// Missing is an event that never came.
type Missing struct {
	Event    Event    `json:"event"`
	WaitsFor string   `json:"waits_for"`
	Blocked  []string `json:"windows_not_judged,omitempty"` // windows that need it
}

// Report is what was measured beside what the panel wants.
type Report struct {
	Profile  Profile   `json:"profile"`
	Measured Measured  `json:"measured"`
	Results  []Result  `json:"windows"`
	Order    []string  `json:"wrong_order,omitempty"`
	Missing  []Missing `json:"never_came,omitempty"`
	Doubts   []string  `json:"given_twice,omitempty"` // where a window and its events say different things
	Verdict  string    `json:"verdict"`
	Cautions []string  `json:"cautions"`
}

// Check compares what was measured with the windows of a profile.
func Check(p Profile, m Measured) Report {
	r := Report{Profile: p, Measured: m, Cautions: cautions}
	for i := range p.Windows {
		res := judge(&p, &m, &p.Windows[i])
		if res.Value != nil && res.Value.Max < 0 && res.Status == TooEarly {
			r.Order = append(r.Order, res.Says)
		}
		r.Results = append(r.Results, res)
	}
	r.Doubts = doubts(&p, &m)
	for e := range eventCount {
		if missed(&p, &m, e) {
			r.Missing = append(r.Missing, Missing{e, waitsFor(&p, e), blocked(&p, r.Results, e)})
		}
	}
	r.Verdict = r.verdict()
	return r
}

// doubts finds windows that were given with a time of their own and, by events,
// with another one.
func doubts(p *Profile, m *Measured) []string {
	var list []string
	for _, v := range m.Values {
		w := p.window(v.Window)
		if w == nil || v.Never {
			continue
		}
		from, begins := m.at(w.From)
		to, ends := m.at(w.To)
		if gap := to.Time - from.Time; begins && ends && !from.Never && !to.Never && gap != v.Time {
			list = append(list, fmt.Sprintf("%s was given as %s, and its events are %s apart: the time with the name is used.", w.Name, v.Time, gap))
		}
	}
	return list
}

// missed tells whether an event was looked for and did not come.
func missed(p *Profile, m *Measured, e Event) bool {
	if a, ok := m.at(e); ok {
		return a.Never
	}
	for _, v := range m.Values {
		if w := p.window(v.Window); v.Never && w != nil && w.To == e {
			return true
		}
	}
	return false
}

// waitsFor says what an event that never came may be waiting for.
func waitsFor(p *Profile, e Event) string {
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

// blocked lists the windows that cannot be judged as long as e does not come:
// those that begin with it, and those further on that nothing was measured for.
func blocked(p *Profile, results []Result, e Event) []string {
	var reached [eventCount]bool
	reached[e] = true
	for range p.Windows {
		for _, w := range p.Windows {
			reached[w.To] = reached[w.To] || reached[w.From]
		}
	}
	var list []string
	for _, res := range results {
		if reached[res.From] && (res.Status == NotJudged || res.Status == NotMeasured) {
			list = append(list, res.Name)
		}
	}
	return list
}

// moment is when an event happened: between two times where only the other end
// of a slope was measured.
type moment struct {
	Span
	known, never bool
}

func when(p *Profile, m *Measured, e Event) moment {
	if a, ok := m.at(e); ok {
		return moment{Span{a.Time, a.Time}, !a.Never, a.Never}
	}
	if missed(p, m, e) {
		return moment{never: true}
	}
	for i := range p.Windows {
		w := &p.Windows[i]
		if w.To != e || !ramp(w.From, e) {
			continue
		}
		a, ok := m.at(w.From)
		slope := w.Span
		if v, measured := m.value(w.Name); measured && !v.Never {
			slope = Span{v.Time, v.Time}
		}
		switch {
		case ok && a.Never:
			return moment{never: true}
		case ok && slope.Max != Unlimited:
			return moment{Span{a.Time + slope.Min, a.Time + slope.Max}, true, false}
		}
	}
	return moment{}
}

// judge gives the verdict on one window.
func judge(p *Profile, m *Measured, w *Window) Result {
	res := Result{Window: *w}
	if v, ok := m.value(w.Name); ok {
		if v.Never {
			res.Status = Never
		} else {
			res.Value = &Span{v.Time, v.Time}
		}
	} else {
		from, to := when(p, m, w.From), when(p, m, w.To)
		if _, seen := m.at(w.To); ramp(w.From, w.To) && !seen {
			to = moment{never: from.never} // what the window itself says about its end proves nothing
		}
		switch {
		case from.never:
			res.Status = NotJudged
		case to.never:
			res.Status = Never
		case from.known && to.known:
			res.Value = &Span{to.Min - from.Max, to.Max - from.Min}
		}
	}
	if v := res.Value; v != nil {
		switch {
		case v.Max < w.Min:
			res.Status, res.By = TooEarly, w.Min-v.Max
		case v.Min > w.Max:
			res.Status, res.By = TooLate, v.Min-w.Max
		case v.Min >= w.Min && v.Max <= w.Max:
			res.Status = InRange
		default:
			res.Status = Unsure
		}
	}
	res.Says = res.says()
	res.explain()
	return res
}

// says puts the verdict into one sentence.
func (r *Result) says() string {
	from, to := r.From.String(), r.To.String()
	switch r.Status {
	case NotMeasured:
		return fmt.Sprintf("%s to %s was not measured", from, to)
	case NotJudged:
		return fmt.Sprintf("cannot be judged: %s never came", from)
	case Never:
		return fmt.Sprintf("%s never came", to)
	case InRange:
		return fmt.Sprintf("%s came %s after %s", to, r.Value, from)
	case TooLate:
		return fmt.Sprintf("%s came %s after %s, %s too late", to, r.Value, from, r.By)
	case Unsure:
		return fmt.Sprintf("%s came %s after %s: measure both to tell", to, r.Value, from)
	}
	if r.Value.Max < 0 {
		before := Span{-r.Value.Max, -r.Value.Min}
		return fmt.Sprintf("%s came %s BEFORE %s; it should come %safter it", to, before, from, r.wanted())
	}
	return fmt.Sprintf("%s came %s after %s, %s too early", to, r.Value, from, r.By)
}

// wanted is the window as it stands before "after it".
func (r *Result) wanted() string {
	if r.Min == 0 && r.Max == Unlimited {
		return ""
	}
	return fmt.Sprintf("%s ", r.Span)
}

// verdict sums a report up.
func (r *Report) verdict() string {
	var count [len(statusNames)]int
	for _, res := range r.Results {
		count[res.Status]++
	}
	judged := len(r.Results) - count[NotMeasured] - count[NotJudged]
	wrong := count[TooEarly] + count[TooLate] + count[Never]
	switch {
	case judged == 0 && len(r.Missing) == 0 && len(r.Measured.Events) > 0:
		return "no window can be judged by these events alone; measure both ends of one"
	case judged == 0 && len(r.Missing) == 0:
		return fmt.Sprintf("nothing measured yet; the panel wants %d windows", len(r.Results))
	case wrong > 0:
		return fmt.Sprintf("%d of %d measured windows are wrong", wrong, judged)
	case len(r.Missing) > 0:
		return fmt.Sprintf("%s never came", r.Missing[0].Event)
	case count[Unsure] > 0:
		return fmt.Sprintf("%d of %d measured windows are in range, for the others measure more", count[InRange], judged)
	}
	if count[InRange] == len(r.Results) {
		return fmt.Sprintf("all %d windows are in range", len(r.Results))
	}
	return fmt.Sprintf("%s in range, %d not measured", plural(count[InRange], "window"), len(r.Results)-judged)
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
