package power

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist"
)

// At is when an event was seen, counted from any zero.
type At struct {
	Event Event `json:"event"`
	Time  Time  `json:"time_seconds"`
	Never bool  `json:"never,omitempty"` // it did not come
}

// Value is the length that was measured for one window.
type Value struct {
	Window string `json:"window"`
	Time   Time   `json:"time_seconds"`
	Never  bool   `json:"never,omitempty"` // its second event did not come
}

// Measured is what a scope showed: events, windows or both.
type Measured struct {
	Events []At    `json:"events,omitempty"`
	Values []Value `json:"values,omitempty"`
}

// at returns when an event was seen.
func (m *Measured) at(e Event) (At, bool) {
	for _, a := range m.Events {
		if a.Event == e {
			return a, true
		}
	}
	return At{}, false
}

func (m *Measured) value(window string) (Value, bool) {
	for _, v := range m.Values {
		if v.Window == window {
			return v, true
		}
	}
	return Value{}, false
}

const measuredForm = "what was measured, such as T3=85ms, hpd=85ms or hpd=never"

// ParseMeasured reads what was measured: windows of p by name (T3=85ms) or events
// at times of one time base (supply=0 hpd=85ms data=never).
func ParseMeasured(p Profile, args []string) (Measured, []netlist.Problem) {
	var m Measured
	line := strings.ToValidUTF8(strings.Join(args, " "), "\uFFFD")
	r := &lineParser{file: "measured", line: 1, text: line}
	for _, w := range words(line) {
		r.measured(p, &m, w)
	}
	return m, r.problems
}

func (r *lineParser) measured(p Profile, m *Measured, w word) {
	key, text, ok := strings.Cut(w.text, "=")
	if !ok || w.quoted || key == "" || text == "" {
		r.fail(w, "measured", fmt.Sprintf("%q is no measured time", w.text), measuredForm, "")
		return
	}
	at := word{column: w.column, width: utf8.RuneCountInString(key)}
	never := text == "never"
	var t Time
	if !never {
		var err error
		if t, err = ParseTime(text); err != nil {
			r.fail(word{column: w.column + at.width + 1, width: utf8.RuneCountInString(text)}, "time", err.Error(), "a time such as 85ms, or never", netlist.Nearest(text, []string{"never"}))
			return
		}
	}
	twice := false
	if e, ok := eventNamed(key); ok {
		_, twice = m.at(e)
		m.Events = append(m.Events, At{e, t, never})
	} else if name, ok := windowNamed(p, key); ok {
		_, twice = m.value(name)
		m.Values = append(m.Values, Value{name, t, never})
	} else {
		r.unknown(p, key, at)
		return
	}
	if twice {
		r.fail(at, "twice", key+" is given twice", "one time for each", "")
	}
}

func (r *lineParser) unknown(p Profile, key string, at word) {
	var windows, happens []string
	for _, w := range p.Windows {
		windows = append(windows, w.Name)
	}
	for _, e := range p.events() {
		happens = append(happens, e.Name())
	}
	r.fail(at, "unknown", fmt.Sprintf("%q is neither a window of %s nor an event", key, p.Name),
		fmt.Sprintf("a window (%s) or an event (%s)", few(windows), few(happens)), nearestEvent(key, windows...))
}

// windowNamed finds a window whatever the case of its letters.
func windowNamed(p Profile, name string) (string, bool) {
	for _, w := range p.Windows {
		if strings.EqualFold(w.Name, name) {
			return w.Name, true
		}
	}
	return "", false
}
