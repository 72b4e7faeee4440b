package predict

import (
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/netlist"
)

// bench is a small board with power on.
type bench struct {
	t *testing.T
	m *Simulator
	r *Run
}

// power simulates a board in its usual state, or with states as given, with
// faults as they are typed.
func power(t *testing.T, src string, words ...string) bench {
	t.Helper()
	m := modelOf(t, "board b\nnet GND ground\n"+src)
	st := State{Setting: m.Board.Usual()}
	var faults []Fault
	for _, w := range words {
		if strings.Contains(w, "=") {
			if err := m.Board.ParseSetting(st.Setting, w); err != nil {
				t.Fatal(err)
			}
			continue
		}
		list, err := m.ParseFault(w)
		if err != nil {
			t.Fatal(err)
		}
		faults = append(faults, list...)
	}
	return bench{t, m, m.Run(st, m.Suppose(faults...))}
}

func (b bench) net(name string) netlist.NetID {
	b.t.Helper()
	n, ok := b.m.Board.Net(name)
	if !ok {
		b.t.Fatalf("no net %s", name)
	}
	return n
}

func (b bench) volts(name string) float64 { b.t.Helper(); return b.r.Level(b.net(name)) }
func (b bench) swing(name string) float64 { b.t.Helper(); return b.r.Swing(b.net(name)) }

// amps is the current through the first channel of a part, from its first end.
func (b bench) amps(part string) float64 {
	b.t.Helper()
	id, ok := b.m.Board.Part(part)
	if !ok {
		b.t.Fatalf("no part %s", part)
	}
	return b.r.s.Current(b.m.units[b.m.unitOf[id]].main)
}

func (b bench) holds(fact string) bool {
	b.t.Helper()
	i := slices.Index(b.m.Board.FactNames(), fact)
	if i < 0 {
		b.t.Fatalf("no fact %s", fact)
	}
	return b.r.Holds(i)
}

// regime is how the converter U1 works.
func (b bench) regime() string {
	b.t.Helper()
	id, _ := b.m.Board.Part("U1")
	for _, x := range b.r.Regimes() {
		if x.Part == id {
			return x.Text
		}
	}
	b.t.Fatal("U1 has no regime")
	return ""
}

const light = `net VIN 12V
net EN 3.3V
supply PS1 -> VIN
supply PS2 -> EN
coil L1 VIN -> LX r=100m l=10u
diode D1 LX -> VBL vf=0.3V
boost U1 in=VIN lx=LX out=VBL en=EN sink=K1..K4 gnd=GND limit=40V headroom=0.5V draws=0
leds DS1 VBL -> K1..K4 series=10 vf=3.1V
    makes LIGHT
`

const divided = light + "resistor R1 VBL -> FB 1M\nresistor R2 FB -> GND 36k\n"

func withDivider(src string) string {
	return strings.Replace(src, "gnd=GND limit=40V", "fb=FB gnd=GND limit=40V vref=1.25V", 1)
}

// A string of n white LEDs needs n times 3.0 to 3.4 V and some 0.5 V for its sink
// (public LED driver datasheets): 10 · 3.1 + 0.5 = 31.5 V.
func TestLEDStrings(t *testing.T) {
	b := power(t, light)
	isAbout(t, "VBL", b.volts("VBL"), 31.5, 1e-3)
	isAbout(t, "A of a string", b.amps("DS1"), 0.02, 1e-6)
	if !b.holds("LIGHT") || b.regime() != "regulating" {
		t.Errorf("light %v, %s", b.holds("LIGHT"), b.regime())
	}

	// An open string is dropped, the others go on (public LED driver datasheets).
	b = power(t, light, "DS1.K2:open")
	isAbout(t, "VBL with a string open", b.volts("VBL"), 31.5, 1e-3)
	isAbout(t, "sink of the open string", b.volts("K2"), 0, 0.01)
	for _, k := range []string{"K1", "K3", "K4"} {
		isAbout(t, "sink "+k+" beside an open string", b.volts(k), 0.5, 1e-3)
	}

	// The sink of a string with a bridged LED rises by what that LED no longer
	// drops (public LED driver datasheets).
	b = power(t, light, "DS1.K3:short")
	isAbout(t, "VBL with an LED bridged", b.volts("VBL"), 31.5, 1e-3)
	isAbout(t, "sink of the string with an LED bridged", b.volts("K3"), 0.5+3.1, 1e-3)
	isAbout(t, "sink beside it", b.volts("K1"), 0.5, 1e-3)
}

