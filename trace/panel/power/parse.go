package power

import (
	"cmp"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/draw/ink"
)

// What one profile file may hold, against nonsense only.
const (
	maxWindows = 64
	maxReports = 20 // of problems; what follows is not read
)

// word is one piece of a line.
type word struct {
	text   string
	column int // from 1, in characters
	width  int
}

// wordForm is an arrow, or what stands between blanks and arrows.
var wordForm = regexp.MustCompile(`→|[^\s→]+`)

// words breaks a line at blanks and around arrows, and drops a comment.
func words(line string) []word {
	line, _, _ = strings.Cut(line, "#")
	line = strings.ReplaceAll(line, "->", "→ ") // as wide in characters
	var list []word
	for _, at := range wordForm.FindAllStringIndex(line, -1) {
		text := line[at[0]:at[1]]
		list = append(list, word{text, utf8.RuneCountInString(line[:at[0]]) + 1, utf8.RuneCountInString(text)})
	}
	return list
}

// lineParser reads one line, and collects what is wrong with it.
type lineParser struct {
	file, text string
	line       int
	problems   []mistake.Mistake
}

// fail notes a problem; it is always false.
func (p *lineParser) fail(w word, code, msg, want, near string) bool {
	p.problems = append(p.problems, mistake.Mistake{
		File: p.file, Line: p.line, Column: w.column, Width: w.width, Text: p.text,
		Code: code, Msg: msg, Want: want, Near: near,
	})
	return false
}

const lineForm = "a line such as: T3 supply-up -> hpd 0ms..200ms supply to hot-plug"

// ParseProfile reads a profile from its text: one window a line with any words behind
// it, comments after #.
//
//	title the panel on the bench
//	T3 supply-up -> hpd 0ms..200ms supply to hot-plug, its data sheet
//	T12 supply-down -> supply-again 500ms..
//
// The name is that of the file, for messages. A profile with problems is not to be used.
func ParseProfile(name, text string) (Profile, []mistake.Mistake) {
	prof := Profile{Name: name, Title: "windows of " + name}
	var problems []mistake.Mistake
	before := edgeOrder()
	for i, line := range strings.Split(strings.ToValidUTF8(text, "\uFFFD"), "\n") {
		p := &lineParser{file: name, line: i + 1, text: strings.TrimSuffix(line, "\r")}
		list := words(p.text)
		switch {
		case len(list) == 0:
		case list[0].text == "title":
			prof.Title = cmp.Or(rest(list[1:]), prof.Title)
		default:
			if w, ok := p.window(list); ok && p.fits(list, &prof, w, before) {
				prof.Windows = append(prof.Windows, w)
			}
		}
		if problems = append(problems, p.problems...); len(problems) >= maxReports {
			return prof, problems
		}
	}
	if len(problems) == 0 && len(prof.Windows) == 0 {
		problems = append(problems, mistake.Mistake{File: name, Code: "no-window", Msg: "there is no window in the file", Want: lineForm})
	}
	return prof, problems
}

// rest joins what a person may write freely.
func rest(list []word) string {
	var text []string
	for _, w := range list {
		text = append(text, w.text)
	}
	return strings.Join(strings.Fields(ink.Clean(strings.Join(text, " "))), " ")
}

// window reads a line of name, event, arrow, event, times and text.
func (p *lineParser) window(list []word) (w Window, ok bool) {
	if name := list[0]; !isName(name.text) {
		return w, p.fail(name, "name", fmt.Sprintf("%q is no name of a window", name.text), "letters and digits such as T3, at most 12", "")
	}
	if len(list) > 2 && list[2].text != "→" {
		return w, p.fail(list[2], "arrow", fmt.Sprintf("%q stands where an arrow belongs", list[2].text), "->", "")
	}
	if len(list) < 5 {
		last := list[len(list)-1]
		return w, p.fail(word{column: last.column + last.width, width: 1}, "short", "the line ends too early", lineForm, "")
	}
	w.Name = list[0].text
	if w.From, ok = p.event(list[1]); !ok {
		return w, false
	}
	if w.To, ok = p.event(list[3]); !ok {
		return w, false
	}
	if w.Span, ok = p.span(list[4]); !ok {
		return w, false
	}
	w.Doc = rest(list[5:])
	return w, true
}

// fits reports whether a window goes together with those before it in the file.
func (p *lineParser) fits(list []word, prof *Profile, w Window, before *comesBefore) bool {
	switch {
	case prof.window(w.Name) != nil:
		return p.fail(list[0], "twice", fmt.Sprintf("there is a window %s already", w.Name), "another name", "")
	case len(prof.Windows) == maxWindows:
		return p.fail(list[0], "too-many", fmt.Sprintf("that is more than the %d windows that one panel can have", maxWindows), "", "")
	case w.From == w.To:
		return p.fail(list[3], "same", "the window begins and ends with the same event", "two events", "")
	case before[w.To][w.From]:
		return p.fail(list[1], "backwards", fmt.Sprintf("%s can never be kept: %s always comes before %s", w.Name, w.To, w.From),
			"windows that lead from the first event to the last; the next start is "+SupplyAgain.Name(), "")
	}
	before.add(w.From, w.To)
	return true
}

var nameForm = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9]{0,11}$`)

func isName(s string) bool {
	_, event := eventNamed(s)
	return nameForm.MatchString(s) && s != "title" && !event
}

func (p *lineParser) event(w word) (Event, bool) {
	e, ok := eventNamed(w.text)
	if !ok {
		return 0, p.fail(w, "unknown-event", fmt.Sprintf("there is no event %q", w.text),
			"an event such as "+few(EventNames()), nearestEvent(w.text))
	}
	return e, true
}

const spanForm = "times such as 0ms..200ms, 500ms.. or ..50ms"

func (p *lineParser) span(w word) (Span, bool) {
	lo, hi, ok := strings.Cut(w.text, "..")
	if !ok || lo == "" && hi == "" {
		return Span{}, p.fail(w, "times", fmt.Sprintf("%q is no pair of times", w.text), spanForm, "")
	}
	s := Span{0, Unlimited}
	for _, end := range []struct {
		text string
		to   *Time
	}{{lo, &s.Min}, {hi, &s.Max}} {
		if end.text == "" {
			continue
		}
		t, _, err := ParseTime(end.text)
		if err == nil && t < 0 {
			err = fmt.Errorf("%q is before its first event", end.text)
		}
		if err != nil {
			return Span{}, p.fail(w, "time", err.Error(), spanForm, "")
		}
		*end.to = t
	}
	if s.Min > s.Max {
		return Span{}, p.fail(w, "reversed", fmt.Sprintf("the least time %s is above the greatest, %s", s.Min, s.Max), "the smaller time "+
			"first", "")
	}
	return s, true
}

// Format writes a profile as ParseProfile reads it.
func Format(p Profile) string {
	var b strings.Builder
	fmt.Fprintf(&b, "title %s\n", p.Title)
	for _, w := range p.Windows {
		hi := ""
		if w.Max != Unlimited {
			hi = w.Max.format("", "us")
		}
		fmt.Fprintf(&b, "%s %s -> %s %s..%s", w.Name, w.From.Name(), w.To.Name(), w.Min.format("", "us"), hi)
		fmt.Fprintln(&b, strings.TrimRight(" "+w.Doc, " "))
	}
	return b.String()
}
