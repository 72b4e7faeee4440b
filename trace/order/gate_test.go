package order_test

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/walkback/boards"
	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/order"
	walkplan "example.org/walkback/trace/plan"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/suspects"
)

// unguarded lists the steps that need power and to which some path leads on which not
// all of some probes has passed. Steps lead forward alone, so that going through them once
// is enough.
func unguarded(l *checklist.List, gate []netlist.Probe) []string {
	passed := make([]map[int]bool, len(l.Steps)+1) // of the gate, on every path to a step
	var bad []string
	for i := range l.Steps {
		s := &l.Steps[i]
		here := passed[i+1]
		if i == 0 {
			here = map[int]bool{}
		}
		if here == nil {
			bad = append(bad, fmt.Sprintf("nothing leads to step %d", i+1))
			continue
		}
		if l.Bench.NeedsGate(s.Probe) && len(here) < len(gate) {
			bad = append(bad, fmt.Sprintf("step %d, %s, after %d of %d", i+1, s.Target, len(here), len(gate)))
		}
		for _, o := range s.Outcomes {
			if o.Next == 0 {
				continue
			}
			after := maps.Clone(here)
			if k := slices.IndexFunc(gate, s.Probe.Same); k >= 0 && o.Healthy {
				after[k] = true
			}
			if before := passed[o.Next]; before != nil {
				maps.DeleteFunc(after, func(k int, _ bool) bool { return !before[k] })
			}
			passed[o.Next] = after
		}
	}
	return bad
}

// everyOrder checks the lists of a symptom in every order, and what narrow proposes, and
// returns how many steps need power.
func everyOrder(t *rapid.T, n *suspects.Narrower, words, history []string) (powered int) {
	b := n.Model().Board
	var readings []netlist.Reading
	var seen []netlist.Observation
	for _, w := range words {
		list, err := b.Readings(w, b.Usual())
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range list {
			o, err := b.Judge(r, n.Model().HealthyBand)
			if err != nil {
				t.Fatal(err)
			}
			seen = append(seen, o)
		}
		readings = append(readings, list...)
	}
	w, err := trace.Run(b, b.Usual(), seen)
	if err != nil {
		return 0 // the readings contradict each other
	}
	history = netlist.WithHistory(history, readings)
	r, err := n.Narrow(readings, history)
	if err != nil {
		t.Fatal(err)
	}
	for _, how := range checklist.Orders() {
		l := walkplan.Make(w, n.Bench().After(history), probe.UsualCosts())
		if how != checklist.Walk && !w.PowerOff() { // as the command does
			p, err := order.Make(n, readings, order.Options{Order: how, Costs: probe.UsualCosts(), History: history})
			if errors.Is(err, order.ErrNothing) {
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			l = p.List(w)
		}
		if bad := unguarded(l, r.Unread()); len(bad) > 0 {
			t.Errorf("%s %v after %v, %s: %q", b.Name, words, history, how, bad)
		}
		for i := range l.Steps {
			if s := &l.Steps[i]; l.Bench.NeedsGate(s.Probe) {
				powered++
				if l.Bench.Wet() && !slices.Contains(s.Cautions, l.Bench.Limited()) {
					t.Errorf("%s %v after %v, %s: step %d does not say from what its power comes", b.Name, words, history, how, i+1)
				}
			}
		}
	}
	for _, x := range r.Next {
		if r.Bench.NeedsGate(x.Probe) && len(r.First(x.Probe)) != len(r.Unread()) {
			t.Errorf("%s %v after %v: %s is proposed without the gate", b.Name, words, history, r.Bench.Ask(x.Probe, false))
		}
	}
	return powered
}

// TestNoPlanPowersUpBeforeItsGate takes the demo boards and boards of its own, with their
// symptoms, whatever happened to the machine, in every order.
func TestNoPlanPowersUpBeforeItsGate(t *testing.T) {
	demo := map[string]*suspects.Narrower{}
	for _, name := range boards.Names() {
		demo[name] = narrower(t, name)
	}
	powered, guarded := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		history := rapid.SliceOfNDistinct(rapid.SampledFrom(netlist.HistoryNames()), 0, 2, rapid.ID).Draw(t, "history")
		var n *suspects.Narrower
		word := "dark"
		if rapid.IntRange(0, 9).Draw(t, "demo") == 0 {
			n = demo[rapid.SampledFrom(boards.Names()).Draw(t, "board")]
			word = rapid.SampledFrom(n.Model().Board.SymptomNames()).Draw(t, "symptom")
		} else {
			src := gateBoard(t)
			b, problems := netlist.Read("gate.board", src)
			if b == nil || slices.ContainsFunc(problems, isError) {
				t.Fatalf("%v\n%s", problems, src)
			}
			n = suspects.New(predict.New(b))
		}
		words := []string{word}
		for _, p := range n.Bench().Gate() {
			if rapid.IntRange(0, 2).Draw(t, "read") > 0 {
				continue
			}
			k := slices.IndexFunc(n.Dictionary().Probes, p.Same)
			value := rapid.SampledFrom([]float64{n.Dictionary().Reads(k, -1), math.Inf(1), 20e3, 1}).Draw(t, "ohms")
			words = append(words, n.Model().Board.Say(p, value))
		}
		powered += everyOrder(t, n, words, history)
		guarded += len(n.Bench().Gate())
	})
	if powered < 100 || guarded < 100 {
		t.Errorf("%d steps with power and %d probes of gates: the test has lost its subject", powered, guarded)
	}
}

