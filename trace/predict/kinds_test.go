package predict

import (
	"slices"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// around is, for each kind, what makes its example work: what stands under it and
// beside it on a small board.
var around = map[string]string{
	"supply": "net VMAIN 12V\nresistor R1 VMAIN -> GND 1k\n",
	"source": chipAround,
	"controller": `    drives OUT when IN
    pulls LINE when IN
net V3_AO 3.3V
net OUT 3.3V
net IN 3.3V
supply PS1 -> V3_AO
` + chipDriver("V3_AO") + `resistor R1 OUT -> GND 10k
resistor R2 V3_AO -> LINE 10k
`,
	"sensor": `    pulls LINE when IN
net V3_AO 3.3V
net IN 3.3V
supply PS1 -> V3_AO
` + chipDriver("V3_AO") + "resistor R2 V3_AO -> LINE 10k\n",
	"panel": `    drives OUT when IN
net P_V3 3.3V
net OUT 3.3V
net IN 3.3V
supply PS1 -> P_V3
` + chipDriver("P_V3") + "resistor R1 OUT -> GND 10k\n",
	"fuse":     "net VMAIN 12V\nsupply PS1 -> VMAIN\nresistor R1 VBL_F -> GND 100\n",
	"resistor": "net V3 3.3V\nsupply PS1 -> V3\nresistor R1 ID_CLK -> GND 2k2\n",
	"capacitor": `net VIN 12V
net V3 3.3V
net P 1.2V swing=0.35V
net N 1.2V swing=0.35V
net PQ 1.2V swing=0.35V
net NQ 1.2V swing=0.35V
lane A PQ NQ
supply PS1 -> VIN
supply PS2 -> V3
resistor R1 VIN -> VBL 100
` +
		"source U1 vdd=V3 gnd=GND\n    sends P N\ncapacitor C1 P,N -> PQ,NQ 100n\npanel DS1 vdd=V3 gnd=GND\n    makes PIC when A\n",
	"coil":    "net VBL_SW 12V\nsupply PS1 -> VBL_SW\nresistor R1 BL_LX -> GND 100\n",
	"ferrite": "net V3 3.3V\nsupply PS1 -> V3\nresistor R1 V3_ID -> GND 100\n",
	"filter":  "net ID_CLK 3.3V\nsupply PS1 -> ID_CLK\nresistor R1 ID_CLK_J -> GND 100\n",
	"choke": `net A0P 3.3V
net A0N 3.3V
supply PS1 -> A0P
supply PS2 -> A0N
resistor R1 A0P_J -> GND 100
resistor R2 A0N_J -> GND 100
`,
	"diode": "net BL_LX 12V\nsupply PS1 -> VIN gives=12V\nresistor R2 VIN -> BL_LX 10\nresistor R1 VBL -> GND 1k\n",
	"clamp": "net VIN 3.3V\nsupply PS1 -> VIN\nresistor R1 VIN -> ID_CLK_J 2k2\n",
	"zener": "net VIN 12V\nsupply PS1 -> VIN\nresistor R1 VIN -> V5 1k\n",
	"pfet":  switchAround("VBL_F", "BL_ON_N") + "resistor R1 VBL_SW -> GND 10\nresistor R2 VBL_F -> BL_ON_N 10k\n",
	"nfet":  switchAround("VIN", "BL_ON") + "resistor R1 VIN -> BL_ON_N 10\nresistor R2 BL_ON -> GND 10k\n",
	"npn":   switchAround("VIN", "BL_ON") + "resistor R1 VIN -> BL_ON_N 10k\n",
	"shifter": `state pull none low
net V1P8 1.8V
net V3 3.3V
supply PS1 -> V1P8
supply PS2 -> V3
controller U1 vdd=V1P8 gnd=GND
    pulls CLK_1 DAT_1 when pull=low
`,
	"loadswitch": `state on yes no
net V3 3.3V
net PNL_ON 3.3V
net V3_PNL 3.3V
    expect 0V when on=no
supply PS1 -> V3
resistor R1 V3_PNL -> GND 4
` +
		"controller U1 vdd=V3 gnd=GND\n    drives PNL_ON when on=yes\n",
	"regulator": `state on yes no
net VMAIN 12V
net PWR_OK 3.3V
net V3 3.3V
net VX 3.3V
supply PS1 -> VMAIN
supply PS2 -> VX
resistor R1 V3 -> GND 100
controller U1 vdd=VX gnd=GND
    drives PWR_OK when on=yes
`,
	"boost": boostAround("BL_FB") + "leds DS1 VBL -> K1..K4 series=10 vf=3V\n    makes LIGHT\n",
	"leds": "    makes LIGHT\n" + boostAround("FB") +
		"boost U9 in=VBL_SW lx=BL_LX out=VBL en=BL_EN dim=BL_PWM sink=P_K1..P_K4 " +
		"fb=FB gnd=GND\n" +
		"resistor R9 VBL -> VBL_P 10m\n",
	"connector": `net VBL 12V
supply PS1 -> VBL
resistor R1 VBL_C -> GND 1k
connector J3
    pin 1 VBL -> X
    pin 2 Y -> Z
    pin 3 GND -> C_GND
    pin 4 T -> C_T
resistor R2 X -> GND 1k
resistor R5 T -> GND 1k
resistor R3 Y -> GND 1k
resistor R4 Z -> GND 1k
`,
	"cable": `net VBL_C 12V
supply PS1 -> VBL_C
resistor R1 VBL_P -> GND 1k
cable W3
    pin 1 VBL_C -> X
    pin 2 Y -> Z
resistor R2 X -> GND 1k
resistor R3 Y -> GND 1k
resistor R4 Z -> GND 1k
`,
	"rom": `net V3_ID 3.3V
supply PS1 -> V3_ID
resistor R1 V3_ID -> P_CLK 2k2
resistor R2 V3_ID -> P_DAT 2k2
source U1 vdd=V3_ID gnd=GND
    reads EDID from=U50 over=P_CLK,P_DAT
`,
	"mux": `state sel a b
net V3 3.3V
net G1_CLK 3.3V
net G2_CLK 0V
net G_SEL 3.3V
supply PS1 -> V3
supply PS2 -> G1_CLK
resistor R2 G2_CLK -> GND 1k
resistor R1 ID_CLK -> GND 10k
` +
		"controller U1 vdd=V3 gnd=GND\n    drives G_SEL when sel=b\n",
	"buffer": gateAround("A") + "resistor R1 B -> GND 10k\n", "inverter": gateAround("A") + "resistor R1 B_N -> GND 10k\n",
	"and": gateAround("BL_REQ", "LID_OK") + "resistor R1 BL_EN -> GND 10k\n", "or": gateAround("A", "B") + "resistor R1 C -> GND 10k\n",
	"nand": gateAround("A", "B") + "resistor R1 C_N -> GND 10k\n", "nor": gateAround("A", "B") + "resistor R1 C_N -> GND 10k\n",
	"point": "net VBL 12V\nsupply PS1 -> VBL\nresistor R1 VBL -> GND 1k\n",
}

var chipAround = `    drives OUT when IN
net V3 3.3V
net OUT 3.3V
net IN 3.3V
supply PS1 -> V3
` + chipDriver("V3") + "resistor R1 OUT -> GND 10k\n"

// chipDriver drives IN high in one state and low in the other.
func chipDriver(rail string) string {
	return "state in high low\ncontroller U88 vdd=" + rail + " gnd=GND\n    drives IN when in=high\n"
}

// switchAround drives a control net from a rail.
func switchAround(rail, control string) string {
	return "state on yes no\nnet " + rail + ` 12V
net V3 3.3V
net ` + control + " 3.3V\nsupply PS1 -> " + rail + `
supply PS2 -> V3
controller U88 vdd=V3 gnd=GND
` +
		map[bool]string{true: "    pulls ", false: "    drives "}[control == "BL_ON_N"] + control + " when on=yes\n"
}

func boostAround(fb string) string {
	return `state on yes no
net VBL_SW 12V
net BL_EN 3.3V
net BL_PWM 1.65V swing=3.3V
net V3 3.3V
supply PS1 -> VBL_SW
supply PS2 -> V3
coil L4 VBL_SW -> BL_LX r=100m
` +
		`diode D6 BL_LX -> VBL vf=0.4V
controller U88 vdd=V3 gnd=GND
    drives BL_EN when on=yes
    sends BL_PWM
resistor R11 VBL -> ` + fb + " 1M\nresistor R12 " + fb + " -> GND 33k\n"
}

// gateAround drives inputs high and low in all combinations.
func gateAround(inputs ...string) string {
	s := "net V3 3.3V\nsupply PS1 -> V3\n"
	for _, in := range inputs {
		s = "state s" + in + " high low\n" + s + "net " + in + " 3.3V\n" +
			"controller U9" + string(in[0]) + " vdd=V3 gnd=GND\n    drives " + in + " when s" + in + "=high\n"
	}
	return s
}

// Every fault of every kind changes what some probe shows on a board that works, or
// the table says why none does; and what is said to be hidden is.
func TestEveryFaultShowsOrIsMarked(t *testing.T) {
	for i := range netlist.Kinds {
		k := &netlist.Kinds[i]
		t.Run(k.Name, func(t *testing.T) {
			text, ok := around[k.Name]
			if !ok {
				t.Fatal("no board to put it on")
			}
			p := NewPredictor(boardAround(t, k, text))
			shown := map[string]bool{}
			for id := range p.Board.Parts {
				if p.Board.Parts[id].Kind != k {
					continue
				}
				for _, f := range p.Faults(netlist.PartID(id)) {
					shown[f.Mode.Name] = shown[f.Mode.Name] || differs(t, p, f)
				}
			}
			for _, f := range k.Faults {
				shows, befalls := shown[f.Name]
				switch reason := k.Hidden[f.Name]; {
				case !befalls:
					t.Errorf("%s befalls nothing on the board", f.Name)
				case shows && reason != "":
					t.Errorf("%s is marked as hidden and shows", f.Name)
				case !shows && reason == "":
					t.Errorf("%s shows nowhere, and the table does not say why", f.Name)
				}
			}
			for name := range k.Hidden {
				if !slices.ContainsFunc(k.Faults, func(f netlist.Fault) bool { return f.Name == name }) {
					t.Errorf("the table says why %s is hidden, and there is no such fault", name)
				}
			}
		})
	}
}

// boardAround reads the example of a kind with what is round it.
func boardAround(t *testing.T, k *netlist.Kind, text string) *netlist.Board {
	t.Helper()
	src := "board small\n"
	var rest []string
	for _, l := range splitLines(text) {
		if len(l) > 6 && l[:6] == "state " {
			src += l
		} else {
			rest = append(rest, l)
		}
	}
	src += "net GND ground\n" + k.Example + "\n"
	for _, l := range rest {
		src += l
	}
	b, problems := netlist.Read("small.board", src)
	for _, x := range problems {
		if x.Severity == mistake.Error {
			t.Fatalf("%s\n%s", x.Report(), src)
		}
	}
	return b
}

func splitLines(s string) (list []string) {
	for s != "" {
		i := slices.Index([]byte(s), '\n') + 1
		list, s = append(list, s[:i]), s[i:]
	}
	return list
}

// differs reports whether some probe shows something else with a fault than without,
// in some state, or a test point is off its net.
func differs(t *testing.T, p *Predictor, f Fault) bool {
	t.Helper()
	for st := range States(p.Board) {
		was, err := p.Report(st)
		if err != nil {
			t.Fatal(err)
		}
		now, err := p.Report(st, f)
		if err != nil {
			t.Fatal(err)
		}
		if len(now.Lifted) > 0 || len(now.Unsteady) > len(was.Unsteady) {
			return true
		}
		for i := range now.Nets {
			a, b := &was.Nets[i], &now.Nets[i]
			if !a.Volts.Alike(b.Volts) || !a.Activity.Alike(b.Activity) ||
				!a.Ohms.Alike(b.Ohms) || !a.Diode.Alike(b.Diode) {
				return true
			}
		}
		for i := range now.Parts {
			if !was.Parts[i].Across.Alike(now.Parts[i].Across) {
				return true
			}
		}
		for i := range now.Facts {
			if !was.Facts[i].Shows.Alike(now.Facts[i].Shows) {
				return true
			}
		}
	}
	return false
}
