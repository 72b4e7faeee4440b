package probe

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
)

// of makes a probe of a net.
func of(t testing.TB, b *netlist.Board, m netlist.Method, net string) netlist.Probe {
	t.Helper()
	n, ok := b.Net(net)
	if !ok {
		t.Fatalf("%s has no net %s", b.Name, net)
	}
	p := netlist.Probe{Method: m, Net: n, Other: netlist.None, Part: netlist.None, Fact: netlist.None}
	if !m.Cold() {
		p.State.Setting = b.Usual()
	}
	return p
}

const placesBoard = `board places "Places"
net GND ground
net V3 3.3V 5%
net VHI 30V 5%
net PWM 2V 50% swing=3.3V
supply PS1 -> V3 limit=1A
supply PS2 -> VHI limit=1A
source U1 vdd=V3 gnd=GND
    drives POINT PAD PLAIN PIN BALL EDGE SMALL
controller U2 vdd=V3 gnd=GND io=BALL
buffer U3 in=PIN out=X vdd=V3 gnd=GND
controller U4 vdd=V3 gnd=GND io=SMALL package=qfn
resistor R1 PAD -> GND 10k
resistor R2 POINT -> GND 10k
resistor R3 VHI -> FB 1M
resistor R4 FB -> GND 36k
point TP1 POINT side=top at="by R2"
connector J1
    pin 1 PLAIN -> C_PLAIN
connector J2
    pin 1 EDGE -> C_EDGE
    pin 3 VHI -> C_VHI
    pin 4 POINT -> C_POINT
`

func TestPlaces(t *testing.T) {
	b := boardtest.Build(t, placesBoard)
	x := On(b, nil)
	for _, c := range []struct {
		net       string
		hot, cold string
		reached   bool // with power on
	}{
		{"POINT", "TP1 top (by R2)", "TP1 top (by R2)", true},
		{"PAD", "the pad of R1 on PAD", "the pad of R1 on PAD", true},
		{"PLAIN", "J1 pin 1", "J1 pin 1", true},
		{"PIN", "the PIN pin of U3", "the PIN pin of U3", true},
		// A package that the board file names goes before what is usual for the kind.
		{"SMALL", "the SMALL pin of U4", "the SMALL pin of U4", true},
		// Only balls are left.
		{"BALL", "out of reach, under U1 and U2", "out of reach, under U1 and U2", false},
		// Beside the high rail no probe lands with power on.
		{"EDGE", "out of reach, under U1 and J2", "J2 pin 1", false},
		{"C_POINT", "out of reach; the other end of J2: TP1 top (by R2)", "J2 pin 4", false},
	} {
		for m, want := range map[netlist.Method]string{netlist.Volts: c.hot, netlist.Ohms: c.cold} {
			got, ok := x.Place(of(t, b, m, c.net))
			if got.String() != want {
				t.Errorf("%s, %s: at %q, want %q", c.net, m, got, want)
			}
			if ok == strings.HasPrefix(want, "out of reach") {
				t.Errorf("%s, %s: reached %t", c.net, m, ok)
			}
		}
	}
}

// One predicate reads the mean and the swing, declared or computed.
func TestHighRail(t *testing.T) {
	b := boardtest.Build(t, placesBoard)
	computed := make([]float64, len(b.Nets))
	plain, _ := b.Net("PLAIN")
	computed[plain] = 12
	x := On(b, computed)
	for net, want := range map[string]bool{"VHI": true, "V3": false, "PWM": false, "PLAIN": true, "GND": false} {
		n, _ := b.Net(net)
		if got := x.High(n); got != want {
			t.Errorf("%s is high: %t, want %t", net, got, want)
		}
	}
	lark := boardtest.Demo(t, "larkspur13")
	lx, _ := lark.Net("BL_LX")
	if !On(lark, nil).High(lx) || !On(lark, nil).Switches(lx) {
		t.Error("BL_LX is no high switch node")
	}
}

