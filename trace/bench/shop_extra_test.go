package bench

import (
	"fmt"
	"go/parser"
	"go/token"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/repair"
	"example.org/walkback/trace/suspects"
)

// TestShopEngineStandsAlone holds the engine of the shop apart from the simulation: what
// it computes must not come from there.
func TestShopEngineStandsAlone(t *testing.T) {
	for _, name := range []string{"shop_solver_test.go", "shop_specimen_test.go", "shop_wear_test.go", "shop_acts_test.go",
		"shop_rules_test.go", "shop_meter_test.go"} {
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range f.Imports {
			path, _ := strconv.Unquote(x.Path.Value)
			if strings.Contains(path, ".") && path != "example.org/walkback/netlist" {
				t.Errorf("%s imports %s", name, path)
			}
		}
	}
}

// TestShopSolverPublished compares the solver of the shop with ngspice 39: a network of
// diodes (IS=43nA N=1.05 and IS=1pA N=1.2, 25 °C) and resistors, solved with
// .options temp=25 tnom=25 reltol=1e-9 gmin=1e-15 and .op.
func TestShopSolverPublished(t *testing.T) {
	const a, b, c, d, e, f, g = 2, 3, 4, 5, 6, 7, 8
	const vt = 8.617333e-5 * 298.15
	schottky := func(from, to int) branch { return branch{a: from, b: to, kind: junction, is: 4.3e-8, nvt: 1.05 * vt} }
	silicon := func(from, to int) branch { return branch{a: from, b: to, kind: junction, is: 1e-12, nvt: 1.2 * vt} }
	ohms := func(from, to int, r float64) branch { return branch{a: from, b: to, g: 1 / r} }
	n := network{nodes: 9, branches: []branch{
		{a: 1, kind: giving, emf: 12.6, g: 1e6, most: 10, back: 10},
		ohms(1, a, 100), schottky(a, b), ohms(b, 0, 1e3), ohms(b, c, 47), silicon(c, d), silicon(0, d), ohms(d, 0, 220),
		{a: d, b: e, kind: forcing, most: 5e-3}, ohms(e, 0, 330), schottky(e, f), schottky(f, g), ohms(g, 0, 10e3), ohms(f, 0, 2.2e3),
	}}
	n.plan()
	if !n.solve() {
		t.Error("it does not come to rest")
	}
	for at, want := range map[int]float64{a: 8.574494, b: 8.203570, c: 6.697150, d: 5.951327, e: 1.440632, f: 1.181668, g: 0.9732669} {
		if math.Abs(n.v[at]-want) > 2e-4 {
			t.Errorf("node %d: %.6f V, ngspice has %.6f", at, n.v[at], want)
		}
	}
}

// TestShopDirectReadings reads OL across every part of two ends that is below an ohm on
// a good board, and expects that part first.
func TestShopDirectReadings(t *testing.T) {
	known := shopNarrowers{}
	asked, first := 0, 0
	var wrong []string
	for _, name := range shopBoards {
		b := shopBoard(t, name)
		for id := range b.Parts {
			p := &b.Parts[id]
			if len(p.Kind.Passes) != 1 || p.Kind.Passes[0].OneWay || p.Kind.Passes[0].AC || p.Kind.Passes[0].Control != "" ||
				p.Kind.Form == netlist.RowsForm || p.Ohms(&p.Kind.Passes[0]) >= 1 || side(p) == "panel" {
				continue
			}
			for k := range b.Channels(netlist.PartID(id)) {
				probe := netlist.Probe{Method: netlist.Across, Net: netlist.None, Other: netlist.None, Part: netlist.PartID(id), Channel: k,
					Fact: netlist.None, State: netlist.Condition{Unplugged: true}}
				r := narrowed(t, known.of(b), b.Say(probe, math.Inf(1)))
				asked++
				if r.Leads() == suspects.OneLeads && (slices.Contains(r.Suspects[0].Parts, netlist.PartID(id)) ||
					slices.ContainsFunc(r.Suspects[0].Blown, func(x predict.Blown) bool { return x.Part == netlist.PartID(id) })) {
					first++
				} else {
					wrong = append(wrong, fmt.Sprintf("%s %s: %s", name, b.SayPoint(probe), led(r)))
				}
			}
		}
	}
	t.Logf("OL across a part below an ohm: that part first in %d of %d\n%s", first, asked, strings.Join(wrong, "\n"))
	if asked < 12 || first < 4 {
		t.Errorf("the part that reads OL is first in %d of %d", first, asked)
	}
}

func led(r *suspects.Report) string {
	if len(r.Suspects) == 0 {
		return "nothing"
	}
	return fmt.Sprintf("%s %.0f%%, lead %d", strings.Join(r.Suspects[0].Names, " "), 100*r.Suspects[0].P, r.Leads())
}

