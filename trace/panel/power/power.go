// Package power knows in which order a panel wants its supply, its data and its
// light, and with which time between them.
//
//	p, _ := power.Named("edp")
//	m, problems := power.ParseMeasured(p, []string{"supply=0", "hpd=85ms", "data=120ms", "backlight=90ms"})
//	err := power.Text(w, power.Check(p, m))
package power

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"time"
)

// Time is a span of time. In JSON it is a number of seconds, and null when there
// is no limit.
type Time time.Duration

// Units and limits of Time.
const (
	Microsecond = Time(time.Microsecond)
	Millisecond = Time(time.Millisecond)
	Second      = Time(time.Second)
	// Unlimited is the Max of a window without one.
	Unlimited = Time(math.MaxInt64)
	// maxTime bounds what can be read, so that sums stay far from overflow.
	maxTime = Time(time.Hour)
)

// Seconds is the time in s.
func (t Time) Seconds() float64 { return time.Duration(t).Seconds() }

// String is such as "85 ms", in the largest unit of which t holds one.
func (t Time) String() string {
	if t == Unlimited {
		return "no limit"
	}
	unit, name := unitOf(max(t, -t))
	return t.in(unit) + " " + name
}

func unitOf(size Time) (unit Time, name string) {
	switch {
	case size >= Second:
		return Second, "s"
	case size >= Millisecond || size == 0:
		return Millisecond, "ms"
	}
	return Microsecond, "µs"
}

func (t Time) in(unit Time) string {
	return strconv.FormatFloat(float64(t)/float64(unit), 'f', -1, 64)
}

// MarshalJSON writes seconds, or null for Unlimited.
func (t Time) MarshalJSON() ([]byte, error) {
	if t == Unlimited {
		return []byte("null"), nil
	}
	return json.Marshal(t.Seconds())
}

// Span is a stretch of times, both ends included.
type Span struct {
	Min Time `json:"min_seconds"`
	Max Time `json:"max_seconds"` // Unlimited for none
}

// String is such as "0 … 200 ms", "at least 500 ms".
func (s Span) String() string {
	switch {
	case s.Max == Unlimited && s.Min == 0:
		return "any time after"
	case s.Max == Unlimited:
		return "at least " + s.Min.String()
	case s.Min == s.Max:
		return s.Min.String()
	}
	unit, name := unitOf(max(s.Min, -s.Min, s.Max, -s.Max))
	if s.Min != 0 && max(s.Min, -s.Min) < unit/100 {
		return s.Min.String() + " … " + s.Max.String()
	}
	return s.Min.in(unit) + " … " + s.Max.in(unit) + " " + name
}

// Window is a stretch of time that a panel wants between two events.
type Window struct {
	Name string `json:"name"` // as data sheets have it: T1, T2 …
	From Event  `json:"from"`
	To   Event  `json:"to"`
	Span
	Doc    string `json:"doc,omitempty"`
	Source string `json:"source,omitempty"` // where the numbers come from
}

// Profile is the order that one kind of panel wants.
type Profile struct {
	Name    string   `json:"name"`
	Title   string   `json:"title"`
	Windows []Window `json:"-"` // in a report with their verdicts
	Notes   []string `json:"notes,omitempty"`
}

// window returns the window of a name, whatever the case of its letters, or nil.
func (p *Profile) window(name string) *Window {
	for i := range p.Windows {
		if strings.EqualFold(p.Windows[i].Name, name) {
			return &p.Windows[i]
		}
	}
	return nil
}

// has reports whether a window of the profile begins or ends with e.
func (p *Profile) has(e Event) bool {
	for _, w := range p.Windows {
		if w.From == e || w.To == e {
			return true
		}
	}
	return false
}

// events lists what the windows are about, in the usual order.
func (p *Profile) events() []Event {
	var list []Event
	for e := range eventCount {
		if p.has(e) {
			list = append(list, e)
		}
	}
	return list
}
