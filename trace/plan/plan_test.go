package plan

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"github.com/google/go-cmp/cmp"
)

func TestColdChecksComeBeforePower(t *testing.T) {
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		first := hot(c)
		if first == len(c.Probes) {
			t.Fatal("no powered step")
		}
		for i := range c.Probes {
			p := &c.Probes[i]
			if p.Method.Cold() != (i < first) {
				t.Errorf("step %d is %s after the power came on at step %d", p.Number, p.Method, first+1)
			}
			if p.Method.Cold() && !slices.Contains(p.Cautions, cautionCold) {
				t.Errorf("cold step %d lacks the caution about power and capacitors", p.Number)
			}
			if p.Method.Cold() && !strings.Contains(p.State, "battery out") {
				t.Errorf("cold step %d is asked for in the state %q", p.Number, p.State)
			}
		}
	})
}

func TestNumbersAreOneToN(t *testing.T) {
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		for i := range c.Probes {
			if c.Probes[i].Number != i+1 {
				t.Errorf("probe %d has the number %d", i, c.Probes[i].Number)
			}
		}
	})
}

// Every outcome that does not end the search leads to a later step, so that a
// sheet of paper is worked from top to bottom and the work ends.
func TestOutcomesLeadForwardAndEnd(t *testing.T) {
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		for i := range c.Probes {
			p := &c.Probes[i]
			if len(p.Outcomes) < 2 {
				t.Errorf("step %d tells right from wrong in %d outcomes", p.Number, len(p.Outcomes))
			}
			readings := map[string]bool{}
			for _, o := range p.Outcomes {
				if o.Next != 0 && (o.Next <= p.Number || o.Next > len(c.Probes)) {
					t.Errorf("step %d, %q leads to step %d of %d", p.Number, o.Reading, o.Next, len(c.Probes))
				}
				if o.Means == "" || readings[o.Reading] {
					t.Errorf("step %d, %q says nothing, or stands there twice", p.Number, o.Reading)
				}
				readings[o.Reading] = true
			}
		}
	})
}

// A step that reads wrong and has nothing further behind it must end with a
// suspect, not in silence.
func TestWrongAllTheWayEndsWithASuspect(t *testing.T) {
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		if len(c.Walk.Against) > 0 {
			return // such a list checks suspects cold and has no powered walk
		}
		at := hot(c) + 1
		for n := 0; ; n++ {
			if n > len(c.Probes) {
				t.Fatal("wrong readings lead round in circles")
			}
			o := c.Probes[at-1].Outcomes[1]
			if o.Next == 0 {
				if !strings.Contains(o.Means, "suspect ") {
					t.Errorf("step %d ends with %q", at, o.Means)
				}
				return
			}
			at = o.Next
		}
	})
}

// Every powered step can be reached from the first: a step that no outcome leads
// to is never worked.
func TestEveryPoweredStepIsReached(t *testing.T) {
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		first := hot(c)
		reached := map[int]bool{first + 1: true}
		for i := first; i < len(c.Probes); i++ {
			if !reached[i+1] {
				t.Errorf("nothing leads to step %d, %s", i+1, c.Probes[i].Target)
			}
			for _, o := range c.Probes[i].Outcomes {
				reached[o.Next] = true
			}
		}
	})
}

var placePin = regexp.MustCompile(`^([A-Z]+[0-9]+) pin ([0-9]+)$`)

// dangerVolts is the voltage in V from which a pin of a connector must not be
// probed under power, nor any within two places of it. Common practice, no source.
const dangerVolts = 10.0

