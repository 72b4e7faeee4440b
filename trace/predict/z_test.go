package predict

import (
	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"fmt"
	"math"
	"testing"
	"time"
)

func TestZ(t *testing.T) {
	for _, n := range boards.Names() {
		src, _ := boards.Source(n)
		b, _ := netlist.Read("x", src)
		t0 := time.Now()
		m := New(b)
		fmt.Println(n, "model", time.Since(t0), "latches", m.latches)
		t0 = time.Now()
		var hs []Hypothesis
		for _, f := range m.AllFaults() {
			hs = append(hs, m.Suppose(f))
		}
		fmt.Println("suppose", time.Since(t0), len(hs))
		for range 3 {
			t0 = time.Now()
			k, mv, un := 0, 0, 0
			for st := range States(b) {
				for _, r := range m.Sweep(st, hs) {
					k++
					mv += len(r.s.moved)
					if len(r.s.unsteady) > 0 {
						un++
					}
				}
			}
			fmt.Println("sweep", time.Since(t0), k, "runs", time.Since(t0)/time.Duration(k), "moved avg", mv/k, "unsteady", un)
		}
		bad := 0
		for st := range States(b) {
			for i, r := range m.Sweep(st, hs) {
				c := m.newSim()
				c.start(st.Setting, false)
				for _, f := range hs[i].Faults {
					c.apply(f)
				}
				for _, bl := range hs[i].Blown {
					for _, f := range m.fuses {
						if f.part == bl.Part {
							c.cut(f.branch)
						}
					}
				}
				c.run()
				for n := range c.v {
					if math.Abs(c.v[n]-r.s.v[n]) > 1e-9*(1+math.Abs(c.v[n])) || math.Abs(c.ac[n]-r.s.ac[n]) > 1e-9 {
						bad++
						if bad < 20 {
							fmt.Println("differs", b.SettingText(st.Setting), m.Name(hs[i].Faults[0]), b.Nets[n-1].Name, "warm", r.s.v[n], r.s.ac[n], "cold", c.v[n], c.ac[n], hs[i].Blown, c.blown, r.s.unsteady, c.unsteady)
						}
						break
					}
				}
			}
		}
		fmt.Println("bad", bad)
		for _, h := range hs {
			if len(h.Blown) > 0 {
				fmt.Print(m.Name(h.Faults[0]), " blows ")
				for _, x := range h.Blown {
					fmt.Printf("%s %.1fA ", b.Parts[x.Part].Name, x.Amps)
				}
				fmt.Print("; ")
			}
		}
		fmt.Println()
	}
}
