package link

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/mode"
)

func at(clock float64) mode.Mode { return mode.Mode{Clock: clock} }

func TestFit(t *testing.T) {
	const (
		one   = "A.CLK* A.0 A.1 A.2"
		two   = one + " B.CLK* B.0 B.1 B.2"
		wide  = "A.CLK* A.0 A.1 A.2 A.3"
		lanes = "L0 L1 L2 L3"
	)
	tests := []struct {
		name                    string
		ask                     Ask
		lanes                   string
		alive, idle, unsure     string
		problem, note, linkUsed string // a part of the text; empty for none
	}{
		{name: "one of two channels", ask: Ask{Mode: at(69.3e6), Bits: 18, Kind: LVDS}, lanes: two,
			alive: one, idle: "B.CLK B.0 B.1 B.2", linkUsed: "lvds"},
		{name: "two of two", ask: Ask{Mode: at(119e6), Bits: 18, Kind: LVDS}, lanes: two, alive: two, linkUsed: "lvds"},
		{name: "two of one", ask: Ask{Mode: at(119e6), Bits: 18, Kind: LVDS}, lanes: one, alive: one, linkUsed: "lvds",
			problem: "asks for two channels, the board has one: it does not fit"},
		{name: "between, on two", ask: Ask{Mode: at(100e6), Bits: 18, Kind: LVDS}, lanes: two, alive: two,
			unsure: "B.CLK B.0 B.1 B.2", linkUsed: "lvds", note: "whether it is one channel or two: the panel's connector " +
				"tells. Say channels=1 or channels=2 to settle it."},
		{name: "between, on one", ask: Ask{Mode: at(100e6), Bits: 18, Kind: LVDS}, lanes: one, alive: one, linkUsed: "lvds",
			note: "asks for two channels, and one channel of the board is clear"},
		{name: "given wins", ask: Ask{Mode: at(69.3e6), Bits: 18, Channels: 2}, lanes: two, alive: two, linkUsed: "lvds"},
		{name: "18 bits on four pairs", ask: Ask{Mode: at(69.3e6), Bits: 18, Kind: LVDS}, lanes: wide, alive: one, idle: "A.3", linkUsed: "lvds"},
		{name: "24 bits on three pairs", ask: Ask{Mode: at(69.3e6), Bits: 24, Kind: LVDS}, lanes: one, alive: one,
			linkUsed: "lvds", problem: "channel A has three: the fourth pair is missing"},
		{name: "24 bits on four pairs", ask: Ask{Mode: at(69.3e6), Bits: 24, Kind: LVDS}, lanes: wide, alive: wide, linkUsed: "lvds"},
		{name: "30 bits on three pairs", ask: Ask{Mode: at(69.3e6), Bits: 30, Kind: LVDS}, lanes: one, alive: one,
			linkUsed: "lvds", problem: "the fourth and fifth pair are missing"},
		{name: "depth not known, four pairs", ask: Ask{Mode: at(69.3e6), Kind: LVDS}, lanes: wide, alive: wide, unsure: "A.3",
			linkUsed: "lvds", note: "only the lowest three data pairs of a channel are alive. Say bits=18 or bits=24 to settle it."},
		{name: "depth not known, five pairs", ask: Ask{Mode: at(69.3e6), Kind: LVDS}, lanes: wide + " A.4", alive: wide + " A.4",
			unsure:   "A.3 A.4",
			linkUsed: "lvds", note: "Say bits=18, bits=24 or bits=30 to settle it."},
		{name: "two channels or four", ask: Ask{Mode: at(300e6), Bits: 18, Kind: LVDS}, linkUsed: "lvds",
			lanes: two + " C.CLK* C.0 C.1 C.2 D.CLK* D.0 D.1 D.2", alive: two + " C.CLK* C.0 C.1 C.2 D.CLK* D.0 D.1 D.2",
			unsure: "B.CLK B.0 B.1 B.2 C.CLK C.0 C.1 C.2 D.CLK D.0 D.1 D.2", note: "Say channels=2 or channels=4 to settle it."},
		{name: "lanes computed, three there", ask: Ask{Mode: at(138.5e6), Bits: 24, Kind: EDP}, lanes: "L0 L1 L2", alive: "L0 L1 L2",
			unsure:   "L2",
			linkUsed: "edp", note: "Say lanes=1 or lanes=2 to settle it."},
		{name: "depth not known, three pairs", ask: Ask{Mode: at(69.3e6), Kind: LVDS}, lanes: one, alive: one,
			linkUsed: "lvds", note: "a pair that the board has not"},
		{name: "eDP on LVDS", ask: Ask{Mode: at(138.5e6), Bits: 24, Kind: EDP}, lanes: one, idle: one,
			linkUsed: "edp", problem: "speaks eDP, the board LVDS"},
		{name: "LVDS on eDP", ask: Ask{Mode: at(69.3e6), Bits: 18, Kind: LVDS}, lanes: lanes, idle: lanes,
			linkUsed: "lvds", problem: "speaks LVDS, the board eDP"},
		{name: "lanes given", ask: Ask{Mode: at(138.5e6), Bits: 24, Lanes: 2}, lanes: lanes, alive: "L0 L1", idle: "L2 L3", linkUsed: "edp"},
		{name: "lanes computed", ask: Ask{Mode: at(138.5e6), Bits: 24, Kind: EDP}, lanes: lanes, alive: lanes, unsure: "L2 L3",
			linkUsed: "edp", note: "so L2 L3 may be quiet. Say lanes=1, lanes=2 or lanes=4 to settle it."},
		{name: "four lanes given, two there", ask: Ask{Mode: at(337.75e6), Bits: 24, Lanes: 4}, lanes: "L0 L1", alive: "L0 L1",
			linkUsed: "edp", problem: "asks for four lanes, the board has two"},
		{name: "fewer and faster", ask: Ask{Mode: at(337.75e6), Bits: 24, Kind: EDP}, lanes: "L0 L1 L2", alive: "L0 L1 L2",
			linkUsed: "edp", note: "two lanes of the board the link must run at 5.4 Gbit/s"},
		{name: "too much for the board", ask: Ask{Mode: at(533.25e6), Bits: 24, Kind: EDP}, lanes: "L0", alive: "L0",
			linkUsed: "edp", problem: "more than the one lane of the board"},
		{name: "too much for eDP", ask: Ask{Mode: at(2e9), Bits: 30, Kind: EDP}, lanes: lanes, alive: lanes,
			linkUsed: "edp", problem: "compression (DSC)"},
		{name: "link from the board", ask: Ask{Mode: at(69.3e6), Bits: 18}, lanes: one, alive: one, linkUsed: "lvds", note: "LVDS is taken"},
		{name: "eDP from the board", ask: Ask{Mode: at(69.3e6), Bits: 18}, lanes: "L0", alive: "L0", linkUsed: "edp", note: "eDP is taken"},
		{name: "nothing settles the link", ask: Ask{Mode: at(69.3e6)}, lanes: "A.0 B.0", alive: "A.0 B.0", unsure: "A.0 B.0",
			linkUsed: "unknown", note: "Say link=lvds or link=edp to settle it."},
		{name: "doubt about the second channel", ask: Ask{Mode: at(119e6), Bits: 18, Kind: LVDS}, lanes: one + " B.CLK B.0 B.1 B.2",
			alive: two, unsure: "B.CLK B.0 B.1 B.2", linkUsed: "lvds", note: "one channel of the board is clear"},
		{name: "nothing clear", ask: Ask{Mode: at(69.3e6), Kind: LVDS}, lanes: "A.CLK* A.X A.Y", alive: "A.CLK A.X A.Y",
			unsure: "A.CLK A.X A.Y", linkUsed: "lvds", note: "No channel of the board is clear"},
		{name: "no lanes", ask: Ask{Mode: at(69.3e6), Kind: LVDS}, linkUsed: "lvds", problem: "names no lanes"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := lanesOf(tt.lanes)
			f := need(t, tt.ask).On(b)
			kind, err := f.Kind.MarshalText()
			if err != nil {
				t.Fatal(err)
			}
			plain := func(s string) string { return strings.ReplaceAll(s, "*", "") }
			got := []string{names(b, f.Alive), names(b, f.Idle), names(b, f.Unsure), string(kind)}
			want := []string{plain(tt.alive), plain(tt.idle), plain(tt.unsure), tt.linkUsed}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("alive, idle, unsure, link (-want +got)\n%s", diff)
			}
			said(t, "problem", f.Problems, tt.problem)
			said(t, "note", f.Notes, tt.note)
			if f.OK() != (tt.problem == "") {
				t.Errorf("OK %v with problem %q", f.OK(), tt.problem)
			}
		})
	}
}

