package power

import (
	"fmt"
	"slices"
	"strings"
)

// Chain is a stretch over more than one window, or between two edges of one signal,
// that is wrong although none of its windows can be judged alone.
type Chain struct {
	From    Event    `json:"from"`
	To      Event    `json:"to"`
	Windows []string `json:"windows,omitempty"` // what lies between them
	Value   Time     `json:"value_seconds"`
	Says    string   `json:"says"`
}

// step is one piece of a chain: a window, or two edges of one signal, which come in
// their order and have no name.
type step struct {
	name     string
	from, to Event
	Span
}

// steps lists the pieces between events that are not stopped.
func steps(p *Profile, f *fates) []step {
	var list []step
	add := func(s step) {
		if !f.stopped[s.from] && !f.stopped[s.to] {
			list = append(list, s)
		}
	}
	for _, w := range p.Windows {
		add(step{w.Name, w.From, w.To, w.Span})
	}
	for _, s := range edgeOrder() {
		add(s)
	}
	return list
}

// edgeOrder is the order in which the edges of every signal come.
func edgeOrder() []step {
	var list []step
	for e := range eventCount {
		if by, ok := e.before(); ok {
			list = append(list, step{"", by, e, Span{0, Unlimited}})
		}
	}
	return list
}

// routes holds the ways from one event to all others, and what each step adds.
type routes struct {
	at  [eventCount]Time
	via [eventCount]int // the last step, -1 for none
	all []step
}

// longest finds the ways on which the least times add up to most, shortest those on
// which the greatest times add up to least.
func longest(from Event, all []step) *routes {
	return route(from, all, func(s step) Time { return s.Min }, func(a, b Time) bool { return a > b })
}

func shortest(from Event, all []step) *routes {
	return route(from, all, func(s step) Time { return s.Max }, func(a, b Time) bool { return a < b })
}

func route(from Event, all []step, length func(step) Time, better func(a, b Time) bool) *routes {
	r := routes{all: all}
	for e := range r.via {
		r.via[e] = -1
	}
	for range eventCount {
		for i, s := range all {
			if s.to == from || s.from != from && r.via[s.from] < 0 || length(s) == Unlimited {
				continue
			}
			if t := r.at[s.from] + length(s); r.via[s.to] < 0 || better(t, r.at[s.to]) {
				r.at[s.to], r.via[s.to] = t, i
			}
		}
	}
	return &r
}

// offTime finds what must pass from an event of a start to one of the way down. A
// start may be broken off, so that what lies between them may be left out: only
// windows on the way down count, between signals of which both events tell.
func offTime(from, to Event, all []step) *routes {
	sure := func(e Event) bool { return e.down() && (e.Signal() == from.Signal() || e.Signal() == to.Signal()) }
	counted := slices.Clone(all)
	for i := range counted {
		if s := &counted[i]; !sure(s.from) || !sure(s.to) {
			s.Min = 0
		}
	}
	return longest(from, counted)
}

// asking lists the windows on the way to an event that ask for any time.
func (r *routes) asking(to Event) []string {
	var list []string
	for _, s := range r.path(to) {
		if s.Min > 0 {
			list = append(list, s.name)
		}
	}
	return list
}

// path lists the steps to an event.
func (r *routes) path(to Event) []step {
	var list []step
	for range r.all {
		if r.via[to] < 0 {
			break
		}
		s := r.all[r.via[to]]
		list = append(list, s)
		to = s.from
	}
	slices.Reverse(list)
	return list
}

// names lists the windows on the way to an event.
func (r *routes) names(to Event) []string {
	var list []string
	for _, s := range r.path(to) {
		if s.name != "" {
			list = append(list, s.name)
		}
	}
	return list
}

// ways are all routes of a profile, beside what was measured.
type ways struct {
	steps       []step // without those of events that are stopped
	least, most [eventCount]*routes
	order       [eventCount]*routes // with what never came: the order does not depend on it
	bounds      *bounds
	results     []Result
	fates       *fates
}

