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
	root Event // with NotJudged: the event that never came
}

// Meaning is what a wrong window comes to.
type Meaning struct {
	Means string `json:"means,omitempty"` // what the eye or the board may show
	Basis string `json:"basis,omitempty"` // where Means and Look come from
	Look  []Look `json:"look_at,omitempty"`
}

// Look is one thing to probe or to suspect.
type Look string

// Chain is two measured events that are too near, too far or in the wrong order for the
// windows between them, although none of these can be judged alone.
type Chain struct {
	From  Event  `json:"from"`
	To    Event  `json:"to"`
	Value Time   `json:"value_seconds"`
	Says  string `json:"says"`
}

// Missing is an event that never came.
type Missing struct {
	Event    Event    `json:"event"`
	WaitsFor string   `json:"waits_for"`
	Blocked  []string `json:"windows_not_judged,omitempty"` // windows that need it
	Meaning           // where no window says it
}

// Report is what was measured beside what the panel wants.
type Report struct {
	Profile  Profile   `json:"profile"`
	Measured Measured  `json:"measured"`
	Results  []Result  `json:"windows"`
	Chains   []Chain   `json:"wrong_chains,omitempty"`
	Missing  []Missing `json:"never_came,omitempty"`
	// Contradictions are measured times that cannot all be true.
	Contradictions []string `json:"contradictions,omitempty"`
	Verdict        string   `json:"verdict"`
	Cautions       []string `json:"cautions"`
}

// Wrong reports whether the panel does not get what it wants, or the measured times
// contradict each other.
func (r Report) Wrong() bool {
	return len(r.Missing) > 0 || len(r.Contradictions) > 0 || len(r.Chains) > 0 ||
		slices.ContainsFunc(r.Results, func(x Result) bool { return x.Status.Wrong() })
}

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
	for _, c := range r.Chains {
		add(c.To)
	}
	return list
}

// Check compares what was measured with the windows of a profile.
func Check(p Profile, m Measured) Report {
	p.Windows = append(make([]Window, 0, len(p.Windows)), p.Windows...) // no null in JSON
	r := Report{Profile: p, Measured: m, Results: make([]Result, 0, len(p.Windows)), Cautions: cautions}
	f := fatesOf(&p, &m)
	r.Contradictions = contradictions(&p, &m, f)
	for i := range p.Windows {
		r.Results = append(r.Results, judge(&p, &m, f, &p.Windows[i]))
	}
	r.Chains = chains(&p, &m, f, r.Results)
	for e := range eventCount {
		if f.never[e] {
			r.Missing = append(r.Missing, missing(&p, r.Results, e))
		}
	}
	r.Verdict = r.verdict()
	return r
}

// missing tells what an event that never came waits for, and what it means.
func missing(p *Profile, results []Result, e Event) Missing {
	miss := Missing{Event: e, WaitsFor: events[e].waits}
	var before []string
	told := false
	for _, res := range results {
		if res.To == e {
			before = append(before, res.From.String())
		}
		told = told || res.Status == Never && res.To == e
		if res.Status == NotJudged && res.root == e {
			miss.Blocked = append(miss.Blocked, res.Name)
		}
	}
	if len(before) > 0 {
		miss.WaitsFor = strings.Join(before, " and ") + "; then " + miss.WaitsFor
	}
	for _, w := range p.Windows {
		if x := ruleFor(w.From, w.To, Never); !told && w.To == e && x != nil {
			miss.Meaning = x.meaning()
			break
		}
	}
	return miss
}

// when is the time of an event and what it may be off by: a stretch where only the
// other end of a slope was measured.
func when(p *Profile, m *Measured, e Event) (at Span, tolerance Time, ok bool) {
	if a, ok := m.at(e); ok {
		return Span{a.Time, a.Time}, a.Tolerance, !a.Never
	}
	for i := range p.Windows {
		w := &p.Windows[i]
		a, ok := m.at(w.From)
		if w.To != e || !ramp(w.From, e) || !ok || a.Never {
			continue
		}
		slope := w.Span
		if v, measured := m.value(w.Name); measured && !v.Never {
			slope, a.Tolerance = Span{v.Time, v.Time}, a.Tolerance+v.Tolerance
		}
		if slope.Max != Unlimited {
			return Span{a.Time + slope.Min, a.Time + slope.Max}, a.Tolerance, true
		}
	}
	return Span{}, 0, false
}

