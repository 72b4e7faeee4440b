package view

import (
	"slices"
	"strings"

	"example.org/walkback/netlist/mistake"
)

// LaneOfEDP is the answer to a question about a lane of eDP.
const LaneOfEDP = "on eDP all lanes carry all colours in turn, so a lost lane gives no wrong colour: " +
	"there is no picture, or one in a lower mode over fewer lanes (common practice)"

// token is a word of a text with the column of its first byte.
type token struct {
	word   string
	column int
}

// words cuts at blanks; the signs in marks are words of their own.
func cutWords(s, marks string) []token {
	var ts []token
	start := -1
	flush := func(end int) {
		if start >= 0 {
			ts = append(ts, token{s[start:end], start + 1})
		}
		start = -1
	}
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == ' ' || s[i] == '\t' || s[i] == '\n' || s[i] == '\r':
			flush(i)
		case strings.IndexByte(marks, s[i]) >= 0:
			flush(i)
			ts = append(ts, token{s[i : i+1], i + 1})
		case start < 0:
			start = i
		}
	}
	flush(len(s))
	return ts
}

// faultReader reads one fault after the other.
type faultReader struct {
	text string
	ts   []token
	at   int
	same func() (Fault, error) // reads another one of the kind before
}

// ParseFaults reads faults with commas between them:
//
//	missing A.0, missing B.2=low, missing B, stuck A.1=high, leg A.1, inverted A.1,
//	swapped A.0/A.1, clock gone A.CLK, exchanged A/B, wrong map, wrong depth, wrong
//	depth jeida, one channel
//
// A channel may be left out when it is A. "missing B" is all of channel B, which is
// the same as "clock gone B.CLK". "missing A.0, A.1" is two faults. A fault that is
// there twice counts once. A flag may name the kind, so that the text begins behind it:
// "missing" and "A.0,B.2=low". Columns in errors are those of the text.
func ParseFaults(kind, value string) ([]Fault, error) {
	r := &faultReader{text: value, ts: append(cutWords(kind, ""), cutWords(value, ",;=/")...)}
	var fs []Fault
	read := r.fault
	for {
		f, err := read()
		if err != nil {
			return nil, err
		}
		fs = append(fs, f)
		if r.peek() == "" {
			return Merge(fs), nil
		}
		if r.peek() != "," && r.peek() != ";" {
			return nil, r.fail("a comma or the end", nil)
		}
		r.at++
		if read = r.fault; r.same != nil && r.atLane() {
			read = r.same
		}
	}
}

// Merge joins lists of faults; equal ones stay once.
func Merge(lists ...[]Fault) []Fault {
	var all []Fault
	for _, f := range slices.Concat(lists...) {
		if !slices.Contains(all, f) {
			all = append(all, f)
		}
	}
	return all
}

// atLane reports whether the next word names a lane and not a fault.
func (r *faultReader) atLane() bool {
	w := r.peek()
	return len(w) == 1 || strings.Contains(w, ".") || edp(w)
}

func (r *faultReader) peek() string {
	if r.at < len(r.ts) {
		return strings.ToLower(r.ts[r.at].word)
	}
	return ""
}

// take steps over words if they are there.
func (r *faultReader) take(words ...string) bool {
	for i, w := range words {
		if r.at+i >= len(r.ts) || strings.ToLower(r.ts[r.at+i].word) != w {
			return false
		}
	}
	r.at += len(words)
	return true
}

func (r *faultReader) fail(want string, words []string) error {
	if r.at < len(r.ts) {
		t := r.ts[r.at]
		return wrong(r.text, t, "read "+quote(t.word), want, mistake.Nearest(t.word, words))
	}
	return wrong(r.text, token{"", len(r.text) + 1}, "the text ends here", want, "")
}

// faultForm is how a kind of fault is written.
type faultForm struct {
	words string
	kind  Kind
	lanes int  // that follow
	level bool // that may follow, =high or =low
}

// faultForms are all, those with more words before those that begin alike.
var faultForms = []faultForm{
	{"missing", Missing, 1, true}, {"open", Missing, 1, true}, {"stuck", Stuck, 1, true}, {"leg", Leg, 1, false},
	{"inverted", Inverted, 1, false}, {"turned", Inverted, 1, false}, {"swapped legs", Inverted, 1, false}, {"swapped", Swapped, 2, false},
	{"clock gone", ClockGone, 1, true}, {"clock missing", ClockGone, 1, true},
	{"exchanged a / b", Exchanged, 0, false}, {"exchanged", Exchanged, 0, false}, {"channels exchanged", Exchanged, 0, false},
	{"wrong map", WrongMap, 0, false}, {"wrong depth", WrongDepth, 0, true}, {"one channel", OneChannel, 0, true},
}

