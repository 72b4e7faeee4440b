package predict

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

func TestSizesSpreadOverTheirRange(t *testing.T) {
	for i := range netlist.Kinds {
		k := &netlist.Kinds[i]
		for j := range k.Faults {
			f := Fault{Mode: &k.Faults[j]}
			r, list := f.Mode.Sizes, f.Sizes()
			if (r == netlist.Range{}) {
				if list != nil {
					t.Errorf("%s:%s has no range and the sizes %v", k.Name, f.Mode.Name, list)
				}
				continue
			}
			if !slices.IsSorted(list) || math.Abs(list[0]/r.Low-1) > 1e-9 || math.Abs(list[len(list)-1]/r.High-1) > 1e-9 {
				t.Errorf("%s:%s has the sizes %v for %v", k.Name, f.Mode.Name, list, r)
			}
			for n := range len(list) - 1 {
				if x := list[n+1] / list[n]; x > sizeStep*(1+1e-9) {
					t.Errorf("%s:%s steps by %g from %g", k.Name, f.Mode.Name, x, list[n])
				}
			}
			if v := f.Mode.Value; v < r.Low || v > r.High {
				t.Errorf("%s:%s is usually %g, outside %v", k.Name, f.Mode.Name, v, r)
			}
			if !f.Mode.Ohms() && slices.ContainsFunc(list, func(v float64) bool { return v > 1/nearOne*(1+1e-9) && v < nearOne*(1-1e-9) }) {
				t.Errorf("%s:%s has a factor near 1: %v", k.Name, f.Mode.Name, list)
			}
		}
	}
}

func TestParseSize(t *testing.T) {
	m := New(boardtest.Demo(t, "larkspur13")).Model
	for _, c := range []struct {
		text string
		size float64
	}{
		{"C34:short=8", 8}, {"c34:SHORT=8ohm", 8}, {"C34:drifted=1.5k", 1500}, {"R36:drifted=0.5", 0.5}, {"J2.23:leaky=2k2", 2200},
		{"C34:short", 0},
	} {
		list, err := m.ParseFault(c.text)
		if err != nil || len(list) != 1 || list[0].Size != c.size {
			t.Errorf("%s is %v, %v", c.text, list, err)
			continue
		}
		if again, err := m.ParseFault(m.Name(list[0])); err != nil || !slices.Equal(again, list) {
			t.Errorf("%s is written %s, which is %v, %v", c.text, m.Name(list[0]), again, err)
		}
	}
	for _, c := range []struct {
		text, msg     string
		column, width int
	}{
		{"C34:short=31", `"31" is not a size of short`, 11, 2}, {"C34:short=", `"" is not a size of short`, 10, 1},
		{"R36:drifted=2k", `"2k" is not a size of drifted`, 13, 2}, {"F3:open=3", "open has no size", 9, 1},
		{"C34:shrt=3", `does not fail by "shrt"`, 5, 4},
	} {
		_, err := m.ParseFault(c.text)
		var x mistake.Mistake
		ok := errors.As(err, &x)
		if !ok || !strings.Contains(x.Msg, c.msg) || x.Column != c.column || x.Width != c.width {
			t.Errorf("%s: %#v", c.text, err)
		}
	}
}

// An empty place in a row keeps dirt from bridging it no more than it keeps a probe.
func TestBridgesReachOverAnEmptyPin(t *testing.T) {
	for _, c := range [][3]string{
		{"larkspur13", "J2.23:bridge", "VBL"}, {"siskin15", "J2.2:bridge", "VBL"},
		{"teasel14", "J2.3:bridge", "VBL_SW"},
	} {
		m := New(boardtest.Demo(t, c[0]))
		list, err := m.ParseFault(c[1])
		if err != nil {
			t.Error(err)
			continue
		}
		net, _ := m.Board.Net(c[2])
		h := m.Suppose(list...)
		if healthy, bridged := m.Cold(true, Hypothesis{}).Ohms(net), m.Cold(true, h).Ohms(net); bridged >= healthy {
			t.Errorf("%s %s: %g Ω cold, %g Ω healthy", c[0], c[1], bridged, healthy)
		}
	}
}

// With all power out a resistance that grows moves what a meter reads one way only, in
// parallel and in series, since the circuit is one of resistances: what lies between two
// sizes of the grid lies between what they read.
func TestReadingsAreMonotoneInSize(t *testing.T) {
	for _, name := range []string{"larkspur13", "siskin15", "teasel14"} {
		m := New(boardtest.Demo(t, name))
		probes := slices.DeleteFunc(m.coldProbes(true), func(p Probe) bool { return p.Method == Diode })
		stretches, odd := 0, 0
		for _, f := range m.AllFaults() {
			list := f.Sizes()
			for i := range len(list) - 1 {
				if !f.Mode.Ohms() && list[i] < 1 && list[i+1] > 1 {
					continue
				}
				var read [3][]float64
				for k, size := range []float64{list[i], math.Sqrt(list[i] * list[i+1]), list[i+1]} {
					f.Size = size
					c := m.Cold(true, Hypothesis{Faults: []Fault{f}})
					for _, p := range probes {
						read[k] = append(read[k], c.Value(p))
					}
				}
				for j := range probes {
					low, high := min(read[0][j], read[2][j]), max(read[0][j], read[2][j])
					stretches++
					if v := read[1][j]; v < low*(1-1e-6)-1e-9 || v > high*(1+1e-6)+1e-9 {
						odd++
					}
				}
			}
		}
		if odd > stretches/1000 {
			t.Errorf("%s: %d of %d stretches read outside of their ends", name, odd, stretches)
		}
	}
}