func TestNoPoweredProbeLandsBesideTheBacklightRail(t *testing.T) {
	landed := 0
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		b := c.Walk.Board
		for i := range c.Probes {
			p := &c.Probes[i]
			m := placePin.FindStringSubmatch(p.Place.Name)
			if p.Method.Cold() || m == nil {
				continue
			}
			landed++
			id, ok := b.Part(m[1])
			if !ok {
				t.Fatalf("step %d is at %s, and there is no such part", p.Number, m[1])
			}
			here, _ := strconv.Atoi(m[2])
			for _, conn := range b.Parts[id].Conns {
				n, err := strconv.Atoi(conn.Num)
				if err != nil || max(n-here, here-n) > 2 {
					continue
				}
				for _, e := range b.Nets[conn.Net].Expect {
					if e.Value >= dangerVolts {
						t.Errorf("step %d lands on %s, and pin %d carries %g V", p.Number, p.Place.Name, n, e.Value)
					}
				}
			}
		}
	})
	if landed == 0 {
		t.Error("no powered probe lands on a pin: the test has lost its subject")
	}
}

// highAtConnector tells whether a rail of dangerVolts goes through a connector.
func highAtConnector(b *netlist.Board) bool {
	for i := range b.Parts {
		if b.Parts[i].Kind.Name != "connector" {
			continue
		}
		for _, c := range b.Parts[i].Conns {
			if slices.ContainsFunc(b.Nets[c.Net].Expect, func(e netlist.Expect) bool { return e.Value >= dangerVolts }) {
				return true
			}
		}
	}
	return false
}

func TestPinsBesideTheBacklightRailAreCheckedColdFirst(t *testing.T) {
	tested := 0
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		if !highAtConnector(c.Walk.Board) {
			return
		}
		tested++
		p := &c.Probes[0]
		if p.Method != Between || p.Role != "neighbour of the backlight rail" {
			t.Fatalf("the first step is %s of %s, %s", p.Method, p.Target, p.Role)
		}
		if o := p.Outcomes[1]; o.Next != 0 || !strings.Contains(o.Means, "do not power the board") {
			t.Errorf("a bridge beside the rail leads to step %d: %s", o.Next, o.Means)
		}
	})
	if tested == 0 {
		t.Error("no demo board has a backlight rail at a connector")
	}
}

// The fuse is a victim more often than a cause. Common practice, no source.
func TestAFuseIsNeverBlamedAlone(t *testing.T) {
	blamed := 0
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		b := c.Walk.Board
		for i := range c.Probes {
			for _, o := range c.Probes[i].Outcomes {
				_, suspects, ok := strings.Cut(o.Means, "suspect ")
				suspects, _, _ = strings.Cut(suspects, ";")
				suspects, caution, _ := strings.Cut(suspects, ". ")
				_, rest, _ := strings.Cut(o.Means, "suspect ")
				if !ok {
					continue
				}
				for _, name := range strings.Split(suspects, ", ") {
					id, ok := b.Part(name)
					if !ok || b.Parts[id].Kind.Name != "fuse" {
						continue
					}
					blamed++
					if !strings.Contains(rest, cautionFuse) {
						t.Errorf("step %d blames %s and says only %q", i+1, name, rest+caution)
					}
				}
			}
		}
	})
	if blamed < 10 {
		t.Errorf("only %d outcomes blame a fuse: the test has lost its subject", blamed)
	}
}

// backwards is an order that no one would work in: the source first.
type backwards struct{}

func (backwards) Name() string { return "backwards" }

func (backwards) Order(_ *trace.Walk, probes []Probe) []int {
	order := make([]int, len(probes))
	for i := range order {
		order[i] = len(probes) - 1 - i
	}
	return order
}

func TestWalkOrderKeepsTheOrder(t *testing.T) {
	got := WalkOrder{}.Order(nil, make([]Probe, 4))
	if diff := cmp.Diff([]int{0, 1, 2, 3}, got); diff != "" {
		t.Error(diff)
	}
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		if len(c.Walk.Against) > 0 {
			return // such a list checks suspects cold and has no powered walk
		}
		step := 0
		for i := hot(c); i < len(c.Probes); i++ {
			if c.Probes[i].step <= step {
				t.Errorf("step %d stands before its place in the walk", i+1)
			}
			step = c.Probes[i].step
		}
	})
}

