package trace

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
)

// sequence tells a walk as kind:name words, each element once, in order.
func (w *Walk) sequence() string {
	var words []string
	for i := range w.Steps {
		s := &w.Steps[i]
		word := w.kindWord(s) + ":" + strings.ReplaceAll(s.Name, " ", "_")
		if !slices.Contains(words, word) && !s.Held {
			words = append(words, word)
		}
	}
	return strings.Join(words, " ")
}

// Reviewed by eye against the board files.
var wholeWalks = []struct{ name, board, line, want string }{
	{"no panel supply: the load switch, then all that the picture chip waits for, then the fuse", "larkspur13", "V3_PNL=0V", `
		net:V3_PNL loadswitch:U4 net:PNL_ON source:U1
		net:V3_RUN regulator:U3 net:VMAIN supply:PS1 net:RUN_ON controller:U8 net:V3_STAY regulator:U2 net:GND state:power=run
		net:V1_RUN regulator:U5
		fact:EDID rom:U90 net:P_ID cable:W1 net:C_ID connector:J2 net:V3_ID ferrite:FB2 net:P_GND net:C_GND
		net:P_ICK net:C_ICK net:ID_CLK_J filter:FL5 net:ID_CLK resistor:R21
		net:P_IDA net:C_IDA net:ID_DAT_J filter:FL6 net:ID_DAT resistor:R22
		net:V3_PF fuse:F2`},
	{"no panel supply though the identity was read: five elements are left", "larkspur13", "V3_PNL=0V EDID=read", `
		net:V3_PNL loadswitch:U4 net:PNL_ON source:U1 fact:EDID state:power=run net:GND net:V3_PF fuse:F2 net:V3_RUN`},
	{"backlight rail at its input voltage", "larkspur13", "VBL=12.2V PICTURE=seen", `
		net:VBL diode:D6 net:BL_LX boost:U9 net:VBL_SW
		net:BL_EN and:U7 net:V3_RUN net:GND net:BL_REQ source:U1 net:PNL_ON state:power=run net:LID_OPEN
		sensor:U11 state:lid_other_than_shut resistor:R11 net:V3_STAY net:BL_PWM resistor:R34 net:BL_PWM_S net:BL_FB resistor:R36 coil:L4`},
	{"clock pair dead, all before it proven", "larkspur13", "A.CLK=quiet EDID=read V3_PNL=ok", `
		lane:A.CLK net:P_ACKP cable:W1 net:C_ACKP connector:J2 net:ACKP_J choke:FL1 net:ACKP source:U1 net:PNL_ON
		net:P_ACKN net:C_ACKN net:ACKN_J net:ACKN`},
	{"one data pair dead behind the switch of the chosen chip", "siskin15", "B.2=quiet PICTURE=seen", `
		lane:B.2 net:P_B2P cable:W1 net:C_B2P connector:J2 net:B2P_J choke:FL8 net:B2P mux:U24 net:GPU_SEL net:V3_RUN net:GND
		net:G1_B2P source:U1 net:G1_PNL_ON net:P_B2N net:C_B2N net:B2N_J net:B2N net:G1_B2N`},
	{"identity unread, the chip's rails there: memory, its supply, its two lines, their pull-ups", "larkspur13",
		"EDID=unread V3_RUN=ok V1_RUN=ok", `
		fact:EDID source:U1 net:V3_RUN net:V1_RUN net:GND state:power=run
		rom:U90 net:P_ID cable:W1 net:C_ID connector:J2 net:V3_ID ferrite:FB2 net:P_GND net:C_GND
		net:P_ICK net:C_ICK net:ID_CLK_J filter:FL5 net:ID_CLK resistor:R21
		net:P_IDA net:C_IDA net:ID_DAT_J filter:FL6 net:ID_DAT resistor:R22`},
	{"no light though the rail is right: strings, their feed, their returns", "larkspur13", "LIGHT=no VBL=ok PICTURE=seen", `
		fact:LIGHT leds:DS91 net:P_VBL cable:W1 net:C_VBL connector:J2 net:VBL
		choice:one_of net:P_K1 net:C_K1 net:BL_K1 boost:U9 net:P_K2 net:C_K2 net:BL_K2 net:P_K3 net:C_K3 net:BL_K3 net:P_K4 net:C_K4 net:BL_K4`},
	{"eDP: no hot-plug detect leads through the panel to its supply, not to an identity", "teasel14", "HPD=low V3_RUN=ok", `
		net:HPD resistor:R26 net:HPD_J connector:J2 net:C_HPD cable:W1 net:P_HPD panel:DS90 net:P_V3 net:C_V3 net:V3_PNL
		loadswitch:U4 net:PNL_ON source:U1 net:V3_RUN net:V1_RUN regulator:U5 net:VMAIN net:RUN_ON net:GND state:power=run
		net:V3_PF fuse:F2 net:P_GND net:C_GND`},
	{"eDP: AUX silent though hot-plug is there leaves both conductors and their capacitors", "teasel14", "AUX=dead HPD=ok", `
		fact:AUX source:U1 net:HPD state:power=run panel:DS90 net:P_AUXP cable:W1 net:C_AUXP connector:J2 net:AUXP_J capacitor:C41 net:AUXP
		net:P_AUXN net:C_AUXN net:AUXN_J capacitor:C42 net:AUXN`},
}

