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
	return len(w) == 1 || strings.Contains(w, ".") || r.edp(w)
}

func (r *faultReader) peek() string {
	if r.at < len(r.ts) {
		return strings.ToLower(r.ts[r.at].word)
	}
	return ""
}

// take steps over a word if it is there.
func (r *faultReader) take(words ...string) bool {
	for _, w := range words {
		if r.peek() == w {
			r.at++
			return true
		}
	}
	return false
}

func (r *faultReader) fail(want string, words []string) error {
	if r.at < len(r.ts) {
		t := r.ts[r.at]
		return wrong(r.text, t, "read "+quote(t.word), want, mistake.Nearest(t.word, words))
	}
	return wrong(r.text, token{"", len(r.text) + 1}, "the text ends here", want, "")
}

func (r *faultReader) fault() (Fault, error) {
	words := []string{"missing", "open", "stuck", "leg", "inverted", "swapped", "clock", "exchanged", "wrong", "one"}
	r.same = nil
	switch {
	case r.take("missing", "open"):
		return r.several(func() (Fault, error) { return r.levelled(Missing) })
	case r.take("stuck"):
		return r.several(r.stuck)
	case r.take("leg"):
		return r.several(func() (Fault, error) { return r.bare(Leg) })
	case r.take("inverted", "turned"):
		return r.several(func() (Fault, error) { return r.bare(Inverted) })
	case r.take("swapped"):
		if r.take("legs") {
			return r.several(func() (Fault, error) { return r.bare(Inverted) })
		}
		return r.several(r.swapped)
	case r.take("clock"):
		if !r.take("gone", "missing") {
			return Fault{}, r.fail("gone", []string{"gone"})
		}
		return r.several(func() (Fault, error) { return r.levelled(ClockGone) })
	case r.take("exchanged", "channels"):
		return r.exchanged()
	case r.take("wrong"):
		return r.wrong()
	case r.take("one"):
		if !r.take("channel") {
			return Fault{}, r.fail("channel", []string{"channel"})
		}
		return r.withLevel(Fault{Kind: OneChannel})
	case r.edp(r.peek()):
		return Fault{}, r.explain()
	}
	return Fault{}, r.fail("a fault: "+strings.Join(kindNames(), ", "), words)
}

// several reads a fault of which others may follow without its name.
func (r *faultReader) several(read func() (Fault, error)) (Fault, error) {
	r.same = read
	return read()
}

// bare reads a lane without a level.
func (r *faultReader) bare(k Kind) (Fault, error) {
	n, err := r.lane(false)
	return Fault{Kind: k, Lane: n}, err
}

func (r *faultReader) stuck() (Fault, error) {
	f, err := r.levelled(Stuck)
	if err == nil && f.Level == Auto {
		err = r.fail("=high or =low", nil)
	}
	return f, err
}

// levelled reads a lane and perhaps "=high".
func (r *faultReader) levelled(k Kind) (Fault, error) {
	n, err := r.lane(true)
	if err != nil {
		return Fault{}, err
	}
	if k == Missing && n.Pair == Clock {
		k = ClockGone // a channel without its clock has no data either
	}
	if (k == ClockGone) != (n.Pair == Clock) {
		r.at--
		return Fault{}, r.fail("a "+map[bool]string{true: "clock pair such as A.CLK", false: "data pair such as A.0"}[k == ClockGone], nil)
	}
	return r.withLevel(Fault{Kind: k, Lane: n})
}

func (r *faultReader) withLevel(f Fault) (Fault, error) {
	if !r.take("=") {
		return f, nil
	}
	switch {
	case r.take("high", "1"):
		f.Level = High
	case r.take("low", "0"):
		f.Level = Low
	default:
		return f, r.fail("high or low", []string{"high", "low"})
	}
	return f, nil
}

func (r *faultReader) swapped() (Fault, error) {
	a, err := r.lane(false)
	if err != nil {
		return Fault{}, err
	}
	if !r.take("/") {
		return Fault{}, r.fail("/ and the other pair", nil)
	}
	b, err := r.lane(false)
	if b.Channel < a.Channel || b.Channel == a.Channel && b.Pair < a.Pair {
		a, b = b, a
	}
	return Fault{Kind: Swapped, Lane: a, Other: b}, err
}

func (r *faultReader) exchanged() (Fault, error) {
	r.take("exchanged", "channels")
	if r.take("a") && (!r.take("/") || !r.take("b")) {
		return Fault{}, r.fail("A/B", nil)
	}
	return Fault{Kind: Exchanged}, nil
}

func (r *faultReader) wrong() (Fault, error) {
	switch {
	case r.take("map"):
		return Fault{Kind: WrongMap}, nil
	case r.take("depth"):
		f := Fault{Kind: WrongDepth}
		if r.take("jeida") {
			f.Map = JEIDA
		} else {
			r.take("vesa")
		}
		return r.withLevel(f)
	}
	return Fault{}, r.fail("map or depth", []string{"map", "depth"})
}

// lane reads "A.0", "0", "B.CLK" or, as all of a channel, "B".
func (r *faultReader) lane(all bool) (Lane, error) {
	const want = "a pair such as A.0, B.3 or A.CLK"
	w := r.peek()
	if r.edp(w) {
		return Lane{}, r.explain()
	}
	ch, pair, dotted := strings.Cut(w, ".")
	if !dotted {
		ch, pair = "a", w
		if all && (w == "a" || w == "b") {
			ch, pair = w, "clk"
		}
	}
	var n Lane
	switch ch {
	case "a":
	case "b":
		n.Channel = 1
	default:
		return n, r.fail(want+": channels are A and B", nil)
	}
	switch {
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
func (r *faultReader) edp(w string) bool {
	return w == "edp" || w == "lane" || w == "dp" || strings.HasPrefix(w, "ml")
}

func (r *faultReader) explain() error {
	t := r.ts[r.at]
	return wrong(r.text, t, quote(t.word)+" is a lane of eDP, not of LVDS: "+LaneOfEDP, "a pair such as A.0", "")
}
