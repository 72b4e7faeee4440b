package netlist

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist/mistake"
)

// Target is what an observation is about: a net, a lane or a fact. The other
// two are None.
type Target struct {
	Net  NetID
	Lane int
	Fact int
}

// Observation is something seen or read on the board.
type Observation struct {
	Target Target
	Wrong  bool   // it differs from a healthy board
	Above  bool   // it reads higher than that
	Below  bool   // it reads lower than that
	Word   string // as given: "0V", "quiet", "read"
}

// Words for what was seen. Right or wrong of "low", "high" and of a number
// depends on what the net should be.
var (
	wrongWords = []string{"no", "absent", "missing", "unread", "dead", "quiet", "bad", "wrong", "floating", "above", "input", "unseen"}
	rightWords = []string{"yes", "ok", "read", "present", "seen", "toggling", "right", "alive"}
	levelWords = []string{"low", "zero", "high"}
	agreeWords = []string{"bad", "wrong", "ok", "right"} // these compare with a healthy board and tell nothing of a level
)

// ObservationWords lists the words that may stand after the equals sign.
func ObservationWords() []string { return slices.Concat(wrongWords, rightWords, levelWords) }

// TargetName returns the name of a target.
func (b *Board) TargetName(t Target) string {
	switch {
	case t.Net != None:
		return b.Nets[t.Net].Name
	case t.Lane != None:
		return b.Lanes[t.Lane].Name
	default:
		return b.Facts[t.Fact].Name
	}
}

// Lookup finds a net, a lane or a fact by name.
func (b *Board) Lookup(name string) (Target, bool) {
	if id, ok := b.netIndex[name]; ok {
		return Target{id, None, None}, true
	}
	if i, ok := b.laneIndex[name]; ok {
		return Target{None, i, None}, true
	}
	if i, ok := b.factIndex[name]; ok {
		return Target{None, None, i}, true
	}
	return Target{None, None, None}, false
}

// ObserveError says what is wrong with an observation.
type ObserveError struct {
	InValue bool // the word after the equals sign, not the name
	Msg     string
	Want    string
	Near    string
}

// Error returns the message with its hint.
func (e *ObserveError) Error() string {
	s := e.Msg
	if e.Want != "" {
		s += "; expected " + e.Want
	}
	if e.Near != "" {
		s += fmt.Sprintf("; did you mean %q?", e.Near)
	}
	return s
}

// Observe reads an observation such as VBL=0V, A.CLK=quiet or EDID=unread, made
// in a setting of the board. The error is an *ObserveError.
func (b *Board) Observe(name, word string, s Setting) (Observation, error) {
	t, ok := b.Lookup(name)
	if !ok {
		e := &ObserveError{Msg: fmt.Sprintf("the board has no net, lane or fact %q", name), Near: mistake.Nearest(name, b.knownNames())}
		if id, isPart := b.partIndex[name]; isPart {
			p := &b.Parts[id]
			if len(p.Conns) > 0 {
				e.Want, e.Near = "one of its nets", b.Nets[p.Conns[0].Net].Name
			}
			e.Msg = fmt.Sprintf("%s is a part, and what is seen is said of a net, a lane or a fact", name)
		}
		return Observation{}, e
	}
	o := Observation{Target: t, Word: word}
	if t.Net != None && b.Nets[t.Net].Ground {
		return o, &ObserveError{Msg: name + " is ground, the point that readings are taken against", Want: "a net, a lane or a fact"}
	}
	if t.Net != None {
		if err := b.IdleError(t.Net); err != nil {
			return o, err
		}
	}
	low := strings.ToLower(word)
	switch {
	case slices.Contains(wrongWords, low):
		o.Wrong, o.Above, o.Below = true, low == "above", low == "input"
	case slices.Contains(rightWords, low):
	case t.Net != None:
		return b.observeLevel(o, low, s)
	default:
		return o, wordError(name, word, slices.Concat(wrongWords, rightWords))
	}
	if t.Lane != None && b.Lanes[t.Lane].Idle {
		return b.observeIdle(o, low)
	}
	return o, nil
}

