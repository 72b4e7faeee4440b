package order_test

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/walkback/boards"
	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/draw"
	"example.org/walkback/trace/order"
	walkplan "example.org/walkback/trace/plan"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/repair"
	"example.org/walkback/trace/sequence"
	"example.org/walkback/trace/suspects"
)

// narrower reads a demo board and simulates its faults.
func narrower(tb testing.TB, name string) *suspects.Narrower {
	tb.Helper()
	return suspects.New(predict.New(boardtest.Demo(tb, name)))
}

// plan makes the plan of a symptom, with the walk that it is told by.
func plan(tb testing.TB, n *suspects.Narrower, symptom, how string) (*order.Plan, *trace.Walk) {
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
	p, err := order.Make(n, readings, order.Options{Order: how, Costs: probe.UsualCosts(), Walk: nets})
	if err != nil {
		tb.Fatalf("%s: %v", symptom, err)
	}
	return p, w
}

// TestEveryFaultIsLedToItsPart lets a player who answers truthfully follow the
// printed steps, for every suspect of every symptom of the demo boards: the steps
// must end at the part that failed, and what they cost must be what the header
// says, on average and at worst. The plan never costs more than the walk or halving.
func TestEveryFaultIsLedToItsPart(t *testing.T) {
	for _, name := range boards.Names() {
		n := narrower(t, name)
		for _, s := range n.Model().Board.Symptoms {
			p, w := plan(t, n, s.Name, checklist.Best)
			list := p.List(w)
			steps := list.Steps
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
				t.Errorf("%s %s: the header says %.3f s on average and %.3f at worst, following costs %.3f and %.3f",
					name, s.Name, p.Tree.Expected, p.Tree.Worst, mean, worst)
			}
			if p.Tree.Expected > p.Walk.Expected*(1+1e-9) || p.Tree.Expected > p.Half.Expected*(1+1e-9) {
				t.Errorf("%s %s: %.1f s, the walk %.1f s, halving %.1f s", name, s.Name, p.Tree.Expected, p.Walk.Expected, p.Half.Expected)
			}
			if p.Tree.Lower > p.Tree.Expected*(1+1e-9) {
				t.Errorf("%s %s: the bound %.3f lies above the cost %.3f", name, s.Name, p.Tree.Lower, p.Tree.Expected)
			}
			if bad := unguarded(list, list.Bench.Gate()); len(bad) > 0 {
				t.Errorf("%s %s: %q", name, s.Name, bad)
			}
		}
	}
}

// follow goes through the steps as a fault would have it, and then through what is done,
// until it is mended.
func follow(t *testing.T, p *order.Plan, steps []checklist.Step, fault int) (cost float64, found bool) {
	t.Helper()
	part := p.Dict.Faults[fault].Faults[0].Part
	mends := p.Table.Actions([]repair.Cause{{Faults: p.Dict.Faults[fault].Faults[:1]}})[0].Name
	at := 1
	for range len(steps) + 1 {
		s := &steps[at-1]
		cost += s.Seconds + s.Change
		k := slices.IndexFunc(p.Dict.Probes, s.Probe.Same)
		best := slices.IndexFunc(s.Outcomes, func(o checklist.Outcome) bool { return covers(&o, p.Dict.Reads(k, fault)) })
		if best < 0 {
			return cost, false
		}
		o := s.Outcomes[best]
		if o.Next == 0 {
			k := slices.IndexFunc(o.Do, func(a checklist.Act) bool { return a.Name == mends })
			for i := range o.Do[:k+1] {
				cost += 60 * o.Do[i].Minutes
			}
			return cost, k >= 0 && slices.ContainsFunc(o.Left, func(x checklist.Suspect) bool {
				return x.Part == p.Board.Parts[part].Name && slices.Contains(x.Faults, p.Dict.Names[fault])
			})
		}
		at = o.Next
	}
	return cost, false
}

// covers reports whether an outcome of a simulated order means a value.
func covers(o *checklist.Outcome, v float64) bool { return o.Share > 0 && o.Low <= v && v <= o.High }

// sheet is the lists of one symptom of a demo board, one an order.
type sheet struct {
	walk  *trace.Walk
	best  *order.Plan
	lists map[string]*checklist.List
}

// sheets keeps what was planned, since planning all of them takes most of the time.
var sheets = map[string]*sheet{}

