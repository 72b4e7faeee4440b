package suspects

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// TestAReadingSpeaksForASize reads sizes between those that are simulated: what leads is
// what can load the net, or the part that was read. Common practice, no source.
func TestAReadingSpeaksForASize(t *testing.T) {
	n := demo(t, "larkspur13")
	for _, c := range []struct {
		readings, leads string
		least           float64
	}{
		{"V3_PNL=ohms:2", "C23:short", 0.8}, {"W1.22=2ohm", "W1.22:poor", 0.6}, {"F3=0.9ohm", "F3:tired", 0.5},
		{"R34=3k", "R34:drifted", 0.5},
		{"ID_CLK_J=ohms:60", "D21:drifted", 0.2},
	} {
		r := narrow(t, n, read(t, n, c.readings))
		if len(r.Suspects) == 0 || !slices.Contains(r.Suspects[0].Names, c.leads) || r.Suspects[0].Size == nil {
			t.Errorf("%s: %s does not lead with a size: %+v", c.readings, c.leads, r.Suspects)
		} else if r.Suspects[0].P < c.least {
			t.Errorf("%s: %s has %.2f", c.readings, c.leads, r.Suspects[0].P)
		}
	}
	for _, ohms := range []string{"0.05", "0.4", "2", "8", "25", "200", "2k", "10k"} {
		r := narrow(t, n, read(t, n, "dark VBL=ohms:"+ohms))
		if len(r.Actions) == 0 || !strings.Contains(r.Actions[0].Name, "VBL") {
			t.Errorf("VBL=ohms:%s: what loads VBL does not lead: %+v", ohms, r.Worth())
		}
	}
}

// TestTheSizeThatIsNamedHoldsTheTrueOne takes a short of any size, reads what the meter
// shows there, and asks that it is named with a size that holds it, within what a
// meter and its leads leave.
func TestTheSizeThatIsNamedHoldsTheTrueOne(t *testing.T) {
	n := demo(t, "larkspur13")
	faults, err := n.m.ParseFault("C34:short")
	if err != nil {
		t.Fatal(err)
	}
	p := read(t, n, "VBL=ohms:1")[0].Probe
	sized := 0
	rapid.Check(t, func(rt *rapid.T) {
		f := faults[0]
		f.Size = math.Exp(rapid.Float64Range(math.Log(0.05), math.Log(28)).Draw(rt, "log"))
		v := n.m.Cold(true, n.m.Suppose(f)).Value(p)
		r := narrow(t, n, read(t, n, "dark VBL=0V "+said(n.m.Board, p, v)))
		if len(r.Suspects) == 0 || !slices.Contains(r.Suspects[0].Names, "C34:short") {
			rt.Fatalf("a short of %.3g does not lead", f.Size)
		}
		if s := r.Suspects[0].Size; s != nil {
			sized++
			if f.Size < 0.8*s.Low-0.3 || f.Size > 1.25*s.High+0.3 {
				rt.Fatalf("a short of %.3g is said to have %s", f.Size, s)
			}
		} else if f.Size > 2 {
			rt.Fatalf("a short of %.3g has no size", f.Size)
		}
	})
	if sized == 0 {
		t.Error("no size was named")
	}
}

// TestReadingsOfAStretchAddUp since what a meter can tell apart from one end to the other
// is what it can from one end to the middle and from there on.
func TestReadingsOfAStretchAddUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := rapid.SampledFrom([]netlist.Method{netlist.Volts, netlist.Ohms, netlist.Across, netlist.Activity}).Draw(rt, "method")
		v := rapid.SliceOfN(rapid.Float64Range(5, 1e4), 3, 3).Draw(rt, "values")
		slices.Sort(v)
		bins := func(a, b float64) float64 { return 1/fraction(m, a, b) - 1 }
		if all, sum := bins(v[0], v[2]), bins(v[0], v[1])+bins(v[1], v[2]); math.Abs(all-sum) > 1e-6*(1+all) {
			rt.Errorf("%v at %v: %g and %g", m, v, all, sum)
		}
		if one, two := fraction(m, v[0], v[2]), fraction(m, v[2], v[0]); one != two || one <= 0 || one > 1 {
			rt.Errorf("%v at %v: %g, %g the other way", m, v, one, two)
		}
	})
}

