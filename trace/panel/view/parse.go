package view

import (
	"cmp"
	"regexp"
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

// Words and the signs between them, of faults and of what was seen.
var (
	faultTokens = regexp.MustCompile(`[,;=/]|[^\s,;=/]+`)
	seenTokens  = regexp.MustCompile(`[,;=]|[^\s,;=]+`)
)

func cutWords(s string, form *regexp.Regexp) []token {
	var ts []token
	for _, at := range form.FindAllStringIndex(s, -1) {
		ts = append(ts, token{s[at[0]:at[1]], at[0] + 1})
	}
	return ts
}

// faultReader reads one fault after the other.
type faultReader struct {
	text string
	ts   []token
	at   int
}

// ParseFaults reads faults, with commas between them or none:
//
//	missing A.0, missing B.2=low, missing B, stuck A.1=high, leg A.1, inverted A.1,
//	swapped A.0/A.1, clock gone A.CLK, exchanged A/B, wrong map, wrong depth, wrong
//	depth jeida, one channel
//
// A channel may be left out when it is A. "missing B" is all of channel B, which is
// the same as "clock gone B.CLK". "missing A.0, A.1" is two faults. A fault that is
// there twice counts once.
func ParseFaults(text string) ([]Fault, error) {
	r := &faultReader{text: text, ts: cutWords(text, faultTokens)}
	var fs []Fault
	var form faultForm
	for {
		if form.lanes == 0 || !r.atLane() {
			var err error
			if form, err = r.form(); err != nil {
				return nil, err
			}
		}
		f, err := r.rest(form)
		if err != nil {
			return nil, err
		}
		if !slices.Contains(fs, f) {
			fs = append(fs, f)
		}
		switch {
		case r.peek() == "":
			return fs, nil
		case !r.take(",") && !r.take(";") && !slices.ContainsFunc(faultForms, r.begins):
			return nil, r.fail("a comma, another fault or the end", "")
		}
	}
}

// begins reports whether the words of a kind come next.
func (r faultReader) begins(form faultForm) bool { return r.take(strings.Fields(form.words)...) }

// atLane reports whether the next word names a lane and not a fault.
func (r *faultReader) atLane() bool {
	w := r.peek()
	return len(w) == 1 || strings.Contains(w, ".") || laneOfEDP.MatchString(w)
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

// fail is a mistake at the next word; one of eDP has an answer of its own.
func (r *faultReader) fail(want, near string) error {
	if r.at >= len(r.ts) {
		return wrong(r.text, token{"", len(r.text) + 1}, "the text ends here", want, "")
	}
	t := r.ts[r.at]
	if laneOfEDP.MatchString(r.peek()) {
		return wrong(r.text, t, quote(t.word)+" is a lane of eDP, not of LVDS: "+LaneOfEDP, "a pair such as A.0", "")
	}
	return wrong(r.text, t, "read "+quote(t.word), want, near)
}

// laneOfEDP is how the lanes of eDP are usually named.
var laneOfEDP = regexp.MustCompile(`^(?:e?dp|lane.*|ml.*|l[0-3])$`)

// form reads the words of a kind.
func (r *faultReader) form() (faultForm, error) {
	var words []string
	for _, form := range faultForms {
		if r.take(strings.Fields(form.words)...) {
			return form, nil
		}
		words = append(words, form.words)
	}
	near := mistake.Nearest(r.peek(), words)
	if r.at+1 < len(r.ts) {
		near = cmp.Or(mistake.Nearest(r.peek()+" "+r.ts[r.at+1].word, words), near)
	}
	return faultForm{}, r.fail("a fault: "+strings.Join(words, ", "), near)
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
			return f, r.fail("/ and the other pair", "")
		}
		if f.Other, err = r.lane(false); err != nil {
			return f, err
		}
		if f.Other.Channel < f.Lane.Channel || f.Other.Channel == f.Lane.Channel && f.Other.Pair < f.Lane.Pair {
			f.Lane, f.Other = f.Other, f.Lane
		}
	case f.Kind == Missing && clock:
		f.Kind = ClockGone // a channel without its clock has no data either
	case form.lanes == 1 && clock != (f.Kind == ClockGone):
		r.at = start
		return f, r.fail(map[bool]string{true: "a data pair such as A.0", false: "a clock pair such as A.CLK"}[clock], "")
	case f.Kind == Exchanged:
		r.take("a", "/", "b")
	case f.Kind == WrongDepth && r.take("jeida"):
		f.Map = JEIDA
	case f.Kind == WrongDepth:
		r.take("vesa")
	}
	switch {
	case form.level && r.take("="):
		switch {
		case r.take("high") || r.take("1"):
			f.Level = High
		case r.take("low") || r.take("0"):
			f.Level = Low
		default:
			return f, r.fail("high or low", mistake.Nearest(r.peek(), []string{"high", "low"}))
		}
	case f.Kind == Stuck:
		return f, r.fail("=high or =low", "")
	}
	return f, nil
}

var laneForm = regexp.MustCompile(`^(?:([ab])\.)?([0-3]|clk)$`)

// lane reads "A.0", "0", "B.CLK" or, as all of a channel, "B".
func (r *faultReader) lane(all bool) (Lane, error) {
	w := r.peek()
	if all && (w == "a" || w == "b") {
		w += ".clk"
	}
	m := laneForm.FindStringSubmatch(w)
	if m == nil {
		return Lane{}, r.fail("a pair such as A.0, B.3 or A.CLK: channels are A and B, pairs are 0 to 3 and CLK",
			mistake.Nearest(w, []string{"a.clk", "b.clk"}))
	}
	r.at++
	n := Lane{Pair: Clock}
	if m[1] == "b" {
		n.Channel = 1
	}
	if m[2] != "clk" {
		n.Pair = int(m[2][0] - '0')
	}
	return n, nil
}
