package power

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
)

// At is when an event was seen, counted from any zero.
type At struct {
	Event     Event `json:"event"`
	Time      Time  `json:"time_seconds"`
	Tolerance Time  `json:"tolerance_seconds,omitempty"` // either way
	Never     bool  `json:"never,omitempty"`             // it did not come
}

// Value is the length that was measured for one window.
type Value struct {
	Window    string `json:"window"`
	Time      Time   `json:"time_seconds"`
	Tolerance Time   `json:"tolerance_seconds,omitempty"` // either way
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

const timeForm = "write a plain number and s, ms or us, 3600s at most"

// ParseTime reads a time such as 85ms, 0.5 ms, 10us or 2s; 0 needs no unit. What it may
// be off by, either way, is one of its last digit, and a tenth of the time at most: 1s
// is read from a screen, but hardly as anything from 0 to 2 s. Common practice, no source.
func ParseTime(text string) (t, tolerance Time, err error) {
	number := strings.TrimRight(text, "smuµμ")
	unit := text[len(number):]
	scale := map[string]Time{"s": Second, "ms": Millisecond, "us": Microsecond, "µs": Microsecond, "μs": Microsecond}[unit]
	number = strings.TrimSpace(number)
	v, err := strconv.ParseFloat(number, 64)
	switch {
	case err != nil || strings.Trim(number, "+-.0123456789") != "":
		return 0, 0, fmt.Errorf("%q is no time; %s", text, timeForm)
	case scale == 0 && v != 0:
		return 0, 0, fmt.Errorf("the time %q has no unit that is known; %s", text, timeForm)
	}
	v = math.Round(v * float64(scale))
	if math.Abs(v) > float64(maxTime) {
		return 0, 0, fmt.Errorf("the time %q is longer than an hour; %s", text, timeForm)
	}
	digit := float64(scale)
	if _, after, ok := strings.Cut(number, "."); ok {
		digit /= math.Pow10(len(after))
	}
	return Time(v), Time(min(digit, math.Abs(v)/10)), nil
}

const measuredForm = "what was measured, such as T3=85ms, hpd=85ms or hpd=never"

// extent is where a word stands in a text, in bytes.
type extent struct{ from, to int }

var wordForm = regexp.MustCompile(`\S+`)

// reader reads what was measured into m, and collects what is wrong with it.
type reader struct {
	p        Profile
	m        Measured
	text     string
	problems []mistake.Mistake
}

func (r *reader) fail(at extent, code, msg, want, near string) {
	r.problems = append(r.problems, mistake.Mistake{
		File: "measured", Line: 1, Text: r.text,
		Column: utf8.RuneCountInString(r.text[:at.from]) + 1, Width: utf8.RuneCountInString(r.text[at.from:at.to]),
		Code: code, Msg: msg, Want: want, Near: near,
	})
}

// ParseMeasured reads what was measured: windows of p by name (T3=85ms) or events
// at times of one time base (supply=0 hpd=85ms data=never), which were read on one scale:
// the finest digit given is that of all of them.
func ParseMeasured(p Profile, args []string) (Measured, []mistake.Mistake) {
	r := &reader{p: p, text: strings.ToValidUTF8(strings.Join(args, " "), "\uFFFD")}
	for _, at := range wordForm.FindAllStringIndex(r.text, -1) {
		r.word(extent{at[0], at[1]})
	}
	finest := maxTime
	for _, a := range r.m.Events {
		if a.Tolerance > 0 {
			finest = min(finest, a.Tolerance)
		}
	}
	for i := range r.m.Events {
		r.m.Events[i].Tolerance = min(r.m.Events[i].Tolerance, finest)
	}
	return r.m, r.problems
}

func (r *reader) word(all extent) {
	word := r.text[all.from:all.to]
	key, text, ok := strings.Cut(word, "=")
	if !ok || key == "" || text == "" {
		r.fail(all, "measured", fmt.Sprintf("%q is no measured time", word), measuredForm, "")
		return
	}
	at := extent{all.from, all.from + len(key)}
	never := text == "never"
	var t, tolerance Time
	if !never {
		var err error
		if t, tolerance, err = ParseTime(text); err != nil {
			r.fail(extent{at.to + len("="), all.to}, "time", err.Error(), "a time such as 85ms, or never", mistake.Nearest(text, []string{"never"}))
			return
		}
	}
	e, event := eventNamed(key)
	x := r.p.window(key)
	if never && x != nil {
		e, event = x.To, true // a window that never ends has no second event
	}
	m, twice := &r.m, false
	switch {
	case event:
		_, twice = m.at(e)
		m.Events = append(m.Events, At{e, t, tolerance, never})
	case x != nil:
		_, twice = m.value(x.Name)
		m.Values = append(m.Values, Value{x.Name, t, tolerance})
	default:
		r.unknown(key, at)
		return
	}
	both := func(w Window) bool {
		_, from := m.at(w.From)
		_, to := m.at(w.To)
		_, own := m.value(w.Name)
		return own && from && to
	}
	if twice {
		r.fail(at, "twice", key+" is given twice", "one time for each", "")
	} else if i := slices.IndexFunc(r.p.Windows, both); i >= 0 {
		x := r.p.Windows[i]
		r.fail(at, "twice", fmt.Sprintf("%s is given twice, by itself and by %s and %s", x.Name, x.From.Name(), x.To.Name()), "one of both", "")
	}
}

func (r *reader) unknown(key string, at extent) {
	var windows, happens []string
	for _, w := range r.p.Windows {
		windows = append(windows, w.Name)
	}
	for _, e := range r.p.events() {
		happens = append(happens, e.Name())
	}
	r.fail(at, "unknown", fmt.Sprintf("%q is neither a window of %s nor an event", key, r.p.Name),
		fmt.Sprintf("a window (%s) or an event (%s)", few(windows), few(happens)), nearestEvent(key, windows...))
}