// everySheet calls f with the lists of every symptom of every demo board.
func everySheet(t *testing.T, f func(t *testing.T, x *sheet)) {
	t.Helper()
	for _, name := range boards.Names() {
		var n *suspects.Narrower
		src, _ := boards.Source(name)
		b, _ := netlist.Read(name, src)
		for _, s := range b.Symptoms {
			t.Run(name+"/"+s.Name, func(t *testing.T) {
				x := sheets[name+"/"+s.Name]
				if x == nil {
					if n == nil {
						n = narrower(t, name)
					}
					best, w := plan(t, n, s.Name, checklist.Best)
					half, _ := plan(t, n, s.Name, checklist.Half)
					inWalk := walkplan.Make(w, best.Bench, probe.UsualCosts())
					x = &sheet{w, best, map[string]*checklist.List{checklist.Best: best.List(w), checklist.Half: half.List(w), checklist.Walk: inWalk}}
					sheets[name+"/"+s.Name] = x
				}
				f(t, x)
			})
		}
	}
}

// said is what a list says of a probe, whatever the order.
type said struct {
	Points                                 []int
	Place                                  probe.Place
	Meter, Leads, Condition, Expect, First string
	Low, High                              float64
	Cautions                               []string
	Gate                                   bool
}

// TestEveryOrderSaysTheSame compares the orders point by point, among themselves and
// with the picture: the order changes the sequence and nothing else. No path makes one
// probe twice, none lands out of reach, and the gate is the same.
func TestEveryOrderSaysTheSame(t *testing.T) {
	compared, drawn := 0, 0
	everySheet(t, func(t *testing.T, x *sheet) {
		w, lists := x.walk, x.lists
		numbers := checklist.Number(w)
		nodes := map[string][]int{}
		for _, n := range draw.Path(w.Board, w, w.Setting, numbers).Nodes {
			nodes[n.ID] = append(nodes[n.ID], n.Points...)
		}
		// Whatever number is in the picture is at that point and at no other, but for
		// a chip or a pair that is drawn in pieces.
		for i := range w.Board.Nets {
			if x := numbers.Net(netlist.NetID(i)); x > 0 && slices.Contains(nodes["net "+w.Board.Nets[i].Name], x) {
				drawn++
			} else if nodes["net "+w.Board.Nets[i].Name] != nil && x == 0 && !paired(w.Board, netlist.NetID(i)) {
				t.Errorf("%s has a number in the picture alone: %v", w.Board.Nets[i].Name, nodes["net "+w.Board.Nets[i].Name])
			}
		}
		inPicture := slices.Concat(slices.Collect(maps.Values(nodes))...)
		seen := map[string]said{}
		gates := map[string][]string{}
		for _, how := range checklist.Orders() {
			l := lists[how]
			for i := range l.Steps {
				s := &l.Steps[i]
				if _, ok := l.Bench.Place(s.Probe); !ok {
					t.Errorf("%s: step %d, %s, is out of reach", how, s.Number, s.Target)
				}
				if !slices.Equal(s.Points, numbers.Of(s.Probe)) {
					t.Errorf("%s: step %d, %s, has the points %v, not %v", how, s.Number, s.Target, s.Points, numbers.Of(s.Probe))
				}
				for _, x := range s.Points {
					if !slices.Contains(inPicture, x) {
						t.Errorf("%s: point %d, %s, is not in the picture", how, x, s.Target)
					}
				}
				if s.Gate && !slices.Contains(gates[how], s.Target+s.Probe.Method.String()) {
					gates[how] = append(gates[how], s.Target+s.Probe.Method.String())
				}
				key := fmt.Sprint(s.Probe)
				first, _, _ := strings.Cut(s.Why, "; ")
				now := said{s.Points, s.Place, s.Meter, s.Leads, s.Condition, s.Expect, first, s.Low, s.High, s.Cautions, s.Gate}
				if before, is := seen[key]; is && len(s.Points) > 0 {
					compared++
					if diff := cmp.Diff(before, now, cmpopts.EquateEmpty()); diff != "" {
						t.Errorf("%s: step %d, %s, says otherwise than another order:\n%s", how, s.Number, s.Target, diff)
					}
				}
				seen[key] = now
			}
			twice(t, how, l.Steps)
		}
		for _, list := range gates {
			slices.Sort(list)
		}
		// A list that comes to no power may have some of the gate alone, for what it tells.
		for _, how := range []string{checklist.Best, checklist.Half} {
			hot := slices.ContainsFunc(lists[how].Steps, func(s checklist.Step) bool { return lists[how].Bench.NeedsGate(s.Probe) })
			other := func(g string) bool { return !slices.Contains(gates[checklist.Walk], g) }
			if hot && !slices.Equal(gates[how], gates[checklist.Walk]) || slices.ContainsFunc(gates[how], other) {
				t.Errorf("gates %v by %s and %v by the walk", gates[how], how, gates[checklist.Walk])
			}
		}
	})
	if compared < 400 || drawn < 500 {
		t.Errorf("only %d steps compared and %d points drawn: the test has lost its subject", compared, drawn)
	}
}