// gateBoard draws a board with a lamp in its panel: a rail of 4 to 40 V, 5 V beside it or
// not, and lines, guards and empty places at the connector in any order.
func gateBoard(t *rapid.T) string {
	volts := rapid.Float64Range(4, 40).Draw(t, "volts")
	pins := []string{"VBL", "VBL", "EN", "GND"}
	for _, p := range []string{"VBL", "GND", "GND", "V3", "V5", "LA", "LB", "", "", ""} {
		if rapid.Bool().Draw(t, "pin "+p) {
			pins = append(pins, p)
		}
	}
	pins = rapid.Permutation(pins).Draw(t, "pins")
	var s strings.Builder
	fmt.Fprintf(&s, `board gate "Gate"
net GND ground
net VIN %.1[1]fV 5%% cold=50k
net VBL %.1[1]fV 5%%
net V3 3.3V 5%% cold=1k
net V5 5V 5%% cold=2k
net EN 3.3V 5%%
net LA 3.3V 5%%
net LB 3.3V 5%%
supply PS1 -> VIN limit=5A
fuse F1 VIN -> VBL rating=2A r=50m
capacitor C1 VBL -> GND 1u volts=50V
supply PS2 -> V3 limit=1A
supply PS3 -> V5 limit=1A
controller U1 vdd=V3 gnd=GND
    drives EN
    drives LA
    drives LB
resistor R1 V5 -> GND 10k
resistor R2 LA -> GND 100k
resistor R3 LB -> GND 100k
connector J2
`, volts)
	for i, p := range pins {
		if p != "" {
			fmt.Fprintf(&s, "    pin %d %s -> C_%s\n", i+1, p, p)
		}
	}
	s.WriteString("controller U90 vdd=C_VBL gnd=C_GND io=C_EN side=panel\n    makes LIGHT when C_EN\nsymptom dark \"dark\" ")
	if rapid.Bool().Draw(t, "wet") {
		s.WriteString("liquid ")
	}
	s.WriteString("LIGHT=no\n")
	return s.String()
}

func isError(m mistake.Mistake) bool { return m.Severity == mistake.Error }

// A list in which power comes too early is found out.
func TestUnguardedFindsWhatItSeeks(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	n := suspects.New(predict.New(b))
	_, w := plan(t, n, "dark", checklist.Best)
	l := walkplan.Make(w, n.Bench(), probe.UsualCosts())
	if bad := unguarded(l, l.Bench.Gate()); len(bad) > 0 {
		t.Fatal(bad)
	}
	l.Steps[0].Outcomes[0].Healthy = false
	if bad := unguarded(l, l.Bench.Gate()); len(bad) == 0 {
		t.Error("a gate that nobody passed is not found")
	}
}
