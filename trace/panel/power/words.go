package power

import "example.org/walkback/trace/probe"

// cautions stand under every report.
var cautions = []string{
	probe.Sentence(probe.Slip),
	"Clip the probe on with all power out.",
	"Keep one channel on the panel supply in every shot and trigger on it; times of different shots fit together only so.",
	"A probe of 10 pF and 10 MΩ can hold an open enable line up or down: look again with the probe off.",
}

// rule says what a window on the wrong side means and where to look.
type rule struct {
	from, to Event
	side     Status // TooEarly, TooLate or Never
	means    string
	look     []Look
}

// meaning is what the rule says, with where that comes from.
func (x *rule) meaning() Meaning { return Meaning{x.means, practice, x.look} }

const (
	lookEnable Look = "the backlight enable with the source held off: it must stay low. A missing pull-down, a pull-up in its place, or " +
		"a gate that skips panel-ready lets it up early"
	lookRC     Look = "the resistor and capacitor at the enable: they set its delay"
	lookSwitch Look = "the load switch of the panel supply: its soft-start capacitor, its current limit, and the capacitors behind it"
	lookDrop   Look = "fuse, connector and cable in the supply: a drop of more than 0.1 V slows the rise"
	lookOff    Look = "the discharge path of the panel supply: discharge resistor or discharge pin of the load switch; a rail that " +
		"hangs at 0.5 V is fed back through data or AUX lines"
	lookCommand Look = "the enable of the load switch beside the data: which of both moves at the wrong time is the source's doing or a " +
		"delay on the board"
)

