package predict

import (
	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"fmt"
	"math"
	"testing"
	"time"
)

func TestW(t *testing.T) {
	for _, n := range boards.Names() {
		src, _ := boards.Source(n)
		b, _ := netlist.Read("x", src)
		m := New(b)
		var hs []Hypothesis
		for _, f := range m.AllFaults() {
			hs = append(hs, m.Suppose(f))
		}
		for rep := range 2 {
			up, full := 0, 0
			t0 := time.Now()
			sum := 0.0
			for _, un := range []bool{true, false} {
				for _, h := range hs {
					c := m.Cold(un, h)
					for i := range b.Nets {
						sum += c.Ohms(netlist.NetID(i))
					}
					if c.full != nil {
						full++
					} else if c.own != nil {
						up++
					}
				}
			}
			t1 := time.Now()
			dio := 0
			for _, un := range []bool{true, false} {
				for _, h := range hs {
					c := m.Cold(un, h)
					for i := range b.Nets {
						sum += c.Diode(netlist.NetID(i))
						_ = i
						if c.own != nil && !c.unmoved(c.base.probe(m, int32(i+1))) {
							dio++
						}
					}
				}
			}
			fmt.Println(n, rep, "ohms", t1.Sub(t0), "diode", time.Since(t1), "updates", up, "full", full, "diode solves", dio)
		}
		worst := 0.0
		wd := 0.0
		for _, un := range []bool{true, false} {
			for _, h := range hs {
				c := m.Cold(un, h)
				if c.own == nil {
					continue
				}
				o := make([]float64, len(b.Nets))
				dd := make([]float64, len(b.Nets))
				for i := range b.Nets {
					o[i] = c.Ohms(netlist.NetID(i))
					dd[i] = c.Diode(netlist.NetID(i))
				}
				c.refactor()
				for i := range b.Nets {
					p := c.Ohms(netlist.NetID(i))
					if !math.IsInf(p, 1) && p != 0 {
						e := math.Abs(p-o[i]) / p
						if e > worst {
							worst = e
							fmt.Println(m.Name(h.Faults[0]), b.Nets[i].Name, p, o[i], e)
						}
					}
					if b.Nets[i].Ground {
						continue
					}
					clear(c.own.v)
					q := m.diode(&c.own.circuit, int32(i+1))
					if !math.IsInf(q, 1) {
						if e := math.Abs(q - dd[i]); e > wd {
							wd = e
							fmt.Println("diode", m.Name(h.Faults[0]), b.Nets[i].Name, q, dd[i], e)
						}
					} else if !math.IsInf(dd[i], 1) {
						fmt.Println("inf", m.Name(h.Faults[0]), b.Nets[i].Name, dd[i])
					}
				}
			}
		}
		fmt.Println("worst", worst, wd)
	}
}
