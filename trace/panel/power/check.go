package power

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
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

// Wrong tells whether the panel does not get what it wants.
func (s Status) Wrong() bool { return s == TooEarly || s == TooLate || s == Never }

// Result is the verdict on one window, with what it means.
type Result struct {
	Window
	Status Status `json:"status"`
	// Contradicted tells that other times say something else of this window.
	Contradicted bool   `json:"contradicted,omitempty"`
	Value        *Span  `json:"value,omitempty"` // what was measured, as far as it is known
	By           Time   `json:"by_seconds,omitempty"`
	Says         string `json:"says"`
	Means        string `json:"means,omitempty"` // what the eye or the board may show
	Basis        string `json:"basis,omitempty"` // where Means and Look come from
	Look         []Look `json:"look_at,omitempty"`
	root         Event  // with NotJudged: the event that never came
}

// Look is one thing to probe or to suspect.
type Look string

// Missing is an event that never came.
type Missing struct {
	Event    Event    `json:"event"`
	WaitsFor string   `json:"waits_for"`
	Blocked  []string `json:"windows_not_judged,omitempty"` // windows that need it
	// What it means, where no window says it.
	Means string `json:"means,omitempty"`
	Basis string `json:"basis,omitempty"`
	Look  []Look `json:"look_at,omitempty"`
	// Though is what came all the same.
	Though []Though `json:"came_all_the_same,omitempty"`
}

// Report is what was measured beside what the panel wants.
type Report struct {
	Profile  Profile   `json:"profile"`
	Measured Measured  `json:"measured"`
	Results  []Result  `json:"windows"`
	Order    []string  `json:"wrong_order,omitempty"`
	Chains   []Chain   `json:"wrong_chains,omitempty"`
	Missing  []Missing `json:"never_came,omitempty"`
	// Contradictions are measured times that cannot all be true.
	Contradictions []string `json:"contradictions,omitempty"`
	Verdict        string   `json:"verdict"`
	Cautions       []string `json:"cautions"`
}

// Wrong tells whether the panel does not get what it wants, or the measured times
// contradict each other.
func (r Report) Wrong() bool {
	return len(r.Missing) > 0 || len(r.Contradictions) > 0 || len(r.Chains) > 0 ||
		slices.ContainsFunc(r.Results, func(x Result) bool { return x.Status.Wrong() })
}

// Check compares what was measured with the windows of a profile.
func Check(p Profile, m Measured) Report {
	p.Windows = append(make([]Window, 0, len(p.Windows)), p.Windows...) // no null in JSON
	r := Report{Profile: p, Measured: m, Results: make([]Result, 0, len(p.Windows)), Cautions: cautions}
	f := fatesOf(&p, &m)
	b, clashes := given(&p, &m)
	clashes = append(clashes, neverClashes(&p, &m, f)...)
	for _, c := range clashes {
		r.Contradictions = append(r.Contradictions, c.says)
	}
	for i := range p.Windows {
		res := judge(&p, &m, f, &p.Windows[i])
		res.Contradicted = slices.ContainsFunc(clashes, func(c clash) bool { return c.window == res.Name })
		if res.Value != nil && res.Value.Max < 0 && res.Status == TooEarly {
			r.Order = append(r.Order, res.Says)
		}
		r.Results = append(r.Results, res)
	}
	for _, c := range chains(&p, f, b, r.Results) {
		r.Chains = append(r.Chains, c)
		if c.Value < 0 {
			r.Order = append(r.Order, c.Says)
		}
	}
	for e := range eventCount {
		if f.never[e] {
			r.Missing = append(r.Missing, missing(&p, &m, f, r.Results, e))
		}
	}
	r.Verdict = r.verdict()
	return r
}

