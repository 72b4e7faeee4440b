package trace

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/graph/flow"
	"gonum.org/v1/gonum/graph/simple"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
)

// Lengauer and Tarjan, "A fast algorithm for finding dominators in a flowgraph",
// ACM TOPLAS 1(1), 1979, figure 1: its edges, and the immediate dominators of
// figure 2. Recomputed with networkx (immediate_dominators).
const (
	lengauerTarjanEdges = "R-A R-B R-C A-D B-A B-D B-E C-F C-G D-L E-H F-I G-I G-J H-E H-K I-K J-I K-I K-R L-H"
	lengauerTarjanIdom  = "R-A R-B R-C R-D R-E C-F C-G R-H R-I G-J R-K D-L"
)

// pairs splits "A-B B-C".
func pairs(text string) [][2]string {
	var list [][2]string
	for _, word := range strings.Fields(text) {
		a, b, _ := strings.Cut(word, "-")
		list = append(list, [2]string{a, b})
	}
	return list
}

// handMade builds, for a flow graph with edges from a root, the graph in which
// each node is reached by way of any of those before it. The goals are of the
// kind given and stand for parts of the same name.
func handMade(edges [][2]string, root string, kind GoalKind) (g *Graph, place map[string]int) {
	b := &netlist.Board{}
	g, place = NewGraph(b, nil), map[string]int{}
	node := func(name string) int {
		id, ok := place[name]
		if !ok {
			id = len(g.Goals)
			place[name] = id
			goal := Goal{Kind: kind, Part: netlist.None, Net: netlist.NetID(id)}
			if kind != NetGoal {
				goal.Part = netlist.PartID(id)
			}
			g.Goals = append(g.Goals, goal)
			b.Parts = append(b.Parts, netlist.Part{Name: name, Kind: netlist.KindByName("fuse")})
			b.Nets = append(b.Nets, netlist.Net{Name: name, Ground: name == root})
		}
		return id
	}
	for _, e := range edges {
		from, to := node(e[0]), node(e[1])
		if e[1] != root {
			g.Goals[to].Any = append(g.Goals[to].Any, Edge{To: from, Reason: netlist.Series})
		}
	}
	return g, place
}

// chains returns, for each node, itself and its dominators up to the root.
func chains(idom [][2]string) map[string][]string {
	up := map[string]string{}
	for _, p := range idom {
		up[p[1]] = p[0]
	}
	all := map[string][]string{}
	for _, p := range idom {
		for n := p[1]; n != ""; n = up[n] {
			all[p[1]] = append(all[p[1]], n)
		}
		slices.Sort(all[p[1]])
	}
	return all
}

func TestSinglesAreTheDominatorsOfLengauerAndTarjan(t *testing.T) {
	g, place := handMade(pairs(lengauerTarjanEdges), "R", GiveGoal)
	got := map[string][]string{}
	for name, id := range place {
		if name == "R" {
			continue
		}
		for _, u := range g.Singles(id) {
			got[name] = append(got[name], g.Board.Parts[u.Part].Name)
		}
		slices.Sort(got[name])
	}
	if diff := cmp.Diff(chains(pairs(lengauerTarjanIdom)), got); diff != "" {
		t.Errorf("dominators (-paper +singles):\n%s", diff)
	}
}

func TestWaysPartAtTheImmediateDominatorOfLengauerAndTarjan(t *testing.T) {
	g, place := handMade(pairs(lengauerTarjanEdges), "R", NetGoal)
	healthy := slices.Clone(g.Holds())
	for _, p := range pairs(lengauerTarjanIdom) {
		r := g.region(place[p[1]], healthy)
		at := g.join(r)
		if at < 0 {
			t.Errorf("the ways to %s part nowhere, want %s", p[1], p[0])
			continue
		}
		if got := g.Name(r.order[at]); got != p[0] {
			t.Errorf("the ways to %s part at %s, want %s", p[1], got, p[0])
		}
	}
}