// said tests that texts hold a part, or that there are none.
func said(t *testing.T, what string, texts []string, part string) {
	t.Helper()
	all := strings.Join(texts, "\n")
	if !strings.Contains(all, part) || part == "" && all != "" {
		t.Errorf("%s %q, want %q", what, all, part)
	}
}

func TestTheWholeFitOfADemoBoard(t *testing.T) {
	got := need(t, Ask{Mode: at(69.3e6), Bits: 18, Kind: LVDS}).On(demo(t, "siskin15"))
	want := Fit{
		Kind: LVDS,
		Channels: []Channel{
			{Name: "A", Kind: LVDS, Clock: 0, Data: []int{1, 2, 3}},
			{Name: "B", Kind: LVDS, Clock: 4, Data: []int{5, 6, 7}},
		},
		Alive: []int{0, 1, 2, 3}, Idle: []int{4, 5, 6, 7},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

func TestABoardLeavesWhatIsIdle(t *testing.T) {
	b, n := demo(t, "siskin15"), need(t, Ask{Mode: xga, Bits: 18, Kind: LVDS})
	const want = "1366x768 at 59.99 Hz, LVDS, one channel of three data pairs;" +
		" quiet, and with this panel that is right: B.CLK B.0 B.1 B.2"
	if got := b.With(netlist.Panel{Words: n.String(), Idle: n.On(b).Idle}).PanelText(); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestFitText(t *testing.T) {
	b := demo(t, "siskin15")
	tests := []struct {
		ask  Ask
		want string
	}{
		{Ask{Mode: at(69.3e6), Bits: 18, Kind: LVDS}, `must be alive A.CLK A.0 A.1 A.2
quiet         B.CLK B.0 B.1 B.2: with this panel that is right
`},
		{Ask{Mode: at(69.3e6), Bits: 24, Kind: EDP}, `PROBLEM       This panel speaks eDP, the board LVDS: it does not fit.
`},
		{Ask{Mode: at(69.3e6), Bits: 24, Kind: LVDS},
			`PROBLEM       24 bits a pixel want four data pairs in each channel, channel A has three: the fourth
              pair is missing.
`},
		{Ask{Mode: at(100e6), Bits: 18, Kind: LVDS}, `must be alive A.CLK A.0 A.1 A.2
perhaps       B.CLK B.0 B.1 B.2: alive or quiet, that is not settled
note          A pixel clock of 100.00 MHz does not settle whether it is one channel or two: the
              panel's connector tells. Say channels=1 or channels=2 to settle it.
`},
	}
	for _, tt := range tests {
		var out bytes.Buffer
		o := say.NewWriter(&out)
		FitText(o, b, need(t, tt.ask).On(b))
		if err := o.Flush(); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(tt.want, out.String()); diff != "" {
			t.Errorf("(-want +got)\n%s", diff)
		}
	}
}