// TestFit holds single readings against stretches between two ends.
func TestFit(t *testing.T) {
	n := demo(t, "larkspur13")
	inf := math.Inf(1)
	for _, c := range []struct {
		reading         string
		low, high       float64
		healthy         float64
		agrees          float64 // at least, and at most where it is 0
		chance, chanceB float64 // at least, at most
	}{
		{"VBL=ohms:8", 4, 30, 40e3, 1, 0.1, 0.4},             // inside a stretch of several readings
		{"VBL=ohms:8", 8, 8, 40e3, 1, 1, 1},                  // a point
		{"VBL=ohms:300", 4, 30, 40e3, 0, 0, 1e-9},            // far outside
		{"VBL=ohms:8", 0.1, 900, 40e3, 0, 0, 1e-9},           // it leaps, as where a fuse blows
		{"VBL=ohms:40k", 40e3, 40e3, 40e3, 1, 1, 1},          // measured on a good board
		{"BL_FB=ohms:20k", 35e3, 35e3, 35e3, 0.5, 0.05, 0.4}, // computed, and something leaks
		{"BL_FB=ohms:90k", 35e3, 35e3, 35e3, 0, 0, 1e-9},     // nothing that leaks reads more
		{"BL_PWR=diode:0.6V", 0.45, 0.45, 0.45, 0.5, 0.1, 0.3},
		{"BL_PWR=diode:OL", 0.45, 0.45, 0.45, 0, 0, 0}, // a junction is no open end
		{"VBL=0V", 0, inf, 31.5, 1, 0.2, 0.5},          // floats at one end
		{"LIGHT=no", 0, 1, 0, 1, 0.5, 0.5},             // a word that holds at one end
	} {
		r := read(t, n, c.reading)[0]
		agrees, chance := n.fit(&r, c.low, c.high, c.healthy)
		if agrees < c.agrees || c.agrees == 0 && agrees > 1e-9 || chance < c.chance || chance > c.chanceB {
			t.Errorf("%s between %g and %g agrees by %g with a chance of %g", c.reading, c.low, c.high, agrees, chance)
		}
	}
}

// TestARepeatIsNoSecondWitness since the same hand at the same place reads what the first
// reading said, right or wrong: it weighs against a slip alone.
func TestARepeatIsNoSecondWitness(t *testing.T) {
	n := demo(t, "larkspur13")
	weigh := func(line string) *weigher {
		w := &weigher{Narrower: n, readings: read(t, n, line)}
		if err := w.weigh(nil); err != nil {
			t.Fatal(err)
		}
		return w
	}
	one, two := weigh("dark VBL_F=ohms:30k"), weigh("dark VBL_F=ohms:30k VBL_F=ohms:30.1k")
	raised, lowered := 0, 0
	for i := range one.list {
		a, b := one.list[i], two.list[i]
		switch ratio := b.P / a.P; {
		case a.P == 0:
		case a.Agrees[2] >= explains && math.Abs(ratio-1) > 0.1:
			t.Errorf("%s explains it and has %.3g times its weight when it is repeated", a.Name, ratio)
		case a.Agrees[2] >= explains:
			raised++
		case a.Agrees[2] < 1e-6 && math.Abs(ratio-slipsAgain) > 0.01:
			t.Errorf("%s needs a slip and has %.3g times its weight when it is repeated", a.Name, ratio)
		default:
			lowered++
		}
	}
	if raised == 0 || lowered == 0 {
		t.Errorf("%d faults explain the reading and %d do not", raised, lowered)
	}
}

// TestAVerdictOnOneReadingIsRepeated asks for the reading once more, and not a third time.
func TestAVerdictOnOneReadingIsRepeated(t *testing.T) {
	n := demo(t, "larkspur13")
	r := narrow(t, n, read(t, n, "dark VBL=ohms:0.2"))
	if r.Stands != 2 || len(r.Next) == 0 || !r.Next[0].Again || !r.Next[0].Probe.Same(r.Readings[2].Probe) {
		t.Errorf("it stands on %d, and next comes %+v", r.Stands, r.Next)
	}
	if r = narrow(t, n, read(t, n, "dark VBL=ohms:0.2 VBL=ohms:0.2")); r.Stands != netlist.None {
		t.Errorf("read twice it stands on %d", r.Stands)
	}
	for _, line := range []string{"dark VBL=ohms:40k", "dark VBL=ohms:0.2 VBL=ohms:5k"} { // nothing leads; it was read twice
		if r = narrow(t, n, read(t, n, line)); r.Stands != netlist.None {
			t.Errorf("%s: it stands on %d", line, r.Stands)
		}
	}
	if r = narrow(t, n, read(t, n, "dark VBL=ohms:0.2 VBL=0V VBL_F=0V")); r.Stands != netlist.None {
		t.Errorf("beside others it stands on %d", r.Stands)
	}
}

