package predict

import (
	"math"
	"testing"

	"example.org/walkback/netlist"
)

// TestFiguresOfADMatrix computes the testability figures for the five faults and
// five tests of Pattipati and Alexandridis, IEEE Transactions on Systems, Man and
// Cybernetics 20 (1990), with failure rates of .01, .02, .10, .05 and .12: fraction
// detected, fraction of the detected isolated to at most n items, expected and
// average size of the groups, as IEEE 1522-2004 and MIL-HDBK-2165 define them
// (definitions from memory; the figures worked out by hand and again by exact
// arithmetic).
func TestFiguresOfADMatrix(t *testing.T) {
	matrix := [][]uint16{{0, 1, 0, 0, 1}, {0, 0, 1, 1, 0}, {1, 0, 0, 1, 1}, {1, 1, 0, 0, 0}, {1, 1, 1, 1, 0}}
	rates := []float64{.01, .02, .10, .05, .12}
	for _, c := range []struct {
		name     string
		tests    []int
		detected float64
		isolated []float64
		size     float64
		average  float64
	}{
		{"all tests", []int{0, 1, 2, 3, 4}, 1, []float64{1}, 1, 1},
		{"T1 and T2", []int{0, 1}, .28 / .30, []float64{.11 / .28, 1}, (.11 + 2*.17) / .28, 4.0 / 3},
		{"T1", []int{0}, .27 / .30, []float64{0, 0, 1}, 3, 3},
		{"T1, T2 and T3", []int{0, 1, 2}, 1, []float64{1}, 1, 1},
	} {
		d := &Dictionary{Weight: rates, Healthy: make([]uint16, len(c.tests))}
		for i, row := range matrix {
			var classes []uint16
			for _, k := range c.tests {
				classes = append(classes, row[k])
			}
			d.Classes = append(d.Classes, classes)
			d.Faults = append(d.Faults, Hypothesis{Faults: []Fault{{Part: netlist.PartID(i)}}})
		}
		d.group()
		f := d.Figures()
		near := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-12 {
				t.Errorf("%s: %s is %.9f, want %.9f", c.name, what, got, want)
			}
		}
		near("the fraction detected", f.Detected, c.detected)
		near("the expected group size", f.GroupSize, c.size)
		near("the average group size", f.Average, c.average)
		if len(f.Isolated) != len(c.isolated) {
			t.Fatalf("%s: isolated %v, want %v", c.name, f.Isolated, c.isolated)
		}
		for n, x := range c.isolated {
			near("the fraction isolated", f.Isolated[n], x)
		}
	}
}