// missing tells what an event that never came waits for, and what it means.
func missing(p *Profile, m *Measured, f *fates, results []Result, e Event) Missing {
	miss := Missing{Event: e, WaitsFor: waitsFor(p, e), Though: though(p, m, f, e)}
	told := false
	for _, res := range results {
		told = told || res.Status == Never && res.To == e
		if res.Status == NotJudged && res.root == e {
			miss.Blocked = append(miss.Blocked, res.Name)
		}
	}
	for _, w := range p.Windows {
		if x := ruleFor(w.From, w.To, Never); !told && w.To == e && x != nil {
			miss.Means, miss.Look, miss.Basis = x.meaning(len(miss.Though) > 0), x.look, practice
			break
		}
	}
	return miss
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

// when is the time of an event: a stretch where only the other end of a slope was
// measured.
func when(p *Profile, m *Measured, e Event) (Span, bool) {
	if a, ok := m.at(e); ok {
		return Span{a.Time, a.Time}, !a.Never
	}
	for i := range p.Windows {
		w := &p.Windows[i]
		a, ok := m.at(w.From)
		if w.To != e || !ramp(w.From, e) || !ok || a.Never {
			continue
		}
		slope := w.Span
		if v, measured := m.value(w.Name); measured && !v.Never {
			slope = Span{v.Time, v.Time}
		}
		if slope.Max != Unlimited {
			return Span{a.Time + slope.Min, a.Time + slope.Max}, true
		}
	}
	return Span{}, false
}

// judge gives the verdict on one window.
func judge(p *Profile, m *Measured, f *fates, w *Window) Result {
	res := Result{Window: *w}
	from, begins := when(p, m, w.From)
	to, ends := when(p, m, w.To)
	if _, seen := m.at(w.To); ramp(w.From, w.To) && !seen {
		ends = false // what the window itself says about its end proves nothing
	}
	v, given := m.value(w.Name)
	switch {
	case given && v.Never:
		res.Status = Never
	case given:
		res.Value = &Span{v.Time, v.Time}
	case f.stopped[w.From]:
		res.Status, res.root = NotJudged, f.root[w.From]
	case f.never[w.To] && (f.came[w.From] || begins):
		res.Status = Never
	case f.stopped[w.To]:
		res.Status, res.root = NotJudged, f.root[w.To]
	case begins && ends:
		res.Value = &Span{to.Min - from.Max, to.Max - from.Min}
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
	res.explain(f.never[w.To] && len(though(p, m, f, w.To)) > 0)
	return res
}

// says puts the verdict into one sentence.
func (r *Result) says() string {
	from, to := r.From.String(), r.To.String()
	switch r.Status {
	case NotMeasured:
		return fmt.Sprintf("%s to %s was not measured", from, to)
	case NotJudged:
		if r.root == r.To {
			return fmt.Sprintf("cannot be judged: %s never came, and %s was not measured", to, from)
		}
		return fmt.Sprintf("cannot be judged: %s never came", r.root)
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
	var parts []string
	if text := r.contradicted(); text != "" {
		parts = append(parts, text)
	}
	if len(r.Missing) > 0 {
		var names, came []string
		for _, m := range r.Missing {
			names = append(names, m.Event.String())
			for _, t := range m.Though {
				if !slices.Contains(came, t.Event.String()) {
					came = append(came, t.Event.String())
				}
			}
		}
		parts = append(parts, few(names)+" never came")
		if len(came) > 0 {
			parts = append(parts, few(came)+" came all the same")
		}
	}
	if len(r.Chains) > 0 {
		more := ""
		if n := len(r.Chains) - 1; n > 0 {
			more = fmt.Sprintf(", and %d more", n)
		}
		parts = append(parts, fmt.Sprintf("%s to %s is wrong%s", r.Chains[0].From, r.Chains[0].To, more))
	}
	if text := r.counts(); text != "" || len(parts) > 0 {
		if text != "" {
			parts = append(parts, text)
		}
		return strings.Join(parts, "; ")
	}
	if len(r.Measured.Events) > 0 {
		return "no window can be judged by these events alone; measure both ends of one"
	}
	return "nothing measured yet; the panel wants " + netlist.Count(len(r.Results), "window")
}

// contradicted names the windows of which other times say something else.
func (r *Report) contradicted() string {
	if len(r.Contradictions) == 0 {
		return ""
	}
	text := "the measured times contradict each other"
	var names []string
	for _, res := range r.Results {
		if res.Contradicted {
			names = append(names, res.Name)
		}
	}
	if len(names) > 0 {
		text += " in " + few(names)
	}
	return text
}

// counts sums up the windows that were measured, and that nothing contradicts; ""
// where there are none.
func (r *Report) counts() string {
	var count [len(statusNames)]int
	judged := 0
	for _, res := range r.Results {
		if !res.Contradicted && res.Status != NotMeasured && res.Status != NotJudged {
			count[res.Status]++
			judged++
		}
	}
	switch wrong := count[TooEarly] + count[TooLate] + count[Never]; {
	case judged == 0:
		return ""
	case wrong > 0 && judged == 1:
		return "the one measured window is wrong"
	case wrong > 0:
		return fmt.Sprintf("%d of %d measured windows are wrong", wrong, judged)
	case count[Unsure] > 0 && judged == 1:
		return "the one measured window may be in range or not, measure more"
	case count[Unsure] > 0:
		return fmt.Sprintf("%d of %d measured windows are in range, for the others measure more", count[InRange], judged)
	case judged == len(r.Results) && judged == 1:
		return "the one window is in range"
	case judged == len(r.Results):
		return fmt.Sprintf("all %d windows are in range", judged)
	}
	return fmt.Sprintf("%s in range, %d not measured", netlist.Count(count[InRange], "window"), len(r.Results)-judged)
}