// TestAFaultIsForetoldInItsSize tells a leak of the size that was read from what a leak of
// the usual size shows elsewhere.
func TestAFaultIsForetoldInItsSize(t *testing.T) {
	n := demo(t, "larkspur13")
	r := narrow(t, n, read(t, n, "V3_PNL=ohms:6k"))
	at := read(t, n, "U4=6k")[0].Probe
	k := slices.IndexFunc(n.d.Probes, at.Same)
	for _, s := range r.Suspects {
		if !slices.Contains(s.Names, "C23:drifted") {
			continue
		}
		g := n.group[s.Faults[0]]
		usual, now := n.d.Reads(k, s.Faults[0]), n.Typical(k, r.Row(g)[k], g)
		if want := 6e3; math.Abs(now-want) > predict.Apart(netlist.Across, want) || math.Abs(usual-want) < predict.Apart(netlist.Across, usual) {
			t.Errorf("U4 would read %s, and %s with the usual size", fmt.Sprint(now), fmt.Sprint(usual))
		}
		return
	}
	t.Errorf("C23:drifted is no suspect: %+v", r.Suspects)
}

// TestFactorsLeaveOutWhatIsNoChange since a part that drifted by nothing has not failed.
func TestFactorsLeaveOutWhatIsNoChange(t *testing.T) {
	n := demo(t, "larkspur13")
	factors := 0
	for _, s := range n.stretches[1:] {
		a, b := n.all[s.low].Faults[0], n.all[s.high].Faults[0]
		if s.low == s.high || a.Mode.Ohms() {
			continue
		}
		factors++
		low, high := cmp.Or(a.Size, a.Mode.Value), cmp.Or(b.Size, b.Mode.Value)
		if low < 1 && high > 1 || low >= high {
			t.Errorf("%s: a stretch from %g to %g", n.m.Name(a), low, high)
		}
	}
	if factors == 0 {
		t.Error("no fault has a factor")
	}
}

// TestOneSizeForAllReadings takes readings of which each fits some size of a rail's short
// or of its regulator, and none all: two faults, not one.
func TestOneSizeForAllReadings(t *testing.T) {
	for _, c := range []struct{ board, readings string }{
		{"siskin15", "two"}, {"larkspur13", "dark VBL=12.2V A.0=quiet EDID=read"},
	} {
		n := demo(t, c.board)
		if r := narrow(t, n, read(t, n, c.readings)); r.Single {
			t.Errorf("%s %s: one fault explains every reading", c.board, c.readings)
		}
	}
}

// TestOneProbeShowsOneThing since a size that lies between two readings of one probe does
// not explain both.
func TestOneProbeShowsOneThing(t *testing.T) {
	n := demo(t, "larkspur13")
	w := &weigher{Narrower: n, readings: read(t, n, "F2=OL VBL=20V VBL=4V")}
	if err := w.weigh(nil); err != nil {
		t.Fatal(err)
	}
	wide := 0
	for i := range w.list {
		h := &w.list[i]
		if !w.wide(h.best) {
			continue
		}
		if h.Agrees[1] >= explains && h.Agrees[2] >= explains {
			t.Errorf("%s explains 20 V and 4 V", h.Name)
		}
		wide++
		both := []fitted{{1, 1}, {1, 1}, {1, 1}}
		if l, slip := w.rowLikely(h.best, both), w.likely(1, 0); l > 3*slip {
			t.Errorf("%s: both readings are as likely as %g, and a slip is as %g", h.Name, l, slip)
		}
	}
	if wide == 0 {
		t.Error("no fault has a size")
	}
}

// TestAFuseIsSpokenOfWhereItIsLikelyOpen and not for a complaint that has other causes.
func TestAFuseIsSpokenOfWhereItIsLikelyOpen(t *testing.T) {
	n := demo(t, "larkspur13")
	if r := narrow(t, n, read(t, n, "dark")); r.Fuse != nil {
		t.Errorf("%s is spoken of as open, with %.2f", n.m.Board.Parts[r.Fuse.Part].Name, r.Suspects[0].P)
	}
	if r := narrow(t, n, read(t, n, "dark VBL_F=0V VBL=ohms:40k VBL_SW=ohms:38k")); r.Fuse == nil {
		t.Error("nothing is said of the fuse")
	}
}