// Another order must not change what the points need: each probe still has the
// parent that it had, and wrong leads to a need of its own.
func TestAnyOrderKeepsParents(t *testing.T) {
	everyList(t, backwards{}, func(t *testing.T, c *Checklist) {
		if c.Order != "backwards" {
			t.Errorf("order is %q", c.Order)
		}
		same := Make(c.Walk, WalkOrder{})
		parentOf := func(c *Checklist) map[int]int {
			of := map[int]int{}
			for i := hot(c); i < len(c.Probes); i++ {
				of[c.Probes[i].step] = 0
				if p := c.Probes[i].parent; p >= 0 {
					of[c.Probes[i].step] = c.Probes[p].step
				}
			}
			return of
		}
		if diff := cmp.Diff(parentOf(same), parentOf(c)); diff != "" {
			t.Error(diff)
		}
		first := hot(c)
		if last := &same.Probes[len(same.Probes)-1]; c.Probes[first].step != last.step {
			t.Errorf("backwards begins with %s, not with %s", c.Probes[first].Target, last.Target)
		}
		for i := first; i < len(c.Probes); i++ {
			p := &c.Probes[i]
			if p.Number != i+1 {
				t.Errorf("probe %d has the number %d", i, p.Number)
			}
			if o := p.Outcomes[1]; o.Next != 0 && c.Probes[o.Next-1].parent != i {
				t.Errorf("step %d, wrong, leads to step %d, which it does not need", i+1, o.Next)
			}
			if o := p.Outcomes[0]; o.Next != 0 && c.Probes[o.Next-1].parent != p.parent {
				t.Errorf("step %d, right, leads to step %d, which has another owner", i+1, o.Next)
			}
		}
	})
}

// The symptom is at a point that must not be probed under power. Its own point
// cannot be asked for, so the verdict has to come from the last point before it.
func TestSymptomBehindTheConnectorIsNotForgotten(t *testing.T) {
	b := demo(t, "larkspur13")
	w := walkOf(t, b, "P_VBL=0V")
	c := Make(w, WalkOrder{})
	id, _ := b.Part("J2")
	var failed []trace.Unit
	for _, conn := range b.Parts[id].Conns {
		if conn.Num == "25" || conn.Num == "26" {
			failed = append(failed, trace.Unit{Part: id, Channel: int(conn.Channel)})
		}
	}
	_, verdict := play(t, c, slices.Clone(w.Graph.Holds(failed...)))
	if !strings.Contains(verdict, "P_VBL is wrong") || !strings.Contains(verdict, "J2 pins 25, 26") {
		t.Errorf("both contacts are open, and the verdict is %q", verdict)
	}
}

// A switch node has the mean of its input whether it switches or not, so volts
// alone cannot tell, and must not clear the converter.
func TestSwitchNodeIsNotJudgedByItsMean(t *testing.T) {
	seen := 0
	for _, name := range boards.Names() {
		b := demo(t, name)
		c := Make(symptomWalk(t, b, &b.Symptoms[slices.Index(b.SymptomNames(), "dark")]), WalkOrder{})
		for i := hot(c); i < len(c.Probes); i++ {
			p := &c.Probes[i]
			if p.Net == netlist.None {
				continue
			}
			if e, ok := b.ExpectIn(p.Net, b.Usual()); ok && e.Swing != 0 {
				seen++
				if p.Method != Bursts || p.Outcomes[0].Reading != "alive" {
					t.Errorf("%s: %s swings, and is read with %s", name, p.Target, p.Method)
				}
			}
		}
	}
	if seen == 0 {
		t.Error("no switch node on any path")
	}
}

