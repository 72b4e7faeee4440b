package order_test

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
	"example.org/walkback/trace/order"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/sequence"
	"example.org/walkback/trace/suspects"
)

// narrower reads a demo board and simulates its faults.
func narrower(tb testing.TB, name string) *suspects.Narrower {
	tb.Helper()
	src, ok := boards.Source(name)
	if !ok {
		tb.Fatalf("there is no board %s", name)
	}
	b, problems := netlist.Read(name, src)
	if mistake.HasErrors(problems) {
		tb.Fatal(problems)
	}
	return suspects.New(predict.New(b))
}

// plan makes the plan of a symptom.
func plan(tb testing.TB, n *suspects.Narrower, symptom, how string) *order.Plan {
	tb.Helper()
	b := n.Model().Board
	readings, err := b.Readings(symptom, b.Usual())
	if err != nil {
		tb.Fatalf("%s: %v", symptom, err)
	}
	i := slices.IndexFunc(b.Symptoms, func(s netlist.Symptom) bool { return s.Name == symptom })
	w, err := trace.Run(b, b.Usual(), b.Symptoms[i].Seen)
	if err != nil {
		tb.Fatal(err)
	}
	var nets []netlist.NetID
	for _, s := range w.Steps {
		if s.Kind == trace.NetStep && s.Again == 0 {
			nets = append(nets, s.Net)
		}
	}
	p, err := order.Make(n, readings, order.Options{Order: how, Costs: order.UsualCosts(), Walk: nets})
	if err != nil {
		tb.Fatalf("%s: %v", symptom, err)
	}
	return p
}

// TestEveryFaultIsLedToItsPart lets a player who answers truthfully follow the
// printed steps, for every suspect of every symptom of the demo boards: the steps
// must end at the part that failed, and what they cost must be what the header
// says, on average and at worst. The plan never costs more than the walk or halving.
func TestEveryFaultIsLedToItsPart(t *testing.T) {
	for _, name := range boards.Names() {
		n := narrower(t, name)
		for _, s := range n.Model().Board.Symptoms {
			p := plan(t, n, s.Name, order.Best)
			steps := p.Steps()
			mean, worst, sum := 0.0, 0.0, 0.0
			for _, i := range p.Faults {
				cost, found := follow(t, p, steps, i)
				if !found {
					t.Errorf("%s %s: %s is not led to its part", name, s.Name, p.Dict.Names[i])
				}
				mean += p.P[i] * cost
				sum += p.P[i]
				worst = max(worst, cost)
			}
			if mean /= sum; math.Abs(mean-p.Tree.Expected) > 1e-6*mean || math.Abs(worst-p.Tree.Worst) > 1e-6*worst {
				t.Errorf("%s %s: the header says %.3f s on average and %.3f at worst, following costs %.3f and %.3f", name, s.Name, p.Tree.Expected, p.Tree.Worst, mean, worst)
			}
			if p.Tree.Expected > p.Walk.Expected*(1+1e-9) || p.Tree.Expected > p.Half.Expected*(1+1e-9) {
				t.Errorf("%s %s: %.1f s, the walk %.1f s, halving %.1f s", name, s.Name, p.Tree.Expected, p.Walk.Expected, p.Half.Expected)
			}
			if p.Tree.Lower > p.Tree.Expected*(1+1e-9) {
				t.Errorf("%s %s: the bound %.3f lies above the cost %.3f", name, s.Name, p.Tree.Lower, p.Tree.Expected)
			}
			guarded(t, name+" "+s.Name, steps)
		}
	}
}

// follow goes through the steps as a fault would have it.
func follow(t *testing.T, p *order.Plan, steps []order.Step, fault int) (cost float64, found bool) {
	t.Helper()
	part := p.Dict.Faults[fault].Faults[0].Part
	at := 1
	for range len(steps) + 1 {
		s := &steps[at-1]
		cost += s.Cost + s.Change
		k := slices.IndexFunc(p.Dict.Probes, s.Probe.Same)
		// The readings of a class lie nearer to each other than to any other class.
		shows, best, gap := p.Dict.Reads(k, fault), -1, math.Inf(1)
		for i, r := range s.Results {
			same := class(p.Dict, k, r.Value) == p.Dict.Classes[fault][k]
			if d := math.Abs(r.Value - shows); same && (best < 0 || d < gap) {
				best, gap = i, d
			}
		}
		if best < 0 {
			return cost, false
		}
		r := s.Results[best]
		if r.Next == 0 {
			return cost, slices.ContainsFunc(r.Left, func(x order.Suspect) bool { return x.Part == part && slices.Contains(x.Faults, p.Dict.Names[fault]) })
		}
		at = r.Next
	}
	return cost, false
}

