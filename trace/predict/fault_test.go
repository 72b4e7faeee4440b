package predict

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards"
	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

const network = `board b
net GND ground
net V3 3.3V
supply PS1 -> V3
resistor RN2 V3,V3 -> ID_CLK,ID_DAT 2k2
resistor R1 ID_CLK -> GND 2k2
resistor R2 ID_DAT -> GND 2k2
`

// A fault of one element of a network leaves the other alone.
func TestAChannelFailsAlone(t *testing.T) {
	m := modelOf(t, network)
	for word, want := range map[string][2]float64{
		"RN2.ID_CLK:open": {0, 1.65}, "RN2.ID_DAT:open": {1.65, 0}, "RN2:open": {0, 0}, "RN2.ID_DAT:short": {1.65, 3.3},
	} {
		faults, err := m.ParseFault(word)
		if err != nil {
			t.Fatal(err)
		}
		r := m.Run(State{Setting: m.Board.Usual()}, m.Suppose(faults...))
		for k, name := range []string{"ID_CLK", "ID_DAT"} {
			n, _ := m.Board.Net(name)
			isAbout(t, word+", "+name, r.Level(n), want[k], 1e-3)
		}
		if len(faults) == 1 && m.Name(faults[0]) != word {
			t.Errorf("%s is called %s", word, m.Name(faults[0]))
		}
	}
}

func TestANetOfSeveralChannelsIsRefused(t *testing.T) {
	m := modelOf(t, network)
	_, err := m.ParseFault("RN2.V3:open")
	var wrong mistake.Mistake
	if !errors.As(err, &wrong) || wrong.Msg != "V3 is on 2 channels of RN2" || wrong.Want != "one of RN2.ID_CLK:open, RN2.ID_DAT:open" {
		t.Errorf("the error is %v", err)
	}
}

// No two faults of a board are called alike, each is found by its name, and every
// channel has one; on the demo boards and on a board of the examples of all kinds.
func TestFaultNamesAreUnique(t *testing.T) {
	check := func(t *testing.T, m *Simulator) {
		for id := range m.Board.Parts {
			if n := len(m.channels(netlist.PartID(id))); n > 0 && n != len(m.names[id]) {
				t.Errorf("%s has %d channels and the names %q", m.Board.Parts[id].Name, n, m.names[id])
			}
		}
		var seen []string
		for _, f := range m.AllFaults() {
			name := m.Name(f)
			seen = append(seen, name)
			if list, err := m.ParseFault(name); err != nil || len(list) != 1 || list[0] != f {
				t.Errorf("%s is read as %v, %v", name, list, err)
			}
		}
		slices.Sort(seen)
		if n := len(slices.Compact(slices.Clone(seen))); n != len(seen) || n == 0 {
			t.Errorf("%d faults have %d names", len(seen), n)
		}
	}
	for _, name := range boards.Names() {
		src, _ := boards.Source(name)
		t.Run(name, func(t *testing.T) { check(t, modelOf(t, src)) })
	}
	for i := range netlist.Kinds {
		k := &netlist.Kinds[i]
		t.Run(k.Name, func(t *testing.T) {
			b, problems := netlist.Read("kind.board", "board b\nnet GND ground\n"+k.Example+"\nsupply PS9 -> Z gives=5V\n")
			if mistake.HasErrors(problems) {
				t.Fatal(problems)
			}
			check(t, New(b))
		})
	}
}

// Over an empty place dirt bridges to the next wired pin; over a guard there is a fault
// of its own, beside a rail alone, and it joins the rail with what lies behind the guard.
func TestBridgesOverEmptyPlacesAndGuards(t *testing.T) {
	for board, words := range map[string][]string{
		"larkspur13": {"J2.23:bridge"}, "siskin15": {"J2.2:bridge"}, "teasel14": {"J2.3:bridge"},
	} {
		m := New(boardtest.Demo(t, board))
		for _, word := range words {
			if list, err := m.ParseFault(word); err != nil || len(list) != 1 {
				t.Errorf("%s on %s: %v, %v", word, board, list, err)
			}
		}
		for _, f := range m.AllFaults() {
			if f.Mode.Over {
				t.Errorf("%s has no guard beside a rail, and %s", board, m.Name(f))
			}
		}
	}
	b := boardtest.Guarded(t)
	m := New(b)
	var over []string
	for _, f := range m.AllFaults() {
		if f.Mode.Over {
			over = append(over, m.Name(f))
		}
	}
	if diff := cmp.Diff([]string{"J2.23:bridge-over"}, over); diff != "" {
		t.Fatal(diff)
	}
	list, err := m.ParseFault("J2.23:bridge-over")
	if err != nil {
		t.Fatal(err)
	}
	vbl, _ := b.Net("VBL")
	sink, _ := b.Net("BL_K4")
	if ohms := m.Cold(true, m.Suppose(list...)).Between(vbl, sink); math.Abs(ohms-0.1) > 0.05 {
		t.Errorf("from VBL to BL_K4 %g Ω", ohms)
	}
}
