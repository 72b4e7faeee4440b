package bench

import (
	"flag"
	"math"
	"testing"

	"example.org/walkback/netlist"
)

var shopSpecimens = flag.Int("shop-specimens", 1, "good specimens of each board that the shop's engine is held to the file on")

// settings lists every state of a board.
func settings(b *netlist.Board) []netlist.Setting {
	list := []netlist.Setting{b.Usual()}
	for i := range b.States {
		for v := 1; v < len(b.States[i].Values); v++ {
			s := b.Usual()
			s[i] = v
			list = append(list, s)
		}
	}
	return list
}

// TestShopEngineAgreesWithTheFiles holds the shop's own engine to what the files of the
// demo boards say of good boards, in every state: it was told none of the volts that
// regulators, dividers, strings and switches make of each other.
func TestShopEngineAgreesWithTheFiles(t *testing.T) {
	for _, name := range shopBoards {
		b := shopBoard(t, name)
		for seed := range uint64(*shopSpecimens) {
			s := newSpecimen(b, seed, false, nil)
			for _, setting := range settings(b) {
				s.switchTo(setting, false, true)
				if s.unsteady {
					t.Errorf("%s %v does not come to rest", name, setting)
				}
				for i := range b.Nets {
					e, ok := b.ExpectIn(netlist.NetID(i), setting)
					n := &b.Nets[i]
					if !ok || !n.Declared || n.Ground {
						continue
					}
					tol := min(max(2*e.Tol*math.Abs(e.Value), 0.25), max(0.45, 0.3*math.Abs(e.Value)))
					if v := s.v[s.at[i]]; !(math.Abs(v-e.Value) <= tol) {
						t.Errorf("%s %s %s: %.3g V, the file has %.3g", name, n.Name, b.SettingText(setting), v, e.Value)
					}
					if alive := s.moving[i] > aliveFrom; alive != (e.Swing > 0) && e.Swing > 0 {
						t.Errorf("%s %s %s moves by %.3g V, the file has %.3g", name, n.Name, b.SettingText(setting), s.moving[i], e.Swing)
					}
				}
			}
			s.switchTo(b.Usual(), false, true)
			for f := range b.Facts {
				if !s.facts[f] {
					t.Errorf("%s: %s does not hold", name, b.Facts[f].Name)
				}
			}
			for i := range b.Nets {
				n := &b.Nets[i]
				if !n.Declared || n.Ground {
					continue
				}
				if n.Cold.Value > 0 {
					if v := s.value(netlist.ColdProbe(netlist.Ohms, netlist.NetID(i), netlist.None)); v < n.Cold.Value/1.6 || v > n.Cold.Value*1.6 {
						t.Errorf("%s %s: %.3g Ω cold, the file has %.3g", name, n.Name, v, n.Cold.Value)
					}
				}
				if n.Diode.Value > 0 {
					if v := s.value(netlist.ColdProbe(netlist.Diode, netlist.NetID(i), netlist.None)); !(math.Abs(v-n.Diode.Value) <= 0.06) {
						t.Errorf("%s %s: diode %.3g V, the file has %.3g", name, n.Name, v, n.Diode.Value)
					}
				}
			}
		}
	}
}

var shopBoards = []string{"larkspur13", "siskin15", "teasel14", "dunlin11"}
