package netlist

import "slices"

// Sources of the failure-mode shares in the table.
const (
	hdbk338 = "MIL-HDBK-338B (1998), failure-mode ratios after FMD-91"
	noShare = "common practice, no source"
	// Sources that give one share to what is always there and what comes and goes.
	halfPoor   = hdbk338 + ", poor contact, half of it"
	halfVaries = "from memory: FMD-91, excessive variance, half of it"
)

// Proofs that several kinds share; all proofs are common practice, no source.
const (
	chipProof = "supply, ground, enable and every input read right while the output reads wrong, and nothing else holds the output: " +
		"measure ohms there cold, with what hangs on it lifted or unplugged"
	switchProof = "gate and source read right for on while the drop from end to end is too large, or right for off while it conducts; then " +
		"ohms from gate to source cold"
	supplyProof = "input and enable read right while the output reads wrong, and ohms from the output to ground show no short"
)

// Reasons for which no probe shows a fault.
const (
	tooLate      = "it shows when too much current flows, and then something else has failed"
	noInductance = "a meter that reads volts and ohms does not read an inductance"
)

var (
	signalRules = []string{"drives", "pulls", "sends", "reads", "makes"}

	vddPin = Pin{Name: "vdd", Need: Supply, Many: true, Doc: "supply", Drag: "its supply pin shorted inside"}
	gndPin = Pin{Name: "gnd", Need: Return, At: Low, Optional: true, Doc: "ground"}
	ioPin  = Pin{Name: "io", Optional: true, Many: true, Doc: "further nets it listens to; nets named in its rules are joined by themselves",
		Drag: "its pin stuck or shorted inside"}

	twoEnds = []Pin{
		{Name: "a", Many: true, Doc: "the end that energy comes from", Drag: "shorted, it joins its two nets"},
		{Name: "b", Many: true, Doc: "the end that energy goes to", Drag: "shorted, it joins its two nets"},
	}
	gatePins = []Pin{
		{Name: "in", Many: true, Doc: "inputs", Drag: "an input shorted inside"},
		{Name: "out", Doc: "output", Drag: "its output stuck or shorted inside"},
		vddPin, gndPin,
	}
	ohms = Attr{Name: "r", Unit: Ohm, Doc: "resistance"}

	chipFaults = []Fault{
		{Name: "stuck-low", Share: 0.28, Source: hdbk338, Doc: "an output stays low", Per: PerOutput, Does: SticksLow},
		{Name: "stuck-high", Share: 0.28, Source: hdbk338, Doc: "an output stays high", Per: PerOutput, Does: SticksHigh},
		{Name: "input-open", Share: 0.22, Source: hdbk338, Doc: "an input no longer listens", Per: PerInput, Does: Deafens},
		{Name: "output-open", Share: 0.22, Source: hdbk338, Doc: "an output no longer drives", Per: PerOutput, Does: Frees},
		{Name: "dead", Source: noShare, Bench: 0.4, Doc: "does nothing though all it needs is there", Per: PerPart, Does: Dies},
		{Name: "supply-short", Source: noShare, Bench: 0.1, Doc: "its supply pin is shorted to ground", Per: PerPin,
			Does: Grounds, Value: 0.1, Sizes: shortSizes, Pin: "vdd"},
	}
	linearFaults = []Fault{
		{Name: "wrong-output", Share: 0.77, Source: hdbk338, Doc: "gives a wrong level", Per: PerPart,
			Does: Levels, Value: 0.7, Sizes: levelSizes},
		{Name: "no-output", Share: 0.23, Source: hdbk338, Doc: "gives nothing", Per: PerPart, Does: StaysOff},
		{Name: "stuck-on", Source: noShare, Doc: "cannot be switched off", Per: PerPart, Does: StaysOn},
		{Name: "output-short", Source: noShare, Doc: "its output is shorted to ground", Per: PerPart,
			Does: Grounds, Value: 0.1, Sizes: shortSizes, Pin: "out"},
	}
	coilFaults = []Fault{
		{Name: "open", Share: 0.42, Source: hdbk338, Doc: "does not conduct", Per: PerChannel, Does: Opens},
		{Name: "short", Share: 0.42, Source: hdbk338, Doc: "its turns are shorted", Per: PerChannel,
			Does: Joins, Value: 0.01, Sizes: shortSizes},
		{Name: "drifted", Share: 0.16, Source: hdbk338, Doc: "its value has changed", Per: PerPart, Does: Hides},
		{Name: "lifted", Source: noShare, Bench: 0.5, Doc: "knocked off its pads or cracked", Per: PerPart, Does: Opens},
		{Name: "cracked", Source: noShare, Bench: 0.2, Doc: "a joint or winding conducts badly", Per: PerChannel,
			Does: Resists, Value: 10e3, Sizes: contactSizes},
	}
	diodeFaults = []Fault{
		{Name: "short", Share: 0.49, Source: hdbk338, Doc: "conducts both ways", Per: PerChannel,
			Does: Joins, Value: 0.05, Sizes: shortSizes},
		{Name: "open", Share: 0.36, Source: hdbk338, Doc: "does not conduct", Per: PerChannel, Does: Opens},
		{Name: "drifted", Share: 0.15, Source: hdbk338, Doc: "leaks", Per: PerChannel, Does: Joins, Value: 2000, Sizes: leakSizes},
	}
	fetFaults = []Fault{
		{Name: "short", Share: 0.51, Source: hdbk338, Doc: "drain and source joined: always on", Per: PerPart,
			Does: Joins, Value: 0.05, Sizes: shortSizes},
		{Name: "weak", Share: 0.22, Source: hdbk338, Doc: "output low: does not switch on fully", Per: PerPart,
			Does: Scales, Value: 200, Sizes: Range{10, 1e6}},
		{Name: "drifted", Share: 0.17, Source: hdbk338, Doc: "a parameter has changed: gate leaks", Per: PerPart,
			Does: LeaksGate, Value: 10e3, Sizes: leakSizes},
		{Name: "open", Share: 0.05, Source: hdbk338, Bench: 0.6, Doc: "never conducts", Per: PerPart, Does: Opens},
		{Name: "stuck-on", Share: 0.05, Source: hdbk338, Doc: "output high: does not switch off", Per: PerPart, Does: StaysOn},
	}
	contactFaults = []Fault{
		{Name: "open", Share: 0.61, Source: hdbk338, Doc: "a contact or solder joint is open", Per: PerChannel, Does: Opens},
		{Name: "intermittent", Share: 0.11, Source: halfPoor, Doc: "a contact comes and goes", Per: PerChannel, Does: Opens},
		{Name: "poor", Share: 0.12, Source: halfPoor, Doc: "a contact or joint has resistance", Per: PerChannel, Does: Resists, Value: 10e3,
			Sizes: contactSizes},
		{Name: "bridge", Share: 0.16, Source: hdbk338, Bench: 0.1, Doc: "shorted to the next pin", Per: PerChannel,
			Does: Bridges, Value: 0.1, Sizes: shortSizes},
		{Name: "bridge-over", Source: noShare, Bench: 0.05, Doc: "a rail shorted over a ground pin to the next one behind it", Per: PerChannel,
			Does: Bridges, Over: true, Value: 0.1, Sizes: shortSizes},
		{Name: "leaky", Source: noShare, Bench: 0.1, Doc: "corrosion lets current to the next pin", Per: PerChannel,
			Does: Bridges, Value: 10e3, Sizes: leakSizes},
	}
)

