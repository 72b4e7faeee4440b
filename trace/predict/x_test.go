package predict

import (
	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"fmt"
	"testing"
	"time"
)

func TestX(t *testing.T) {
	for _, n := range boards.Names() {
		src, _ := boards.Source(n)
		b, _ := netlist.Read(n, src)
		m := New(b)
		fmt.Println(n, "nodes", m.net.nodes, "branches", len(m.net.branches), "slots", m.net.slots, "devices", len(m.devices), "faults", len(m.AllFaults()), "isles", len(m.isles), "unknown", m.Unknown)
		set := b.Usual()
		for {
			s := m.newSim()
			t0 := time.Now()
			s.start(set, false)
			s.run()
			fmt.Println(b.SettingText(set), "took", time.Since(t0), "failed", s.failed, "unsteady", s.unsteady, "blown", s.blown)
			for i := range b.Nets {
				e, ok := b.ExpectIn(netlist.NetID(i), set)
				v := s.v[m.node(netlist.NetID(i))]
				if ok && (v < e.Low() || v > e.High()) {
					fmt.Printf("  %s computed %.3f declared %.3f ±%.0f%% ac %.3f\n", b.Nets[i].Name, v, e.Value, e.Tol*100, s.ac[m.node(netlist.NetID(i))])
				}
			}
			fmt.Println("  facts", s.fact, "lanes", s.lane)
			k := 0
			for ; k < len(set); k++ {
				set[k]++
				if set[k] < len(b.States[k].Values) {
					break
				}
				set[k] = 0
			}
			if k == len(set) {
				break
			}
		}
	}
}