// Where a slip destroys something it is said: on the rail, on a part that the rail is on
// too, and on a line that lies beside the rail at a connector; and nowhere else.
func TestSlipIsWarnedOfBesideAHighRail(t *testing.T) {
	b := boardtest.Build(t, placesBoard)
	x := On(b, nil)
	for net, want := range map[string]bool{"VHI": true, "FB": true, "PAD": false, "POINT": true} {
		list := x.Cautions(of(t, b, netlist.Volts, net))
		if got := strings.Contains(strings.Join(list, "\n"), "one slip"); got != want {
			t.Errorf("%s: cautions %q", net, list)
		}
		if cold := x.Cautions(of(t, b, netlist.Ohms, net)); !slices.Contains(cold, VoltsLow) ||
			strings.Contains(strings.Join(cold, "\n"), "one slip") {
			t.Errorf("%s cold: cautions %q", net, cold)
		}
	}
	text := strings.Join(x.Cautions(of(t, b, netlist.Volts, "POINT")), "\n")
	if !strings.Contains(text, "at the connector it lies beside VHI") {
		t.Errorf("POINT lies beside VHI at J2 alone: %q", text)
	}
	text = strings.Join(x.Cautions(of(t, b, netlist.Volts, "VHI")), "\n")
	for _, beside := range []string{"EDGE at J2 pin 1", "POINT at J2 pin 4"} {
		if !strings.Contains(text, beside) {
			t.Errorf("no %q in %q", beside, text)
		}
	}
}

// On a plug 5 V is a high rail too, and a guard parts nobody; away from a plug, and as
// what swings, 5 V is none.
const guardedBoard = `board guarded "Guarded"
net GND ground
net VBAT 8.4V 5%
net V5 5V 5%
net V5_IN 5V 5%
net LOGIC 3.3V 5%
net PWM 2V 50% swing=3.3V
net LANE 1V 10% swing=0.3V
net LANE2 1V 10% swing=0.3V
supply PS1 -> VBAT limit=1A
connector J2
    pin 1 LOGIC -> C_LOGIC
    pin 3 VBAT -> C_VBAT
    pin 4 GND -> C_GND
    pin 5 LANE -> C_LANE
    pin 6 V5 -> C_V5
    pin 7 GND -> C_GND
    pin 8 V5 -> C_V5B
    pin 9 GND -> C_GND2
    pin 11 GND -> C_GND3
connector J3
    pin 1 PWM -> C_PWM
    pin 2 LANE2 -> C_LANE2
resistor R1 V5_IN -> GND 1k
`

func TestFiveVoltsAreAHighRailOnAPlugAlone(t *testing.T) {
	b := boardtest.Build(t, guardedBoard)
	x := On(b, nil)
	for net, want := range map[string]bool{
		"VBAT": true, "V5": true, "C_V5": true, "V5_IN": false, "LOGIC": false, "PWM": false, "LANE": false,
	} {
		if n, _ := b.Net(net); x.High(n) != want {
			t.Errorf("%s: a high rail %t", net, x.High(n))
		}
	}
	p := of(t, b, netlist.Across, "VBAT")
	p.Other, _ = b.Net("LANE")
	p.State.Unplugged = true
	if at, _ := x.Place(p); at.Name != "J2 pin 3 to pin 5" {
		t.Errorf("at %s", at.Name)
	}
	text := strings.Join(x.Cautions(of(t, b, netlist.Volts, "V5")), "\n")
	if !strings.Contains(text, "V5, at 5 V: one slip") || !strings.Contains(text, "LANE at J2 pin 5") {
		t.Errorf("no word of the slip: %q", text)
	}
}