// judge gives the verdict on one window.
func judge(p *Profile, m *Measured, f *fates, w *Window) Result {
	res := Result{Window: *w}
	from, loose, begins := when(p, m, w.From)
	to, slack, ends := when(p, m, w.To)
	if _, seen := m.at(w.To); ramp(w.From, w.To) && !seen {
		ends = false // what the window itself says about its end proves nothing
	}
	v, given := m.value(w.Name)
	switch {
	case given && v.Never:
		res.Status = Never
	case given:
		res.Value, res.Tolerance = &Span{v.Time, v.Time}, v.Tolerance
	case f.stopped[w.From]:
		res.Status, res.root = NotJudged, f.root[w.From]
		if f.came[w.To] && !needs(w.To, w.From) && (res.root.down() || !w.To.down()) {
			res.Status = TooEarly // all the same
		}
	case f.never[w.To] && (f.came[w.From] || begins):
		res.Status = Never
	case f.stopped[w.To]:
		res.Status, res.root = NotJudged, f.root[w.To]
	case begins && ends:
		res.Value, res.Tolerance = &Span{to.Min - from.Max, to.Max - from.Min}, loose+slack
	}
	res.compare()
	if res.Status != TooEarly || res.Value != nil {
		res.Says = res.says()
		res.explain(w.From)
		return res
	}
	res.Says = fmt.Sprintf("%s came%s although %s never came", w.To, m.atText(w.To), res.root)
	if res.explain(w.From); ruleFor(res.root, w.To, TooEarly) != nil {
		res.explain(res.root)
	}
	return res
}

// compare sets what was measured beside the window. What lies outside by no more than
// the times may be off is not called wrong.
func (r *Result) compare() {
	v := r.Value
	switch {
	case v == nil:
	case v.Max+r.Tolerance < r.Min:
		r.Status, r.By = TooEarly, r.Min-v.Max
	case r.Max != Unlimited && v.Min-r.Tolerance > r.Max:
		r.Status, r.By = TooLate, v.Min-r.Max
	case v.Min >= r.Min && v.Max <= r.Max:
		r.Status = InRange
	default:
		r.Status = Unsure
	}
}

// says puts the verdict into one sentence.
func (r *Result) says() string {
	from, to := r.From.String(), r.To.String()
	switch r.Status {
	case NotMeasured:
		return fmt.Sprintf("%s to %s was not measured", from, to)
	case NotJudged:
		return fmt.Sprintf("cannot be judged: %s never came", r.root)
	case Never:
		return fmt.Sprintf("%s never came", to)
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
	if r.Value.Max < 0 {
		return fmt.Sprintf("%s came %s BEFORE %s; it should come %safter it", to, Span{-r.Value.Max, -r.Value.Min}, from, r.wanted())
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
	var parts []string
	if len(r.Contradictions) > 0 {
		parts = append(parts, "the measured times contradict each other")
	}
	if len(r.Missing) > 0 {
		var names []string
		for _, m := range r.Missing {
			names = append(names, m.Event.String())
		}
		parts = append(parts, few(names)+" never came")
	}
	for i, c := range r.Chains {
		if i == 0 {
			parts = append(parts, fmt.Sprintf("%s to %s is wrong", c.From, c.To))
		}
	}
	if text := r.counts(); text != "" {
		parts = append(parts, text)
	}
	switch {
	case len(parts) > 0:
		return strings.Join(parts, "; ")
	case len(r.Measured.Events) > 0:
		return "no window can be judged by these events alone; measure both ends of one"
	}
	return "nothing measured yet; the panel wants " + say.Count(len(r.Results), "window")
}

// counts sums up the windows that were measured; "" where there are none.
func (r *Report) counts() string {
	var count [len(statusNames)]int
	judged := 0
	for _, res := range r.Results {
		if res.Status != NotMeasured && res.Status != NotJudged {
			count[res.Status]++
			judged++
		}
	}
	switch wrong := count[TooEarly] + count[TooLate] + count[Never]; {
	case judged == 0:
		return ""
	case wrong > 0:
		return fmt.Sprintf("%d of %s wrong", wrong, say.Count(judged, "measured window"))
	case count[Unsure] > 0:
		return fmt.Sprintf("%d of %s in range, for the others measure more", count[InRange], say.Count(judged, "measured window"))
	}
	return fmt.Sprintf("%s in range, %d not measured", say.Count(judged, "window"), len(r.Results)-judged)
}
