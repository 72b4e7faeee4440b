package power

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist"
)

// What one profile file may hold, against nonsense only.
const (
	maxWindows = 64
	maxName    = 12
	maxText    = 300
	maxReports = 20 // of problems; what follows is not read
)

// word is one piece of a line.
type word struct {
	text   string // without quotes
	column int    // from 1, in characters
	width  int
	quoted bool
	open   bool // a quote that nothing closes
}

// words breaks a line at blanks, keeps what is quoted together and "->" apart,
// and drops a comment.
func words(line string) []word {
	var list []word
	r := []rune(line)
	for i := 0; i < len(r); {
		switch {
		case r[i] == '#':
			return list
		case isBlank(r[i]):
			i++
		case r[i] == '"':
			end := slices.Index(r[i+1:], '"')
			w := word{column: i + 1, quoted: true, open: end < 0}
			if end < 0 {
				end = len(r) - i - 1
				w.width = end + 1
			} else {
				w.width = end + 2
			}
			w.text = string(r[i+1 : i+1+end])
			list = append(list, w)
			i += w.width
		case r[i] == '-' && i+1 < len(r) && r[i+1] == '>':
			list = append(list, word{text: "->", column: i + 1, width: 2})
			i += 2
		default:
			j := i
			for j < len(r) && !isBlank(r[j]) && r[j] != '"' && r[j] != '#' && (r[j] != '-' || j+1 >= len(r) || r[j+1] != '>') {
				j++
			}
			list = append(list, word{text: string(r[i:j]), column: i + 1, width: j - i})
			i = j
		}
	}
	return list
}

func isBlank(r rune) bool { return r == ' ' || r == '\t' || r == '\r' }

// lineParser reads one line, and collects what is wrong with it.
type lineParser struct {
	file, text string
	line       int
	problems   []netlist.Problem
}

func (p *lineParser) fail(w word, code, msg, want, near string) {
	p.problems = append(p.problems, netlist.Problem{
		File: p.file, Line: p.line, Column: w.column, Width: w.width, Text: p.text,
		Code: code, Msg: msg, Want: want, Near: near,
	})
}

// after is the place behind the last word, for what is missing there.
func after(list []word) word {
	if len(list) == 0 {
		return word{column: 1, width: 1}
	}
	last := list[len(list)-1]
	return word{column: last.column + last.width, width: 1}
}

const lineForm = `a line such as: T3 supply-up -> hpd 0ms..200ms "supply to hot-plug" source "data sheet"`

// ParseProfile reads a profile from its text: one window a line, comments after #.
//
//	title "the panel on the bench"
//	T3 supply-up -> hpd 0ms..200ms "supply to hot-plug" source "data sheet"
//	T12 supply-down -> supply-again 500ms..
//
// The name is that of the file, for messages. A profile with errors is not to be
// used; one with warnings may ask for more than its writer meant.
func ParseProfile(name, text string) (Profile, []netlist.Problem) {
	prof := Profile{Name: name, Title: "windows of " + name}
	var problems []netlist.Problem
	if !utf8.ValidString(text) {
		text = strings.ToValidUTF8(text, "\uFFFD")
	}
	where := map[string]int{}
	var places []windowPlace
	for i, line := range strings.Split(text, "\n") {
		p := &lineParser{file: name, line: i + 1, text: strings.TrimSuffix(line, "\r")}
		list := words(p.text)
		switch {
		case len(list) == 0:
		case list[0].text == "title" && !list[0].quoted:
			p.title(list, &prof)
		default:
			w, ok := p.window(list)
			if first, twice := where[strings.ToLower(w.Name)]; ok && twice {
				p.fail(list[0], "twice", fmt.Sprintf("window %s is on line %d already", w.Name, first), "another name", "")
			} else if ok {
				where[strings.ToLower(w.Name)] = i + 1
				prof.Windows = append(prof.Windows, w)
				places = append(places, windowPlace{p, list})
			}
		}
		if problems = append(problems, p.problems...); len(problems) >= maxReports {
			return prof, problems
		}
	}
	if len(problems) == 0 {
		problems = checkProfile(name, &prof, places)
	}
	return prof, problems
}

func (p *lineParser) title(list []word, prof *Profile) {
	if len(list) != 2 || !list[1].quoted || list[1].open {
		at := after(list)
		if len(list) > 1 {
			at = list[1]
		}
		p.fail(at, "title", "the title is not one quoted text", `title "…"`, "")
		return
	}
	if text, ok := p.textOf(list[1]); ok {
		prof.Title = text
	}
}

// textOf returns the text of a quoted word that is fit to be shown.
func (p *lineParser) textOf(w word) (string, bool) {
	switch {
	case w.open:
		p.fail(w, "quote", "a text begins here that does not end", `a closing "`, "")
		return "", false
	case utf8.RuneCountInString(w.text) > maxText:
		p.fail(w, "long", "the text is too long", fmt.Sprintf("at most %d characters", maxText), "")
		return "", false
	}
	for _, r := range w.text {
		if r < ' ' || r == 0x7f || r == utf8.RuneError {
			p.fail(w, "character", fmt.Sprintf("the text holds the character %q", r), "a text that can be printed", "")
			return "", false
		}
	}
	return w.text, true
}