func TestWholeWalks(t *testing.T) {
	for _, c := range wholeWalks {
		t.Run(c.board+" "+c.line, func(t *testing.T) {
			w := walkOf(t, boardtest.Demo(t, c.board), c.line)
			if diff := cmp.Diff(strings.Fields(c.want), strings.Fields(w.sequence())); diff != "" {
				t.Errorf("%s (-want +got):\n%s", c.name, diff)
			}
		})
	}
}

func TestWhatIsProvenIsNoSuspect(t *testing.T) {
	for _, c := range []struct {
		name, board, line string
		want              []string
	}{
		{"the identity clears the chip's rails and the controller", "larkspur13", "V3_PNL=0V EDID=read", []string{"F2", "U1", "U4"}},
		{"the fuse's far side clears the fuse too", "larkspur13", "V3_PNL=0V EDID=read V3_PF=ok", []string{"U1", "U4"}},
		{"with the request there only the switch is left", "larkspur13", "V3_PNL=0V PNL_ON=ok V3_PF=ok", []string{"U4"}},
		{"light clears a trained link", "teasel14", "PICTURE=no LIGHT=yes", []string{"DS90"}},
		{"the other chip's path does not matter", "siskin15", "V3_PNL=0V PNL_ON=ok V3_PF=ok", []string{"U4"}},
	} {
		w := walkOf(t, boardtest.Demo(t, c.board), c.line)
		if diff := cmp.Diff(c.want, w.suspects()); diff != "" {
			t.Errorf("%s: %s %s (-want +got):\n%s", c.name, c.board, c.line, diff)
		}
	}
}

func TestObservationsThatContradictAreRefused(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	setting, seen, err := observe(b, "V3_RUN=0V EDID=read")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Run(b, setting, seen); err == nil || !strings.Contains(err.Error(), "V3_RUN") {
		t.Errorf("a dead rail and what needs it alive: %v, want an error that names V3_RUN", err)
	}
	if _, err := Run(b, setting, seen[1:]); !errors.Is(err, ErrNoSymptom) {
		t.Errorf("nothing wrong: %v, want ErrNoSymptom", err)
	}
	if _, err := Run(&netlist.Board{}, nil, nil); !errors.Is(err, ErrNoSymptom) {
		t.Errorf("an empty board: %v, want ErrNoSymptom", err)
	}
}