// Kinds is the one table of part kinds. The checker, the walk, the checklist,
// the diagram and the format reference all read it.
var Kinds = []Kind{
	{
		Name: "supply", Bench: 0.3, Acts: "supply", Summary: "where a rail comes from, the end of every walk",
		Example: "supply PS1 -> VMAIN limit=8A",
		Letters: []string{"PS", "BT", "J", "X", "P", "G"}, Form: OutForm,
		Pins:  []Pin{{Name: "out", Doc: "the rail", Drag: "its own output shorted"}},
		Attrs: []Attr{{Name: "limit", Unit: Ampere, Doc: "current it can give"}, givesAttr},
		Gives: []Give{{Pin: "out"}},
		Faults: []Fault{
			{Name: "no-output", Share: 0.52, Source: "from memory: FMD-91", Doc: "gives nothing", Per: PerPart, Does: StaysOff},
			{Name: "wrong-output", Share: 0.48, Source: "from memory: FMD-91",
				Doc: "gives a wrong voltage", Per: PerPart, Does: Levels, Value: 0.7, Sizes: levelSizes},
		},
		Minutes: 3,
		Proof:   "read it at its own terminals with the board unplugged from it; feed the board from a bench supply with its current limited",
	},
	{
		Name: "source", Balls: true, Bench: 0.5, Draws: 0.2, Summary: "the chip that sends the picture",
		Example: "source U1 vdd=V3 gnd=GND",
		Letters: []string{"U"}, Form: NamedForm, Pins: []Pin{vddPin, gndPin, ioPin}, Rules: signalRules, Attrs: []Attr{drawsAttr},
		Faults:  chipFaults,
		Minutes: 25,
		Proof:   chipProof,
	},
	{
		Name: "controller", Balls: true, Bench: 0.4, Draws: 5e-3,
		Summary: "any other chip with rules of its own, such as the one that runs lid, keys and power",
		Example: "controller U8 vdd=V3_AO gnd=GND",
		Letters: []string{"U"}, Form: NamedForm, Pins: []Pin{vddPin, gndPin, ioPin}, Rules: signalRules, Attrs: []Attr{drawsAttr},
		Faults:  chipFaults,
		Minutes: 25,
		Proof:   chipProof,
	},
	{
		Name: "fuse", Bench: 0.5, Summary: "opens when too much current has flowed; usually a victim",
		Example: "fuse F1 VMAIN -> VBL_F rating=3A r=25m",
		Letters: []string{"F"}, Pins: twoEnds, Bears: BearsAll, Victim: true,
		Attrs:  []Attr{{Name: "rating", Unit: Ampere, Doc: "rated current"}, ohms},
		Passes: []Pass{{A: "a", B: "b", Ohms: 0.05, Value: "r"}},
		Faults: []Fault{
			{Name: "open", Share: 0.08, Source: hdbk338 + ", premature opening; an open fuse on the bench is nearly always a consequence",
				Bench: 3, Doc: "blown", Per: PerChannel, Does: Opens},
			{Name: "tired", Source: noShare, Bench: 0.5, Doc: "half open: it conducts badly", Per: PerChannel,
				Does: Resists, Value: 10, Sizes: contactSizes},
			{Name: "slow", Share: 0.43, Source: hdbk338, Doc: "opens too slowly", Per: PerPart, Does: Hides},
			{Name: "no-open", Share: 0.49, Source: hdbk338, Doc: "does not open when it should", Per: PerPart, Does: Limits, Value: 1e6},
		},
		Hidden:  map[string]string{"slow": tooLate, "no-open": tooLate},
		Minutes: 6,
		Proof:   "ohms across it read open, and ohms behind it to ground show no short, before a new one goes in",
	},
	{
		Name: "resistor", Bench: 0.8, Summary: "series part, pull-up, pull-down or divider leg",
		Example: "resistor R12 V3 -> ID_CLK 2k2",
		Letters: []string{"R", "RT", "RN"}, Pins: twoEnds, Main: "r", Bears: BearsSmall, EitherWay: true,
		ToGround: "sets the level to ground; shorted or too small it pulls down, open it leaves the level too high",
		Attrs:    []Attr{ohms, {Name: "tol", Unit: Percent, Default: "5%", Doc: "tolerance"}},
		Passes:   []Pass{{A: "a", B: "b", Ohms: 1000, Value: "r"}},
		Faults: []Fault{
			{Name: "open", Share: 0.59, Source: hdbk338, Doc: "does not conduct", Per: PerChannel, Does: Opens},
			{Name: "drifted", Share: 0.36, Source: hdbk338, Doc: "its value has changed", Per: PerChannel,
				Does: Scales, Value: 2, Sizes: driftSizes},
			{Name: "short", Share: 0.05, Source: hdbk338, Doc: "bridged", Per: PerChannel, Does: Joins, Value: 0.01, Sizes: shortSizes},
			{Name: "lifted", Source: noShare, Bench: 0.2, Doc: "knocked off or eaten by liquid", Per: PerPart, Does: Opens},
		},
		Minutes: 6,
		Proof:   "ohms across it with all power out and the panel unplugged; where other parts shunt it, lift one end",
	},
	{
		Name: "capacitor", Bench: 0.8, Summary: "to ground it smooths a rail; in series it couples a fast lane",
		Example: "capacitor C4 VBL -> GND 4u7 volts=50V",
		Letters: []string{"C"}, Main: "c",
		Pins: []Pin{
			{Name: "a", Many: true, Doc: "one end", Drag: "shorted or leaky, it pulls the net to its other end"},
			{Name: "b", Many: true, Doc: "the other end", Drag: "shorted or leaky, it pulls the net to its other end"},
		},
		Attrs:  []Attr{{Name: "c", Unit: Farad, Doc: "capacitance"}, {Name: "volts", Unit: Volt, Doc: "rated voltage"}},
		Passes: []Pass{{A: "a", B: "b", AC: true, Ohms: 1}},
		Faults: []Fault{
			{Name: "short", Share: 0.49, Source: hdbk338, Doc: "its two ends are joined", Per: PerChannel,
				Does: Joins, Value: 0.1, Sizes: shortSizes},
			{Name: "drifted", Share: 0.29, Source: hdbk338, Doc: "lost capacitance, leaks", Per: PerChannel,
				Does: Joins, Value: 2000, Sizes: leakSizes},
			{Name: "open", Share: 0.22, Source: hdbk338, Doc: "cracked", Per: PerChannel, Does: Opens},
		},
		Minutes: 6,
		Proof:   "lift it with all power out: the short to ground is gone with it",
	},
	{
		Name: "coil", Bench: 2, Summary: "inductor of a converter or a supply filter",
		Example: "coil L4 VBL_SW -> BL_LX r=110m l=10u",
		Letters: []string{"L"}, Pins: twoEnds, Bears: BearsSteady,
		Attrs:  []Attr{ohms, {Name: "l", Unit: Henry, Doc: "inductance"}},
		Passes: []Pass{{A: "a", B: "b", Ohms: 0.1, Value: "r"}}, Faults: coilFaults,
		Hidden:  map[string]string{"short": "its resistance is below what a meter tells from none", "drifted": noInductance},
		Minutes: 6,
		Proof:   "ohms across it with all power out and the panel unplugged; for shorted turns change it for a known-good one",
	},
	{
		Name: "ferrite", Bench: 1.6, Summary: "bead in a rail or a line", Example: "ferrite FB2 V3 -> V3_ID r=200m",
		Letters: []string{"FB", "E", "L"}, Pins: twoEnds, Bears: BearsAll, Attrs: []Attr{ohms},
		Passes: []Pass{{A: "a", B: "b", Ohms: 0.2, Value: "r"}}, Faults: coilFaults,
		Hidden:  map[string]string{"short": "its resistance is below what a meter tells from none", "drifted": noInductance},
		Minutes: 6,
		Proof:   "ohms across it with all power out and the panel unplugged, under 1 Ω; push it with a stick while you read",
	},
	{
		Name: "filter", Bench: 1.2, Summary: "two-terminal filter in a clock, data or supply line; lists make channels",
		Example: "filter FL1 ID_CLK -> ID_CLK_J r=5",
		Letters: []string{"FL", "L", "E", "FB"}, Pins: twoEnds, Bears: BearsAll, Attrs: []Attr{ohms},
		Passes: []Pass{{A: "a", B: "b", Ohms: 1, Value: "r"}}, Faults: coilFaults,
		Hidden:  map[string]string{"drifted": noInductance},
		Minutes: 6,
		Proof:   "ohms across it with all power out and the panel unplugged; push it with a stick while you read",
	},
	{
		Name: "choke", Bench: 1.2, Summary: "four-terminal filter: two coupled windings in a pair",
		Example: "choke FL3 A0P,A0N -> A0P_J,A0N_J r=4",
		Letters: []string{"FL", "L", "T"}, Pins: twoEnds, Bears: BearsAll, Attrs: []Attr{ohms},
		Passes: []Pass{{A: "a", B: "b", Ohms: 4, Value: "r"}}, Faults: coilFaults,
		Hidden:  map[string]string{"drifted": noInductance},
		Minutes: 6,
		Proof:   "ohms across each winding with all power out and the panel unplugged; both windings alike",
	},
	{
		Name: "diode", Bench: 3, Summary: "conducts from anode to cathode", Example: "diode D6 BL_LX -> VBL vf=0.42V",
		Letters: []string{"D", "CR"},
		Pins: []Pin{
			{Name: "a", Doc: "anode", Drag: "shorted, it joins its two nets"},
			{Name: "k", Doc: "cathode", Drag: "shorted, it joins its two nets"},
		},
		Attrs:  []Attr{{Name: "vf", Unit: Volt, Default: "0.4V", Doc: "forward voltage"}},
		Passes: []Pass{{A: "a", B: "k", OneWay: true, Ohms: 0.3}}, Faults: diodeFaults,
		Minutes: 6,
		Proof:   "diode mode across it both ways with all power out; where it reads low both ways, lift one end",
	},
	{
		Name: "clamp", Bench: 0.8, Acts: "clamp", Summary: "protection diode from a line to ground",
		Example: "clamp D9 ID_CLK_J -> GND volts=5V",
		Letters: []string{"D", "CR", "VR", "RV", "E"},
		Pins: []Pin{
			{Name: "a", Many: true, Doc: "the line", Drag: "shorted or leaky after a surge, it holds the line at ground"},
			{Name: "b", Doc: "ground"},
		},
		Attrs: []Attr{{Name: "volts", Unit: Volt, Doc: "stand-off voltage"}}, Faults: diodeFaults,
		Minutes: 6,
		Proof:   "lift it with all power out: the line is free of the short or leak",
	},
	{
		Name: "zener", Bench: 0.6, Acts: "zener", Summary: "holds a rail or a line at its voltage, fed through a resistor",
		Example: "zener D12 V5 -> GND 5V1 test=5mA r=20",
		Letters: []string{"D", "CR", "VR"}, Main: "volts",
		Pins: []Pin{
			{Name: "k", Doc: "cathode, on the net that it holds", Drag: "shorted or leaky, it pulls the net down"},
			{Name: "a", Doc: "anode"},
		},
		Attrs: []Attr{
			{Name: "volts", Unit: Volt, Default: "5.1V", Doc: "voltage at its test current"},
			{Name: "test", Unit: Ampere, Default: "5mA", Doc: "test current"},
			{Name: "r", Unit: Ohm, Default: "20", Doc: "slope above the knee"}, {Name: "vf", Unit: Volt, Default: "0.7V", Doc: "forward voltage"},
			{Name: "tol", Unit: Percent, Default: "5%", Doc: "tolerance"},
		},
		Faults: []Fault{
			{Name: "open", Share: 0.45, Source: "from memory: FMD-91", Doc: "does not conduct: the net rises", Per: PerPart, Does: Opens},
			{Name: "drifted", Share: 0.35, Source: "from memory: FMD-91, parameter change",
				Doc: "holds another voltage", Per: PerPart, Does: Levels,
				Value: 0.8, Sizes: Range{0.3, 1.4}},
			{Name: "short", Share: 0.20, Source: "from memory: FMD-91", Doc: "conducts both ways", Per: PerPart,
				Does: Joins, Value: 0.05, Sizes: shortSizes},
		},
		Minutes: 6,
		Proof:   "lift it with all power out: the short is gone with it; with power on it gets hot while the net reads above its voltage",
	},
	{
		Name: "pfet", Bench: 2, Summary: "P-channel switch, on while its gate is low",
		Example: "pfet Q5 VBL_F -> VBL_SW gate=BL_ON_N r=45m",
		Letters: []string{"Q"}, Pins: fetPins("source", "drain", Low), Attrs: []Attr{ohms, onAttr},
		Passes: []Pass{{A: "a", B: "b", Ohms: 0.05, Value: "r", Control: "gate", Level: Low, Ref: "a", Body: 0.6}}, Faults: fetFaults,
		Minutes: 12,
		Proof:   switchProof,
	},
	{
		Name: "nfet", Bench: 1.5, Summary: "N-channel switch, on while its gate is high",
		Example: "nfet Q6 BL_ON_N -> GND gate=BL_ON",
		Letters: []string{"Q"}, Pins: fetPins("drain", "source", High), Attrs: []Attr{ohms, onAttr},
		Passes: []Pass{{A: "a", B: "b", Ohms: 0.05, Value: "r", Control: "gate", Level: High, Ref: "b", Body: 0.6}}, Faults: fetFaults,
		Minutes: 12,
		Proof:   switchProof,
	},
	{
		Name: "npn", Bench: 1, Acts: "npn", Summary: "digital transistor: a switch with its base resistors built in",
		Example: "npn Q7 BL_ON_N -> GND base=BL_ON r1=10k r2=10k",
		Letters: []string{"Q"},
		Pins: []Pin{
			{Name: "a", Doc: "collector", Drag: "shorted inside"}, {Name: "b", Doc: "emitter", Drag: "shorted inside"},
			{Name: "base", Need: Enable, Doc: "base, behind r1", Drag: "its resistors pull down, its base shorted inside"},
		},
		Attrs: []Attr{
			{Name: "r1", Unit: Ohm, Default: "10k", Doc: "in series with the base"},
			{Name: "r2", Unit: Ohm, Default: "10k", Doc: "from base to emitter"},
			{Name: "vbe", Unit: Volt, Default: "0.65V", Doc: "between base and emitter while it conducts"},
			{Name: "gain", Default: "50", Doc: "collector current over base current, at least"},
			{Name: "r", Unit: Ohm, Default: "5", Doc: "from collector to emitter while it is on"},
		},
		Passes: []Pass{{A: "a", B: "b", Ohms: 5, Value: "r", Control: "base", Level: High, Ref: "b"}},
		Faults: []Fault{
			{Name: "short", Share: 0.73, Source: hdbk338, Doc: "collector and emitter joined: always on", Per: PerPart,
				Does: Joins, Value: 0.05, Sizes: shortSizes},
			{Name: "open", Share: 0.27, Source: hdbk338, Doc: "never conducts", Per: PerPart, Does: Opens},
			{Name: "base-open", Source: noShare, Doc: "the resistor before its base is open: never switches on", Per: PerPart, Does: StaysOff},
		},
		Minutes: 12,
		Proof:   switchProof,
	},
	{
		Name: "shifter", Bench: 1, Acts: "shifter",
		Summary: "level shifter of open-drain lines between two supplies: a MOSFET and two pull-ups a line", EitherWay: true,
		Example: "shifter Q9 va=V1P8 vb=V3 a=CLK_1,DAT_1 b=CLK_3,DAT_3",
		Letters: []string{"Q", "U"}, Form: NamedForm,
		Pins: []Pin{
			{Name: "va", Need: Supply, Doc: "supply of the low side, on the gates", Drag: "shorted inside"},
			{Name: "vb", Need: Supply, Doc: "supply of the high side", Drag: "shorted inside"},
			{Name: "a", Many: true, Doc: "lines of the low side", Drag: "shorted inside, it joins its two lines"},
			{Name: "b", Many: true, Doc: "lines of the high side, in the same order", Drag: "shorted inside, it joins its two lines"},
		},
		Attrs: []Attr{
			{Name: "pull", Unit: Ohm, Default: "10k", Doc: "each pull-up"}, {Name: "r", Unit: Ohm, Default: "5", Doc: "a MOSFET while it is on"},
			{Name: "vth", Unit: Volt, Default: "1V", Doc: "threshold of the MOSFETs"},
		},
		Passes: []Pass{{A: "b", B: "a", Ohms: 5, Value: "r", Control: "va", Level: High, Ref: "a", Body: 0.6}},
		Gives:  []Give{{Pin: "a", Weak: true}, {Pin: "b", Weak: true}},
		Faults: []Fault{
			{Name: "open", Source: noShare, Doc: "a MOSFET never conducts", Per: PerChannel, Does: Opens},
			{Name: "short", Source: noShare, Doc: "a MOSFET conducts for ever", Per: PerChannel, Does: Joins, Value: 0.05, Sizes: shortSizes},
			{Name: "low-pull-open", Source: noShare, Doc: "a pull-up of the low side is open", Per: PerPin, Does: Frees, Pin: "a"},
			{Name: "high-pull-open", Source: noShare, Doc: "a pull-up of the high side is open", Per: PerPin, Does: Frees, Pin: "b"},
		},
		Minutes: 12,
		Proof:   "both supplies read right, and with all power out the line shows its pull-up on both sides while what hangs on it is lifted",
	},
	{
		Name: "loadswitch", Bench: 5, Summary: "load switch chip: a switch with an enable input",
		Example: "loadswitch U4 V3 -> V3_PNL en=PNL_ON gnd=GND limit=2A",
		Letters: []string{"U", "Q"},
		Pins: []Pin{
			{Name: "a",
				Doc: "input", Drag: "its input shorted inside"}, {Name: "b", Doc: "output", Drag: "its output shorted or discharged inside"},
			{Name: "en", Need: Enable, Doc: "enable", Drag: "its enable pin shorted inside"}, gndPin,
		},
		Attrs:  []Attr{ohms, {Name: "limit", Unit: Ampere, Doc: "current limit"}, onAttr},
		Passes: []Pass{{A: "a", B: "b", Ohms: 0.06, Value: "r", Control: "en", Level: High}},
		Faults: []Fault{
			{Name: "stuck-off", Share: 0.5, Source: noShare, Doc: "output missing though enabled", Per: PerPart, Does: StaysOff},
			{Name: "stuck-on", Share: 0.2, Source: noShare, Doc: "output there though not enabled", Per: PerPart, Does: StaysOn},
			{Name: "limiting", Share: 0.3, Source: noShare, Doc: "in current limit: low output, hot", Per: PerPart, Does: Limits, Value: 0.02},
		},
		Minutes: 12,
		Proof:   supplyProof,
	},
	{
		Name: "regulator", Bench: 1, Acts: "regulator", Summary: "makes a rail from a higher one",
		Example: "regulator U2 in=VMAIN out=V3 en=PWR_OK gnd=GND",
		Letters: []string{"U", "VR"}, Form: NamedForm,
		Pins: []Pin{
			{Name: "in", Need: Supply, Many: true, Doc: "input", Drag: "its input shorted inside"},
			{Name: "out", Doc: "output", Drag: "its output shorted inside"},
			{Name: "en", Need: Enable, Optional: true, Doc: "enable", Drag: "its enable pin shorted inside"}, gndPin,
		},
		Attrs: []Attr{{Name: "limit", Unit: Ampere,
			Doc: "current limit"}, givesAttr, onAttr}, Gives: []Give{{Pin: "out"}}, Faults: linearFaults,
		Minutes: 12,
		Proof:   supplyProof,
	},
	{
		Name: "boost", Bench: 0.4, Acts: "boost", Starts: 2.5, Draws: 5e-3,
		Summary: "step-up converter of the backlight, its coil and diode drawn apart",
		Example: "boost U9 in=VBL_SW lx=BL_LX out=VBL en=BL_EN dim=BL_PWM sink=K1..K4 fb=BL_FB gnd=GND",
		Letters: []string{"U"}, Form: NamedForm,
		Pins: []Pin{
			{Name: "in", Need: Supply, Many: true, Doc: "supply", Drag: "its supply pin shorted inside"},
			{Name: "lx", Doc: "switch node", Drag: "its switch shorted inside: the rail goes to ground through the coil"},
			{Name: "out", Optional: true, Doc: "output as the chip sees it", Drag: "its output pin shorted inside"},
			{Name: "en", Need: Enable, Doc: "enable", Drag: "its enable pin shorted inside"},
			{Name: "dim", Need: Clock, At: Toggling, Optional: true, Doc: "dimming input", Drag: "its dimming pin shorted inside"},
			{Name: "sink", Many: true, Optional: true, Doc: "one current sink a string", Drag: "a sink stuck on or shorted inside"},
			{Name: "fb", Need: Sense, Optional: true, Doc: "feedback or over-voltage divider", Drag: "its sense pin shorted inside"}, gndPin,
		},
		Attrs: []Attr{
			{Name: "limit", Unit: Volt, Doc: "over-voltage limit"}, {Name: "headroom", Unit: Volt, Default: "0.5V",
				Doc: "voltage left for the sinks"},
			{Name: "vref", Unit: Volt, Doc: "reference that the divider is compared with"},
			{Name: "string", Unit: Ampere, Default: "20mA", Doc: "current of one sink"},
			{Name: "peak", Unit: Ampere, Default: "2.5A", Doc: "limit of the coil current"}, drawsAttr, onAttr,
		},
		Gives: []Give{{Pin: "lx", Adds: true}, {Pin: "sink", At: Low}},
		Faults: append([]Fault{
			{Name: "no-switching", Source: noShare, Bench: 2, Doc: "its switch never closes: the rail stays at input level", Per: PerPart,
				Does: StaysOff},
			{Name: "switch-short", Source: noShare, Bench: 1, Doc: "its switch is shorted to ground", Per: PerPart,
				Does: Grounds, Value: 0.05, Sizes: shortSizes, Pin: "lx"},
			{Name: "sink-open", Source: noShare, Bench: 0.4, Doc: "one sink draws no current", Per: PerChannel, Does: Frees, Pin: "sink"},
		}, linearFaults...),
		Minutes: 25,
		Proof:   "supply, enable and dimming read right, coil and diode conduct, the output has no short, and still it does not switch",
	},
	{
		Name: "leds", Bench: 1.4, Acts: "leds", Summary: "LED strings of a backlight with a common anode",
		Example: "leds DS1 VBL_P -> P_K1..P_K4 series=10 vf=3.1V",
		Letters: []string{"DS", "D"}, InPanel: true,
		Pins: []Pin{
			{Name: "a", Need: Supply, Doc: "common anode", Drag: "a string shorted to its frame"},
			{Name: "k", Need: Return, At: Low, Many: true, AnyOf: true, Doc: "cathode of each string; one lit string is some light",
				Drag: "a string shorted to its frame"},
		},
		Attrs: []Attr{{Name: "series", Default: "10", Doc: "LEDs in each string"},
			{Name: "vf", Unit: Volt, Default: "3.1V", Doc: "forward voltage of one LED at its current"},
			{Name: "current", Unit: Ampere, Default: "20mA", Doc: "current of a string"}},
		Rules: []string{"makes"},
		Faults: []Fault{
			{Name: "open", Share: 0.70, Source: hdbk338, Doc: "a string is open", Per: PerChannel, Does: Opens},
			{Name: "short", Share: 0.30, Source: hdbk338, Doc: "an LED in a string is shorted", Per: PerChannel, Does: Darkens, Value: 1},
		},
		Minutes: 8,
		Proof:   "a known-good panel lights on this board, after the cold checks of the backlight pins have passed",
	},
	{
		Name: "connector", Bench: 1, Summary: "pins in a row; every contact can fail, and neighbours can touch",
		Example: "connector J2 VBL -> VBL_C",
		Letters: []string{"J", "P", "X", "CN"}, Plugs: true, Form: RowsForm, Pins: contactPins, Rules: []string{"pin"}, Bears: BearsAll,
		Passes: []Pass{{A: "a", B: "b", Ohms: 0.03}}, Faults: contactFaults,
		Minutes: 9,
		Proof:   "look at the contact under magnification, wiggle the plug while you read, ohms across the contact cold",
	},
	{
		Name: "cable", Bench: 1, Summary: "conductors in a row; worn at the hinge", Example: "cable W1 VBL_C -> VBL_P",
		Letters: []string{"W"}, Form: RowsForm, Pins: contactPins, Rules: []string{"pin"}, Bears: BearsAll,
		Passes: []Pass{{A: "a", B: "b", Ohms: 0.15}},
		Faults: []Fault{
			{Name: "open", Share: 0.19, Source: "from memory: FMD-91", Doc: "a conductor is broken", Per: PerChannel, Does: Opens},
			{Name: "intermittent", Share: 0.18, Source: halfVaries, Doc: "comes and goes with the hinge", Per: PerChannel, Does: Opens},
			{Name: "poor", Share: 0.18, Source: halfVaries, Doc: "a conductor is worn thin or badly crimped", Per: PerChannel, Does: Resists,
				Value: 10e3, Sizes: contactSizes},
			{Name: "bridge", Share: 0.45, Source: "from memory: FMD-91", Bench: 0.1,
				Doc: "a conductor touches its neighbour or ground", Per: PerChannel, Does: Bridges, Value: 0.1, Sizes: shortSizes},
		},
		Minutes: 9,
		Proof:   "ohms from end to end of the conductor cold while you move the cable at the hinge; then a known-good cable",
	},
	{
		Name: "rom", Bench: 1.2, Draws: 1e-3, Summary: "identity memory of the panel, read over two lines",
		Example: "rom U50 vdd=V3_ID scl=P_CLK sda=P_DAT gnd=GND addr=0x50",
		Letters: []string{"U"}, OpenLines: true, Form: NamedForm,
		Pins: []Pin{
			vddPin, gndPin, {Name: "scl", Doc: "clock line", Drag: "holds its clock line"},
			{Name: "sda", Doc: "data line", Drag: "holds its data line"},
		},
		Attrs: []Attr{drawsAttr, {Name: "addr", Words: []string{"0x50"}, Default: "0x50", Doc: "two-wire address, 7 bits"}},
		Faults: []Fault{
			{Name: "corrupt", Share: 0.34, Source: hdbk338, Doc: "data lost: wrong header or sum", Per: PerPart, Does: Garbles},
			{Name: "short", Share: 0.26, Source: hdbk338, Doc: "a pin shorted inside", Per: PerPin, Does: Grounds, Value: 1, Sizes: shortSizes},
			{Name: "open", Share: 0.23, Source: hdbk338, Doc: "a pin open inside", Per: PerPin, Does: Opens},
			{Name: "slow", Share: 0.17, Source: hdbk338, Doc: "answers too late", Per: PerPart, Does: Garbles},
		},
		Minutes: 8,
		Proof:   "a known-good panel is read on this board, after the cold checks have passed",
	},
	{
		Name: "panel", Bench: 1.6, Draws: 0.25, Summary: "panel logic: timing controller and glass",
		Example: "panel DS2 vdd=P_V3 gnd=GND mode=1366x768@60 bits=18",
		Letters: []string{"DS", "A", "U"}, InPanel: true, Form: NamedForm, Pins: []Pin{vddPin, gndPin, ioPin}, Rules: signalRules,
		Attrs: slices.Concat([]Attr{drawsAttr}, askAttrs), Faults: chipFaults,
		Minutes: 8,
		Proof:   "a known-good panel works on this board, after the cold checks have passed",
	},
	{
		Name: "mux", Bench: 0.5, Draws: 5e-3, Summary: "switches its out pins to a while sel is low and to b while it is high",
		Example: "mux U6 a=G1_CLK b=G2_CLK out=ID_CLK sel=G_SEL vdd=V3 gnd=GND",
		Letters: []string{"U"}, Form: NamedForm,
		Pins: []Pin{
			{Name: "a", Many: true, Doc: "first inputs", Drag: "a switch in it shorted to ground"},
			{Name: "b", Many: true, Doc: "second inputs", Drag: "a switch in it shorted to ground"},
			{Name: "out", Many: true, Doc: "outputs", Drag: "a switch in it shorted to ground"},
			{Name: "sel", Doc: "select", Drag: "its select pin shorted inside"},
			{Name: "en", Need: Enable, Optional: true, Doc: "enable", Drag: "its enable pin shorted inside"}, vddPin, gndPin,
		},
		Attrs:   []Attr{onAttr, drawsAttr},
		Passes:  []Pass{{A: "a", B: "out", Ohms: 5, Control: "sel", Level: Low}, {A: "b", B: "out", Ohms: 5, Control: "sel", Level: High}},
		Faults:  chipFaults,
		Minutes: 25,
		Proof:   chipProof,
	},
	{Name: "buffer", Bench: 0.8, Draws: 1e-3, Summary: "repeats its input", Example: "buffer U7 in=A out=B vdd=V3 gnd=GND",
		Letters: []string{"U"}, Form: NamedForm, Pins: gatePins, Logic: AndGate, Attrs: []Attr{drawsAttr},
		Faults: chipFaults, Minutes: 12, Proof: chipProof},
	{Name: "inverter", Bench: 0.8, Draws: 1e-3, Summary: "gives the opposite of its input",
		Example: "inverter U7 in=A out=B_N vdd=V3 gnd=GND", Letters: []string{"U"}, Form: NamedForm, Pins: gatePins, Logic: NandGate,
		Attrs:  []Attr{drawsAttr},
		Faults: chipFaults, Minutes: 12, Proof: chipProof},
	{Name: "and", Bench: 0.8, Draws: 1e-3, Summary: "high while all inputs are high",
		Example: "and U7 in=BL_REQ,LID_OK out=BL_EN vdd=V3 gnd=GND", Letters: []string{"U"}, Form: NamedForm, Pins: gatePins, Logic: AndGate,
		Attrs:  []Attr{drawsAttr},
		Faults: chipFaults, Minutes: 12, Proof: chipProof},
	{Name: "or", Bench: 0.8, Draws: 1e-3, Summary: "high while an input is high", Example: "or U7 in=A,B out=C vdd=V3 gnd=GND",
		Letters: []string{"U"}, Form: NamedForm, Pins: gatePins, Logic: OrGate, Attrs: []Attr{drawsAttr},
		Faults: chipFaults, Minutes: 12, Proof: chipProof},
	{Name: "nand", Bench: 0.8, Draws: 1e-3, Summary: "low while all inputs are high",
		Example: "nand U7 in=A,B out=C_N vdd=V3 gnd=GND",
		Letters: []string{"U"}, Form: NamedForm, Pins: gatePins, Logic: NandGate, Attrs: []Attr{drawsAttr},
		Faults: chipFaults, Minutes: 12, Proof: chipProof},
	{Name: "nor", Bench: 0.8, Draws: 1e-3, Summary: "low while an input is high",
		Example: "nor U7 in=A,B out=C_N vdd=V3 gnd=GND",
		Letters: []string{"U"}, Form: NamedForm, Pins: gatePins, Logic: NorGate, Attrs: []Attr{drawsAttr},
		Faults: chipFaults, Minutes: 12, Proof: chipProof},
	{
		Name: "sensor", Bench: 1.5, Draws: 1e-3, Summary: "lid sensor or the like, with rules for what its output does",
		Example: "sensor U11 vdd=V3_AO gnd=GND",
		Letters: []string{"U", "S", "B"}, Form: NamedForm, Pins: []Pin{vddPin, gndPin, ioPin}, Rules: signalRules, Attrs: []Attr{drawsAttr},
		Faults:  chipFaults,
		Minutes: 12,
		Proof:   "no magnet is near; supply reads right, and with its output lifted the line follows its pull-up",
	},
	{
		Name: "point", Bench: 0.02, Summary: "test point: a place where a probe can land", Example: "point TP4 VBL side=top",
		Letters: []string{"TP"}, Form: SingleForm, Pins: []Pin{{Name: "net", Doc: "the net it is on"}},
		Faults: []Fault{
			{Name: "lifted", Source: noShare, Doc: "the pad is gone or not joined to its net", Per: PerPart, Does: Detaches},
		},
		Minutes: 3,
		Proof:   "read the same net at the pad of a part: it reads otherwise than at the test point",
	},
}