func TestGateIsEveryHighRailAtAConnectorAndItsNeighbours(t *testing.T) {
	for board, want := range map[string][]string{
		"larkspur13": {"VBL to BL_K4", "VBL"},
		"siskin15":   {"VBL to BL_K1", "VBL"},
		"teasel14":   {"VBL_SW to BL_PWM_J", "VBL_SW"},
		"places":     {"VHI to EDGE", "VHI to POINT", "VHI"},
		"guarded":    {"VBAT to LOGIC", "V5 to LANE", "VBAT to LANE", "VBAT", "V5"},
	} {
		var b *netlist.Board
		switch board {
		case "places":
			b = boardtest.Build(t, placesBoard)
		case "guarded":
			b = boardtest.Build(t, guardedBoard)
		default:
			b = boardtest.Demo(t, board)
		}
		var got []string
		x := On(b, nil)
		for _, p := range x.Gate() {
			got = append(got, At(b, p))
			if !p.State.Unplugged || !p.Cold() || !x.Gates(p) {
				t.Errorf("%s: %v is no gate", board, p)
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s:\n%s", board, diff)
		}
	}
}

func TestMeters(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	x := On(b, nil)
	for _, c := range []struct {
		m        netlist.Method
		net      string
		set      string
		leads    string
		cautions int
	}{
		{netlist.Volts, "VBL", "DC volts, 60 V range", "black lead on ground, red on the point", 2},
		{netlist.Volts, "BL_EN", "DC volts, 6 V range", "black lead on ground, red on the point", 0},
		// Held near ground by a sink: an open string lifts it.
		{netlist.Volts, "BL_K1", "DC volts, 60 V range", "black lead on ground, red on the point", 1},
		{netlist.Volts, "BL_ON_N", "DC volts, 60 V range", "black lead on ground, red on the point", 2},
		{netlist.Activity, "BL_LX", "scope, 10:1 probe",
			"ground clip beside the point; a meter on DC volts shows the mean, which is there without switching too", 3},
		{netlist.Activity, "ID_CLK_J", "scope, 10:1 probe", "ground clip beside the point; a meter on DC volts shows only the mean", 2},
		{netlist.Activity, "A0P", "a fast scope, or DC volts through 1 kΩ at the tip",
			"compare the two legs and the other pairs; on a meter a missing leg shows, a frozen pair does not", 2},
		{netlist.Ohms, "VBL", "ohms", "black lead on ground, red on the point; wait until it settles", 1},
		{netlist.Diode, "VBL", "diode mode", "red lead on ground, black on the point", 1},
	} {
		p := of(t, b, c.m, c.net)
		set, leads := x.Meter(p)
		if set != c.set || leads != c.leads {
			t.Errorf("%s, %s: %q, %q", c.net, c.m, set, leads)
		}
		if got := x.Cautions(p); len(got) != c.cautions {
			t.Errorf("%s, %s: %d cautions of %d: %q", c.net, c.m, len(got), c.cautions, got)
		}
	}
	if p := of(t, b, netlist.Volts, "BL_LX"); x.Asks(p) {
		t.Error("DC volts are asked for on a switch node, where they prove nothing")
	}
}

// The words of safety stand in this package alone: a word that gives another copy
// away must not stand in any other Go file.
func TestWordsOfSafetyStandHereAlone(t *testing.T) {
	telltale := []string{"capacitors discharged", "swollen", "one slip of", "under 50 mV", "licensed practice",
		"adapter and battery out", "strap on", "is not the cause before the short", "loads a fast line", "limited supply."}
	root := filepath.Join("..", "..")
	files := 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == ".git" || path == filepath.Join(root, "trace", "probe")):
			return filepath.SkipDir
		case d.IsDir() || filepath.Ext(path) != ".go":
			return nil
		}
		files++
		text, err := os.ReadFile(path)
		for _, word := range telltale {
			if i := bytes.Index(bytes.ToLower(text), bytes.ToLower([]byte(word))); i >= 0 {
				t.Errorf("%s:%d says %q: print it from package probe", path, 1+bytes.Count(text[:i], []byte("\n")), word)
			}
		}
		return err
	})
	if err != nil || files < 200 {
		t.Errorf("%d files read, %v", files, err)
	}
}

// Over a sheet stand the rails of the board itself, as high as they can come, with what
// lies beside them.
func TestGeneralNamesTheRailsOfTheBoard(t *testing.T) {
	for board, want := range map[string]string{
		"larkspur13": "VBL can stand at 36 V beside BL_K4 at J2 pin 23: one slip",
		"siskin15":   "VBL can stand at 39 V beside BL_K1 at J2 pin 4: one slip",
		"teasel14":   "VBL_SW can stand at 8.4 V beside BL_PWM_J at J2 pin 5: one slip",
	} {
		list := On(boardtest.Demo(t, board), nil).General()
		text := strings.Join(list, "\n")
		if !strings.Contains(text, want) || strings.Contains(text, Sentence(Slip)) || len(list) != len(General()) {
			t.Errorf("%s: %q", board, text)
		}
	}
}

func TestGeneralHoldsEveryWordOnce(t *testing.T) {
	all := strings.Join(General(), "\n")
	for _, text := range []string{Cold, Slip, Cable, GoodPanel, Esd, HotAir, Liquid, Hurts, Local} {
		if strings.Count(all, Sentence(text)) != 1 {
			t.Errorf("%q stands %d times", text, strings.Count(all, Sentence(text)))
		}
	}
	for _, text := range Brief() {
		if !strings.Contains(all, text) {
			t.Errorf("%q is in the brief alone", text)
		}
	}
}

