package predict

import (
	"fmt"
	"slices"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
)

// A zener diode of 5.1 V behind a resistor reads its voltage at its test current, and
// V = Vz + r·(I - Itest) elsewhere, as its data sheet draws the line: 12 V = V + R·I.
func TestZenerHoldsItsVoltage(t *testing.T) {
	const board = "net VIN 12V\nsupply PS1 -> VIN\nresistor R1 VIN -> V5 %s\nzener D1 V5 -> GND 5V1 test=5mA r=20\n"
	for _, ohms := range []float64{1380, 680, 2200, 100} {
		v := (5.1 - 20*5e-3 + 20*12/ohms) / (1 + 20/ohms)
		b := power(t, fmt.Sprintf(board, fmt.Sprint(ohms)))
		isAbout(t, fmt.Sprint("V5 behind ", ohms, " Ω"), b.volts("V5"), v, 1e-6)
	}
	isAbout(t, "V5 at the test current", power(t, fmt.Sprintf(board, "1380")).volts("V5"), 5.1, 1e-6)
	// Below its voltage it takes nothing, forwards it is a diode.
	b := power(t, "net VIN 3V\nsupply PS1 -> VIN\nresistor R1 VIN -> V5 1k\nzener D1 V5 -> GND 5V1\n")
	isAbout(t, "V5 with too little to hold", b.volts("V5"), 3, 1e-5)
	b = power(t, "net VIN 12V\nsupply PS1 -> VIN\nresistor R1 VIN -> V5 1k\nzener D1 GND -> V5 5V1 vf=0.7V\n")
	isAbout(t, "V5 the wrong way round", b.volts("V5"), 0.7, 1e-3)
	for fault, want := range map[string]float64{"open": 12, "short": 0, "drifted": 0.8*5.1 - 20*5e-3 + 20*7.9e-3/1.38} {
		b = power(t, fmt.Sprintf(board, "1380"), "D1:"+fault)
		isAbout(t, "V5, zener "+fault, b.volts("V5"), want, 0.01)
	}
}

// A digital transistor begins to conduct where the divider of its resistors has Vbe
// across the second one, at Vbe·(R1 + R2)/R2 = 1.3 V with 0.65 V and 10 kΩ each, and
// carries at most its gain times its base current.
func TestDigitalTransistor(t *testing.T) {
	const board = `net VIN 5V
net ON %gV
supply PS1 -> VIN
supply PS2 -> ON
resistor R1 VIN -> OUT %s
npn Q1 OUT -> GND base=ON r1=%s r2=10k vbe=0.65V gain=50 r=5
`
	for _, c := range []struct {
		on   float64
		load string
		r1   string
		want float64
	}{
		{0, "10k", "10k", 5}, {1.25, "10k", "10k", 5}, // 0.625 V at the base
		{3.3, "10k", "10k", 5 * 5.0 / 10005},
		{3.3, "100", "10k", 5 - 100*50*((3.3-0.65)/10e3-0.65/10e3)}, // 10 mA and no more
		{1.25, "10k", "4k7", 5 * 5.0 / 10005},                       // 0.85 V at the base, were it no junction
	} {
		b := power(t, fmt.Sprintf(board, c.on, c.load, c.r1))
		isAbout(t, fmt.Sprintf("OUT with %g V, %s and %s", c.on, c.load, c.r1), b.volts("OUT"), c.want, 1e-4)
	}
	for fault, want := range map[string]float64{"open": 5, "short": 0, "base-open": 5} {
		b := power(t, fmt.Sprintf(board, 3.3, "10k", "10k"), "Q1:"+fault)
		isAbout(t, "OUT, transistor "+fault, b.volts("OUT"), want, 0.01)
	}
	// With all power out a meter finds both resistors in series at its base.
	m := power(t, fmt.Sprintf(board, 3.3, "10k", "10k")).m
	on, _ := m.Board.Net("ON")
	isAbout(t, "Ω at the base", m.Cold(false, Hypothesis{}).Ohms(on), 20e3, 10)
}

const shifting = `state pull none low high
net VA 1.8V
net VB 3.3V
supply PS1 -> VA
supply PS2 -> VB
shifter Q1 va=VA vb=VB a=DAT_1,CLK_1 b=DAT_3,CLK_3
controller U1 vdd=VA gnd=GND
    pulls DAT_1 when pull=low
controller U2 vdd=VB gnd=GND
    pulls DAT_3 when pull=high
`