// With all strings open the output climbs to its limit: the chip's own, or that
// which a divider sets, Vref · (1 + R1/R2) = 1.25 V · (1 + 1000/36) = 35.97 V
// (computed).
func TestOverVoltageLimit(t *testing.T) {
	b := power(t, light, "DS1:open")
	isAbout(t, "VBL", b.volts("VBL"), 40, 1e-3)
	if b.regime() != "over-voltage limit" || b.holds("LIGHT") {
		t.Errorf("%s, light %v", b.regime(), b.holds("LIGHT"))
	}
	b = power(t, withDivider(divided), "DS1:open")
	isAbout(t, "VBL by the divider", b.volts("VBL"), 35.97, 5e-3)
	b = power(t, withDivider(divided))
	isAbout(t, "VBL with the divider and all strings", b.volts("VBL"), 31.5, 1e-3)
}

// stepUp is a converter without sinks that holds what its divider sets.
func stepUp(vin, r1, coil, vf, load string) string {
	return "net VIN " + vin + "\nnet EN 3.3V\nsupply PS1 -> VIN\nsupply PS2 -> EN\ncoil L1 VIN -> LX l=10u r=" + coil +
		"\ndiode D1 LX -> VBL vf=" + vf +
		"\nboost U1 in=VIN lx=LX en=EN fb=FB gnd=GND vref=1.25V peak=10A draws=0\nresistor R1 VBL -> FB " + r1 +
		"\nresistor R2 FB -> GND 100k\nresistor R3 VBL -> GND " + load + "\n"
}

// Duty D = 1 − Vin·η/Vout (Texas Instruments SLVA372, from memory); the coil
// carries the output's current over 1 − D (charge balance), and the switch node
// averages (1 − D)·(Vout + Vf) (volt-second balance; Erickson and Maksimović,
// Fundamentals of Power Electronics, chapters 2 and 3).
func TestBoostDuty(t *testing.T) {
	for _, c := range []struct {
		name string
		src  string
		vf   float64
		vout float64
		duty float64 // computed
		near float64
	}{
		// 36 V = 1.25 V · (1 + 2780/100).
		{"12 V to 36 V, ideal", stepUp("12V", "2780k", "0", "0V", "450"), 0, 36, 0.6667, 1e-4},
		// 30 V = 1.25 V · (1 + 2300/100). At 80.0125 mA, 30.4 V behind the diode and
		// 85 % the coil carries 381.62 mA and must drop 7.4 V · (1 − 0.85 · 30.4/30).
		{"7.4 V to 30 V at 85 %", stepUp("7.4V", "2300k", "2.6889", "0.4V", "375"), 0.4, 30, 0.7903, 1e-4},
	} {
		b := power(t, c.src)
		vin, vout, lx := b.volts("VIN"), b.volts("VBL"), b.volts("LX")
		isAbout(t, c.name+": output", vout, c.vout, 1e-3)
		in, out := b.amps("L1"), b.amps("R3")+b.amps("R1")
		isAbout(t, c.name+": D from charge balance", 1-out/in, c.duty, c.near)
		isAbout(t, c.name+": D from volt-second balance", 1-lx/(vout+c.vf), c.duty, c.near)
		efficiency := vout * out / (vin * in)
		isAbout(t, c.name+": D from the power", 1-vin*efficiency/vout, c.duty, c.near)
		isAbout(t, c.name+": swing of the switch node", b.swing("LX"), vout+c.vf, 0.01*vout)
	}
}

// Not switching, a converter leaves Vin − I·R(coil) − Vf at its output. Common
// practice: 0.2 to 0.4 V under the input.
func TestConverterAtRest(t *testing.T) {
	for _, fault := range []string{"U1:no-switching", "PS2:no-output"} {
		b := power(t, stepUp("12V", "2780k", "200m", "0.3V", "100"), fault)
		amps := b.volts("VBL") / 100
		isAbout(t, fault+": output", b.volts("VBL"), 12-amps*0.2-0.3, 0.01) // the diode's own slope is 50 mΩ
		if under := 12 - b.volts("VBL"); under < 0.2 || under > 0.4 {
			t.Errorf("%s: %.3f V under the input", fault, under)
		}
		if b.swing("LX") != 0 {
			t.Errorf("%s: the switch node moves by %g V", fault, b.swing("LX"))
		}
	}
}