// observeIdle judges what is seen on a lane that the fitted panel does not use. A
// lane that is alive there is no fault of the board.
func (b *Board) observeIdle(o Observation, low string) (Observation, error) {
	alive := o.Wrong
	if !slices.Contains(agreeWords, low) {
		alive = !o.Wrong
	}
	if alive {
		name := b.Lanes[o.Target.Lane].Name
		return o, &ObserveError{InValue: true,
			Msg:  fmt.Sprintf("%s=%s is no fault: the panel (%s) does not use %s, so another panel is fitted than is said, its identity is another, or the board drives %s for every panel", name, o.Word, b.Panel, name, name),
			Want: "another panel, or " + name + " left out"}
	}
	o.Wrong, o.Above, o.Below = false, false, false
	return o, nil
}

func wordError(name, word string, words []string) error {
	return &ObserveError{InValue: true, Msg: fmt.Sprintf("%s=%s is not understood", name, word), Want: "one of " + strings.Join(words, ", "), Near: mistake.Nearest(word, words)}
}

// observeLevel judges a level or a voltage against what the net should read.
func (b *Board) observeLevel(o Observation, low string, s Setting) (Observation, error) {
	name := b.Nets[o.Target.Net].Name
	want, known := b.ExpectIn(o.Target.Net, s)
	isLow := known && want.Swing == 0 && want.Value < LowBelow
	switch low {
	case "low", "zero":
		o.Wrong, o.Below = !isLow, !isLow
		return o, nil
	case "high":
		o.Wrong, o.Above = isLow, isLow
		return o, nil
	}
	v, err := ParseValue(o.Word, Volt)
	if err != nil {
		words := ObservationWords()
		return o, &ObserveError{InValue: true, Msg: fmt.Sprintf("%s=%s is not understood", name, o.Word), Want: "a voltage such as 0V, or one of " + strings.Join(words, ", "), Near: mistake.Nearest(low, words)}
	}
	switch {
	case known:
		o.Below, o.Above = v < want.Low(), v > want.High()
		o.Wrong = o.Below || o.Above
	case v < LowBelow:
		o.Wrong, o.Below = true, true
	default:
		return o, &ObserveError{InValue: true, Msg: fmt.Sprintf("no value is declared for %s, so %s cannot be judged", name, o.Word), Want: name + "=ok or " + name + "=wrong"}
	}
	return o, nil
}

// ParseSetting changes a setting by "lid=shut".
func (b *Board) ParseSetting(s Setting, text string) error {
	name, value, ok := strings.Cut(text, "=")
	if !ok {
		return &ObserveError{Msg: fmt.Sprintf("%q is not a state", text), Want: "STATE=VALUE, such as lid=shut"}
	}
	i := slices.IndexFunc(b.States, func(st State) bool { return st.Name == name })
	if i < 0 {
		list := names(b.States, func(st State) string { return st.Name })
		return &ObserveError{Msg: fmt.Sprintf("the board has no state %q", name), Want: "one of " + strings.Join(list, ", "), Near: mistake.Nearest(name, list)}
	}
	v := slices.Index(b.States[i].Values, value)
	if v < 0 {
		return &ObserveError{InValue: true, Msg: fmt.Sprintf("the state %s has no value %q", name, value), Want: "one of " + strings.Join(b.States[i].Values, ", "), Near: mistake.Nearest(value, b.States[i].Values)}
	}
	s[i] = v
	return nil
}

// SettingText prints a setting: "power=run lid=open".
func (b *Board) SettingText(s Setting) string {
	parts := make([]string, len(s))
	for i, v := range s {
		parts[i] = b.States[i].Name + "=" + b.States[i].Values[v]
	}
	return strings.Join(parts, " ")
}
