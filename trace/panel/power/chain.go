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

// chains finds the stretches between measured events that break what lies between
// them, the shortest ones, and none in which a window is known to be wrong.
func chains(p *Profile, f *fates, b *bounds, results []Result) []Chain {
	all := steps(p, f)
	var least, most [eventCount]*routes
	for e := range eventCount {
		least[e], most[e] = longest(e, all), shortest(e, all)
	}
	leads := func(from, to Event) bool { return from == to || least[from].via[to] >= 0 }
	told := func(from, to Event) bool {
		for _, r := range results {
			if (r.Status.Wrong() || r.From == from && r.To == to) && leads(from, r.From) && leads(r.To, to) {
				return true
			}
		}
		for e := range eventCount {
			if e != from && e != to && b.exact(from, e) && leads(from, e) && leads(e, to) {
				return true
			}
		}
		return false
	}
	var list []Chain
	for from := range eventCount {
		for to := range eventCount {
			if from == to || !b.exact(from, to) || !leads(from, to) || told(from, to) {
				continue
			}
			c := Chain{From: from, To: to, Value: b[from][to]}
			over := !from.down() && to.down() // what lies between may be left out: a start that is broken off
			switch {
			case over && c.Value < 0:
				c.Says = c.early(0)
			case !over && c.Value < least[from].at[to]:
				c.Windows = least[from].names(to)
				c.Says = c.early(least[from].at[to])
			case most[from].via[to] >= 0 && c.Value > most[from].at[to]:
				c.Windows = most[from].names(to)
				c.Says = fmt.Sprintf("%s came %s after %s, %s too late: %s allow %s at most",
					to, c.Value, from, c.Value-most[from].at[to], together(c.Windows), most[from].at[to])
			default:
				continue
			}
			list = append(list, c)
		}
	}
	return list
}

func (c *Chain) early(least Time) string {
	if c.Value >= 0 {
		return fmt.Sprintf("%s came %s after %s, %s too early: %s ask for at least %s",
			c.To, c.Value, c.From, least-c.Value, together(c.Windows), least)
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