const pair = `net V3 3.3V
net P 1.25V 10% swing=0.35V
net N 1.25V 10% swing=0.35V
supply PS1 -> V3
source U1 vdd=V3 gnd=GND
    sends P N when V3
choke FL1 P,N -> P_J,N_J r=1
connector J1
    pin 1 P_J -> P_P
    pin 2 N_J -> P_N
lane A.0 P_P P_N
panel DS1 vdd=V3 gnd=GND io=P_P,P_N
    makes PICTURE when A.0
`

// TIA/EIA-644-A, from memory: 247 to 454 mV across 100 Ω, 350 mV usually, round
// 1.125 to 1.375 V; receivers decide at 100 mV.
func TestDifferentialPair(t *testing.T) {
	b := power(t, pair)
	for _, n := range []string{"P_P", "P_N"} {
		if v := b.volts(n); v < 1.125 || v > 1.375 {
			t.Errorf("%s rests at %.3f V", n, v)
		}
		if v := b.swing(n); v < 0.247 || v > 0.454 {
			t.Errorf("%s moves by %.3f V", n, v)
		}
	}
	// The legs move against each other: the difference goes from −350 to +350 mV.
	ac := b.r.s.ac
	if d := math.Abs(ac[b.m.node(b.net("P_P"))]-ac[b.m.node(b.net("P_N"))]) / 2; d < 0.247 || d > 0.454 {
		t.Errorf("%.3f V across the pair", d)
	}
	if !b.r.Alive(0) || !b.holds("PICTURE") {
		t.Error("a healthy pair is not alive")
	}
	for _, fault := range []string{"FL1.P:open", "FL1.N:open", "J1.1:open", "J1.2:open", "J1.1:bridge", "U1:dead", "PS1:no-output"} {
		if b := power(t, pair, fault); b.r.Alive(0) || b.holds("PICTURE") {
			t.Errorf("%s: the pair is alive, %.3f and %.3f V", fault, b.swing("P_P"), b.swing("P_N"))
		}
	}
}

// bus is a two-wire bus whose data line has a pull-up of its own size and rail, a
// resistance in series and one to ground.
func bus(rail, pull, series, down string) string {
	return "net V3 3.3V\nnet V18 1.8V\nnet CLK 3.3V 5%\nnet DAT 3.3V 30%\nsupply PS1 -> V3\nsupply PS2 -> V18\nresistor R1 V3 -> CLK " +
		"2k2\nresistor R2 " + rail + " -> DAT " + pull +
		"\nfilter FL1 CLK -> CLK_J r=5\nfilter FL2 DAT -> DAT_J r=" + series + "\nresistor R3 DAT -> GND " + down +
		"\nrom U2 vdd=V3 gnd=GND scl=CLK_J sda=DAT_J\nsource U1 vdd=V3 gnd=GND\n    reads EDID from=U2 over=CLK,DAT when V3\n"
}

