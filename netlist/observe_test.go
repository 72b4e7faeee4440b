package netlist

import (
	"errors"
	"strings"
	"testing"

	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
)

// bench is a board on which each kind of part stands between two nets, so that
// it shows across which parts a declared value holds.
const benchBoard = `board b "B"
state power run sleep
state lid open shut
net GND ground
net V 12V 5% cold=10k diode=0.5V
    expect 0V when power=sleep
net CLK 1.2V 10% swing=0.35V
net EN 0V
    expect 3.3V 5% when lid=shut
net OWN 5V
supply PS1 -> V
fuse F1 V -> AFTER_FUSE
ferrite FB1 AFTER_FUSE -> AFTER_BEAD
filter FL1 CLK -> AFTER_FILTER
choke FL2 V,CLK -> W1,W2
coil L1 V -> AFTER_COIL
connector J1
    pin 1 AFTER_BEAD -> CABLE
    pin 2 GND -> CABLE_GND
cable W1 CABLE -> PANEL
resistor R1 V -> AFTER_LOW 10
resistor R2 V -> AFTER_HIGH 100k
diode D1 V -> AFTER_DIODE
pfet Q1 V -> AFTER_FET gate=EN
loadswitch U1 V -> AFTER_SWITCH en=EN
regulator U2 in=V out=AFTER_REG
capacitor C1 V -> AFTER_CAP 1u
fuse F2 V -> OWN
lane PAIR W1 W2
panel DS1 vdd=PANEL
    makes LIGHT when PANEL
`

