package repair

import (
	"slices"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"github.com/google/go-cmp/cmp"
)

func model(t testing.TB, board string) *predict.Model {
	t.Helper()
	return predict.New(boardtest.Demo(t, board)).Model
}

// TestWhatIsDone names what is done about faults of each sort.
func TestWhatIsDone(t *testing.T) {
	m := model(t, "larkspur13")
	table := NewTable(m)
	for _, c := range []struct {
		fault, name string
		minutes     float64
	}{
		{"C34:short", "find the short or leak to ground on VBL", 15},
		{"C35:drifted", "find the short or leak to ground on VBL", 15},
		{"U9:output-short", "find the short or leak to ground on VBL", 15},
		{"C32:short", "find the short or leak to ground on VBL_SW and BL_LX", 15}, // L4 has 0.11 Ω
		{"U9:switch-short", "find the short or leak to ground on VBL_SW and BL_LX", 15},
		{"C31:short", "find the short or leak to ground on VBL_F", 15}, // F3 is a fuse
		{"C21:short", "find the short or leak to ground on V3_RUN and V3_ID", 15},
		{"D21:short", "find the short or leak to ground on ID_CLK_J", 15}, // FL5 has 5 Ω
		{"Q6:drifted", "find the short or leak to ground on BL_PWR", 15},
		{"D6:short", "replace D6", 6},
		{"C34:open", "replace C34", 6},
		{"Q6:open", "replace Q6", 12},
		{"R34:open", "replace R34", 6},
		{"U9:no-switching", "replace U9", 25},
		{"U8:dead", "rework U8", 90},
		{"U1.PNL_ON:stuck-low", "rework U1", 90},
		{"J2.17:open", "reseat J2, or exchange W1", 9},
		{"W1.3:open", "reseat J2, or exchange W1", 9},
		{"J2.15:bridge", "reseat J2, or exchange W1", 9},
		{"DS91.P_K2:open", "exchange the panel for a known-good one", 8},
		{"U90:corrupt", "exchange the panel for a known-good one", 8},
	} {
		list, err := m.ParseFault(c.fault)
		if err != nil {
			t.Error(err)
			continue
		}
		a := table.Actions([]Cause{{Faults: list, P: 1}})
		if len(a) != 1 || a[0].Name != c.name || a[0].Minutes != c.minutes {
			t.Errorf("%s: %q in %g min", c.fault, a[0].Name, a[0].Minutes)
		}
	}
}

// TestCausesAddUp adds causes of one place, and counts two faults at once for both.
func TestCausesAddUp(t *testing.T) {
	m := model(t, "larkspur13")
	cause := func(p float64, names ...string) Cause {
		c := Cause{P: p}
		for _, n := range names {
			list, err := m.ParseFault(n)
			if err != nil {
				t.Fatal(err)
			}
			c.Faults = append(c.Faults, list...)
		}
		return c
	}
	list := NewTable(m).Actions([]Cause{cause(.1, "C34:short"), cause(.3, "R34:open"), cause(.25, "C35:short"),
		cause(.2, "R34:short", "U8:dead"),
		cause(.05, "C35:drifted")})
	type row struct {
		Name   string
		P      float64
		Causes []int
		Parts  []string
	}
	var got []row
	for _, a := range list {
		r := row{Name: a.Name, P: a.P, Causes: a.Causes}
		for _, id := range a.Parts {
			r.Parts = append(r.Parts, m.Board.Parts[id].Name)
		}
		got = append(got, r)
	}
	want := []row{
		{"replace R34", .5, []int{1, 3}, []string{"R34"}},
		{"find the short or leak to ground on VBL", .4, []int{0, 2, 4}, []string{"C35", "C34"}},
		{"rework U8", .2, []int{3}, []string{"U8"}},
	}
	if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 })); diff != "" {
		t.Error(diff)
	}
}

// TestEveryFaultHasAnAction goes through all faults of the demo boards: each has a price,
// a name and a risk, and a ball-grid chip costs more than any other.
func TestEveryFaultHasAnAction(t *testing.T) {
	for _, board := range []string{"larkspur13", "teasel14", "siskin15"} {
		m := model(t, board)
		table := NewTable(m)
		kinds := map[Kind]int{}
		for _, f := range m.AllFaults() {
			a := table.Actions([]Cause{{Faults: []predict.Fault{f}, P: 1}})[0]
			kinds[a.Kind]++
			if !(a.Minutes > 0) || a.Name == "" || table.Risk(&a) == "" {
				t.Errorf("%s: %+v", m.Name(f), a)
			}
			if balls := m.Board.Parts[f.Part].Balls(); (a.Kind == Rework) != (a.Minutes > Dear) || a.Kind == Rework && !balls {
				t.Errorf("%s: %s in %g min", m.Name(f), a.Name, a.Minutes)
			}
			if net, ok := m.Grounded(f); ok && a.Kind == Search && !slices.Contains(a.Nets, net) {
				t.Errorf("%s: the place of %s is %v", m.Name(f), m.Board.Nets[net].Name, a.Nets)
			}
		}
		for _, k := range []Kind{Replace, Rework, Search, Reseat, Panel} {
			if kinds[k] == 0 {
				t.Errorf("%s: no action of kind %d", board, k)
			}
		}
	}
}

// TestEveryKindHasAPrice reads the table of kinds.
func TestEveryKindHasAPrice(t *testing.T) {
	for i := range netlist.Kinds {
		if k := &netlist.Kinds[i]; !(k.Minutes >= 1 && k.Minutes <= Dear) {
			t.Errorf("%s takes %g min", k.Name, k.Minutes)
		}
	}
}