// UM10204 (NXP), from memory: low below 0.3 VDD, high above 0.7 VDD.
func TestTwoWireBus(t *testing.T) {
	for _, c := range []struct {
		name  string
		src   string
		fault string
		reads bool
	}{
		{"healthy", bus("V3", "2k2", "5", "1M"), "", true},
		{"rests at 0.71 VDD", bus("V3", "2900", "5", "7100"), "", true},
		{"rests at 0.69 VDD", bus("V3", "3100", "5", "6900"), "", false},
		// An output pulls with 20 Ω: behind 920 Ω it brings 2k2 down to 0.2994 VDD,
		// behind 930 Ω to 0.3016 VDD.
		{"pulled to just below 0.3 VDD", bus("V3", "2k2", "920", "999M"), "", true},
		{"pulled to just above 0.3 VDD", bus("V3", "2k2", "930", "999M"), "", false},
		{"pull-up to a rail of 1.8 V", bus("V18", "2k2", "5", "1M"), "", false},
		{"no pull-up on the data line", bus("V3", "2k2", "5", "1M"), "R2:open", false},
		{"no pull-up on the clock line", bus("V3", "2k2", "5", "1M"), "R1:open", false},
		{"data held low", bus("V3", "2k2", "5", "1M"), "U2.DAT_J:short", false},
		{"clock held low", bus("V3", "2k2", "5", "1M"), "U2.CLK_J:short", false},
		{"filter open", bus("V3", "2k2", "5", "1M"), "FL2:open", false},
		{"memory pin open", bus("V3", "2k2", "5", "1M"), "U2.DAT_J:open", false},
		{"data lost", bus("V3", "2k2", "5", "1M"), "U2:corrupt", false},
		{"no supply", bus("V3", "2k2", "5", "1M"), "PS1:no-output", false},
	} {
		var words []string
		if c.fault != "" {
			words = []string{c.fault}
		}
		if b := power(t, c.src, words...); b.holds("EDID") != c.reads {
			t.Errorf("%s: read is %v, data rests at %.3f V", c.name, b.holds("EDID"), b.volts("DAT"))
		}
	}
}

// UM10204, from memory: Rp(min) = (VDD − 0.4 V) / 3 mA, 966.7 Ω at 3.3 V.
func TestLeastPullUp(t *testing.T) {
	b := power(t, "net V3 3.3V\nnet LOW 0.4V\nsupply PS1 -> V3\nsupply PS2 -> LOW\nresistor R1 V3 -> LOW 966.7\n")
	isAbout(t, "A at 0.4 V", b.amps("R1"), 3e-3, 0.5e-6)
	// A weaker pull-up takes less from the one who holds the line low.
	for _, c := range []struct {
		ohms string
		fits bool
	}{{"950", false}, {"1k", true}, {"2k2", true}} {
		b := power(t, "net V3 3.3V\nnet LOW 0.4V\nsupply PS1 -> V3\nsupply PS2 -> LOW\nresistor R1 V3 -> LOW "+c.ohms+"\n")
		if fits := b.amps("R1") <= 3e-3; fits != c.fits {
			t.Errorf("%s Ω: %.3f mA", c.ohms, b.amps("R1")*1e3)
		}
	}
}

const aux = `net V3 3.3V
net AP 0.6V 60% swing=0.5V rate=1MHz
net AN 0.6V 60% swing=0.5V rate=1MHz
net AP_J 0.3V 40% swing=0.5V rate=1MHz
net AN_J 3V 40% swing=0.5V rate=1MHz
supply PS1 -> V3
source U1 vdd=V3 gnd=GND
    reads AUX from=DS1 over=AP,AN at=AP_J,AN_J when V3
capacitor C1 AP -> AP_J 100n
capacitor C2 AN -> AN_J 100n
resistor R1 AP_J -> GND 100k
resistor R2 V3 -> AN_J 100k
panel DS1 vdd=V3 gnd=GND io=AP_J,AN_J
    makes PICTURE when AUX
`

// VESA DisplayPort, from memory: AUX at 1 Mbit/s passes 75 to 200 nF at each end.
func TestAuxThroughCapacitors(t *testing.T) {
	for _, c := range []struct {
		c, fault string
		reads    bool
	}{{"100n", "", true}, {"75n", "", true}, {"200n", "", true}, {"100n", "C1:open", false}, {"100n", "C2:open", false},
		{"100n", "DS1:dead", false}} {
		var words []string
		if c.fault != "" {
			words = []string{c.fault}
		}
		b := power(t, strings.ReplaceAll(aux, "100n", c.c), words...)
		if b.holds("AUX") != c.reads {
			t.Errorf("%s %s: read is %v, %.3f and %.3f V", c.c, c.fault, b.holds("AUX"), b.swing("AP_J"), b.swing("AN_J"))
		}
		if c.fault == "" {
			// The capacitors keep the levels of the two ends apart.
			isAbout(t, "level behind the capacitor", b.volts("AP_J"), 0, 0.01)
			isAbout(t, "level behind the other", b.volts("AN_J"), 3.3, 0.01)
		}
	}
}