// rules is THE table of consequences: common practice, but for the five tries,
// which are MAX_PANEL_PREPARE_TRIES of the Linux kernel's panel-edp.c.
var rules = []rule{
	{SupplyOn, SupplyUp, TooEarly, "the inrush may trip a fuse or the load switch, and the rail may ring above its limit",
		[]Look{"the soft-start capacitor at the load switch, the gate capacitor of a p-channel switch: missing or open"}},
	{SupplyOn, SupplyUp, TooLate, "the panel's controller may start while the supply is still low and hang: white, dark or striped until " +
		"the next start",
		[]Look{lookSwitch, lookDrop}},
	{SupplyOn, SupplyUp, Never, "the panel gets no supply that it can work with", []Look{lookSwitch, lookDrop}},
	{SupplyUp, HPDOn, TooEarly, "hot-plug that is up before the supply is not the panel's: it is pulled up on the board or fed back",
		[]Look{"the HPD line with the panel unplugged: it must be low; its pull-down, about 100 kΩ"}},
	{SupplyUp, HPDOn, TooLate, "the source may give up; drivers then cycle the supply and try again, one public driver five times, which " +
		"looks like a panel that blinks or starts late",
		[]Look{lookSwitch, "the panel's controller: its supply current while it starts"}},
	{SupplyUp, HPDOn, Never, "the source does not read the identity and does not train",
		[]Look{"HPD at the connector, then at the source: series resistor, protection, cable", "the panel supply at the connector under load"}},
	{HPDOn, AUXOn, TooEarly, "an answer on AUX before hot-plug: the HPD line is slow or loaded", []Look{"the capacitor and resistor at " +
		"the HPD line"}},
	{HPDOn, AUXOn, Never, "no identity", []Look{"both AUX lines: capacitors of about 0.1 µF, bias resistors, a short to the neighbour"}},
	{AUXOn, LinkOn, Never, "training fails: a lane is open or too weak; the source may go on with fewer lanes or " +
		"give up", []Look{"each lane: coupling capacitors, connector, cable"}},
	{LinkOn, DataOn, Never, "the link stands, and the source sends no picture", []Look{"the source's software: another display chosen, " +
		"brightness or lid state"}},
	{LinkOn, DataOn, TooEarly, "the source drives the lanes without waiting for hot-plug and training: it is told that a panel is there, " +
		"or hot-plug is lost on its way to the probe",
		[]Look{"HPD at both ends of its line, at the panel connector and at the source"}},
	{SupplyUp, DataOn, TooEarly, "inputs are driven before the supply: current flows through their protection diodes into the panel, " +
		"which can latch up or start half way",
		[]Look{"the panel supply before the start: more than 0.3 V there is fed back through the data lines", lookCommand, lookSwitch}},
	{SupplyUp, DataOn, TooLate, "the panel runs without a clock: stripes, a slow white or grey fade, a constant voltage on the " +
		"crystal", []Look{lookCommand}},
	{SupplyUp, DataOn, Never, "a panel without data stays white, black or in its own test picture", []Look{"the clock pair first, then " +
		"the data pairs, at the connector"}},
	{DataOn, LightOn, TooEarly, "the light is on before the picture stands: a white flash, noise or the last picture at the " +
		"start", []Look{lookEnable, lookRC}},
	{DataOn, LightOn, TooLate, "the picture stands in the dark for a while; an old LED driver may have given up on a string", []Look{lookRC}},
	{DataOn, LightOn, Never, "a dark picture: look with a torch", []Look{"the enable at the LED driver, then back through each input of " +
		"its gate", "the backlight rail and its fuse"}},
	{LightSupplyOn, PWMOn, TooEarly, "the LED driver's inputs are driven before its supply: it may start without its soft start",
		[]Look{"the switch of the backlight rail: slow rise, drop at its fuse"}},
	{PWMOn, LightOn, TooEarly, "the LED driver is on without dimming: a flash at full brightness, or none until the next " +
		"start", []Look{lookEnable}},
	{LightOff, PWMOff, TooEarly, "the light goes to full or dark before it is switched off: a blink at the end", []Look{"the capacitor " +
		"at the enable: it holds the enable up"}},
	{PWMOff, LightSupplyOff, TooEarly, "the LED driver loses its supply while it runs: a blink at the end, stress for its " +
		"switch", []Look{"what opens the switch of the backlight rail"}},
	{LightOff, DataOff, TooEarly, "the light is still on when the picture ends: noise or a white flash at " +
		"switching off", []Look{"the capacitor at the enable: it holds the enable up", lookRC}},
	{DataOff, SupplyOff, TooEarly, "data goes on into a panel without supply: current through the protection diodes, risk of latch-up; " +
		"the rail does not fall to zero",
		[]Look{lookCommand, "a supply that is lost: battery or main rail going away first"}},
	{DataOff, SupplyOff, TooLate, "the panel stands supplied without data: a picture that fades slowly, shadows at the next " +
		"start", []Look{lookCommand}},
	{SupplyOff, SupplyDown, TooLate, "the rail falls slowly: the panel passes its low voltages slowly, and the off time before the next " +
		"start shrinks", []Look{lookOff}},
	{SupplyOff, SupplyDown, Never, "the rail never empties: the panel keeps half of its state, and the next start may fail", []Look{lookOff}},
	{SupplyDown, SupplyAgain, TooEarly, "the panel's reset may not act: white, dark or no hot-plug after a quick off and on, good after " +
		"a longer pause",
		[]Look{lookOff, "who switches the supply back on so soon: source after a failed start, or a supply that drops out and returns"}},
}

// ruleFor finds what is known of a window on its wrong side, or nil.
func ruleFor(from, to Event, side Status) *rule {
	for i := range rules {
		x := &rules[i]
		// A window may begin at either end of a slope and mean the same.
		begins := x.from == from || x.from == SupplyUp && from == SupplyOn && to != SupplyUp ||
			x.from == SupplyDown && from == SupplyOff && to != SupplyDown
		if begins && x.to == to && x.side == side {
			return x
		}
	}
	return nil
}

// explain adds what a wrong window means that began with an event, and where to look.
func (r *Result) explain(from Event) {
	if x := ruleFor(from, r.To, r.Status); x != nil {
		r.Meaning = x.meaning()
		return
	}
	switch r.Status {
	case Never:
		r.Meaning = Meaning{"what waits for " + r.To.String() + " does not start, or too early", practice, []Look{Look(events[r.To].waits)}}
	case TooEarly:
		r.Meaning = Meaning{"the panel is not ready yet when " + r.To.String() + " comes", practice,
			[]Look{Look("what moves the " + r.To.Signal().String() + ": pull resistors, and the delay on the board")}}
	case TooLate:
		r.Meaning = Meaning{"the panel waits longer than it is made for", practice,
			[]Look{Look("what " + r.To.String() + " waits for: " + events[r.To].waits)}}
	}
}
