package trace

import (
	"encoding/json"
	"os"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
)

// oracle is testdata/networkx/boards.json, which gen.py beside it made with
// networkx 2.8.8 (its own name for the version is in the file).
type oracle struct {
	Networkx string        `json:"networkx"`
	Seed     int           `json:"seed"`
	Boards   []oracleBoard `json:"boards"`
}

type oracleBoard struct {
	Board, Target string
	oracleAnswer
}

type oracleAnswer struct {
	Parts      []string   `json:"parts"`
	Nets       []string   `json:"nets"`
	Singles    []string   `json:"singles"`
	Redundant  [][3]any   `json:"redundant"` // net, where the ways part, faults
	Components [][]string `json:"components"`
}

// TestWalksAgreeWithNetworkx compares, on 300 random boards: the parts and nets
// on the way (descendants), the single points of failure (removal, and
// immediate_dominators on boards without enables), how many faults redundant
// nets bear (minimum_cut and minimum_node_cut) and the nets that feed each other
// (strongly_connected_components).
func TestWalksAgreeWithNetworkx(t *testing.T) {
	text, err := os.ReadFile("../testdata/networkx/boards.json")
	if err != nil {
		t.Fatal(err)
	}
	var o oracle
	if err := json.Unmarshal(text, &o); err != nil {
		t.Fatal(err)
	}
	if o.Networkx != "2.8.8" {
		t.Errorf("made with networkx %s; put the version right here and in README.md", o.Networkx)
	}
	compared, redundant, wrong := 0, 0, 0
	for _, c := range o.Boards {
		b := boardtest.Build(t, c.Board)
		w := walkOf(t, b, c.Target+"=missing")
		got := oracleAnswer{Parts: w.parts(), Nets: w.nets(), Singles: w.singles(), Redundant: [][3]any{}, Components: feedEachOther(t, w)}
		for _, r := range w.Redundant {
			from := ""
			if r.From != netlist.None {
				from = b.Nets[r.From].Name
			}
			got.Redundant = append(got.Redundant, [3]any{b.Nets[r.Net].Name, from, float64(r.Faults)})
			if len(r.Units) != r.Faults {
				t.Errorf("%s: a cut of %d units is said to take %d faults", b.Name, len(r.Units), r.Faults)
			}
		}
		slices.SortFunc(got.Redundant, func(x, y [3]any) int {
			if x[0].(string) < y[0].(string) {
				return -1
			}
			return 1
		})
		if diff := cmp.Diff(c.oracleAnswer, got); diff != "" {
			if wrong++; wrong <= 3 {
				t.Errorf("%s, target %s (-networkx +walk):\n%s\n%s", b.Name, c.Target, diff, c.Board)
			}
		}
		compared++
		redundant += len(got.Redundant)
	}
	if compared < 200 || redundant < 500 || wrong > 0 {
		t.Errorf("%d of %d boards differ, %d redundant nets; want none of at least 200, and at least 500", wrong, compared, redundant)
	}
	t.Logf("%d boards, %d redundant nets, networkx %s, seed %d", compared, redundant, o.Networkx, o.Seed)
}

// TestShuntsOfOracleBoardsAreLoads checks that what hangs on the nets of a walk
// is listed, once.
func TestShuntsOfOracleBoardsAreLoads(t *testing.T) {
	text, err := os.ReadFile("../testdata/networkx/boards.json")
	if err != nil {
		t.Fatal(err)
	}
	var o struct {
		Boards []struct {
			Board, Target string
			Shunts        []string
		}
	}
	if err := json.Unmarshal(text, &o); err != nil {
		t.Fatal(err)
	}
	shunts := 0
	for _, c := range o.Boards {
		w := walkOf(t, boardtest.Build(t, c.Board), c.Target+"=missing")
		loads := w.loadNames()
		for _, p := range c.Shunts {
			if !slices.Contains(loads, p) {
				t.Errorf("%s: %s hangs on a net of the walk from %s and is no load", w.Board.Name, p, c.Target)
			}
			shunts++
		}
		if twice := slices.Compact(slices.Clone(loads)); len(twice) != len(loads) {
			t.Errorf("%s: a load is listed twice: %v", w.Board.Name, loads)
		}
		for _, p := range w.parts() {
			if slices.Contains(loads, p) {
				t.Errorf("%s: %s is on the path and a load of it", w.Board.Name, p)
			}
		}
	}
	if shunts < 200 {
		t.Errorf("only %d shunts compared", shunts)
	}
}

// feedEachOther returns the sets of nets of a walk that bring each other their
// level, by the function that finds the loops.
func feedEachOther(t *testing.T, w *Walk) [][]string {
	t.Helper()
	g := NewGraph(w.Board, w.Setting)
	root := g.Want(w.Symptoms[0].Target)
	healthy := slices.Clone(g.Holds())
	var nets []int
	place := map[int]int{}
	for _, id := range g.reachable(root, healthy) {
		if g.Goals[id].Kind == NetGoal {
			place[id] = len(nets)
			nets = append(nets, id)
		}
	}
	list := [][]string{}
	for _, scc := range components(len(nets), func(i int, add func(int)) {
		for _, e := range viable(g.Goals[nets[i]].Any, healthy) {
			if pass := &g.Goals[e.To]; pass.Kind == PassGoal {
				add(place[pass.All[len(pass.All)-1].To])
			}
		}
	}) {
		var names []string
		for _, i := range scc {
			names = append(names, g.Name(nets[i]))
		}
		slices.Sort(names)
		list = append(list, names)
	}
	slices.SortFunc(list, slices.Compare)
	return list
}