// TestEveryStepHasItsWords reads the steps of every order: each says what a healthy board
// shows, how to tell a point at 0 V from one that floats where it asks for that, and of
// each fuse that is left at an end that something made it open.
func TestEveryStepHasItsWords(t *testing.T) {
	floating, fuses := 0, 0
	everySheet(t, func(t *testing.T, x *sheet) {
		for _, how := range checklist.Orders() {
			for _, s := range x.lists[how].Steps {
				if strings.TrimSpace(s.Expect) == "" {
					t.Errorf("%s: step %d, %s, expects nothing", how, s.Number, s.Target)
				}
				asks := slices.ContainsFunc(s.Outcomes, func(o checklist.Outcome) bool { return o.Reading == predict.Floating })
				if asks != (s.Tell == probe.Floats) {
					t.Errorf("%s: step %d, %s, asks whether it floats: %t; it says %q", how, s.Number, s.Target, asks, s.Tell)
				}
				for _, o := range s.Outcomes {
					if asks {
						floating++
					}
					if o.Next == 0 && leavesFuse(x.walk.Board, &o) {
						fuses++
						if !strings.Contains(o.Means, probe.Fuse) {
							t.Errorf("%s: step %d, %s, ends at a fuse with %q", how, s.Number, s.Target, o.Means)
						}
					}
				}
			}
		}
	})
	if floating < 50 || fuses < 50 {
		t.Errorf("%d outcomes beside one that floats and %d ends at a fuse: the test has lost its subject", floating, fuses)
	}
}

// leavesFuse reports whether a fuse is among what is left at an outcome: a suspect of an
// order that was simulated, or named by the walk as open or to be suspected.
func leavesFuse(b *netlist.Board, o *checklist.Outcome) bool {
	return slices.ContainsFunc(b.Parts, func(p netlist.Part) bool {
		if !p.Kind.Victim {
			return false
		}
		if slices.ContainsFunc(o.Left, func(s checklist.Suspect) bool { return s.Part == p.Name }) {
			return true
		}
		_, suspected, _ := strings.Cut(o.Means, "suspect ")
		suspected, _, _ = strings.Cut(suspected, "; or a load that holds it") // behind the fuse
		words := strings.FieldsFunc(suspected, func(r rune) bool { return strings.ContainsRune(" ,;.:()", r) })
		return o.Left == nil && (slices.Contains(words, p.Name) || strings.HasPrefix(o.Means, p.Name+" is open"))
	})
}

// TestEveryStopIsWhatItsSuspectsShow compares the readings before each stop of the best
// order with the dictionary: the ends of the band are shown by two of the suspects that
// are left, all of them lie in it, and it is as it should be only where what the healthy
// board shows is among them, to the three digits that are printed.
func TestEveryStopIsWhatItsSuspectsShow(t *testing.T) {
	stops := 0
	everySheet(t, func(t *testing.T, x *sheet) {
		for _, s := range x.lists[checklist.Best].Steps {
			k := slices.IndexFunc(x.best.Dict.Probes, s.Probe.Same)
			for _, o := range s.Outcomes {
				if len(o.Left) > 0 && (s.Probe.Method == netlist.Volts || s.Probe.Method == netlist.Ohms) && !s.Gate {
					stops++
					stopFits(t, x.best, k, &o)
				}
			}
		}
	})
	if stops < 200 {
		t.Errorf("only %d stops: the test has lost its subject", stops)
	}
}

func stopFits(t *testing.T, p *order.Plan, k int, o *checklist.Outcome) {
	t.Helper()
	var shows []float64
	for _, left := range o.Left {
		for _, name := range left.Faults {
			shows = append(shows, p.Dict.Reads(k, slices.Index(p.Dict.Names, name)))
		}
	}
	x := p.Dict.Probes[k]
	low, high, healthy := slices.Min(shows), slices.Max(shows), p.Dict.Reads(k, -1)
	first, last := suspects.ValueText(x, low), suspects.ValueText(x, high)
	if want := first + " to " + last; o.Reading != want && (first != last || o.Reading != first) {
		t.Errorf("%s prints %q where %v show %v", probe.Title(p.Board, x), o.Reading, o.Left, shows)
	}
	near := 0.005 * math.Abs(healthy)
	if among := healthy == low || low-near <= healthy && healthy <= high+near; o.Healthy && !among {
		t.Errorf("%s calls %q as it should be, %v; a healthy board shows %g", probe.Title(p.Board, x), o.Reading, o.Left, healthy)
	}
}