func TestStatesThatForbidAPointAreNamed(t *testing.T) {
	for _, c := range []struct{ board, line, want string }{
		{"larkspur13", "LIGHT=no --state lid=shut", "lid=shut"},
		{"larkspur13", "LIGHT=no", ""},
		{"larkspur13", "PICTURE=no --state lid=shut", ""}, // the lid stops the light only
		{"larkspur13", "LIGHT=no --state lid=shut power=sleep", "power=sleep and lid=shut"},
		{"siskin15", "LIGHT=no --state lid=shut", "lid=shut"},
		{"siskin15", "V3_G2=0V --state gpu=fast", ""}, // 0 V is right with the other chip, wrong with this one
		{"siskin15", "G1_PNL_ON=missing --state gpu=fast", "gpu=fast"},
		{"teasel14", "L0=quiet --state lid=shut", ""},
		{"teasel14", "HPD=missing --state power=off", "power=off"},
	} {
		w := walkOf(t, boardtest.Demo(t, c.board), c.line)
		states := strings.Split(w.heldText(), " and ")
		want := strings.Split(c.want, " and ")
		slices.Sort(states)
		slices.Sort(want)
		if diff := cmp.Diff(want, states); diff != "" {
			t.Errorf("%s %s is held by (-want +got):\n%s", c.board, c.line, diff)
		}
	}
}

func TestEachPictureChipHasItsOwnPath(t *testing.T) {
	b := boardtest.Demo(t, "siskin15")
	saving := []string{"R13", "R14", "U1"}
	fast := []string{"R15", "R16", "U21", "U26", "U27"}
	for _, c := range []struct {
		line          string
		with, without []string
	}{
		{"EDID=unread --state gpu=saving", saving, fast},
		{"EDID=unread --state gpu=fast", fast, []string{"U1"}},
	} {
		parts := walkOf(t, b, c.line).parts()
		for _, p := range append(c.with, "U22", "U90", "W1", "J2", "FL9", "FL10", "FB2") {
			if !slices.Contains(parts, p) {
				t.Errorf("%s: %s is not on the walk", c.line, p)
			}
		}
		for _, p := range c.without {
			if slices.Contains(parts, p) {
				t.Errorf("%s: %s is on the walk", c.line, p)
			}
		}
	}
	// A rail that is there in one state only is sought where it should be.
	w := walkOf(t, b, "V3_G2=0V V3_RUN=ok --state gpu=fast")
	if diff := cmp.Diff([]string{"U27", "U8"}, w.suspects()); diff != "" {
		t.Errorf("V3_G2 missing while the fast chip draws (-want +got):\n%s", diff)
	}
	// The way that is not chosen is named, and marked as not there.
	w = walkOf(t, b, "B.2=quiet")
	held := w.names(func(s *Step) bool { return s.Held && s.Kind == PartStep && strings.HasPrefix(s.Does, "G2_B2P -> B2P") })
	if diff := cmp.Diff([]string{"U24"}, held); diff != "" {
		t.Errorf("ways not there (-want +got):\n%s", diff)
	}
}

func TestLoopsAreNamedAndNeverFollowed(t *testing.T) {
	for _, c := range []struct {
		board, line string
		want        []string
	}{
		{"larkspur13", "VBL=0V", []string{"feedback D6 R36 U9"}},
		{"siskin15", "VBL=0V", []string{"feedback D6 R36 U9"}},
		{"teasel14", "P_VLED=0V", []string{"feedback D91 R91 U91", "handshake DS90 U1"}},
		{"teasel14", "LINK=no", []string{"handshake DS90 U1"}},
		{"teasel14", "HPD=low", []string{}},
		{"larkspur13", "PICTURE=no", []string{}}, // the identity memory has no rules: it only answers
	} {
		w := walkOf(t, boardtest.Demo(t, c.board), c.line)
		if diff := cmp.Diff(c.want, w.loopText()); diff != "" {
			t.Errorf("%s %s (-want +got):\n%s", c.board, c.line, diff)
		}
	}
	w := walkOf(t, boardtest.Demo(t, "larkspur13"), "VBL=0V")
	closing := w.names(func(s *Step) bool { return s.Loop })
	if diff := cmp.Diff([]string{"VBL"}, closing); diff != "" {
		t.Errorf("the loop closes at (-want +got):\n%s", diff)
	}
}