func (p *lineParser) window(list []word) (Window, bool) {
	var w Window
	need := func(i int, what string) bool {
		if i < len(list) {
			return true
		}
		p.fail(after(list), "short", "the line ends before "+what, lineForm, "")
		return false
	}
	name := list[0]
	if !isName(name.text) || name.quoted {
		p.fail(name, "name", fmt.Sprintf("%q is no name of a window", name.text), fmt.Sprintf("letters and digits such as T3, at most %d", maxName), "")
		return w, false
	}
	w.Name = name.text
	if !need(1, "the first event") {
		return w, false
	}
	from, ok := p.event(list[1])
	if !ok || !need(2, "->") {
		return w, false
	}
	if list[2].text != "->" {
		p.fail(list[2], "arrow", fmt.Sprintf("%q stands where an arrow belongs", list[2].text), "->", "")
		return w, false
	}
	if !need(3, "the second event") {
		return w, false
	}
	to, ok := p.event(list[3])
	if !ok || !need(4, "the times") {
		return w, false
	}
	if from == to {
		p.fail(list[3], "same", "the window begins and ends with the same event", "two events", "")
		return w, false
	}
	w.From, w.To = from, to
	if w.Span, ok = p.span(list[4]); !ok {
		return w, false
	}
	return w, p.texts(list[5:], &w)
}

// texts reads what may follow the times: a quoted text, and a source.
func (p *lineParser) texts(list []word, w *Window) bool {
	ok := true
	if len(list) > 0 && list[0].quoted {
		w.Doc, ok = p.textOf(list[0])
		list = list[1:]
	}
	if ok && len(list) >= 2 && list[0].text == "source" && !list[0].quoted && list[1].quoted {
		w.Source, ok = p.textOf(list[1])
		list = list[2:]
	}
	if ok && len(list) > 0 {
		p.fail(list[0], "rest", fmt.Sprintf("%q is not understood here", list[0].text), `a quoted text, then source "…"`, netlist.Nearest(list[0].text, []string{"source"}))
		return false
	}
	return ok
}

func isName(s string) bool {
	if len(s) == 0 || len(s) > maxName || s == "title" {
		return false
	}
	for i := range len(s) {
		c := s[i]
		letter := c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z'
		if !letter && (i == 0 || c < '0' || c > '9') {
			return false
		}
	}
	_, event := eventNamed(s)
	return !event
}

func (p *lineParser) event(w word) (Event, bool) {
	e, ok := eventNamed(w.text)
	if !ok || w.quoted {
		p.fail(w, "unknown-event", fmt.Sprintf("there is no event %q", w.text), "an event such as "+few(EventNames()), nearestEvent(w.text))
		return 0, false
	}
	return e, true
}

const spanForm = "times such as 0ms..200ms, 500ms.. or ..50ms"

func (p *lineParser) span(w word) (Span, bool) {
	lo, hi, ok := strings.Cut(w.text, "..")
	if !ok || w.quoted || lo == "" && hi == "" {
		p.fail(w, "times", fmt.Sprintf("%q is no pair of times", w.text), spanForm, "")
		return Span{}, false
	}
	s := Span{0, Unlimited}
	for _, end := range []struct {
		text string
		at   int
		to   *Time
	}{{lo, 0, &s.Min}, {hi, utf8.RuneCountInString(lo) + 2, &s.Max}} {
		if end.text == "" {
			continue
		}
		t, err := ParseTime(end.text)
		if err == nil && t < 0 {
			err = fmt.Errorf("%q is before its first event", end.text)
		}
		if err != nil {
			p.fail(word{column: w.column + end.at, width: utf8.RuneCountInString(end.text)}, "time", err.Error(), spanForm, "")
			return Span{}, false
		}
		*end.to = t
	}
	if s.Min > s.Max {
		p.fail(w, "reversed", fmt.Sprintf("the least time %s is above the greatest, %s", s.Min, s.Max), "the smaller time first", "")
		return Span{}, false
	}
	return s, true
}

const timeForm = "write a plain number and s, ms or us, 3600s at most"

// ParseTime reads a time such as 85ms, 0.5 ms, 10us or 2s; 0 needs no unit.
func ParseTime(text string) (Time, error) {
	number := strings.TrimRight(text, "smuµμ")
	unit := text[len(number):]
	scale := map[string]Time{"s": Second, "ms": Millisecond, "us": Microsecond, "µs": Microsecond, "μs": Microsecond}[unit]
	number = strings.TrimSpace(number)
	if strings.Trim(number, "+-.0123456789") != "" || number == "" {
		return 0, fmt.Errorf("%q is no time; %s", text, timeForm)
	}
	v, err := strconv.ParseFloat(number, 64)
	switch {
	case err != nil:
		return 0, fmt.Errorf("%q is no time; %s", text, timeForm)
	case scale == 0 && v != 0:
		return 0, fmt.Errorf("the time %q has no unit that is known; %s", text, timeForm)
	}
	v = math.Round(v * float64(scale))
	if math.Abs(v) > float64(maxTime) {
		return 0, fmt.Errorf("the time %q is longer than an hour; %s", text, timeForm)
	}
	return Time(v), nil
}

// Format writes a profile as ParseProfile reads it.
func Format(p Profile) string {
	var b strings.Builder
	fmt.Fprintf(&b, "title \"%s\"\n", p.Title)
	for _, w := range p.Windows {
		hi := ""
		if w.Max != Unlimited {
			hi = w.Max.format("", "us")
		}
		fmt.Fprintf(&b, "%s %s -> %s %s..%s", w.Name, w.From.Name(), w.To.Name(), w.Min.format("", "us"), hi)
		if w.Doc != "" {
			fmt.Fprintf(&b, " \"%s\"", w.Doc)
		}
		if w.Source != "" {
			fmt.Fprintf(&b, " source \"%s\"", w.Source)
		}
		b.WriteByte('\n')
	}
	return b.String()
}
