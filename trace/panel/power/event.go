package power

import (
	"slices"
	"strings"

	"example.org/walkback/netlist/mistake"
)

// Signal is what a probe can be put on.
type Signal uint8

// The signals.
const (
	Supply Signal = iota
	HPD
	AUX
	Link
	Data
	LightSupply
	PWM
	Light
	signalCount
)

var signalNames = [signalCount]string{
	Supply: "panel supply", HPD: "hot-plug (HPD)", AUX: "AUX, identity", Link: "link trained",
	Data: "picture data", LightSupply: "backlight supply", PWM: "dimming (PWM)", Light: "backlight enable",
}

func (s Signal) String() string { return signalNames[s] }

// callings are words by which people call the stages of a board that give a signal.
var callings = [signalCount][]string{
	Supply: {"panel supply"}, HPD: {"hot-plug", "hot plug", "hpd"}, AUX: {"aux", "identity"}, Link: {"link trained", "training"},
	Data: {"pairs alive", "lanes alive"}, LightSupply: {"backlight input", "backlight supply"}, PWM: {"dimm"}, Light: {"backlight enable"},
}

// Names reports whether a text speaks of the signal.
func (s Signal) Names(text string) bool {
	text = strings.ToLower(text)
	return slices.ContainsFunc(callings[s], func(word string) bool { return strings.Contains(text, word) })
}

// Event is one edge of a signal.
type Event uint8

// The events, in the order of a cold start and of the way down.
const (
	SupplyOn Event = iota // the supply leaves 10 %
	SupplyUp              // it has reached 90 %
	HPDOn
	AUXOn // the identity can be read
	LinkOn
	DataOn
	LightSupplyOn
	PWMOn
	LightOn
	LightOff
	PWMOff
	LightSupplyOff
	DataOff
	SupplyOff   // the supply begins to fall, 90 %
	SupplyDown  // it has fallen to 10 %
	SupplyAgain // the next start
	eventCount
)

type eventInfo struct {
	name   string
	alias  string // a second name that is understood
	label  string // for people
	signal Signal
	rising bool
	// waits is what an event that never comes may be waiting for.
	waits string
}

// events is THE table of events.
var events = [eventCount]eventInfo{
	SupplyOn: {"supply-on", "supply", "supply on", Supply, true, "the enable of the panel's load switch, its input rail, the fuse " +
		"in front of it"},
	SupplyUp: {"supply-up", "supply-90", "supply at 90 %", Supply, true, "a supply that is not held down: short or heavy load at " +
		"the connector, load switch in current limit"},
	HPDOn: {"hpd", "hpd-on", "hot-plug high", HPD, true, "the panel's own start: its supply at the connector, then the " +
		"controller of the panel; after that the HPD line to the source"},
	AUXOn: {"aux", "aux-on", "identity readable", AUX, true, "hot-plug at the source, both AUX lines with their capacitors and " +
		"pull resistors"},
	LinkOn: {"link", "link-on", "link trained", Link, true, "an identity that was read, and lanes without a break: couplings, " +
		"connector, cable"},
	DataOn: {"data", "data-on", "valid data", Data, true, "a source that drives: link trained (eDP), or panel supply reported " +
		"good (LVDS), a display switched on"},
	LightSupplyOn: {"backlight-supply", "backlight-supply-on", "backlight supply on", LightSupply, true, "the fuse and switch of the " +
		"backlight rail, and what opens them"},
	PWMOn: {"pwm", "pwm-on", "dimming on", PWM, true, "the source or the embedded controller: brightness above zero, lid open"},
	LightOn: {"backlight", "backlight-on", "backlight on", Light, true, "every input of the enable gate: lid, embedded " +
		"controller, panel-ready of the source; and valid data before them"},
	LightOff: {"backlight-off", "", "backlight off", Light, false, "the enable to fall: source or embedded controller, pull-down " +
		"at the enable"},
	PWMOff:         {"pwm-off", "", "dimming off", PWM, false, "the source or the embedded controller"},
	LightSupplyOff: {"backlight-supply-off", "", "backlight supply off", LightSupply, false, "the switch of the backlight rail to open"},
	DataOff:        {"data-off", "", "data off", Data, false, "the source to stop"},
	SupplyOff:      {"supply-off", "", "supply off", Supply, false, "the enable of the panel's load switch to fall"},
	SupplyDown: {"supply-down", "supply-10", "supply at 10 %", Supply, false, "the discharge of the rail: discharge resistor or " +
		"discharge pin of the load switch, back-feed through data lines"},
	SupplyAgain: {"supply-again", "", "supply on again", Supply, true, "the next start"},
}

// Name is the word for the event on the command line.
func (e Event) Name() string { return events[e].name }

// String is the event for people.
func (e Event) String() string { return events[e].label }

// Signal is what the event happens on.
func (e Event) Signal() Signal { return events[e].signal }

// MarshalText writes the name.
func (e Event) MarshalText() ([]byte, error) { return []byte(e.Name()), nil }

// down reports whether the event belongs to the way down.
func (e Event) down() bool { return e >= LightOff }

// before is the edge of the same signal that comes before e.
func (e Event) before() (Event, bool) {
	for by := e; by > 0; {
		if by--; by.Signal() == e.Signal() {
			return by, true
		}
	}
	return 0, false
}

// ramp reports whether two events are the two ends of one slope of the supply.
func ramp(from, to Event) bool {
	return from == SupplyOn && to == SupplyUp || from == SupplyOff && to == SupplyDown
}

// eventNamed finds an event by its name or second name; the light may be named
// without its back.
func eventNamed(word string) (Event, bool) {
	if strings.HasPrefix(word, "light") {
		word = "back" + word
	}
	for e := range eventCount {
		if word == events[e].name || word == events[e].alias && word != "" {
			return e, true
		}
	}
	return 0, false
}

// EventNames lists the names of all events.
func EventNames() []string {
	list := make([]string, eventCount)
	for e := range eventCount {
		list[e] = e.Name()
	}
	return list
}

// nearestEvent is the word for an event most likely meant by word, or "".
func nearestEvent(word string, more ...string) string {
	list := slices.Concat(more, EventNames(), []string{"light", "light-off", "light-supply"})
	for e := range eventCount {
		if events[e].alias != "" {
			list = append(list, events[e].alias)
		}
	}
	return mistake.Nearest(word, list)
}

// few names the first of a list that may be long.
func few(list []string) string {
	const n = 5
	if len(list) > n {
		list = append(slices.Clone(list[:n]), "…")
	}
	return strings.Join(list, ", ")
}