// A fuse opens above its rating; what is read afterwards has cause and
// consequence in it (common practice, no source).
func TestFuse(t *testing.T) {
	fed := func(load string) string {
		return "net VIN 12V\nsupply PS1 -> VIN limit=50A\nfuse F1 VIN -> OUT rating=1A r=50m\nresistor R1 OUT -> GND " + load +
			"\ncapacitor C1 OUT -> GND 1u\n"
	}
	b := power(t, fed("12")) // 12 V / 12.05 Ω = 0.996 A
	if isAbout(t, "OUT", b.volts("OUT"), 12*12/12.05, 1e-6); len(b.r.Blew()) != 0 {
		t.Errorf("%v blows below its rating", b.r.Blew())
	}
	b = power(t, fed("11.9")) // 1.004 A
	if isAbout(t, "OUT behind a blown fuse", b.volts("OUT"), 0, 1e-3); len(b.r.Blew()) != 1 {
		t.Fatalf("%v blows above its rating", b.r.Blew())
	}
	isAbout(t, "A through the fuse", b.r.Blew()[0].Amps, 12/11.95, 1e-6)

	b = power(t, fed("100"), "C1:short")
	h := b.r.Hypothesis
	if len(h.Faults) != 1 || b.m.Name(h.Faults[0]) != "C1:short" || len(h.Blown) != 1 || b.m.Board.Parts[h.Blown[0].Part].Name != "F1" {
		t.Errorf("the hypothesis is %v", h)
	}
	isAbout(t, "OUT with C1 shorted", b.volts("OUT"), 0, 1e-3)
	out := b.net("OUT")
	// 0.1 Ω is what the table gives a shorted capacitor.
	isAbout(t, "Ω of OUT cold", b.m.Cold(false, h).Ohms(out), 1/(1/0.1+1/100.0), 1e-6)
	if ohms := b.m.Cold(false, h).Ohms(b.net("VIN")); ohms < 1e6 {
		t.Errorf("%g Ω from VIN through a blown fuse", ohms)
	}
	if b = power(t, fed("100"), "C1:short", "F1:no-open"); len(b.r.Blew()) != 0 {
		t.Errorf("%v blows though it cannot", b.r.Blew())
	}
}

// Polarity of MOS switches: P conducts while its gate is low against its source,
// N while it is high; the body diode of either stays (any textbook).
func TestMOSPolarity(t *testing.T) {
	for _, c := range []struct {
		name, src string
		low, high float64
	}{
		{"P, gate to ground", "net V 5V\nsupply PS1 -> V\npfet Q1 V -> OUT gate=G\nresistor R1 G -> GND 1k\nresistor R2 OUT -> GND 1k\n", 4.99,
			5},
		{"P, gate to source", "net V 5V\nsupply PS1 -> V\npfet Q1 V -> OUT gate=G\nresistor R1 V -> G 1k\nresistor R2 OUT -> GND 1k\n", 0, 0.01},
		{"P, reversed: its body diode leads", "net V 5V\nsupply PS1 -> V\npfet Q1 OUT -> V gate=V\nresistor R2 OUT -> GND 1k\n", 4.3, 4.5},
		{"N, gate to a rail", "net V 5V\nsupply PS1 -> V\nresistor R1 V -> OUT 1k\nnfet Q1 OUT -> GND gate=V\n", 0, 0.01},
		{"N, gate to ground", "net V 5V\nsupply PS1 -> V\nresistor R1 V -> OUT 1k\nresistor R2 G -> GND 1k\nnfet Q1 OUT -> GND gate=G\n", 4.99,
			5},
	} {
		if v := power(t, c.src).volts("OUT"); v < c.low || v > c.high {
			t.Errorf("%s: %.3f V", c.name, v)
		}
	}
}

