package order_test

import (
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/suspects"
)

// A bridge that stands in the board file is no healthy board: it is asked for, and no
// order comes to a step that touches the board with power on.
func TestABridgeInTheFileKeepsPowerOff(t *testing.T) {
	b := boardtest.Bridged(t)
	n := suspects.New(predict.New(b))
	for _, how := range []string{checklist.Best, checklist.Half} {
		p, w := plan(t, n, "dark", how)
		found := false
		for _, i := range p.Gate {
			found = found || probe.At(b, p.Dict.Probes[p.Probes[i]]) == "VBL to BL_K4"
		}
		if !found {
			t.Errorf("%s: the bridge is not in the gate", how)
		}
		l := p.List(w)
		for i := range l.Steps {
			if x := l.Steps[i].Probe; !x.Cold() && x.Method != netlist.Look {
				t.Errorf("%s: step %d needs power: %s", how, i+1, l.Steps[i].Target)
			}
		}
	}
}