var (
	givesAttr = Attr{Name: "gives", Unit: Volt, Doc: "what it gives; taken from the net line when missing"}
	drawsAttr = Attr{Name: "draws", Unit: Ampere, Doc: "current into each supply pin"}
	// askAttrs say what a panel asks of the link; package panel reads them.
	askAttrs = []Attr{
		{Name: "edid", Text: true, Doc: "file with its identity data, beside the board file or below"},
		{Name: "mode", Text: true, Doc: "its mode when there is no such file, such as 1366x768@60"},
		{Name: "link", Words: []string{"lvds", "edp"}, Doc: "kind of link; taken from the lanes of the board when missing"},
		{Name: "bits", Words: []string{"18", "24", "30", "36"}, Doc: "bits a pixel"},
		{Name: "channels", Words: []string{"1", "2", "4"}, Doc: "LVDS channels; computed from the pixel clock when missing"},
		{Name: "lanes", Words: []string{"1", "2", "4"}, Doc: "eDP lanes; computed when missing"},
		{Name: "rate", Words: []string{"1.62", "2.16", "2.43", "2.7", "3.24", "4.32", "5.4", "8.1"}, Doc: "Gbit/s of an eDP lane"},
		{Name: "map", Words: []string{"vesa", "jeida"}, Doc: "bit order of an LVDS link of 24 bits"},
	}
	onAttr      = Attr{Name: "on", Words: []string{"high", "low"}, Doc: "level of the control pin that switches it on"}
	contactPins = []Pin{
		{Name: "a", Many: true, Doc: "side towards the source", Drag: "a bridge to the next pin, or what it leads to"},
		{Name: "b", Many: true, Doc: "side towards the panel", Drag: "a bridge to the next pin, or what it leads to"},
	}
)

func fetPins(a, b string, on Quantity) []Pin {
	return []Pin{
		{Name: "a", Doc: a, Drag: "shorted inside"}, {Name: "b", Doc: b, Drag: "shorted inside"},
		{Name: "gate", Need: Enable, At: on, Doc: "gate", Drag: "its gate leaks"},
	}
}
