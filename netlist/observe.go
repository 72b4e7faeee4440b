package netlist

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
)

// Target is what an observation is about: a net, a lane or a fact. The other
// two are None.
type Target struct {
	Net  NetID
	Lane int
	Fact int
}

// Observation is something seen or read on the board, and how it stands to a
// healthy one.
type Observation struct {
	Target Target
	Wrong  bool    // it differs from a healthy board
	Above  bool    // it reads higher than that
	Below  bool    // it reads lower than that
	Word   string  // "0V", "quiet", "read", "ohms:40kohm"
	Value  float64 // of a number, in V or Ω; +Inf for OL
	// Cold is the probe of a reading with all power out. Target is then its net; of
	// ohms from end to end of a part all of Target is None.
	Cold *Probe
}

// Words for what was seen. Right or wrong of "low", "high" and of a number
// depends on what the net should be.
var (
	wrongWords    = []string{"no", "absent", "missing", "unread", "dead", "quiet", "bad", "wrong", "floating", "above", "input", "unseen"}
	rightWords    = []string{"yes", "ok", "read", "present", "seen", "toggling", "right", "alive"}
	levelWords    = []string{"low", "zero", "high"}
	agreeWords    = []string{"bad", "wrong", "ok", "right"} // these compare with a healthy board and tell nothing of a level
	activityWords = []string{"quiet", "toggling", "alive"}  // these tell whether something moves
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

// Moves reports whether an observation tells how far a net moves, and not at which
// level it stands.
func (o Observation) Moves() bool {
	word := strings.ToLower(o.Word)
	return o.Cold == nil && o.Target.Net != None && (strings.HasPrefix(word, sayMethod(Activity)) || slices.Contains(activityWords, word))
}

// Levels reports whether an observation tells at which level a net stands, in volts or
// as low or high, and nothing else of it.
func (o Observation) Levels() bool {
	_, err := ParseValue(o.Word, Volt)
	return o.Cold == nil && o.Target.Net != None && (err == nil || slices.Contains(levelWords, strings.ToLower(o.Word)))
}

// ObservationName names what an observation is about.
func (b *Board) ObservationName(o Observation) string {
	if o.Cold != nil {
		return b.SayPoint(*o.Cold)
	}
	return b.TargetName(o.Target)
}

// ObservationText writes an observation as it is typed: "VBL=0V".
func (b *Board) ObservationText(o Observation) string { return b.ObservationName(o) + "=" + o.Word }

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

// wrongWord says what is wrong with the name or the value of what was typed.
type wrongWord struct {
	inValue         bool
	msg, want, near string
}

// Observe reads a reading made in a setting of the board, POINT=VALUE, and judges it
// by what the board file declares. The error is a mistake.Mistake.
func (b *Board) Observe(name, word string, s Setting) (Observation, error) {
	r, err := b.ParseReading(name+"="+word, s)
	if err != nil {
		return Observation{}, err
	}
	return b.Judge(r, nil)
}

// seeWord takes what was seen in a word, in a setting of the board. A level is judged
// by what the board file declares.
func (b *Board) seeWord(t Target, word string, s Setting) (Observation, *wrongWord) {
	low := strings.ToLower(word)
	o := Observation{Target: t, Word: low}
	switch {
	case slices.Contains(wrongWords, low):
		o.Wrong, o.Above, o.Below = true, low == "above", low == "input"
	case slices.Contains(rightWords, low):
	case t.Net != None && slices.Contains(levelWords, low):
		want, known := b.ExpectIn(t.Net, s)
		b.seeLevel(&o, low, known && want.Swing == 0 && want.Value < LowBelow)
	case t.Net != None:
		words := ObservationWords()
		return o, &wrongWord{true, fmt.Sprintf("%s=%s is not understood", b.TargetName(t), word),
			"a value such as 0V or 40kohm, or one of " + strings.Join(words, ", "), mistake.Nearest(low, words)}
	default:
		words := slices.Concat(wrongWords, rightWords)
		return o, &wrongWord{true, fmt.Sprintf("%s=%s is not understood", b.TargetName(t), word), "one of " + strings.Join(words, ", "),
			mistake.Nearest(low, words)}
	}
	if t.Lane != None && b.Lanes[t.Lane].Idle {
		return b.seeIdle(o, low)
	}
	return o, nil
}

// seeLevel judges the word for a level by whether the net should be low.
func (b *Board) seeLevel(o *Observation, low string, isLow bool) {
	if low == "high" {
		o.Wrong, o.Above = isLow, isLow
		return
	}
	o.Wrong, o.Below = !isLow, !isLow
}

// seeIdle judges what is seen on a lane that the fitted panel does not use. A
// lane that is alive there is no fault of the board.
func (b *Board) seeIdle(o Observation, low string) (Observation, *wrongWord) {
	alive := o.Wrong
	if !slices.Contains(agreeWords, low) {
		alive = !o.Wrong
	}
	if alive {
		name := b.Lanes[o.Target.Lane].Name
		return o, &wrongWord{true,
			fmt.Sprintf("%s=%s is no fault: the panel (%s) does not use %s, so another panel is fitted than is said, its identity is another, or "+
				"the board drives %s for every panel", name, o.Word, b.Panel, name, name),
			"another panel, or " + name + " left out", ""}
	}
	o.Wrong, o.Above, o.Below = false, false, false
	return o, nil
}

// Healthy returns between what a probe reads on a healthy board, in V or Ω; both are
// +Inf where its meter shows OL. Known is false where nothing tells.
type Healthy func(Probe) (low, high float64, known bool)

// Judge compares a reading with a healthy board: with what the board file declares,
// else with what healthy gives, which may be nil. The error is a mistake.Mistake.
func (b *Board) Judge(r Reading, healthy Healthy) (Observation, error) {
	if healthy == nil {
		healthy = func(Probe) (float64, float64, bool) { return 0, 0, false }
	}
	if len(r.Or) > 0 {
		return Observation{}, mistake.Mistake{
			Text: r.Text, Code: "observation", Msg: "a walk begins at one lane, and this is one of several",
			Want: "the lane that it is; narrow and bench take several",
		}
	}
	if r.Seen != nil {
		return b.judgeWord(r, healthy)
	}
	o := Observation{Target: Target{r.Probe.Net, None, None}, Word: sayMethod(r.Probe.Method) + sayValue(r.Probe.Method, r.Value),
		Value: r.Value}
	if r.Probe.Cold() {
		probe := r.Probe
		o.Cold = &probe
		if probe.Other != None {
			o.Target = Target{None, None, None}
		}
	}
	low, high, known := b.declares(r.Probe)
	if !known {
		low, high, known = healthy(r.Probe)
	}
	switch {
	case known:
		o.Below, o.Above = r.Value < low, r.Value > high
		o.Wrong = o.Below || o.Above
	case r.Probe.Method == Volts && r.Value < LowBelow:
		o.Wrong, o.Below = true, true
	default:
		return o, b.unknown(r)
	}
	return o, nil
}

// unknown says that nothing tells what a reading should be.
func (b *Board) unknown(r Reading) error {
	name, want := b.SayPoint(r.Probe), ""
	switch r.Probe.Method {
	case Ohms:
		want = "cold= on the line of the net in the board file"
	case Diode:
		want = "diode= on the line of the net in the board file"
	case Volts, Activity:
		want = name + "=ok or " + name + "=wrong"
	case Across, Look:
		want = "another reading"
	}
	return mistake.Mistake{Text: r.Text, Column: 1, Width: utf8.RuneCountInString(r.Text), Code: "observation",
		Msg:  fmt.Sprintf("no value is declared for %s, and none could be computed, so this cannot be judged", name),
		Want: want}
}

// steady is how far a rail may move, in V and as a share of its level, without
// counting as alive: ripple, common practice, no source.
const (
	steady      = 0.1
	steadyShare = 0.02
	alivest     = steady / 2 // what moves by this on a healthy board counts as alive
)

// declares gives the band that the board file declares for a probe.
func (b *Board) declares(p Probe) (low, high float64, known bool) {
	if p.Net == None || p.Other != None {
		return 0, 0, false
	}
	n := &b.Nets[p.Net]
	switch {
	case p.Method == Ohms && p.State.Unplugged && n.Cold.Value > 0:
		return n.Cold.Low(), n.Cold.High(), true
	case p.Method == Diode && p.State.Unplugged && n.Diode.Value > 0:
		return n.Diode.Low(), n.Diode.High(), true
	case p.Cold(), p.State.Unplugged:
		return 0, 0, false
	}
	e, known := b.ExpectIn(p.Net, p.State.Setting)
	switch {
	case !known || p.Method == Volts:
		return e.Low(), e.High(), known
	case e.Swing == 0:
		return 0, max(steady, steadyShare*math.Abs(e.Value)), true
	}
	return e.Swing / 2, e.Swing * 2, true // by which live lines differ, common practice
}

// judgeWord judges a word by what healthy gives, where the board file declares
// nothing, and by whether the net should move.
func (b *Board) judgeWord(r Reading, healthy Healthy) (Observation, error) {
	o := *r.Seen
	low := strings.ToLower(o.Word)
	switch {
	case o.Target.Net == None:
	case slices.Contains(levelWords, low):
		p := r.Probe
		p.Method = Volts
		if _, _, declared := b.declares(p); declared {
			break
		}
		if _, high, known := healthy(p); known {
			b.seeLevel(&o, low, high < LowBelow)
		}
	case slices.Contains(activityWords, low):
		from, known := b.moves(r.Probe, healthy)
		alive := low != "quiet"
		switch {
		case known:
			o.Wrong = alive != (from >= alivest)
			// It moves in a state in which it should rest.
			o.Above = o.Wrong && alive && b.Healthy(o.Target.Net) == Toggling
		case alive:
			return o, b.unknown(r)
		}
	}
	return o, nil
}

// moves returns by how many volts a net moves on a healthy board at least.
func (b *Board) moves(p Probe, healthy Healthy) (from float64, known bool) {
	p.Method = Activity
	if e, ok := b.ExpectIn(p.Net, p.State.Setting); ok && e.Swing > 0 {
		return e.Swing, true
	}
	if from, _, known = healthy(p); known {
		return from, true
	}
	from, _, known = b.declares(p)
	return from, known
}

// ParseSetting changes a setting by "lid=shut". The error is a mistake.Mistake.
func (b *Board) ParseSetting(s Setting, text string) error {
	name, value, ok := strings.Cut(text, "=")
	w := &wrongWord{msg: fmt.Sprintf("%q is not a state", text), want: "STATE=VALUE, such as lid=shut"}
	if ok {
		w = b.setState(s, name, value)
	}
	if w == nil {
		return nil
	}
	m := mistake.Mistake{Text: text, Column: 1, Width: max(1, utf8.RuneCountInString(name)), Code: "observation", Msg: w.msg, Want: w.want,
		Near: w.near}
	if w.inValue {
		m.Column, m.Width = m.Width+2, max(1, utf8.RuneCountInString(value))
	}
	return m
}

// setState changes a setting.
func (b *Board) setState(s Setting, name, value string) *wrongWord {
	list := names(b.States, func(st State) string { return st.Name })
	i := FindName(list, name)
	if i < 0 {
		return &wrongWord{false, fmt.Sprintf("the board has no state %q", name), "one of " + strings.Join(list, ", "),
			mistake.Nearest(name, list)}
	}
	v := FindName(b.States[i].Values, value)
	if v < 0 {
		return &wrongWord{true, fmt.Sprintf("the state %s has no value %q", name, value), "one of " + strings.Join(b.States[i].Values, ", "),
			mistake.Nearest(value, b.States[i].Values)}
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
