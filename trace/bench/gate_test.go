package bench

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/suspects"
)

// A bridge that stands in the board file reads as computed, and still keeps power off.
func TestABridgeInTheFileKeepsPowerOff(t *testing.T) {
	s, err := New(suspects.New(predict.New(boardtest.Bridged(t))), nil)
	if err != nil {
		t.Fatal(err)
	}
	must(t, s, "symptom dark", "VBL=ohms:40k", "BL_K4=ohms:40k", "BL_K3/BL_K4=OL", "VBL/BL_K4=1ohm")
	if s.gatePassed(&s.now) {
		t.Error("the gate has passed")
	}
	for _, x := range append(s.Others(), s.Step()) {
		if x.Kind == Ask && !x.Probe.Cold() && x.Probe.Method != netlist.Look {
			t.Errorf("%s is asked for", s.x.Ask(x.Probe, x.Again))
		}
	}
}

// TestNothingIsPoweredBeforeTheGate answers at random, as on a healthy board or not, and
// skips, undoes and repairs in between. What the symptom's line says happened to the
// machine holds over a repair, and goes with the symptom.
func TestNothingIsPoweredBeforeTheGate(t *testing.T) {
	n := map[string]*suspects.Narrower{}
	for _, name := range []string{"larkspur13", "teasel14"} {
		n[name] = suspects.New(predict.New(boardtest.Demo(t, name)))
	}
	n["guarded"] = suspects.New(predict.New(boardtest.Guarded(t)))
	asked, powered := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"guarded", "larkspur13", "teasel14"}).Draw(t, "board")
		symptom := rapid.SampledFrom([]string{"dark", "black", "unknown", "fuse"}).Draw(t, "symptom")
		s, err := New(n[name], rapid.SliceOfN(rapid.SampledFrom(netlist.HistoryNames()), 0, 1).Draw(t, "history"))
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Symptom(symptom); err != nil {
			t.Fatal(err)
		}
		if symptom == "fuse" && !s.x.Wet() {
			t.Fatal("what the symptom says of liquid is lost")
		}
		for range rapid.IntRange(1, 12).Draw(t, "answers") {
			x := s.Step()
			if x.Kind != Ask {
				break
			}
			for _, x := range append(s.Others(), x) {
				asked++
				if s.x.NeedsGate(x.Probe) {
					powered++
					if !s.gatePassed(&s.now) {
						t.Fatalf("%s %s: %s before the gate", name, symptom, s.x.Ask(x.Probe, false))
					}
				}
			}
			k := slices.IndexFunc(s.d.Probes, x.Probe.Same)
			if k < 0 || rapid.IntRange(0, 9).Draw(t, "skip") == 0 {
				err = s.Skip("")
			} else {
				show := -1 // as on a healthy board
				if rapid.IntRange(0, 5).Draw(t, "wrong") == 0 {
					show = rapid.IntRange(0, len(s.d.Faults)-1).Draw(t, "fault")
				}
				err = s.Read(s.b.Say(x.Probe, s.d.Reads(k, show)))
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	})
	if powered == 0 || powered == asked {
		t.Errorf("of %d probes %d need power: the test has lost its subject", asked, powered)
	}
}

func TestHistoryOfASymptomOutlivesARepairAndGoesWithTheSymptom(t *testing.T) {
	s, err := New(suspects.New(predict.New(boardtest.Demo(t, "teasel14"))), nil)
	if err != nil {
		t.Fatal(err)
	}
	few := len(s.x.Gate())
	must(t, s, "symptom fuse")
	wet := len(s.x.Gate())
	if !s.x.Wet() || wet < 10*few || s.Step().Probe.Method == netlist.Look {
		t.Errorf("%d probes before any power without liquid, %d after; first %s", few, wet, s.x.Ask(s.Step().Probe, false))
	}
	must(t, s, "VBL_F=ohms:0.1", "VBL_SW=ohms:150k")
	if err := s.Repaired("C31"); err != nil {
		t.Fatal(err)
	}
	if !s.x.Wet() || s.gatePassed(&s.now) {
		t.Error("after a repair the board counts as dry, or power may come at once")
	}
	for len(s.Entries()) > 0 {
		if _, err := s.Undo(); err != nil {
			t.Fatal(err)
		}
	}
	if s.x.Wet() || len(s.x.Gate()) != few {
		t.Error("the liquid stays though its symptom was taken back")
	}
}