func TestJSONDecodes(t *testing.T) {
	everyList(t, WalkOrder{}, func(t *testing.T, c *Checklist) {
		var out bytes.Buffer
		if err := WriteJSON(&out, c); err != nil {
			t.Fatal(err)
		}
		var got jsonList
		d := json.NewDecoder(&out)
		d.DisallowUnknownFields()
		if err := d.Decode(&got); err != nil {
			t.Fatal(err)
		}
		if got.Format != "walkback.probe" || got.Version != JSONVersion {
			t.Errorf("format %q version %d", got.Format, got.Version)
		}
		if len(got.Probes) != len(c.Probes) {
			t.Fatalf("%d probes, not %d", len(got.Probes), len(c.Probes))
		}
		for i, p := range got.Probes {
			want := &c.Probes[i]
			if p.Number != want.Number || p.Cold != want.Method.Cold() || len(p.Outcomes) != len(want.Outcomes) || p.Target != want.Target {
				t.Errorf("probe %d: %+v", i, p)
			}
			if p.Low != nil && p.High != nil && *p.Low > *p.High {
				t.Errorf("probe %d: low %g is above high %g", i, *p.Low, *p.High)
			}
		}
	})
}

const tinyBoard = `board tiny "Tiny *one* <two>"
net GND ground
net V_IN 5V 5% cold=10k
net V_OUT 5V 5%
net S 5V 5% "after the fuse"
supply PS1 -> V_IN limit=1A
fuse F1 V_IN -> S rating=1A
resistor R1 S -> V_OUT 1
capacitor C1 V_OUT -> GND 1u volts=10V
leds D1 V_OUT -> GND series=1 vf=3V
    makes GLOW
point TP1 V_OUT side=top at="by | the *edge*"
`

func TestMarkdownEscapes(t *testing.T) {
	b := build(t, tinyBoard)
	var out bytes.Buffer
	if err := WriteMarkdown(&out, Make(walkOf(t, b, "GLOW=no"), WalkOrder{})); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`# Tiny \*one\* &lt;two>`, `V\_OUT`, `by \| the \*edge\*`, "- [ ] **1. "} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %s in\n%s", want, out.String())
		}
	}
	if i := strings.Index(out.String(), "V_"); i >= 0 {
		t.Errorf("an underscore may be taken for emphasis: %s", out.String()[i:min(i+20, out.Len())])
	}
}

func TestChecklistGolden(t *testing.T) {
	b := build(t, tinyBoard)
	var out bytes.Buffer
	if err := WriteText(&out, Make(walkOf(t, b, "GLOW=no"), WalkOrder{})); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join("testdata", "tiny.txt")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), out.String()); diff != "" {
		t.Errorf("run with -update and look at the change:\n%s", diff)
	}
}

// WriteText must not lose the words of the disk being full.
func TestWritersReportAWriteError(t *testing.T) {
	b := build(t, tinyBoard)
	c := Make(walkOf(t, b, "GLOW=no"), WalkOrder{})
	if WriteText(full{}, c) == nil || WriteMarkdown(full{}, c) == nil || WriteJSON(full{}, c) == nil {
		t.Error("a write error was lost")
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, os.ErrClosed }

// A symptom that no missing need explains gets cold checks of its suspects and no
// powered walk: a divider with its upper leg open must not be powered (common
// practice, no source).
func TestSuspectsAgainstTheWalkAreCheckedCold(t *testing.T) {
	for _, row := range []struct{ seen, must string }{{"VBL=36V", "suspect R36"}, {"BL_K3=0V", "suspect J2"}} {
		b, problems := netlist.Read("larkspur13.board", mustSource(t, "larkspur13"))
		if len(problems) > 0 {
			t.Fatal(problems[0].Report())
		}
		name, word, _ := strings.Cut(row.seen, "=")
		o, err := b.Observe(name, word, b.Usual())
		if err != nil {
			t.Fatal(err)
		}
		w, err := trace.Run(b, b.Usual(), []netlist.Observation{o})
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, p := range Make(w, WalkOrder{}).Probes {
			found = found || p.Target == row.must
			if !p.Method.Cold() && p.Method != Look {
				t.Errorf("%s: step %d, %s, is powered", row.seen, p.Number, p.Target)
			}
		}
		if !found {
			t.Errorf("%s: no step %q", row.seen, row.must)
		}
	}
}

func mustSource(t *testing.T, name string) string {
	t.Helper()
	text, ok := boards.Source(name)
	if !ok {
		t.Fatalf("no board %s", name)
	}
	return text
}
