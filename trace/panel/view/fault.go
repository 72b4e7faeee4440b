package view

import (
	"fmt"
	"strconv"

	"example.org/walkback/netlist/say"
)

// Kind is what can be wrong with a link.
type Kind int

// The kinds of faults.
const (
	Missing    Kind = iota // both conductors of a data pair are open
	Stuck                  // a pair reads one level for ever
	Leg                    // one conductor of a pair is open
	Inverted               // the conductors of a pair are exchanged
	Swapped                // two pairs are exchanged
	ClockGone              // a clock pair is open
	Exchanged              // channels A and B are exchanged
	WrongMap               // the sender uses the other map
	WrongDepth             // the sender uses the other depth
	OneChannel             // a sender with one channel on a panel with two
)

// faultForm is how a kind of fault is written.
type faultForm struct {
	words string
	kind  Kind
	lanes int  // that follow
	level bool // that may follow, =high or =low
}

// faultForms is THE table of faults, by their kinds.
var faultForms = []faultForm{
	{"missing", Missing, 1, true}, {"stuck", Stuck, 1, true}, {"leg", Leg, 1, false}, {"inverted", Inverted, 1, false},
	{"swapped", Swapped, 2, false}, {"clock gone", ClockGone, 1, true}, {"exchanged", Exchanged, 0, false},
	{"wrong map", WrongMap, 0, false}, {"wrong depth", WrongDepth, 0, true}, {"one channel", OneChannel, 0, true},
}

// Words are the kinds of faults as they are written, and whether lanes follow.
func Words() (kinds []string, lanes map[string]bool) {
	lanes = map[string]bool{}
	for _, form := range faultForms {
		kinds, lanes[form.words] = append(kinds, form.words), form.lanes > 0
	}
	return kinds, lanes
}

// String is the name as ParseFaults reads it.
func (k Kind) String() string {
	if k >= 0 && int(k) < len(faultForms) {
		return faultForms[k].words
	}
	return "kind " + strconv.Itoa(int(k))
}

// Level is what a receiver makes of an input that nobody drives.
type Level int

// The levels. Auto is high for an open pair: LVDS receivers with fail-safe hold an
// open input high (data sheets, class "LVDS line receivers with open-circuit
// fail-safe"). Receivers without it may read anything, so low is to be tried too.
// Auto is low for a channel without a clock (common practice, no source).
const (
	Auto Level = iota
	High
	Low
)

// String is "high", "low" or "".
func (v Level) String() string { return [...]string{"", "high", "low"}[max(0, min(int(v), 2))] }

// Clock is the number of a channel's clock pair.
const Clock = -1

// Lane is a pair of the panel's connector.
type Lane struct {
	Channel int `json:"channel"` // 0 is A, 1 is B
	Pair    int `json:"pair"`    // 0 to 3, or Clock
}

// String is such as "A.0" or "B.CLK".
func (n Lane) String() string {
	pair := "CLK"
	if n.Pair != Clock {
		pair = strconv.Itoa(n.Pair)
	}
	return string(rune('A'+n.Channel)) + "." + pair
}

// Fault is one fault of a link; lanes are counted at the panel's inputs.
type Fault struct {
	Kind  Kind
	Lane  Lane  // of the kinds up to ClockGone
	Other Lane  // the second lane of Swapped
	Level Level // of Missing, Stuck, ClockGone, WrongDepth and OneChannel: what undriven inputs read
	Map   Map   // of WrongDepth on an 18-bit panel: the map of the 24-bit sender
}

// String is the fault as ParseFaults reads it.
func (f Fault) String() string {
	s := f.Kind.String()
	switch {
	case f.Kind == Swapped:
		s += " " + f.Lane.String() + "/" + f.Other.String()
	case f.Kind <= ClockGone:
		s += " " + f.Lane.String()
	case f.Kind == Exchanged:
		s += " A/B"
	case f.Kind == WrongDepth && f.Map == JEIDA:
		s += " jeida"
	}
	if f.Level != Auto {
		s += "=" + f.Level.String()
	}
	return s
}

// MarshalText writes the fault as text.
func (f Fault) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// level is the level with the default in place.
func (f Fault) level() Level {
	switch {
	case f.Level != Auto:
		return f.Level
	case f.Kind == ClockGone || f.Kind == OneChannel:
		return Low
	}
	return High
}