// class finds the class of a value that the dictionary holds.
func class(d *predict.Dictionary, probe int, v float64) uint16 {
	if d.Reads(probe, -1) == v {
		return d.Healthy[probe]
	}
	for i := range d.Faults {
		if d.Reads(probe, i) == v {
			return d.Classes[i][probe]
		}
	}
	return math.MaxUint16
}

// guarded checks that no point is touched with power on before the rail that
// destroys its neighbours was checked with all power out.
func guarded(t *testing.T, what string, steps []order.Step) {
	t.Helper()
	gates := 0
	for _, s := range steps {
		if s.Gate {
			gates++
		}
	}
	if gates == 0 {
		return
	}
	var visit func(at int, passed bool)
	visit = func(at int, passed bool) {
		s := &steps[at-1]
		if !s.Probe.Cold() && s.Probe.Method != netlist.Look && !passed {
			t.Errorf("%s: step %d touches %v with power on before any gate", what, at, s.Probe)
		}
		for _, r := range s.Results {
			if r.Next > 0 {
				visit(r.Next, passed || s.Gate && r.Healthy)
			}
		}
	}
	visit(1, false)
}

func TestRenderersAgree(t *testing.T) {
	n := narrower(t, "larkspur13")
	p := plan(t, n, "dark", order.Best)
	var text, mark, data bytes.Buffer
	for _, err := range []error{order.WriteText(&text, p), order.WriteMarkdown(&mark, p), order.WriteJSON(&data, p)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	var j struct {
		Format   string
		Expected float64 `json:"expected_seconds"`
		Steps    []struct {
			Number   int
			Outcomes []struct{ Next int }
		}
	}
	if err := json.Unmarshal(data.Bytes(), &j); err != nil {
		t.Fatal(err)
	}
	steps := p.Steps()
	if j.Format != "walkback.order" || len(j.Steps) != len(steps) || math.Abs(j.Expected-p.Tree.Expected) > 1e-3 {
		t.Errorf("JSON has format %q, %d steps, %g s; want %d steps, %g s", j.Format, len(j.Steps), j.Expected, len(steps), p.Tree.Expected)
	}
	for i, s := range j.Steps {
		for k, o := range s.Outcomes {
			if o.Next != steps[i].Results[k].Next {
				t.Errorf("step %d leads to %d in JSON and to %d in the plan", s.Number, o.Next, steps[i].Results[k].Next)
			}
		}
	}
	for _, out := range []string{text.String(), mark.String()} {
		if got := strings.Count(out, "[ ] "); got != len(steps) {
			t.Errorf("%d boxes to tick for %d steps", got, len(steps))
		}
		if !strings.Contains(out, "capacitors discharged") {
			t.Error("no caution before the cold steps")
		}
	}
}

func TestCosts(t *testing.T) {
	c, problems := order.ParseCosts("shop", "powerup 30s # bench supply\n\nvolts 5s\n")
	if len(problems) > 0 || c.PowerUp != 30 || c.Volts != 5 || c.Look != order.UsualCosts().Look {
		t.Errorf("%+v %v", c, problems)
	}
	for line, code := range map[string]string{"volts": "not a word and a time", "volt 5s": "no cost is called", "volts five": "is not a time", "volts -5s": "between", "volts 5V": "is not a time"} {
		_, problems := order.ParseCosts("shop", line)
		if len(problems) != 1 || !strings.Contains(problems[0].Msg, code) || problems[0].Line != 1 || problems[0].Column < 1 {
			t.Errorf("%q: %v, want one problem with %q", line, problems, code)
		}
	}
	// When power costs nothing to change, the plan must not cost more.
	n := narrower(t, "teasel14")
	readings, err := n.Model().Board.Readings("dark", n.Model().Board.Usual())
	if err != nil {
		t.Fatal(err)
	}
	free := order.UsualCosts()
	free.PowerUp, free.PowerDown, free.Plug = 0, 0, 0
	cheap, err := order.Make(n, readings, order.Options{Costs: free})
	if err != nil {
		t.Fatal(err)
	}
	usual, err := order.Make(n, readings, order.Options{Costs: order.UsualCosts()})
	if err != nil {
		t.Fatal(err)
	}
	if cheap.Tree.Expected >= usual.Tree.Expected {
		t.Errorf("%.1f s with free power, %.1f s with the usual costs", cheap.Tree.Expected, usual.Tree.Expected)
	}
}

// BenchmarkPlan is to stay under 300 ms for a demo board, the simulation apart.
func BenchmarkPlan(b *testing.B) {
	for _, name := range boards.Names() {
		n := narrower(b, name)
		b.Run(name, func(b *testing.B) {
			var t *sequence.Tree
			for b.Loop() {
				t = plan(b, n, "dark", order.Best).Tree
			}
			b.ReportMetric(t.Expected, "s-expected")
		})
	}
}