func TestCostsOfAChangeAndAPlace(t *testing.T) {
	b := boardtest.Build(t, placesBoard)
	x := On(b, nil)
	c := UsualCosts()
	besideRail := c.Volts + c.Contact + c.HighRail
	for net, want := range map[string]float64{"POINT": c.Volts, "PAD": c.Volts + c.Contact, "VHI": besideRail, "FB": besideRail} {
		if got := c.Probe(x, of(t, b, netlist.Volts, net)); got != want {
			t.Errorf("%s costs %g s, want %g", net, got, want)
		}
	}
	cold, hot := of(t, b, netlist.Ohms, "PAD"), of(t, b, netlist.Volts, "PAD")
	cold.State.Unplugged = true
	if got, want := c.Change(b, cold, hot), c.Plug+c.PowerUp; got != want {
		t.Errorf("power comes back for %g s, want %g", got, want)
	}
}

func TestChangeSaysWhatToDo(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	x := On(b, nil)
	hot, cold := of(t, b, netlist.Volts, "VBL"), of(t, b, netlist.Ohms, "VBL")
	bare := cold
	bare.State.Unplugged = true
	shut := b.Usual()
	if err := b.ParseSetting(shut, "lid=shut"); err != nil {
		t.Fatal(err)
	}
	asleep := hot
	asleep.State.Setting = shut
	for _, c := range []struct {
		from, to netlist.Probe
		want     string
	}{
		{hot, hot, ""}, {cold, bare, "unplug the panel cable"}, {bare, cold, "plug the panel cable in"},
		{bare, hot, "plug the panel cable in, then " + PowerUp}, {cold, hot, PowerUp}, {hot, bare, PowerDown + ", then unplug the panel cable"},
		{hot, asleep, "bring it to lid=shut"}, {cold, asleep, PowerUp + ", then bring it to lid=shut"},
	} {
		if got := x.Change(c.from, c.to); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// A pull-up to the rail beside it is no bridge, and its value lets power on; a bridge in
// the file does not.
func TestApartKnowsAPullUpFromABridge(t *testing.T) {
	for ohms, want := range map[string]float64{"4k7": 2350, "1ohm": neighbourOhms} {
		b := boardtest.Build(t, guardedBoard+"resistor R9 V5 -> LOGIC "+ohms+"\nresistor R8 VBAT -> LOGIC "+ohms+"\n")
		x := On(b, nil)
		p := of(t, b, netlist.Across, "VBAT")
		p.Other, _ = b.Net("LOGIC")
		p.State.Unplugged = true
		if got := x.Floor(p); got != want {
			t.Errorf("%s: power may come from %g Ω on, want %g", ohms, got, want)
		}
	}
}

// Each danger is named where it is, and nowhere else.
func TestDangersHaveTheirOwnWords(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	x := On(b, nil)
	for _, c := range []struct {
		words   string
		is, not netlist.Probe
	}{
		{retries, of(t, b, netlist.Volts, "VBL"), of(t, b, netlist.Volts, "VBL_SW")},
		{retries, of(t, b, netlist.Volts, "VBL"), of(t, b, netlist.Ohms, "VBL")},
		{switching, of(t, b, netlist.Activity, "BL_LX"), of(t, b, netlist.Activity, "BL_PWM")},
		{clip, of(t, b, netlist.Activity, "BL_PWM"), of(t, b, netlist.Volts, "BL_PWM")},
	} {
		if !slices.Contains(x.Cautions(c.is), c.words) || slices.Contains(x.Cautions(c.not), c.words) {
			t.Errorf("%q stands not at %s, or at %s", c.words, Title(b, c.is), Title(b, c.not))
		}
	}
	eDP := boardtest.Demo(t, "teasel14")
	upper, _ := eDP.Part("R91")
	lower, _ := eDP.Part("R92")
	if y := On(eDP, nil); y.Runaway(upper) == "" || y.Runaway(lower) != "" { // to the panel's own ground
		t.Errorf("upper leg %q, lower %q", y.Runaway(upper), y.Runaway(lower))
	}
	const away = "with R36 open do not power: nothing limits VBL, which can run away"
	for name, want := range map[string]string{"R36": away, "R37": "", "R31": ""} {
		id, _ := b.Part(name)
		if got := x.Runaway(id); got != want {
			t.Errorf("%s: %q", name, got)
		}
	}
	lamp := On(boardtest.Build(t, placesBoard), nil).General()
	if !slices.Contains(lamp, Sentence(Lamp)) || slices.Contains(x.General(), Sentence(Lamp)) {
		t.Error("the lamp is named beside LEDs, or not where none are")
	}
}