// narrowed weighs readings as typed.
func narrowed(t *testing.T, n *suspects.Narrower, words ...string) *suspects.Report {
	t.Helper()
	b := n.Model().Board
	var list []netlist.Reading
	for _, w := range words {
		found, err := b.Readings(w, b.Usual())
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, found...)
	}
	r, err := n.Narrow(list, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestShopTwoFaults takes boards in with two causes, and reads the eight probes that the
// bench asks for; the pair is to lead, or two at once.
func TestShopTwoFaults(t *testing.T) {
	known := shopNarrowers{}
	played, found := 0, 0
	var wrong []string
	for seed := uint64(900_000); played < *shopCases; seed++ {
		rng := rand.New(rand.NewPCG(seed, 5))
		b := shopBoard(t, shopBoards[played%len(shopBoards)])
		flaws := []flaw{draw(rng, b), draw(rng, b)}
		s := newSpecimen(b, seed, false, flaws)
		one, two := newSpecimen(b, seed, false, flaws[:1]), newSpecimen(b, seed, false, flaws[1:])
		s.switchTo(b.Usual(), false, true)
		if flaws[0].part == flaws[1].part || one.well() || two.well() || complaint(s) == nil {
			continue
		}
		played++
		session, err := New(known.of(b), nil)
		if err != nil {
			t.Fatal(err)
		}
		d := &Dialogue{Session: session}
		for _, text := range complaint(s) {
			d.Do(text, 100)
		}
		h := &hand{rng: rand.New(rand.NewPCG(seed, 11)), slip: 0.02}
		for range 8 {
			x := session.Step()
			if x.Kind != Ask {
				if session.More() != nil {
					break
				}
				if x = session.Step(); x.Kind != Ask {
					break
				}
			}
			if r := d.Do(h.typed(x.Probe, s.value(x.Probe)), 100); !r.Step {
				t.Errorf("%s %d: %s", b.Name, seed, strings.Join(r.Lines, " "))
			}
		}
		r := session.now.report
		hit := r.Leads() == suspects.TwoLead || len(r.Actions) > 1 && bothMend(b, r.Actions[:2], flaws)
		if hit {
			found++
			continue
		}
		wrong = append(wrong, fmt.Sprintf("  %s %d %s + %s: %s, two at once %.0f%%", b.Name, seed, flaws[0].name(b), flaws[1].name(b),
			led(r), 100*r.Two))
	}
	t.Logf("two causes, eight readings: both first, or two at once, in %d of %d\n%s", found, played, strings.Join(wrong, "\n"))
	if float64(found) < least(0.15, played)*float64(played) {
		t.Errorf("both causes of two lead in %d of %d", found, played)
	}
}

// bothMend reports whether two actions mend two flaws.
func bothMend(b *netlist.Board, list []repair.Action, flaws []flaw) bool {
	return !slices.ContainsFunc(flaws, func(f flaw) bool {
		return !slices.ContainsFunc(list, func(a repair.Action) bool { return mends(b, &a, f) })
	})
}

// TestShopPartNotInTheFile takes boards in whose part at fault the file leaves out.
func TestShopPartNotInTheFile(t *testing.T) {
	var list []outcome
	narrowers := map[string]*suspects.Narrower{}
	for seed := uint64(800_000); len(list) < (*shopCases+1)/2; seed++ {
		rng := rand.New(rand.NewPCG(seed, 9))
		name := shopBoards[len(list)%len(shopBoards)]
		b := shopBoard(t, name)
		f := draw(rng, b)
		_, ok := f.grounds(b)
		if kind := b.Parts[f.part].Kind.Name; !ok || kind != "capacitor" && kind != "clamp" {
			continue
		}
		key := name + " " + b.Parts[f.part].Name
		if narrowers[key] == nil {
			narrowers[key] = shopNarrowers{}.of(without(t, b, &b.Parts[f.part]))
		}
		j := job{board: name, seed: seed, flaws: []flaw{f}, slip: 0.02, file: narrowers[key].Model().Board}
		if o, ok := work(t, narrowers[key], b, j); ok {
			list = append(list, o)
		}
	}
	s := add(list)
	t.Log(s.table("a capacitor or clamp that the file leaves out") + wrongOnes(t, list))
	s.holds(t, 0.2, 0.3)
}

// without reads a board again with the line of a part left out.
func without(t *testing.T, b *netlist.Board, part *netlist.Part) *netlist.Board {
	t.Helper()
	var lines []string
	for line := range strings.Lines(b.File().Src) {
		if words := strings.Fields(line); len(words) > 1 && words[0] == part.Kind.Name && words[1] == part.Name {
			continue
		}
		lines = append(lines, line)
	}
	return boardtest.Build(t, strings.Join(lines, ""))
}