func TestLevelsHoldAcrossPartsThatBearThemOn(t *testing.T) {
	b := buildClean(t, benchBoard)
	// What each net takes over, and across which part; "" where the level ends.
	// That a closed fuse, a bead or a contact drops next to nothing and that a
	// switch or a diode may carry nothing is common practice, no source.
	want := map[string]string{
		"AFTER_FUSE": "V across F1", "AFTER_BEAD": "AFTER_FUSE across FB1", "AFTER_FILTER": "CLK across FL1",
		"W1": "V across FL2", "W2": "CLK across FL2", "AFTER_COIL": "V across L1", "CABLE": "AFTER_BEAD across J1",
		"PANEL": "CABLE across W1", "AFTER_LOW": "V across R1",
		"AFTER_HIGH": "", "AFTER_DIODE": "", "AFTER_FET": "", "AFTER_SWITCH": "", "AFTER_REG": "", "AFTER_CAP": "",
		"CABLE_GND": "", "OWN": "", "V": "", "CLK": "", "EN": "", "GND": "",
	}
	got := map[string]string{}
	for _, n := range b.Nets {
		got[n.Name] = ""
		if n.Like != None {
			got[n.Name] = b.Nets[n.Like].Name + " across " + b.Parts[n.Across].Name
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("levels taken over (-want +got):\n%s", diff)
	}
	v, _ := b.Net("V")
	panel, _ := b.Net("PANEL")
	if diff := cmp.Diff(b.Nets[v].Expect, b.Nets[panel].Expect); diff != "" {
		t.Errorf("the panel's net expects something else (-V +PANEL):\n%s", diff)
	}
	// Resistance to ground is measured with the cable unplugged, so it ends at a
	// connector.
	cold := map[string]float64{}
	for _, name := range []string{"AFTER_BEAD", "CABLE", "PANEL", "AFTER_DIODE"} {
		id, _ := b.Net(name)
		cold[name] = b.Nets[id].Cold.Value
	}
	if diff := cmp.Diff(map[string]float64{"AFTER_BEAD": 10e3, "CABLE": 0, "PANEL": 0, "AFTER_DIODE": 0}, cold); diff != "" {
		t.Errorf("cold values (-want +got):\n%s", diff)
	}
}

func TestASwitchNodeKeepsItsSwingToItself(t *testing.T) {
	// The two ends of a converter's coil share their mean, not the switching.
	b := buildClean(t, "board b \"B\"\nnet LX 12V 8% swing=32V\ncoil L1 IN -> LX\nfilter FL1 LX -> FAR\n")
	got := map[string]bool{}
	for _, n := range b.Nets {
		got[n.Name] = len(n.Expect) > 0
	}
	if diff := cmp.Diff(map[string]bool{"LX": true, "IN": false, "FAR": true}, got); diff != "" {
		t.Errorf("nets with a value (-want +got):\n%s", diff)
	}
}

func TestWhatANetReadsDependsOnTheState(t *testing.T) {
	b := buildClean(t, benchBoard)
	type reading struct {
		Known bool
		Value float64
	}
	for _, row := range []struct {
		net, state string
		want       reading
	}{
		{"V", "", reading{true, 12}},
		{"V", "power=sleep", reading{true, 0}},
		{"V", "lid=shut", reading{true, 12}},
		{"PANEL", "power=sleep", reading{true, 0}},
		{"EN", "", reading{true, 0}},
		{"EN", "lid=shut", reading{true, 3.3}},
		{"AFTER_DIODE", "", reading{false, 0}},
	} {
		s := b.Usual()
		if row.state != "" {
			if err := b.ParseSetting(s, row.state); err != nil {
				t.Fatal(err)
			}
		}
		id, _ := b.Net(row.net)
		e, ok := b.ExpectIn(id, s)
		if diff := cmp.Diff(row.want, reading{ok, e.Value}); diff != "" {
			t.Errorf("%s with %q (-want +got):\n%s", row.net, row.state, diff)
		}
	}
}

func TestHealthy(t *testing.T) {
	b := buildClean(t, benchBoard)
	want := map[string]Quantity{"GND": Low, "V": High, "CLK": Toggling, "EN": Low, "PANEL": High, "AFTER_DIODE": High,
		"AFTER_FILTER": Toggling}
	got := map[string]Quantity{}
	for name := range want {
		id, _ := b.Net(name)
		got[name] = b.Healthy(id)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("healthy (-want +got):\n%s", diff)
	}
}

func TestObserve(t *testing.T) {
	b := buildClean(t, benchBoard)
	// Which way a wrong reading is off, where that can be told.
	direction := map[string]int{
		"V=11.3V ": -1, "V=12.7 ": 1, "V=0V ": -1, "V=low ": -1, "V=LOW ": -1, "EN=high ": 1, "AFTER_DIODE=0V ": -1,
		"V=0.2V power=sleep": 1, "V=12V power=sleep": 1, "V=swing:1V ": 1, "CLK=swing:0.1V ": -1,
		"V=ohms:100 ": -1, "V=OL ": 1, "V=diode:0V ": -1, "V=diode:OL ": 1, "V=15 kΩ ": 1,
	}
	// Numbers are kept in one form.
	word := map[string]string{"12.7": "12.7V", "3V3": "3.3V", "-0": "0V", "LOW": "low", "Missing": "missing", "OL": "ohms:OL",
		"ohms:100": "ohms:100", "10kohm": "ohms:10k", "15 kΩ": "ohms:15k", "swing:0.05V": "swing:50mV", "diode:0.51": "diode:0.51V"}
	for _, row := range []struct {
		seen, state string
		wrong       bool
	}{
		{"V=12V", "", false},
		{"V=11.5V", "", false}, // within 5 %
		{"V=11.3V", "", true},
		{"V=12.7", "", true}, // volts when no unit is given
		{"V=0V", "", true},
		{"V=0V", "power=sleep", false},
		{"V=0.2V", "power=sleep", true}, // more than the noise of a meter
		{"V=12V", "power=sleep", true},
		{"V=low", "", true},
		{"V=LOW", "", true},
		{"V=zero", "power=sleep", false},
		{"V=high", "", false},
		{"EN=high", "", true},
		{"EN=low", "", false},
		{"EN=high", "lid=shut", false},
		{"EN=3V3", "lid=shut", false},
		{"CLK=quiet", "", true},
		{"CLK=toggling", "", false},
		{"V=toggling", "", true}, // a rail rests
		{"V=quiet", "", false},
		{"V=swing:0.05V", "", false}, // ripple
		{"V=swing:1V", "", true},
		{"CLK=swing:0.3V", "", false},
		{"CLK=swing:0.1V", "", true},
		{"CLK=toggling", "power=sleep", false}, // its value is the same in every state
		{"EN=-0", "", false},
		{"V=ohms:100", "", true},
		{"V=10kohm", "", false},
		{"V=15 kΩ", "", true},
		{"V=OL", "", true},
		{"V=diode:0.51", "", false},
		{"V=diode:0V", "", true},
		{"V=diode:OL", "", true},
		{"PANEL=12V", "", false},
		{"AFTER_DIODE=0V", "", true}, // nothing declared, and yet 0 V is no rail
		{"AFTER_DIODE=wrong", "", true},
		{"AFTER_DIODE=ok", "", false},
		{"PAIR=quiet", "", true},
		{"PAIR=alive", "", false},
		{"LIGHT=no", "", true},
		{"LIGHT=yes", "", false},
		{"LIGHT=Missing", "", true},
	} {
		s := b.Usual()
		if row.state != "" {
			if err := b.ParseSetting(s, row.state); err != nil {
				t.Fatal(err)
			}
		}
		name, seen, _ := strings.Cut(row.seen, "=")
		got, err := b.Observe(name, seen, s)
		if err != nil {
			t.Errorf("%s %s: %v", row.seen, row.state, err)
			continue
		}
		target, _ := b.Lookup(name)
		want := Observation{Target: target, Wrong: row.wrong, Above: direction[row.seen+" "+row.state] > 0,
			Below: direction[row.seen+" "+row.state] < 0, Word: seen, Value: got.Value, Cold: got.Cold}
		if plain, ok := word[seen]; ok {
			want.Word = plain
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s %s (-want +got):\n%s", row.seen, row.state, diff)
		}
		if cold := strings.Contains(got.Word, "ohm") || strings.Contains(got.Word, "diode"); (got.Cold != nil) != cold {
			t.Errorf("%s: cold is %v", row.seen, got.Cold)
		}
		if b.TargetName(got.Target) != name {
			t.Errorf("%s is said of %s", row.seen, b.TargetName(got.Target))
		}
	}
}

func TestObservationsThatAreRefusedSayWhy(t *testing.T) {
	b := buildClean(t, benchBoard)
	for _, row := range []struct {
		name, word      string
		at              string // the letters in question
		msg, want, near string // parts of what is said
	}{
		{"VV", "0V", "VV", `nothing on the board is called "VV"`, "", "V"},
		{"F1", "0V", "0V", "it is in V", "40k, or OL", ""},
		{"DS1", "0V", "DS1", "DS1 is a part without two ends", "one of its nets", "PANEL"},
		{"GND", "0V", "GND", "GND is ground, the point that readings are taken against", "a net, a lane or a fact", ""},
		{"V", "qiuet", "qiuet", "V=qiuet is not understood", "a value such as 0V", "quiet"},
		{"V", "3A", "3A", "it is in A", "a voltage such as 12.2V", ""},
		{"V", "", "=", "there is no value", "POINT=VALUE", ""},
		{"PAIR", "0V", "0V", "PAIR=0V is not understood", "one of no", ""},
		{"LIGHT", "high", "high", "LIGHT=high is not understood", "one of no", ""},
		{"AFTER_DIODE", "11V", "AFTER_DIODE=11V", "no value is declared for AFTER_DIODE", "AFTER_DIODE=ok", ""},
		{"AFTER_DIODE", "toggling", "AFTER_DIODE=toggling", "no value is declared for AFTER_DIODE", "AFTER_DIODE=ok", ""},
		{"AFTER_DIODE", "ohms:3", "AFTER_DIODE=ohms:3", "no value is declared for AFTER_DIODE", "cold=", ""},
		{"AFTER_DIODE", "diode:0.3", "AFTER_DIODE=diode:0.3", "no value is declared for AFTER_DIODE", "diode=", ""},
	} {
		_, err := b.Observe(row.name, row.word, b.Usual())
		var m mistake.Mistake
		if !errors.As(err, &m) {
			t.Errorf("%s=%s: %v, want a mistake", row.name, row.word, err)
			continue
		}
		if got := pointed(m); got != row.at {
			t.Errorf("%s=%s: points at %q, not at %q", row.name, row.word, got, row.at)
		}
		if !strings.Contains(m.Msg, row.msg) || !strings.Contains(m.Want, row.want) || row.near != "" && m.Near != row.near {
			t.Errorf("%s=%s: %v", row.name, row.word, m.Report())
		}
	}
}

// pointed returns the letters that a mistake underlines.
func pointed(m mistake.Mistake) string {
	letters := []rune(m.Text)
	return string(letters[m.Column-1 : min(m.Column-1+m.Width, len(letters))])
}

func TestParseSetting(t *testing.T) {
	b := buildClean(t, benchBoard)
	s := b.Usual()
	if got := b.SettingText(s); got != "power=run lid=open" {
		t.Errorf("the usual setting is %q", got)
	}
	if err := b.ParseSetting(s, "lid=shut"); err != nil || b.SettingText(s) != "power=run lid=shut" {
		t.Errorf("lid=shut gives %q, %v", b.SettingText(s), err)
	}
	for text, want := range map[string]string{
		"lid":       `"lid" is not a state`,
		"":          `"" is not a state`,
		"ild=shut":  `ild=shut: the board has no state "ild"; did you mean "lid"?`,
		"lid=shott": `lid=shott: the state lid has no value "shott"; did you mean "shut"?`,
	} {
		err := b.ParseSetting(s, text)
		if err == nil || err.Error() != want {
			t.Errorf("ParseSetting(%q): %v, want %s", text, err, want)
		}
	}
	if got := b.SettingText(s); got != "power=run lid=shut" {
		t.Errorf("a refused setting changed it to %q", got)
	}
}

func TestEveryObservationWordIsUnderstood(t *testing.T) {
	b := buildClean(t, benchBoard)
	for _, word := range ObservationWords() {
		if _, err := b.Observe("V", word, b.Usual()); err != nil {
			t.Errorf("V=%s: %v", word, err)
		}
	}
}

func TestGroundedIsZeroInEveryState(t *testing.T) {
	b := buildClean(t, "board b \"B\"\nstate power run sleep\nnet GND ground\nnet P_GND 0V\nnet EN 0V\n    expect 3V when power=sleep\nnet "+
		"CLK 0V swing=1V\nnet V 3V\nfuse F1 X -> Y\nconnector J1 P_GND -> FAR\n")
	want := map[string]bool{"GND": true, "P_GND": true, "FAR": true, "EN": false, "CLK": false, "V": false, "X": false}
	got := map[string]bool{}
	for name := range want {
		id, _ := b.Net(name)
		got[name] = b.Grounded(id)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("grounded (-want +got):\n%s", diff)
	}
	s := b.Usual()
	if err := b.ParseSetting(s, "power=sleep"); err != nil {
		t.Fatal(err)
	}
	en, _ := b.Net("EN")
	if usual, asleep := b.HealthyIn(en, b.Usual()), b.HealthyIn(en, s); usual != Low || asleep != High {
		t.Errorf("EN is %s, and asleep %s; want low and high", usual, asleep)
	}
}
