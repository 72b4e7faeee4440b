package bench

import (
	"testing"

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