func TestDoubledContactsSurviveOneFault(t *testing.T) {
	for _, c := range []struct {
		board, line string
		want        []string
		notSingle   []string
	}{
		{"larkspur13", "P_V3=0V V3_PNL=ok", []string{"C_V3 -> P_V3 2", "V3_PNL -> C_V3 2"},
			[]string{"J2 pin 17", "J2 pin 18", "W1 pin 17", "W1 pin 18"}},
		{"teasel14", "P_VBL=0V VBL_SW=ok", []string{"C_VBL -> P_VBL 3", "VBL_SW -> C_VBL 3"}, []string{"J2 pin 1", "W1 pin 3"}},
	} {
		w := walkOf(t, boardtest.Demo(t, c.board), c.line)
		for _, want := range c.want {
			if !slices.Contains(w.redundancies(), want) {
				t.Errorf("%s %s: %v lacks %s", c.board, c.line, w.redundancies(), want)
			}
		}
		for _, u := range c.notSingle {
			if slices.Contains(w.singles(), u) {
				t.Errorf("%s %s: %s is called a single point of failure", c.board, c.line, u)
			}
		}
	}
	// A single contact is one: the memory's supply pin.
	if s := walkOf(t, boardtest.Demo(t, "larkspur13"), "EDID=unread").singles(); !slices.Contains(s, "J2 pin 16") {
		t.Errorf("J2 pin 16 is no single point of failure: %v", s)
	}
}

func TestOneFaultOrTwo(t *testing.T) {
	for _, c := range []struct {
		name, board, line string
		with, without     []string
	}{
		{"light and a pair gone while the picture stands: no part in common but those with both in hand",
			"siskin15", "two PICTURE=seen", nil, []string{"F3", "L4", "D6", "U9", "U7", "FL8", "U24", "U25", "U8", "PS1", "F2", "U4"}},
		{"lid line low explains the dark", "larkspur13", "lid", []string{"U11", "C11", "R11"}, []string{"F3", "U9", "L4"}},
		{"a blown fuse explains a dead rail and the dark, and so does the short behind it", "larkspur13", "fuse",
			[]string{"F3", "C31", "C32", "C34"}, []string{"U11", "R11", "U7"}},
	} {
		w := walkOf(t, boardtest.Demo(t, c.board), c.line)
		common := w.partList(w.Common)
		for _, p := range c.with {
			if !slices.Contains(common, p) {
				t.Errorf("%s: %s is not among %v", c.name, p, common)
			}
		}
		for _, p := range c.without {
			if slices.Contains(common, p) {
				t.Errorf("%s: %s is said to explain all of %s", c.name, p, c.line)
			}
		}
	}
	if c := walkOf(t, boardtest.Demo(t, "siskin15"), "two PICTURE=seen").Common; len(c) > 0 {
		t.Errorf("two faults, explained by one part: %v", c)
	}
}

// contains reports whether the walk from an observation passes a net, a lane, a
// fact or a part.
func contains(t *testing.T, board, line, name string) bool {
	t.Helper()
	w := walkOf(t, boardtest.Demo(t, board), line)
	return len(w.names(func(s *Step) bool { return s.Name == name && !s.Held })) > 0
}