// chains finds the stretches between measured events that break what lies between
// them, the shortest ones, and none in which a window is known to be wrong.
func chains(p *Profile, f *fates, b *bounds, results []Result) []Chain {
	w := ways{steps: steps(p, f), bounds: b, results: results, fates: f}
	whole := steps(p, &fates{})
	for e := range eventCount {
		w.least[e], w.most[e], w.order[e] = longest(e, w.steps), shortest(e, w.steps), longest(e, whole)
	}
	var list []Chain
	for from := range eventCount {
		for to := range eventCount {
			if from == to || !b.exact(from, to) {
				continue
			}
			if c, wrong := w.chain(from, to); wrong {
				list = append(list, c)
			}
		}
	}
	return list
}

// leads tells whether one event comes after another by any of the routes.
func leads(by *[eventCount]*routes, from, to Event) bool {
	return from == to || by[from].via[to] >= 0
}

// chain judges the stretch between two measured events.
func (w *ways) chain(from, to Event) (c Chain, wrong bool) {
	c = Chain{From: from, To: to, Value: w.bounds[from][to]}
	if !leads(&w.least, from, to) {
		wrong = c.Value < 0 && leads(&w.order, from, to) && !w.told(&w.order, from, to)
		if wrong {
			c.Says = c.early(0)
		}
		return c, wrong
	}
	if w.told(&w.least, from, to) {
		return c, false
	}
	least, most := w.least[from], w.most[from]
	over, off := !from.down() && to.down(), offTime(from, to, w.steps)
	switch {
	case over && c.Value < 0:
		c.Says = c.early(0)
	case over && c.Value < off.at[to]:
		c.Windows = off.asking(to)
		c.Says = c.early(off.at[to])
	case !over && c.Value < least.at[to]:
		c.Windows = least.names(to)
		c.Says = c.early(least.at[to])
	case most.via[to] >= 0 && c.Value > most.at[to]:
		c.Windows = most.names(to)
		c.Says = fmt.Sprintf("%s came %s after %s, %s too late: %s allow %s at most",
			to, c.Value, from, c.Value-most.at[to], together(c.Windows), most.at[to])
	default:
		return c, false
	}
	return c, true
}

// told tells whether a stretch needs no word of its own: it is a window, a window on
// the way is known to be wrong, or a measured event on the way makes it two.
func (w *ways) told(by *[eventCount]*routes, from, to Event) bool {
	for _, r := range w.results {
		if (r.Status.Wrong() && !w.fates.stopped[r.To] || r.From == from && r.To == to) && leads(by, from, r.From) && leads(by, r.To, to) {
			return true
		}
	}
	for e := range eventCount {
		if e != from && e != to && w.bounds.exact(from, e) && leads(by, from, e) && leads(by, e, to) {
			return true
		}
	}
	return false
}

func (c *Chain) early(least Time) string {
	if c.Value >= 0 {
		by := (least - c.Value).String()
		if !c.From.down() && c.To.down() {
			by = "at least " + by // the time that it runs comes on top
		}
		ask := together(c.Windows) + " ask"
		if len(c.Windows) == 1 {
			ask = c.Windows[0] + " asks"
		}
		return fmt.Sprintf("%s came %s after %s, %s too early: %s for at least %s", c.To, c.Value, c.From, by, ask, least)
	}
	says := fmt.Sprintf("%s came %s BEFORE %s; it should come ", c.To, -c.Value, c.From)
	if least > 0 {
		says += fmt.Sprintf("at least %s ", least)
	}
	says += "after it"
	if len(c.Windows) > 0 {
		says += ", by " + strings.Join(c.Windows, ", ")
	}
	if c.From.Signal() == Supply && c.To.Signal() == Supply && !c.From.down() && c.To.down() {
		says += ". A supply that comes on once more is " + SupplyAgain.Name()
	}
	return says
}

// together is "T4, T5 together".
func together(windows []string) string { return strings.Join(windows, ", ") + " together" }