// paired reports whether a net is a conductor of a lane, which is drawn with its other.
func paired(b *netlist.Board, n netlist.NetID) bool {
	return b.Nets[n].Expect != nil && slices.ContainsFunc(b.Lanes, func(l netlist.Lane) bool { return len(l.Nets) == 2 })
}

// twice follows every branch: no path makes one probe twice.
func twice(t *testing.T, how string, steps []checklist.Step) {
	t.Helper()
	done := map[string]bool{}
	var visit func(at int, made []netlist.Probe)
	visit = func(at int, made []netlist.Probe) {
		x := steps[at-1].Probe
		if slices.ContainsFunc(made, x.Same) {
			t.Errorf("%s: step %d asks again for %s", how, at, steps[at-1].Target)
		}
		key := fmt.Sprint(at, len(made))
		if done[key] {
			return
		}
		done[key] = true
		for _, o := range steps[at-1].Outcomes {
			if o.Next > 0 {
				visit(o.Next, append(slices.Clip(made), x))
			}
		}
	}
	visit(1, nil)
}

// TestEveryStepSaysWhy reads the reasons of every step, and that of a gate.
func TestEveryStepSaysWhy(t *testing.T) {
	n := narrower(t, "larkspur13")
	p, w := plan(t, n, "dark", checklist.Best)
	gates := 0
	for _, s := range p.List(w).Steps {
		if s.Why == "" {
			t.Errorf("step %d, %s, does not say why", s.Number, s.Target)
		}
		if s.Gate {
			gates++
			if !strings.Contains(s.Why, "before any power") || !slices.Contains(s.Cautions, probe.NoPower) {
				t.Errorf("step %d of the gate says %q and warns of %q", s.Number, s.Why, s.Cautions)
			}
		}
	}
	if gates == 0 {
		t.Error("no step of the gate")
	}
}

func TestCosts(t *testing.T) {
	c, problems := probe.ParseCosts("shop", "powerup 30s # bench supply\n\nvolts 5s\n")
	if len(problems) > 0 || c.PowerUp != 30 || c.Volts != 5 || c.Look != probe.UsualCosts().Look {
		t.Errorf("%+v %v", c, problems)
	}
	for line, code := range map[string]string{"volts": "not a word and a time", "volt 5s": "no cost is called", "volts five": "is not a time",
		"volts -5s": "between", "volts 5V": "is not a time", "volts 2m": "min or ms?", "volts 20 30": "is not a time",
		"volts 20 s s": "is not a time",
		"volts s":      "is not a time", "volts 400h": "between"} {
		_, problems := probe.ParseCosts("shop", line)
		if len(problems) != 1 || !strings.Contains(problems[0].Msg, code) || problems[0].Line != 1 || problems[0].Column < 1 {
			t.Errorf("%q: %v, want one problem with %q", line, problems, code)
		}
	}
	for text, want := range map[string]float64{"powerup 2min": 120, "powerup 2 min": 120, "powerup\t20 s": 20, "powerup 1h": 3600,
		"powerup 90": 90, "powerup 1.5min": 90, "powerup 500ms": 0.5} {
		if c, problems := probe.ParseCosts("shop", text); len(problems) > 0 || c.PowerUp != want {
			t.Errorf("%q: %g s, want %g s %v", text, c.PowerUp, want, problems)
		}
	}
	_, problems = probe.ParseCosts("shop", "volts 5s\npowerup 3s\nvolts 6s\n")
	if len(problems) != 1 || problems[0].Line != 3 || !strings.Contains(problems[0].Msg, "set already, in line 1") {
		t.Errorf("a cost that is set twice: %v", problems)
	}
	// When power costs nothing to change, the plan must not cost more.
	n := narrower(t, "teasel14")
	readings, err := n.Model().Board.Readings("dark", n.Model().Board.Usual())
	if err != nil {
		t.Fatal(err)
	}
	free := probe.UsualCosts()
	free.PowerUp, free.PowerDown, free.Plug = 0, 0, 0
	cheap, err := order.Make(n, readings, order.Options{Costs: free})
	if err != nil {
		t.Fatal(err)
	}
	usual, err := order.Make(n, readings, order.Options{Costs: probe.UsualCosts()})
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
				p, _ := plan(b, n, "dark", checklist.Best)
				t = p.Tree
			}
			b.ReportMetric(t.Expected, "s-expected")
		})
	}
}
