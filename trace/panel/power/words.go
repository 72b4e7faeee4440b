package power

import "example.org/walkback/trace/probe"

// cautions stand under every report.
var cautions = []string{
	probe.Sentence(probe.Slip),
	"Clip the probe on with all power out.",
	"Keep one channel on the panel supply in every shot and trigger on it; times of different shots fit together only so.",
	"A probe of 10 pF and 10 MΩ can hold an open enable line up or down: look again with the probe off.",
}

// Meaning is what a wrong window comes to.
type Meaning struct {
	Means string   `json:"means,omitempty"` // what the eye or the board may show
	Basis string   `json:"basis,omitempty"` // where Means and Look come from
	Look  []string `json:"look_at,omitempty"`
}

// rule says what a window on the wrong side means and where to look.
type rule struct {
	from, to Event
	side     Status // TooEarly, TooLate or Never
	means    string
	look     []string
}

const (
	lookEnable = "the backlight enable with the source held off: it must stay low. A missing pull-down, a pull-up in its place, or " +
		"a gate that skips panel-ready lets it up early"
	lookRC     = "the resistor and capacitor at the enable: they set its delay"
	lookSwitch = "the load switch of the panel supply: its soft-start capacitor, its current limit, and the capacitors behind it"
	lookDrop   = "fuse, connector and cable in the supply: a drop of more than 0.1 V slows the rise"
	lookOff    = "the discharge path of the panel supply: discharge resistor or discharge pin of the load switch; a rail that " +
		"hangs at 0.5 V is fed back through data or AUX lines"
	lookCommand = "the enable of the load switch beside the data: which of both moves at the wrong time is the source's doing or a " +
		"delay on the board"
)

