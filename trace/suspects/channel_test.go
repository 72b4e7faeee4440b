package suspects

import (
	"strings"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// A reading across one element of a network names it by the net that it has alone.
func TestReadingAcrossAChannel(t *testing.T) {
	b, problems := netlist.Read("x.board", "board x\nnet GND ground\nnet V3 3.3V\nsupply PS1 -> V3\nresistor RN2 V3,V3 -> ID_CLK,ID_DAT 2k2\nresistor R1 ID_CLK -> GND 1k\nresistor R2 ID_DAT -> GND 1k\n")
	if netlist.HasErrors(problems) {
		t.Fatal(problems)
	}
	m := predict.New(b)
	for channel, word := range []string{"RN2.ID_CLK=2k2", "RN2.ID_DAT=2k2"} {
		r, err := Parse(m, word)
		if err != nil || r.Probe.Channel != channel || b.Parts[r.Probe.Part].Name != "RN2" {
			t.Errorf("%s: channel %d of part %d, %v", word, r.Probe.Channel, r.Probe.Part, err)
		}
	}
	_, err := Parse(m, "RN2.V3=2k2")
	if err == nil || !strings.Contains(err.Error(), "V3 is on 2 channels of RN2") || !strings.Contains(err.Error(), "RN2.ID_CLK, RN2.ID_DAT") {
		t.Errorf("RN2.V3: %v", err)
	}
}