// check reports whether the link can have the fault.
func (f Fault) check(l Link) error {
	if f.Kind < Missing || f.Kind > OneChannel {
		return fmt.Errorf("%s: unknown kind of fault", f)
	}
	if f.Level < Auto || f.Level > Low {
		return fmt.Errorf("%s: unknown level %d", f.Kind, int(f.Level))
	}
	switch f.Kind {
	case Exchanged, OneChannel:
		if l.Channels != 2 {
			return fmt.Errorf("%s: the link has one channel only", f)
		}
	case WrongMap:
		if l.Bits != 24 {
			return fmt.Errorf("%s: an 18-bit link has one map only", f)
		}
	case WrongDepth:
	case Swapped:
		if err := f.lane(l, f.Other); err != nil {
			return err
		}
		if f.Lane == f.Other {
			return fmt.Errorf("%s: that is one pair, expected two", f)
		}
		return f.lane(l, f.Lane)
	default:
		return f.lane(l, f.Lane)
	}
	return nil
}

func (f Fault) lane(l Link, n Lane) error {
	if n.Channel < 0 || n.Channel >= l.Channels {
		return fmt.Errorf("%s: a link with %s has no channel %c", f, say.Count(l.Channels, "channel"), 'A'+max(0, min(n.Channel, 25)))
	}
	if f.Kind == ClockGone {
		if n.Pair != Clock {
			return fmt.Errorf("%s: %s is no clock pair, expected %s", f, n, Lane{n.Channel, Clock})
		}
		return nil
	}
	if n.Pair == Clock {
		return fmt.Errorf("%s: this kind is for data pairs; of a clock pair only that it is gone is shown", f)
	}
	if n.Pair < 0 || n.Pair >= l.Pairs() {
		return fmt.Errorf("%s: with %d bits a channel has pairs 0 to %d", f, l.Bits, l.Pairs()-1)
	}
	return nil
}

// oneLevelEach tells when two faults of a list want different levels of the same
// undriven inputs, which can read one only; a stuck pair is an open one here.
func oneLevelEach(faults []Fault) error {
	inputs := map[Fault]Fault{}
	for _, f := range faults {
		bare := f
		if bare.Level = Auto; f.Kind == Stuck {
			bare.Kind = Missing
		}
		if o, ok := inputs[bare]; ok && o.Level != f.Level {
			return fmt.Errorf("%s and %s: one input cannot read two levels; leave one out", o, f)
		}
		inputs[bare] = f
	}
	return nil
}

// Singles are all single faults of a link, those of common occurrence first. An
// open pair is there with both levels; a stuck one looks like an open one.
func Singles(l Link) []Fault {
	var lanes []Lane
	for c := range l.Channels {
		for p := range l.Pairs() {
			lanes = append(lanes, Lane{c, p})
		}
	}
	var fs []Fault
	each := func(k Kind, levels ...Level) {
		for _, v := range levels {
			for _, n := range lanes {
				fs = append(fs, Fault{Kind: k, Lane: n, Level: v})
			}
		}
	}
	each(Missing, High, Low)
	each(Stuck, High, Low)
	for c := range l.Channels {
		n := Lane{c, Clock}
		fs = append(fs, Fault{Kind: ClockGone, Lane: n, Level: Low}, Fault{Kind: ClockGone, Lane: n, Level: High})
	}
	each(Leg, Auto)
	each(Inverted, Auto)
	if l.Bits == 24 {
		fs = append(fs, Fault{Kind: WrongMap}, Fault{Kind: WrongDepth, Level: High}, Fault{Kind: WrongDepth, Level: Low})
	} else {
		fs = append(fs, Fault{Kind: WrongDepth}, Fault{Kind: WrongDepth, Map: JEIDA})
	}
	if l.Channels == 2 {
		fs = append(fs, Fault{Kind: Exchanged}, Fault{Kind: OneChannel, Level: Low}, Fault{Kind: OneChannel, Level: High})
	}
	for _, across := range []bool{false, true} {
		for i, n := range lanes {
			for _, o := range lanes[i+1:] {
				if (n.Channel != o.Channel) == across {
					fs = append(fs, Fault{Kind: Swapped, Lane: n, Other: o})
				}
			}
		}
	}
	return fs
}