// TestDominatorsOfTheLibrary checks the routine that join calls on further
// published graphs.
func TestDominatorsOfTheLibrary(t *testing.T) {
	for _, c := range []struct{ name, edges, root, idom string }{
		// As above.
		{"Lengauer and Tarjan", lengauerTarjanEdges, "R", lengauerTarjanIdom},
		// Wikipedia, "Dominator (graph theory)", as in the tests of gonum
		// graph/flow v0.17.0.
		{"Wikipedia", "1-2 2-3 2-4 2-6 3-5 4-5 5-2", "1", "1-2 2-3 2-4 2-5 2-6"},
		// Cooper, Harvey and Kennedy, "A simple, fast dominance algorithm", Rice
		// University TR-06-33870, figures 2 and 4 (irreducible graphs; edges from
		// memory, recomputed with networkx).
		{"Cooper figure 2", "5-4 5-3 4-1 3-2 1-2 2-1", "5", "5-1 5-2 5-3 5-4"},
		{"Cooper figure 4", "6-5 6-4 5-1 4-2 4-3 1-2 2-1 2-3 3-2", "6", "6-1 6-2 6-3 6-4 6-5"},
	} {
		dg := simple.NewDirectedGraph()
		for _, e := range pairs(c.edges) {
			dg.SetEdge(simple.Edge{F: simple.Node(e[0][0]), T: simple.Node(e[1][0])})
		}
		tree := flow.DominatorsSLT(simple.Node(c.root[0]), dg)
		got := map[string]string{}
		for _, e := range pairs(c.edges) {
			for _, n := range e {
				if n != c.root {
					got[n] = string(rune(tree.DominatorOf(int64(n[0])).ID()))
				}
			}
		}
		want := map[string]string{}
		for _, p := range pairs(c.idom) {
			want[p[1]] = p[0]
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, diff)
		}
	}
}

func TestMinimumCutOfPublishedNetworks(t *testing.T) {
	for _, c := range []struct {
		name, arcs, s, t string
		value            int
		cut              []string
	}{
		// Cormen, Leiserson, Rivest and Stein, Introduction to Algorithms, maximum
		// flow (figure 26.1 in the third edition; from memory, value and cut
		// recomputed with networkx maximum_flow and minimum_cut).
		{"CLRS", "s-1=16 s-2=13 1-3=12 2-1=4 2-4=14 3-2=9 3-t=20 4-3=7 4-t=4", "s", "t", 23, []string{"1-3", "4-3", "4-t"}},
		// networkx 2.8.8 documentation, minimum_cut and maximum_flow.
		{"networkx", "x-a=3 x-b=1 a-c=3 b-c=5 b-d=4 d-e=2 c-y=2 e-y=3", "x", "y", 3, []string{"c-y", "x-b"}},
	} {
		place := map[string]int{}
		node := func(n string) int {
			if _, ok := place[n]; !ok {
				place[n] = len(place)
			}
			return place[n]
		}
		var arcs []arc
		var names []string
		for _, word := range strings.Fields(c.arcs) {
			var from, to string
			var capacity int
			if _, err := fmt.Sscanf(strings.NewReplacer("-", " ", "=", " ").Replace(word), "%s %s %d", &from, &to, &capacity); err != nil {
				t.Fatal(err)
			}
			arcs = append(arcs, arc{node(from), node(to), capacity})
			names = append(names, from+"-"+to)
		}
		value, cut := minCut(len(place), arcs, place[c.s], place[c.t])
		var got []string
		for _, i := range cut {
			got = append(got, names[i])
		}
		slices.Sort(got)
		if value != c.value || !slices.Equal(got, c.cut) {
			t.Errorf("%s: value %d through %v, want %d through %v", c.name, value, got, c.value, c.cut)
		}
	}
}

