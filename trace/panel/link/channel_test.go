package link

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// lanesOf makes a board with lanes of the names given; a star marks a clock, a
// slash a lane on one conductor.
func lanesOf(names string) *netlist.Board {
	b := &netlist.Board{}
	for _, name := range strings.Fields(names) {
		l := netlist.Lane{Nets: []netlist.NetID{0, 1}}
		if strings.HasSuffix(name, "/") {
			l.Nets = l.Nets[:1]
		}
		l.Clock = strings.HasSuffix(name, "*")
		l.Name = strings.TrimRight(name, "*/")
		b.Lanes = append(b.Lanes, l)
	}
	return b
}

// demo reads a board of the program.
func demo(t *testing.T, name string) *netlist.Board {
	t.Helper()
	src, ok := boards.Source(name)
	if !ok {
		t.Fatalf("no board %s", name)
	}
	b, problems := netlist.Read(name, src)
	if mistake.HasErrors(problems) {
		t.Fatal(problems)
	}
	return b
}

// grouped writes channels as "A lvds A.CLK: A.0 A.1"; a doubt adds a question mark.
func grouped(b *netlist.Board) []string {
	var out []string
	for _, c := range Channels(b) {
		kind, _ := c.Kind.MarshalText()
		s := strings.TrimSpace(c.Name + " " + string(kind))
		if c.Clock >= 0 {
			s += " " + b.Lanes[c.Clock].Name
		}
		s += ": " + names(b, c.Data)
		if s = strings.TrimRight(s, " "); c.Doubt != "" {
			s += " ?"
		}
		out = append(out, s)
	}
	return out
}

func TestChannels(t *testing.T) {
	tests := []struct {
		lanes string
		want  []string
	}{
		{"", nil},
		{"A.CLK* A.0 A.1 A.2", []string{"A lvds A.CLK: A.0 A.1 A.2"}},
		{"B.CLK* A.0 B.0 A.CLK* A.1 B.1", []string{"B lvds B.CLK: B.0 B.1", "A lvds A.CLK: A.0 A.1"}},
		{"A.2 A.0 A.1 A.CLK*", []string{"A lvds A.CLK: A.0 A.1 A.2"}},
		{"L0 L1", []string{"L edp: L0 L1"}},
		{"ML.0 ML.1 ML.2 ML.3", []string{"ML edp: ML.0 ML.1 ML.2 ML.3"}},
		{"A.1 A.2 A.3 A.CLK*", []string{"A lvds A.CLK: A.1 A.2 A.3"}}, // some count from 1
		{"A.2 A.3 A.CLK*", []string{"A lvds A.CLK: A.2 A.3 ?"}},
		// Names without a dot.
		{"ACLK* A0 A1 A2 A3 BCLK* B0 B1 B2 B3", []string{"A lvds ACLK: A0 A1 A2 A3", "B lvds BCLK: B0 B1 B2 B3"}},
		{"A0 A1 A2 A_CLK*", []string{"A lvds A_CLK: A0 A1 A2"}},
		{"CLKA* A0 A1 CLKB* B0 B1", []string{"A lvds CLKA: A0 A1", "B lvds CLKB: B0 B1"}},
		{"LVDS_A.CLK* LVDS_A.0 LVDS_A.1", []string{"LVDS_A lvds LVDS_A.CLK: LVDS_A.0 LVDS_A.1"}},
		{"LVDS.ACLK* LVDS.A0 LVDS.BCLK* LVDS.B0", []string{"LVDS lvds LVDS.ACLK: LVDS.BCLK LVDS.A0 LVDS.B0 ?"}},
		{"a.clk* A.0 A.1", []string{"a lvds a.clk: A.0 A.1"}},
		// One clock alone and one group alone belong together.
		{"CLK* D0 D1 D2", []string{"D lvds CLK: D0 D1 D2"}},
		{"TICK* D1 D2 D3", []string{"D lvds TICK: D1 D2 D3"}},
		{"CLK* 0 1 2", []string{"lvds CLK: 0 1 2"}},
		// Nothing tells what belongs together.
		{"CLK* D0 E0", []string{"lvds CLK: ?", "D edp: D0 ?", "E edp: E0 ?"}},
		{"A.0 A.1 B.0 B.1", []string{"A edp: A.0 A.1 ?", "B edp: B.0 B.1 ?"}},
		{"A.CLK* A.CK* A.0 A.1", []string{"A lvds A.CLK: A.CK A.0 A.1 ?"}},
		{"A.CLK A.0 A.1", []string{"A edp: A.CLK A.0 A.1 ?"}},
		{"A.CLK* A.0 A.1 B.0 B.1", []string{"A lvds A.CLK: A.0 A.1", "B edp: B.0 B.1 ?"}},
		{"A.CLK* A.RED A.GREEN", []string{"A lvds A.CLK: A.RED A.GREEN ?"}},
		{"A.CLK* A.0 A.1 A.3", []string{"A lvds A.CLK: A.0 A.1 A.3 ?"}},
		{"A.CLK* A.0 A.1 A.2 A.3 A.4 A.5", []string{"A lvds A.CLK: A.0 A.1 A.2 A.3 A.4 A.5 ?"}},
		{"L0/ L1", []string{"L edp: L0 L1 ?"}},
		{"L0 L1 AUX", []string{"L edp: L0 L1 ?", "AUX edp: AUX ?"}},
		{"A.9999999999999999999 A.CLK*", []string{"A lvds A.CLK: A.9999999999999999999 ?"}},
	}
	for _, tt := range tests {
		if diff := cmp.Diff(tt.want, grouped(lanesOf(tt.lanes))); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", tt.lanes, diff)
		}
	}
}

func TestChannelsOfTheDemoBoards(t *testing.T) {
	want := map[string][]string{
		"larkspur13": {"A lvds A.CLK: A.0 A.1 A.2"},
		"siskin15":   {"A lvds A.CLK: A.0 A.1 A.2", "B lvds B.CLK: B.0 B.1 B.2"},
		"teasel14":   {"L edp: L0 L1"},
	}
	for name, channels := range want {
		if diff := cmp.Diff(channels, grouped(demo(t, name))); diff != "" {
			t.Errorf("%s: (-want +got)\n%s", name, diff)
		}
	}
}
