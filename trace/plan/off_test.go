package plan

import (
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
)

// shorted walks from a short to ground on a net, read with all power out, beside a
// complaint of the board where one is given.
func shorted(t *testing.T, b *netlist.Board, n netlist.NetID, seen []netlist.Observation) *trace.Walk {
	t.Helper()
	p := netlist.ColdProbe(netlist.Ohms, n, netlist.None)
	o := netlist.Observation{
		Target: netlist.Target{Net: n, Lane: netlist.None, Fact: netlist.None}, Word: "ohms:0.1", Wrong: true, Below: true, Cold: &p,
	}
	w, err := trace.Run(b, b.Usual(), append(slices.Clone(seen), o))
	if err != nil && len(seen) == 0 {
		t.Fatal(err)
	}
	return w // nil where the complaint says that the net is right
}

// After a short that was read cold, every step of the list is made with all power out,
// each suspect is named, and what to do with the board in hand stands at the end.
func TestAfterAShortNothingIsAskedWithPowerOn(t *testing.T) {
	lists := 0
	for _, name := range boards.Names() {
		b := boardtest.Demo(t, name)
		for i := range b.Nets {
			n := netlist.NetID(i)
			if b.Nets[i].Cold.Value == 0 {
				continue
			}
			for _, seen := range [][]netlist.Observation{nil, b.Symptoms[0].Seen} {
				w := shorted(t, b, n, seen)
				if w == nil {
					continue
				}
				l := Make(w, probe.On(b, nil), probe.UsualCosts())
				lists++
				if !w.PowerOff() || l.Last == "" {
					t.Errorf("%s: a short of %s does not keep power off, at the end %q", name, b.Nets[i].Name, l.Last)
				}
				targets := map[string]bool{}
				for k := range l.Steps {
					s := &l.Steps[k]
					part, _, _ := strings.Cut(s.Target, ".")
					targets[part] = true
					if !s.Probe.Cold() || s.Probe.Method == netlist.Look {
						t.Errorf("%s: after a short of %s step %d is %s, %s", name, b.Nets[i].Name, s.Number, s.Probe.Method, s.Target)
					}
				}
				for _, a := range w.Against {
					for _, id := range a.Suspects {
						p := &b.Parts[id]
						if a.Kind == trace.Loaded && (!strings.Contains(l.Last, p.Name) || !p.Kind.InPanel && !targets[p.Name]) {
							t.Errorf("%s: after a short of %s no step is about %s, at the end %q", name, b.Nets[i].Name, p.Name, l.Last)
						}
					}
				}
			}
		}
	}
	if lists < 20 {
		t.Fatalf("only %d shorts were tried", lists)
	}
}

// While a net is shorted every part on it reads near zero there, so that such a reading
// names none of them and the list goes on.
func TestNearZeroOnAShortedNetIsNoVerdict(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	n, _ := b.Net("VBL")
	l := Make(shorted(t, b, n, nil), probe.On(b, nil), probe.UsualCosts())
	asked := 0
	for i := range l.Steps {
		s := &l.Steps[i]
		if !slices.Contains([]string{"D6", "U9", "C34", "C35"}, s.Target) {
			continue
		}
		asked++
		for _, o := range s.Outcomes {
			if o.Reading == "near zero" && (o.Next != s.Number+1 || !strings.Contains(o.Means, "lift "+s.Target)) {
				t.Errorf("step %d, %s: near zero leads to %d: %s", s.Number, s.Target, o.Next, o.Means)
			}
		}
	}
	if asked != 4 {
		t.Errorf("%d of 4 suspects are asked for", asked)
	}
}

// With the upper leg of a divider open nothing limits the rail, so that no step needs power;
// with the lower one open the rail stays low.
func TestAnOpenUpperLegKeepsPowerOff(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	for word, off := range map[string]bool{"R36=OL": true, "R36=1.5Mohm": true, "R37=OL": false} {
		readings, err := b.Readings(word, b.Usual())
		if err != nil {
			t.Fatal(err)
		}
		m := predict.New(b)
		o, err := b.Judge(readings[0], m.HealthyBand)
		if err != nil {
			t.Fatal(err)
		}
		w, err := trace.Run(b, b.Usual(), append(slices.Clone(b.Symptoms[0].Seen), o))
		if err != nil {
			t.Fatal(err)
		}
		l := Make(w, probe.On(b, nil), probe.UsualCosts())
		hot := slices.ContainsFunc(l.Steps, func(s checklist.Step) bool { return !s.Probe.Cold() })
		if w.PowerOff() != off || hot == off {
			t.Errorf("%s: power off %t, steps with power %t", word, w.PowerOff(), hot)
		}
		text := strings.Join(w.AgainstText(), " ")
		if strings.Contains(text, "do not power, the rail can run away") != off {
			t.Errorf("%s: %s", word, text)
		}
	}
}
