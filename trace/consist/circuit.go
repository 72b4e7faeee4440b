package consist

import (
	"fmt"
	"maps"
	"slices"
)

// A Circuit is a combinational circuit of gates.
type Circuit struct {
	names   []string // nets: the inputs, then the outputs of the gates in order
	net     map[string]int
	inputs  int
	outputs []int
	gates   []gate // gate g drives net inputs+g and is fed by nets before that
}

type gate struct {
	op     op
	invert bool
	in     []int
}

type op uint8

const (
	opAnd op = iota
	opOr
	opXor
)

// benchKinds is the table of gates. All are one of three operations, then perhaps inverted.
var benchKinds = map[string]struct {
	op     op
	invert bool
	one    bool // takes one input
}{
	"AND": {op: opAnd}, "NAND": {op: opAnd, invert: true},
	"OR": {op: opOr}, "NOR": {op: opOr, invert: true},
	"XOR": {op: opXor}, "XNOR": {op: opXor, invert: true},
	"NOT": {invert: true, one: true}, "INV": {invert: true, one: true},
	"BUF": {one: true}, "BUFF": {one: true},
}

// Inputs returns the names of the inputs, in the order of the file.
func (c *Circuit) Inputs() []string { return c.named(0, c.inputs) }

// Gates returns the names of the gates, which are those of the nets they drive.
func (c *Circuit) Gates() []string { return c.named(c.inputs, len(c.names)) }

// Outputs returns the names of the outputs, in the order of the file.
func (c *Circuit) Outputs() []string {
	var out []string
	for _, n := range c.outputs {
		out = append(out, c.names[n])
	}
	return out
}

func (c *Circuit) named(from, to int) []string { return slices.Clone(c.names[from:to]) }

// Eval returns the value of each net of the healthy circuit.
func (c *Circuit) Eval(inputs map[string]bool) (map[string]bool, error) {
	o, err := c.Observe(inputs)
	if err != nil {
		return nil, err
	}
	out := map[string]bool{}
	for n, name := range c.names {
		out[name] = o.healthy[n]&1 != 0
	}
	return out, nil
}

// Observe returns the circuit with what was seen on its nets: on every input, and on any
// outputs and nets between. Its statements are "gate g is healthy"; a gate that is not may
// give any value.
func (c *Circuit) Observe(seen map[string]bool) (*Observed, error) {
	o := &Observed{c: c, want: make([]int8, len(c.names)), healthy: make([]uint64, len(c.names))}
	for n := range o.want {
		o.want[n] = -1
	}
	known := 0
	for n, name := range c.names {
		v, ok := seen[name]
		if ok {
			known++
		}
		switch {
		case n < c.inputs && !ok:
			return nil, fmt.Errorf("input %s has no value", name)
		case n < c.inputs:
			o.healthy[n] = spread(v)
		case ok:
			o.want[n] = int8(spread(v) & 1)
		}
	}
	if known < len(seen) {
		for _, name := range slices.Sorted(maps.Keys(seen)) {
			if _, ok := c.net[name]; !ok {
				return nil, fmt.Errorf("no net %s", name)
			}
		}
	}
	o.prepare()
	return o, nil
}

func spread(v bool) uint64 {
	if v {
		return ^uint64(0)
	}
	return 0
}
