package consist

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// circuit is a combinational circuit; its statements are "gate g is healthy", and a gate
// that is not may give any value.
type circuit struct {
	inputs, outputs []string
	gates           []gate // each fed by inputs and by gates before it
}

type gate struct {
	name string
	op   func(a, b bool) bool
	a, b string
}

func (c circuit) names() []string {
	var out []string
	for _, g := range c.gates {
		out = append(out, g.name)
	}
	return out
}

// eval returns the value of each net, where the gates that are given up give the bits of values.
func (c circuit) eval(seen map[string]bool, without []int, values int) map[string]bool {
	v := map[string]bool{}
	for _, name := range c.inputs {
		v[name] = seen[name]
	}
	for i, g := range c.gates {
		v[g.name] = g.op(v[g.a], v[g.b])
		if k := slices.Index(without, i); k >= 0 {
			v[g.name] = values>>k&1 != 0
		}
	}
	return v
}

// explained tries every value of the gates that are not healthy.
func (c circuit) explained(seen map[string]bool) func(healthy []int) bool {
	return func(healthy []int) bool {
		without := rest(len(c.gates), healthy)
		for values := range 1 << len(without) {
			v := c.eval(seen, without, values)
			if !slices.ContainsFunc(c.outputs, func(name string) bool { return v[name] != seen[name] }) {
				return true
			}
		}
		return false
	}
}

func and(a, b bool) bool  { return a && b }
func or(a, b bool) bool   { return a || b }
func xor(a, b bool) bool  { return a != b }
func nand(a, b bool) bool { return !a || !b }

// R. Reiter, "A theory of diagnosis from first principles", Artificial Intelligence 32
// (1987) 57-95: the full adder X1, X2 (XOR), A1, A2 (AND), O1 (OR), inputs 1, 0, 1, sum
// seen 1 and carry seen 0.
var fullAdder = circuit{[]string{"a", "b", "cin"}, []string{"X2", "O1"}, []gate{
	{"X1", xor, "a", "b"}, {"X2", xor, "X1", "cin"}, {"A1", and, "a", "b"}, {"A2", and, "X1", "cin"}, {"O1", or, "A1", "A2"},
}}

func TestPublishedFullAdder(t *testing.T) {
	c := fullAdder
	explained := c.explained(map[string]bool{"a": true, "b": false, "cin": true, "X2": true, "O1": false})
	conflicts, diagnoses := checkConflicts(t, 5, explained)
	if got, want := named(c.names(), conflicts), "{X1,X2} {X1,A2,O1}"; got != want {
		t.Errorf("conflicts %s, want %s", got, want)
	}
	if got, want := named(c.names(), diagnoses), "{X1} {X2,A2} {X2,O1}"; got != want {
		t.Errorf("diagnoses %s, want %s", got, want)
	}
	consistent := 0
	for set := range subsets(5) {
		if explained(set) {
			consistent++
		}
	}
	if consistent != 22 {
		t.Errorf("%d of 32 sets are consistent, want 22", consistent)
	}
	// Another wrong answer of the same circuit, by exhaustive enumeration.
	_, diagnoses = checkConflicts(t, 5, c.explained(map[string]bool{"a": true, "b": true, "cin": true}))
	if got, want := named(c.names(), diagnoses), "{X1,O1} {X2,A1} {X2,O1} {X1,A1,A2}"; got != want {
		t.Errorf("inputs 1,1,1, outputs 0,0: %s, want %s", got, want)
	}
}

// ISCAS-85 c17 (F. Brglez and H. Fujiwara, ISCAS 1985), all 32 inputs with each of the three
// wrong outputs: 96 cases, by brute force over the 64 sets of gates. In 83 cases one gate
// explains what was seen, in 13 it takes two; there are 399 minimal diagnoses. Outputs 22 and
// 23 are each 1 for 18 of the 32 inputs.
func TestPublishedC17(t *testing.T) {
	c := circuit{[]string{"1", "2", "3", "6", "7"}, []string{"22", "23"}, []gate{
		{"10", nand, "1", "3"}, {"11", nand, "3", "6"}, {"16", nand, "2", "11"},
		{"19", nand, "11", "7"}, {"22", nand, "10", "16"}, {"23", nand, "16", "19"},
	}}
	total, cardinality, number, ones := 0, map[int]int{}, map[int]int{}, map[string]int{}
	for in := range 32 {
		seen := map[string]bool{}
		for i, name := range c.inputs {
			seen[name] = in>>i&1 != 0
		}
		healthy := c.eval(seen, nil, 0)
		for wrong := 1; wrong < 4; wrong++ {
			for i, name := range c.outputs {
				seen[name] = healthy[name] != (wrong>>i&1 != 0)
			}
			_, d := checkConflicts(t, len(c.gates), c.explained(seen))
			total += len(d)
			number[len(d)]++
			cardinality[len(d[0])]++
		}
		for _, name := range c.outputs {
			if healthy[name] {
				ones[name]++
			}
		}
	}
	if total != 399 {
		t.Errorf("%d minimal diagnoses, want 399", total)
	}
	if diff := cmp.Diff(map[int]int{1: 83, 2: 13}, cardinality); diff != "" {
		t.Errorf("cases by least number of gates (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(map[int]int{2: 6, 3: 33, 4: 18, 5: 26, 6: 5, 7: 8}, number); diff != "" {
		t.Errorf("cases by number of minimal diagnoses (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(map[string]int{"22": 18, "23": 18}, ones); diff != "" {
		t.Errorf("inputs for which an output is 1 (-want +got):\n%s", diff)
	}
}