// The three states of NXP AN10441, Level shifting techniques in I²C-bus design,
// section 2.3: nobody pulls, and each side is at its own supply; either side pulls,
// and both are low. The other line does not care.
func TestLevelShifter(t *testing.T) {
	for _, c := range []struct {
		pull, fault string
		a, b        float64
	}{
		{"none", "", 1.8, 3.3}, {"low", "", 0, 0}, {"high", "", 0, 0},
		{"none", "Q1.DAT_3:short", 2.55, 2.55}, {"low", "Q1.DAT_3:open", 0, 3.3}, {"high", "Q1.DAT_3:open", 1.8, 0},
	} {
		words := []string{"pull=" + c.pull}
		if c.fault != "" {
			words = append(words, c.fault)
		}
		b := power(t, shifting, words...)
		what := fmt.Sprintf("pulled %s %s: ", c.pull, c.fault)
		isAbout(t, what+"low side", b.volts("DAT_1"), c.a, 0.03)
		isAbout(t, what+"high side", b.volts("DAT_3"), c.b, 0.03)
		isAbout(t, what+"the other line, low side", b.volts("CLK_1"), 1.8, 1e-3)
		isAbout(t, what+"the other line, high side", b.volts("CLK_3"), 3.3, 1e-3)
		if len(b.r.Unsteady()) > 0 {
			t.Errorf("%sdoes not come to rest", what)
		}
	}
	for fault, net := range map[string]string{"Q1.DAT_1:low-pull-open": "DAT_1", "Q1.DAT_3:high-pull-open": "DAT_3"} {
		if b := power(t, shifting, fault); !b.r.Floats(b.net(net)) || b.r.Floats(b.net("CLK_1")) || b.r.Floats(b.net("CLK_3")) {
			t.Errorf("with %s, %s does not float, or another does", fault, net)
		}
	}
}

const shiftedRead = `net VA 1.8V
net VB 3.3V
supply PS1 -> VA
supply PS2 -> VB
shifter Q1 va=VA vb=VB a=CLK_1,DAT_1 b=CLK_3,DAT_3
source U1 vdd=VA gnd=GND
    reads ID from=U2 over=CLK_1,DAT_1 at=CLK_3,DAT_3
rom U2 vdd=VB scl=CLK_3 sda=DAT_3 gnd=GND
`

// A memory is read through a level shifter, the lines move on both sides, and what
// ends that is found by the walk too.
func TestReadingThroughALevelShifter(t *testing.T) {
	b := power(t, shiftedRead)
	if !b.holds("ID") {
		t.Error("the memory is not read")
	}
	for _, n := range []string{"CLK_1", "DAT_1", "CLK_3", "DAT_3"} {
		if b.swing(n) < 0.5 {
			t.Errorf("%s moves by %.3g V", n, b.swing(n))
		}
	}
	for _, f := range []string{"Q1.CLK_3:open", "PS2:no-output", "U2:corrupt"} {
		if power(t, shiftedRead, f).holds("ID") {
			t.Errorf("the memory is read with %s", f)
		}
	}
	for _, p := range trace.Check(b.m.Board) {
		t.Errorf("the walk finds a mistake in the board: %v", p)
	}
	names := walked(t, b, "ID", "no")
	for _, want := range []string{"Q1", "U1", "U2", "PS1", "PS2"} {
		if !slices.Contains(names, want) {
			t.Errorf("the walk does not name %s: %v", want, names)
		}
	}
}

// walked lists the parts that the walk of an observation names, on the way or as
// loads.
func walked(t *testing.T, b bench, target, word string) (names []string) {
	t.Helper()
	board := b.m.Board
	o, err := board.Observe(target, word, board.Usual())
	if err != nil {
		t.Fatal(err)
	}
	w, err := trace.Run(board, board.Usual(), []netlist.Observation{o})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range w.Steps {
		if s.Part >= 0 {
			names = append(names, board.Parts[s.Part].Name)
		}
		for _, l := range s.Loads {
			names = append(names, board.Parts[l.Part].Name)
		}
	}
	return names
}

// The walk finds a zener diode as what can pull its rail down, and a digital
// transistor as what switches a P-channel switch on, with what drives its base.
func TestTheWalkNamesZenerAndDigitalTransistor(t *testing.T) {
	const board = `net VIN 12V
net V5 5.1V
net G 0V
net ON 5V
net OUT 12V
supply PS1 -> VIN
resistor R1 VIN -> V5 470
zener D1 V5 -> GND 5V1
` +
		`controller U1 vdd=V5 gnd=GND draws=1mA
    drives ON
npn Q1 G -> GND base=ON
resistor R2 VIN -> G 100k
pfet Q2 VIN -> OUT gate=G
resistor R3 OUT -> GND 1k
`
	b := power(t, board)
	isAbout(t, "OUT", b.volts("OUT"), 12, 0.01)
	names := walked(t, b, "OUT", "0V")
	for _, want := range []string{"Q2", "Q1", "U1", "R1", "D1", "PS1"} {
		if !slices.Contains(names, want) {
			t.Errorf("the walk does not name %s: %v", want, names)
		}
	}
}