func TestFactsOfTheTrade(t *testing.T) {
	for _, c := range []struct {
		fact, board, line, name string
		on                      bool
	}{
		// Common practice, no source, for every row.
		{"without its clock pair an LVDS panel shows nothing", "larkspur13", "PICTURE=no", "A.CLK", true},
		{"", "siskin15", "PICTURE=no", "A.CLK", true},
		{"a missing data pair costs colour", "larkspur13", "COLOUR=wrong", "A.0", true},
		{"but not the picture", "larkspur13", "PICTURE=no", "A.0", false},
		{"", "larkspur13", "PICTURE=no", "A.1", false},
		{"", "siskin15", "COLOUR=wrong", "B.1", true},
		{"", "siskin15", "PICTURE=no", "B.CLK", false},
		{"the pair with syncs and data enable costs the picture", "larkspur13", "PICTURE=no", "A.2", true},
		{"the identity memory has a rail of its own on LVDS", "larkspur13", "EDID=unread", "V3_ID", true},
		{"", "siskin15", "EDID=unread", "V3_ID", true},
		{"which is not the panel supply", "larkspur13", "EDID=unread", "V3_PNL", false},
		{"", "siskin15", "EDID=unread", "V3_PNL", false},
		{"on LVDS the panel supply waits for the identity", "larkspur13", "V3_PNL=0V", "EDID", true},
		{"", "siskin15", "V3_PNL=0V", "EDID", true},
		{"on eDP the identity waits for the panel supply", "teasel14", "EDID=unread", "V3_PNL", true},
		{"and not the other way about", "teasel14", "V3_PNL=0V", "EDID", false},
		{"eDP: identity waits for AUX, AUX for hot-plug", "teasel14", "EDID=unread", "HPD", true},
		{"eDP: light waits for a trained link", "teasel14", "LIGHT=no", "LINK", true},
		{"the lid is no part of the picture", "larkspur13", "PICTURE=no", "LID_OPEN", false},
		{"but of the light", "larkspur13", "LIGHT=no", "LID_OPEN", true},
	} {
		if got := contains(t, c.board, c.line, c.name); got != c.on {
			t.Errorf("%s: walk of %s %s passes %s: %t, want %t", c.fact, c.board, c.line, c.name, got, c.on)
		}
	}
}

// TestLightAndPairsShareNoContact: what carries the backlight's energy, from the
// supply to the strings, and what carries a pair, from the chip to the panel, have
// no part, contact or winding in common; they meet only in the rails that enable
// them. Common practice, no source.
func TestLightAndPairsShareNoContact(t *testing.T) {
	for _, c := range []struct {
		board, light string
		lanes        []string
		carries      []string // the backlight's chain
	}{
		{"larkspur13", "P_VBL", []string{"A.CLK", "A.0", "A.1", "A.2"}, []string{"D6", "F3", "J2 pin 25", "J2 pin 26", "L4", "PS1", "Q5",
			"W1 pin 25", "W1 pin 26"}},
		{"siskin15", "P_VBL", []string{"A.CLK", "A.2", "B.CLK", "B.2"}, []string{"D6", "F3", "J2 pin 1", "J2 pin 2", "L4", "PS1", "W1 pin 1",
			"W1 pin 2"}},
		{"teasel14", "P_VLED", []string{"L0", "L1"}, []string{"D91", "F3", "J2 pin 1", "J2 pin 2", "J2 pin 3", "L91", "PS1", "Q5", "W1 pin 1",
			"W1 pin 2", "W1 pin 3"}},
	} {
		b := boardtest.Demo(t, c.board)
		light := carriers(b, netTarget(t, b, c.light), netlist.High)
		if diff := cmp.Diff(c.carries, light); diff != "" {
			t.Errorf("%s: what carries %s (-want +got):\n%s", c.board, c.light, diff)
		}
		for _, name := range c.lanes {
			lane, ok := b.Lookup(name)
			if !ok {
				t.Fatalf("%s has no lane %s", c.board, name)
			}
			for _, n := range b.Lanes[lane.Lane].Nets {
				pair := carriers(b, n, netlist.Toggling)
				if len(pair) < 4 {
					t.Errorf("%s %s: only %v carry it", c.board, b.Nets[n].Name, pair)
				}
				for _, u := range pair {
					if slices.Contains(light, u) {
						t.Errorf("%s: %s carries %s and the backlight", c.board, u, b.Nets[n].Name)
					}
				}
			}
		}
	}
}

func netTarget(t *testing.T, b *netlist.Board, name string) netlist.NetID {
	t.Helper()
	id, ok := b.Net(name)
	if !ok {
		t.Fatalf("%s has no net %s", b.Name, name)
	}
	return id
}

// carriers lists what bears a net's level, without what switches it.
func carriers(b *netlist.Board, n netlist.NetID, q netlist.Quantity) []string {
	g := NewGraph(b, b.Usual())
	root := g.WantNet(n, q)
	list := []string{}
	for _, id := range g.region(root, slices.Clone(g.Holds())).order {
		if u, ok := g.unit(&g.Goals[id]); ok {
			list = append(list, UnitText(b, u))
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}
