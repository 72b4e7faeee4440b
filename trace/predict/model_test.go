package predict

import (
	"maps"
	"slices"
	"sync"
	"testing"

	"example.org/walkback/netlist"
)

// Simulators share one model at once; run with -race. Each finds what one alone does,
// to the last bit.
func TestSimulatorsShareAModel(t *testing.T) {
	eachDemo(t, func(t *testing.T, alone *Simulator) {
		tell := func(m *Simulator) (list []float64) {
			faults := m.AllFaults()
			m.Every(faults[:min(len(faults), 60)], func(_ int, r *Run) {
				for i := range m.Board.Nets {
					list = append(list, r.Volts(netlist.NetID(i)), r.Swing(netlist.NetID(i)))
				}
			}, func(_ int, c *Cold) {
				for i := range m.Board.Nets {
					list = append(list, c.Ohms(netlist.NetID(i)), c.Diode(netlist.NetID(i)))
				}
			})
			return list
		}
		model := New(alone.Board).Model
		lists := make([][]float64, 2)
		var wait sync.WaitGroup
		for i := range lists {
			wait.Go(func() { lists[i] = tell(model.Simulator()) })
		}
		wait.Wait()
		want := tell(alone)
		for i, list := range lists {
			if !slices.Equal(list, want) {
				t.Errorf("simulator %d of the shared model finds other values", i)
			}
		}
		if len(want) < 10_000 {
			t.Errorf("only %d readings", len(want))
		}
	})
}

// Every word by which a kind says how it acts has devices, and every device a kind.
func TestDevicesOfTheTable(t *testing.T) {
	used := map[string]bool{"": true}
	for i := range netlist.Kinds {
		k := &netlist.Kinds[i]
		used[k.Acts] = true
		if k.Acts != "" && makers[k.Acts] == nil && closers[k.Acts] == nil {
			t.Errorf("nothing makes the devices of a %s, which acts as %q", k.Name, k.Acts)
		}
	}
	words := slices.Sorted(maps.Keys(makers))
	for _, word := range slices.AppendSeq(words, maps.Keys(closers)) {
		if !used[word] {
			t.Errorf("no kind acts as %q", word)
		}
	}
	for _, w := range netlist.RuleWords {
		if _, ok := rules[w.Name]; !ok && w.Name != "pin" && w.Name != "expect" {
			t.Errorf("nothing makes the devices of the rule %s", w.Name)
		}
	}
}