// rules is THE table of consequences: common practice, but for the five tries,
// which are MAX_PANEL_PREPARE_TRIES of the Linux kernel's panel-edp.c.
var rules = []rule{
	{SupplyOn, SupplyUp, TooEarly, "the inrush may trip a fuse or the load switch, and the rail may ring above its limit",
		[]string{"the soft-start capacitor at the load switch, the gate capacitor of a p-channel switch: missing or open"}},
	{SupplyOn, SupplyUp, TooLate, "the panel's controller may start while the supply is still low and hang: white, dark or striped until " +
		"the next start",
		[]string{lookSwitch, lookDrop}},
	{SupplyOn, SupplyUp, Never, "the panel gets no supply that it can work with", []string{lookSwitch, lookDrop}},
	{SupplyUp, HPDOn, TooEarly, "hot-plug that is up before the supply is not the panel's: it is pulled up on the board or fed back",
		[]string{"the HPD line with the panel unplugged: it must be low; its pull-down, about 100 kΩ"}},
	{SupplyUp, HPDOn, TooLate, "the source may give up; drivers then cycle the supply and try again, one public driver five times, which " +
		"looks like a panel that blinks or starts late",
		[]string{lookSwitch, "the panel's controller: its supply current while it starts"}},
	{SupplyUp, HPDOn, Never, "the source does not read the identity and does not train",
		[]string{"HPD at the connector, then at the source: series resistor, protection, cable", "the panel supply at the connector under load"}},
	{HPDOn, AUXOn, TooEarly, "an answer on AUX before hot-plug: the HPD line is slow or loaded", []string{"the capacitor and resistor at " +
		"the HPD line"}},
	{HPDOn, AUXOn, Never, "no identity", []string{"both AUX lines: capacitors of about 0.1 µF, bias resistors, a short to the neighbour"}},
	{AUXOn, LinkOn, Never, "training fails: a lane is open or too weak; the source may go on with fewer lanes or " +
		"give up", []string{"each lane: coupling capacitors, connector, cable"}},
	{LinkOn, DataOn, Never, "the link stands, and the source sends no picture", []string{"the source's software: another display chosen, " +
		"brightness or lid state"}},
	{LinkOn, DataOn, TooEarly, "the source drives the lanes without waiting for hot-plug and training: it is told that a panel is there, " +
		"or hot-plug is lost on its way to the probe",
		[]string{"HPD at both ends of its line, at the panel connector and at the source"}},
	{SupplyUp, DataOn, TooEarly, "inputs are driven before the supply: current flows through their protection diodes into the panel, " +
		"which can latch up or start half way",
		[]string{"the panel supply before the start: more than 0.3 V there is fed back through the data lines", lookCommand, lookSwitch}},
	{SupplyUp, DataOn, TooLate, "the panel runs without a clock: stripes, a slow white or grey fade, a constant voltage on the " +
		"crystal", []string{lookCommand}},
	{SupplyUp, DataOn, Never, "a panel without data stays white, black or in its own test picture", []string{"the clock pair first, then " +
		"the data pairs, at the connector"}},
	{DataOn, LightOn, TooEarly, "the light is on before the picture stands: a white flash, noise or the last picture at the " +
		"start", []string{lookEnable, lookRC}},
	{DataOn, LightOn, TooLate, "the picture stands in the dark for a while; an old LED driver may have given up on a string",
		[]string{lookRC}},
	{DataOn, LightOn, Never, "a dark picture: look with a torch", []string{"the enable at the LED driver, then back through each input of " +
		"its gate", "the backlight rail and its fuse"}},
	{LightSupplyOn, PWMOn, TooEarly, "the LED driver's inputs are driven before its supply: it may start without its soft start",
		[]string{"the switch of the backlight rail: slow rise, drop at its fuse"}},
	{PWMOn, LightOn, TooEarly, "the LED driver is on without dimming: a flash at full brightness, or none until the next " +
		"start", []string{lookEnable}},
	{LightOff, PWMOff, TooEarly, "the light goes to full or dark before it is switched off: a blink at the end", []string{"the capacitor " +
		"at the enable: it holds the enable up"}},
	{PWMOff, LightSupplyOff, TooEarly, "the LED driver loses its supply while it runs: a blink at the end, stress for its " +
		"switch", []string{"what opens the switch of the backlight rail"}},
	{LightOff, DataOff, TooEarly, "the light is still on when the picture ends: noise or a white flash at " +
		"switching off", []string{"the capacitor at the enable: it holds the enable up", lookRC}},
	{DataOff, SupplyOff, TooEarly, "data goes on into a panel without supply: current through the protection diodes, risk of latch-up; " +
		"the rail does not fall to zero",
		[]string{lookCommand, "a supply that is lost: battery or main rail going away first"}},
	{DataOff, SupplyOff, TooLate, "the panel stands supplied without data: a picture that fades slowly, shadows at the next " +
		"start", []string{lookCommand}},
	{SupplyOff, SupplyDown, TooLate, "the rail falls slowly: the panel passes its low voltages slowly, and the off time before the next " +
		"start shrinks", []string{lookOff}},
	{SupplyOff, SupplyDown, Never, "the rail never empties: the panel keeps half of its state, and the next start may fail",
		[]string{lookOff}},
	{SupplyDown, SupplyAgain, TooEarly, "the panel's reset may not act: white, dark or no hot-plug after a quick off and on, good after " +
		"a longer pause",
		[]string{lookOff, "who switches the supply back on so soon: source after a failed start, or a supply that drops out and returns"}},
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
	to := r.To.String()
	if x := ruleFor(from, r.To, r.Status); x != nil {
		r.Meaning = Meaning{x.means, practice, x.look}
		return
	}
	switch r.Status {
	case Never:
		r.Meaning = Meaning{"what waits for " + to + " does not start, or too early", practice, []string{events[r.To].waits}}
	case TooEarly:
		r.Meaning = Meaning{"the panel is not ready yet when " + to + " comes", practice,
			[]string{"what moves the " + r.To.Signal().String() + ": pull resistors, and the delay on the board"}}
	case TooLate:
		r.Meaning = Meaning{"the panel waits longer than it is made for", practice,
			[]string{"what " + to + " waits for: " + events[r.To].waits}}
	}
}
