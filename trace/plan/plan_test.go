package plan

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/probe"
)

func TestColdChecksComeBeforePower(t *testing.T) {
	everyList(t, func(t *testing.T, c *sheet) {
		first := hot(c)
		if first == len(c.all) {
			t.Fatal("no powered step")
		}
		for i := range c.all {
			p := &c.all[i]
			if p.Probe.Cold() != (i < first) {
				t.Errorf("step %d is %s after the power came on at step %d", p.Number, p.Probe.Method, first+1)
			}
			if p.Probe.Cold() && !slices.Contains(p.Cautions, probe.VoltsLow) {
				t.Errorf("cold step %d lacks the caution about power and capacitors", p.Number)
			}
			if p.Probe.Cold() && !strings.Contains(p.Condition, probe.PowerOut) {
				t.Errorf("cold step %d is asked for in the state %q", p.Number, p.Condition)
			}
		}
	})
}

func TestNumbersAreOneToN(t *testing.T) {
	everyList(t, func(t *testing.T, c *sheet) {
		for i := range c.all {
			if c.all[i].Number != i+1 {
				t.Errorf("probe %d has the number %d", i, c.all[i].Number)
			}
		}
	})
}

// Every outcome that does not end the search leads to a later step, so that a
// sheet of paper is worked from top to bottom and the work ends.
func TestOutcomesLeadForwardAndEnd(t *testing.T) {
	everyList(t, func(t *testing.T, c *sheet) {
		for i := range c.all {
			p := &c.all[i]
			if len(p.Outcomes) < 2 {
				t.Errorf("step %d tells right from wrong in %d outcomes", p.Number, len(p.Outcomes))
			}
			readings := map[string]bool{}
			for _, o := range p.Outcomes {
				if o.Next != 0 && (o.Next <= p.Number || o.Next > len(c.all)) {
					t.Errorf("step %d, %q leads to step %d of %d", p.Number, o.Reading, o.Next, len(c.all))
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
	everyList(t, func(t *testing.T, c *sheet) {
		if len(c.Walk.Against) > 0 {
			return // such a list checks suspects cold and has no powered walk
		}
		at := hot(c) + 1
		for n := 0; ; n++ {
			if n > len(c.all) {
				t.Fatal("wrong readings lead round in circles")
			}
			o := c.all[at-1].Outcomes[1]
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
	everyList(t, func(t *testing.T, c *sheet) {
		first := hot(c)
		reached := map[int]bool{first + 1: true}
		for i := first; i < len(c.all); i++ {
			if !reached[i+1] {
				t.Errorf("nothing leads to step %d, %s", i+1, c.all[i].Target)
			}
			for _, o := range c.all[i].Outcomes {
				reached[o.Next] = true
			}
		}
	})
}

var placePin = regexp.MustCompile(`^([A-Z]+[0-9]+) pin ([0-9]+)$`)

// dangerVolts is the voltage in V from which a pin of a connector must not be
// probed under power, nor any within two places of it. Common practice, no source.
const dangerVolts = 7.0

func TestNoPoweredProbeLandsBesideTheBacklightRail(t *testing.T) {
	landed := 0
	everyList(t, func(t *testing.T, c *sheet) {
		b := c.Walk.Board
		for i := range c.all {
			p := &c.all[i]
			m := placePin.FindStringSubmatch(p.Place.Name)
			if p.Probe.Cold() || p.Place.Name == "" {
				continue
			}
			landed++
			if id, ok := b.Part(strings.TrimPrefix(p.Place.Name[strings.LastIndex(p.Place.Name, " ")+1:], " ")); ok && b.Parts[id].Balls() {
				t.Errorf("step %d lands under %s", p.Number, b.Parts[id].Name)
			}
			if m == nil {
				continue
			}
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
	if landed < 100 {
		t.Errorf("only %d powered probes land anywhere: the test has lost its subject", landed)
	}
}

// highAtConnector reports whether a rail of dangerVolts goes through a connector.
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
	everyList(t, func(t *testing.T, c *sheet) {
		if !highAtConnector(c.Walk.Board) {
			return
		}
		tested++
		p := &c.all[0]
		if p.Probe.Method != netlist.Across || p.Why != "neighbour of a high rail; before any power" || !p.Gate {
			t.Fatalf("the first step is %s of %s, %s", p.Probe.Method, p.Target, p.Why)
		}
		if o := p.Outcomes[1]; o.Next != 0 || !strings.Contains(o.Means, probe.NoPower) {
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
	everyList(t, func(t *testing.T, c *sheet) {
		b := c.Walk.Board
		for i := range c.all {
			for _, o := range c.all[i].Outcomes {
				_, suspects, ok := strings.Cut(o.Means, "suspect ")
				suspects, caution, _ := strings.Cut(suspects, ";")
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
					if !strings.Contains(rest, probe.Fuse) {
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

func TestPoweredStepsKeepTheOrderOfTheWalk(t *testing.T) {
	everyList(t, func(t *testing.T, c *sheet) {
		if len(c.Walk.Against) > 0 {
			return // such a list checks suspects cold and has no powered walk
		}
		step := 0
		for i := hot(c); i < len(c.all); i++ {
			if c.all[i].step <= step {
				t.Errorf("step %d stands before its place in the walk", i+1)
			}
			step = c.all[i].step
		}
	})
}

// The symptom is at a point that must not be probed under power. Its own point
// cannot be asked for, so the verdict has to come from the last point before it.
func TestSymptomBehindTheConnectorIsNotForgotten(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	w := walkOf(t, b, "P_VBL=0V")
	c := makeSheet(w)
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
		b := boardtest.Demo(t, name)
		c := makeSheet(symptomWalk(t, b, &b.Symptoms[slices.Index(b.SymptomNames(), "dark")]))
		for i := hot(c); i < len(c.all); i++ {
			p := &c.all[i]
			if p.Probe.Net == netlist.None {
				continue
			}
			if e, ok := b.ExpectIn(p.Probe.Net, b.Usual()); ok && e.Swing != 0 {
				seen++
				if p.Probe.Method != netlist.Activity || p.Outcomes[0].Reading != "alive" {
					t.Errorf("%s: %s swings, and is read with %s", name, p.Target, p.Probe.Method)
				}
			}
		}
	}
	if seen == 0 {
		t.Error("no switch node on any path")
	}
}

// A symptom that no missing need explains gets cold checks of its suspects and no
// powered walk: a divider with its upper leg open must not be powered (common
// practice, no source).
func TestSuspectsAgainstTheWalkAreCheckedCold(t *testing.T) {
	for _, row := range []struct{ seen, must string }{{"VBL=36V", "R36"}, {"BL_K3=0V", "J2"}} {
		w := walkOf(t, boardtest.Demo(t, "larkspur13"), row.seen)
		found := false
		for _, p := range makeSheet(w).all {
			found = found || p.Target == row.must && strings.Contains(p.Why, "suspect for ")
			if !p.Probe.Cold() && p.Probe.Method != netlist.Look {
				t.Errorf("%s: step %d, %s, is powered", row.seen, p.Number, p.Target)
			}
		}
		if !found {
			t.Errorf("%s: no step %q", row.seen, row.must)
		}
	}
}

// TestBelowRangeLeadsToTheConverterAndItsDivider asks of every walk that reads a raised
// rail, and of its sense input, for the line between input level and range.
func TestBelowRangeLeadsToTheConverterAndItsDivider(t *testing.T) {
	rails, senses := 0, 0
	everyList(t, func(t *testing.T, c *sheet) {
		for _, e := range c.all[hot(c):] {
			find := func(reading string) (checklist.Outcome, bool) {
				i := slices.IndexFunc(e.Outcomes, func(o checklist.Outcome) bool { return o.Reading == reading })
				return e.Outcomes[max(i, 0)], i >= 0
			}
			_, raised := find("at input level")
			low, has := find("below range")
			if raised != has {
				t.Errorf("%s: at input level %t, below range %t", e.Target, raised, has)
			}
			if !raised {
				continue
			}
			want := []string{"raised, but too little", "divider"}
			if c.Walk.Steps[e.step-1].Reason == netlist.Sense {
				want = []string{"divider is wrong", "raised too little"}
				senses++
			} else {
				rails++
			}
			for _, text := range append(want, "suspect") {
				if !strings.Contains(low.Means, text) {
					t.Errorf("%s: below range means %q, without %q", e.Target, low.Means, text)
				}
			}
		}
	})
	if rails < 5 || senses < 5 {
		t.Errorf("%d raised rails and %d sense inputs: the test has lost its subject", rails, senses)
	}
	b := boardtest.Demo(t, "larkspur13")
	c := makeSheet(walkOf(t, b, "LIGHT=no"))
	for _, e := range c.all {
		for _, o := range e.Outcomes {
			if o.Reading == "below range" && (e.Target == "VBL" || e.Target == "BL_FB") {
				for _, name := range []string{"U9", "R36", "R37"} {
					if !strings.Contains(o.Means, name) {
						t.Errorf("%s: below range means %q, without %s", e.Target, o.Means, name)
					}
				}
			}
		}
	}
}