// fault reads a kind, and what follows it; with the kind known only that.
func (r *faultReader) fault() (Fault, error) {
	var first, next []string
	for _, form := range faultForms {
		words := strings.Fields(form.words)
		if r.take(words...) {
			read := func() (Fault, error) { return r.rest(form) }
			if r.same = nil; form.lanes > 0 {
				r.same = read // others may follow without its name
			}
			return read()
		}
		first = append(first, words[0])
		if len(words) > 1 && words[0] == r.peek() {
			next = append(next, words[1])
		}
	}
	r.same = nil
	switch {
	case edp(r.peek()):
		return Fault{}, r.explain()
	case len(next) > 0:
		r.at++
		return Fault{}, r.fail(strings.Join(next, " or "), next)
	}
	return Fault{}, r.fail("a fault: "+strings.Join(kindNames(), ", "), first)
}

// rest reads the lanes and the level of a fault.
func (r *faultReader) rest(form faultForm) (f Fault, err error) {
	f.Kind = form.kind
	start := r.at
	if form.lanes > 0 {
		if f.Lane, err = r.lane(form.level); err != nil {
			return f, err
		}
	}
	switch clock := f.Lane.Pair == Clock; {
	case form.lanes == 2:
		if !r.take("/") {
			return f, r.fail("/ and the other pair", nil)
		}
		if f.Other, err = r.lane(false); err != nil {
			return f, err
		}
		if f.Other.Channel < f.Lane.Channel || f.Other.Channel == f.Lane.Channel && f.Other.Pair < f.Lane.Pair {
			f.Lane, f.Other = f.Other, f.Lane
		}
	case f.Kind == Missing && clock:
		f.Kind = ClockGone // a channel without its clock has no data either
	case form.level && form.lanes == 1 && clock != (f.Kind == ClockGone):
		r.at = start
		return f, r.fail(map[bool]string{true: "a data pair such as A.0", false: "a clock pair such as A.CLK"}[clock], nil)
	case f.Kind == WrongDepth && r.take("jeida"):
		f.Map = JEIDA
	case f.Kind == WrongDepth:
		r.take("vesa")
	}
	switch {
	case form.level && r.take("=") && (r.take("high") || r.take("1")):
		f.Level = High
	case form.level && r.at > 0 && r.ts[r.at-1].word == "=" && (r.take("low") || r.take("0")):
		f.Level = Low
	case form.level && r.at > 0 && r.ts[r.at-1].word == "=":
		return f, r.fail("high or low", []string{"high", "low"})
	case f.Kind == Stuck:
		return f, r.fail("=high or =low", nil)
	}
	return f, nil
}

// lane reads "A.0", "0", "B.CLK" or, as all of a channel, "B".
func (r *faultReader) lane(all bool) (Lane, error) {
	const want = "a pair such as A.0, B.3 or A.CLK"
	w := r.peek()
	if edp(w) {
		return Lane{}, r.explain()
	}
	ch, pair, dotted := strings.Cut(w, ".")
	switch {
	case !dotted && all && (w == "a" || w == "b"):
		pair = "clk"
	case !dotted:
		ch, pair = "a", w
	}
	n := Lane{Channel: slices.Index([]string{"a", "b"}, ch)}
	switch {
	case n.Channel < 0:
		return n, r.fail(want+": channels are A and B", nil)
	case pair == "clk" || pair == "clock":
		n.Pair = Clock
	case len(pair) == 1 && pair[0] >= '0' && pair[0] < '0'+pairMax:
		n.Pair = int(pair[0] - '0')
	default:
		return n, r.fail(want+": pairs are 0 to 3 and CLK", []string{ch + ".clk"})
	}
	r.at++
	return n, nil
}

// edp reports whether a word is of eDP.
func edp(w string) bool {
	return w == "edp" || w == "lane" || w == "dp" || strings.HasPrefix(w, "ml")
}

func (r *faultReader) explain() error {
	t := r.ts[r.at]
	return wrong(r.text, t, quote(t.word)+" is a lane of eDP, not of LVDS: "+LaneOfEDP, "a pair such as A.0", "")
}