// Zachary, "An information flow model for conflict and fission in small groups",
// J. Anthropological Research 33, 1977; edges of karate_club_graph in networkx
// 2.8.8.
const karateClub = "0-1 0-2 0-3 0-4 0-5 0-6 0-7 0-8 0-10 0-11 0-12 0-13 0-17 0-19 0-21 0-31 1-2 1-3 1-7 1-13 1-17 1-19 1-21 1-30 2-3 2-7 " +
	"2-8 2-9 2-13 2-27 2-28 2-32 3-7 3-12 3-13 4-6 4-10 5-6 5-10 5-16 6-16 8-30 8-32 8-33 9-33 13-33 14-32 14-33 15-32 15-33 18-32 18-33 " +
	"19-33 20-32 20-33 22-32 22-33 23-25 23-27 23-29 23-32 23-33 24-25 24-27 24-31 25-31 26-29 26-33 27-33 28-31 28-33 29-32 29-33 30-32 " +
	"30-33 31-32 31-33 32-33"

// both returns the edges in both directions.
func both(edges [][2]string) [][2]string {
	for _, e := range slices.Clone(edges) {
		edges = append(edges, [2]string{e[1], e[0]})
	}
	return edges
}

// TestKarateClub: networkx 2.8.8 gives articulation point 0 alone, a minimum
// node cut of 6 and a minimum edge cut of 10 between members 0 and 33.
func TestKarateClub(t *testing.T) {
	edges := pairs(karateClub)
	if len(edges) != 78 {
		t.Fatalf("%d edges, want 78", len(edges))
	}
	separate := map[string]bool{}
	for _, root := range []string{"33", "1"} {
		g, place := handMade(both(edges), root, GiveGoal)
		for name, id := range place {
			for _, u := range g.Singles(id) {
				if n := g.Board.Parts[u.Part].Name; n != name && n != root {
					separate[n] = true
				}
			}
		}
	}
	if diff := cmp.Diff(map[string]bool{"0": true}, separate); diff != "" {
		t.Errorf("articulation points (-networkx +singles):\n%s", diff)
	}

	_, place := handMade(edges, "", GiveGoal)
	var byEdge, byNode []arc
	for _, n := range place {
		capacity := 1
		if n == place["0"] || n == place["33"] {
			capacity = 100
		}
		byNode = append(byNode, arc{2 * n, 2*n + 1, capacity})
	}
	for _, e := range both(edges) {
		byEdge = append(byEdge, arc{place[e[0]], place[e[1]], 1})
		byNode = append(byNode, arc{2*place[e[0]] + 1, 2 * place[e[1]], 100})
	}
	if value, cut := minCut(len(place), byEdge, place["0"], place["33"]); value != 10 || len(cut) != 10 {
		t.Errorf("edge cut %d with %d edges, want 10", value, len(cut))
	}
	if value, cut := minCut(2*len(place), byNode, 2*place["0"], 2*place["33"]); value != 6 || len(cut) != 6 {
		t.Errorf("node cut %d with %d nodes, want 6", value, len(cut))
	}
}

// TestToyRail: in the graph VIN-F1-Q1-RAIL-L1-CONN-PANEL with C1 on RAIL,
// networkx 3.6.1 gives the articulation points CONN, F1, L1, Q1 and RAIL.
func TestToyRail(t *testing.T) {
	b := boardtest.Build(t, `board toy
net GND ground
supply PS1 -> VIN
fuse F1 VIN -> VIN_F r=25m
pfet Q1 VIN_F -> RAIL gate=VIN on=high
capacitor C1 RAIL -> GND 10u
coil L1 RAIL -> RAIL_L r=100m
connector J1 RAIL_L -> PANEL
panel DS1 vdd=PANEL gnd=GND
    makes PICTURE when PANEL
`)
	w := walkOf(t, b, "PICTURE=no")
	// The two ends of the walk, PS1 and DS1, fail it too; a net is no part.
	if diff := cmp.Diff([]string{"DS1", "F1", "J1", "L1", "PS1", "Q1"}, w.singles()); diff != "" {
		t.Errorf("single points of failure (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"C1"}, w.loadNames()); diff != "" {
		t.Errorf("loads (-want +got):\n%s", diff)
	}
	if len(w.Redundant) != 0 {
		t.Errorf("a chain survives a fault: %v", w.redundancies())
	}
}