// Common practice, no source: what the words of the table mean.
func TestWhatPartsDo(t *testing.T) {
	const chooses = "state sel a b\nnet V 3.3V\nnet A 3V\nnet B 1V\nsupply PS1 -> V\nsupply PS2 -> A\nsupply PS3 -> B\ncontroller U1 vdd=V " +
		"gnd=GND\n    drives SEL when sel=b\nmux U2 a=A b=B out=OUT sel=SEL vdd=V gnd=GND\nresistor R1 OUT -> GND 10k\n"
	isAbout(t, "mux, select low", power(t, chooses).volts("OUT"), 3, 2e-3)
	isAbout(t, "mux, select high", power(t, chooses, "sel=b").volts("OUT"), 1, 2e-3)
	isAbout(t, "mux without power", power(t, chooses, "PS1:no-output").volts("OUT"), 0, 2e-3)

	limited := "net V 12V\nnet V3 3.3V\nsupply PS1 -> V\nregulator U1 in=V out=V3 gnd=GND limit=1A\nresistor R1 V3 -> GND "
	b := power(t, limited+"1\n") // 1 A · 1 Ω
	isAbout(t, "regulator beyond its limit", b.volts("V3"), 1, 1e-6)
	if b.regime() != "current limit" {
		t.Errorf("the regulator is in %s", b.regime())
	}
	b = power(t, limited+"10\n")
	isAbout(t, "regulator below its limit", b.volts("V3"), 3.3, 1e-9)
	if b.regime() != "regulating" {
		t.Errorf("the regulator is in %s", b.regime())
	}

	b = power(t, "net V 12V\nnet W 5V\nsupply PS1 -> V\nsupply PS2 -> W\nresistor R1 V -> W 70\n")
	isAbout(t, "A from one supply to the other", b.amps("R1"), 0.1, 1e-9)
	isAbout(t, "what the lower one gives", b.r.s.Leaving(b.m.node(b.net("W"))), -0.1, 1e-6)

	const idle = "net V 3.3V\nsupply PS1 -> V\nresistor R1 V -> W 1\ncontroller U1 vdd=W gnd=GND\n    drives A\n    pulls B\n    sends C\n  " +
		"  makes ON\nresistor R2 V -> B 10k\nresistor R3 A -> GND 10k\n"
	b = power(t, idle)
	if isAbout(t, "a driven line", b.volts("A"), 3.3, 0.05); !b.holds("ON") || b.volts("B") > 0.1 || b.swing("C") == 0 {
		t.Errorf("a chip with power does nothing: %g V, moves %g V", b.volts("B"), b.swing("C"))
	}
	b = power(t, idle, "R1:open")
	if isAbout(t, "a line of a chip without power", b.volts("A"), 0, 0.01); b.holds("ON") || b.volts("B") < 3 || b.swing("C") != 0 {
		t.Errorf("a chip without power acts: %g V, moves %g V", b.volts("B"), b.swing("C"))
	}
}

// A meter has 10 MΩ: behind as much a net reads half, and behind more than half of
// it counts as floating (common practice).
func TestFloatingNets(t *testing.T) {
	for _, c := range []struct {
		ohms   string
		level  float64
		meter  float64
		floats bool
	}{{"1k", 5, 5, false}, {"1M", 5, 5 * 10 / 11.0, false}, {"4.9M", 5, 5 * 10 / 14.9, false}, {"5.1M", 5, 5 * 10 / 15.1, true},
		{"10M", 5, 2.5, true}} {
		b := power(t, "net V 5V\nsupply PS1 -> V\nresistor R1 V -> OUT "+c.ohms+"\npoint TP1 OUT\n")
		n := b.net("OUT")
		// Each net leaks a little, 10 GΩ.
		isAbout(t, c.ohms+": level", b.r.Level(n), c.level, 0.01)
		isAbout(t, c.ohms+": meter", b.r.Volts(n), c.meter, 0.01)
		if b.r.Floats(n) != c.floats {
			t.Errorf("%s: floats is %v at %g Ω", c.ohms, b.r.Floats(n), b.r.Ohms(n))
		}
	}
	b := power(t, "net V 5V\nsupply PS1 -> V\nresistor R1 V -> OUT 1k\npoint TP1 OUT\n", "R1:open")
	if n := b.net("OUT"); !b.r.Floats(n) || b.r.Volts(n) > 0.01 {
		t.Errorf("behind an open resistor: floats is %v, %g V", b.r.Floats(n), b.r.Volts(n))
	}
}

// isAbout compares to the last digit that is given.
func isAbout(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.10g, want %.10g within %.1g", what, got, want, within)
	}
}
