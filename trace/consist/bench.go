package consist

import (
	"fmt"
	"slices"
	"strings"
)

// ParseBench reads a circuit in the .bench format of the ISCAS-85 circuits:
//
//	INPUT(a)
//	INPUT(b)
//	OUTPUT(y)
//	y = NAND(a, b)
//
// A # starts a comment. Gates are numbered so that each follows those that feed it, and
// otherwise as they are written.
func ParseBench(src string) (*Circuit, error) {
	p := &benchParser{at: map[string]int{}}
	var inputs, outputs []benchLine
	for i, line := range strings.Split(src, "\n") {
		line, _, _ = strings.Cut(line, "#")
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		l, err := parseBenchLine(line)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", i+1, err)
		}
		l.line = i + 1
		switch {
		case l.name != "":
			p.gates = append(p.gates, l)
		case l.kind == "INPUT":
			inputs = append(inputs, l)
		default:
			outputs = append(outputs, l)
		}
	}
	c := &Circuit{inputs: len(inputs), net: map[string]int{}}
	for _, l := range inputs {
		if err := c.addNet(l.args[0]); err != nil {
			return nil, fmt.Errorf("line %d: %w", l.line, err)
		}
	}
	if err := p.place(c); err != nil {
		return nil, err
	}
	for _, l := range outputs {
		n, ok := c.net[l.args[0]]
		if !ok {
			return nil, fmt.Errorf("line %d: output %s has no gate", l.line, l.args[0])
		}
		c.outputs = append(c.outputs, n)
	}
	return c, nil
}

// benchLine is INPUT(args[0]), OUTPUT(args[0]) or name = kind(args).
type benchLine struct {
	line int
	name string
	kind string
	args []string
}

type benchParser struct {
	gates []benchLine
	at    map[string]int // the gate that gives a net
}

func parseBenchLine(line string) (benchLine, error) {
	var l benchLine
	head, args, ok := strings.Cut(line, "(")
	args, tail, closed := strings.Cut(args, ")")
	if !ok || !closed || strings.TrimSpace(tail) != "" {
		return l, fmt.Errorf("want INPUT(net), OUTPUT(net) or net = KIND(net, ...), have %q", line)
	}
	name, kind, gate := strings.Cut(head, "=")
	if !gate {
		name, kind = "", head
	}
	l.name, l.kind = strings.TrimSpace(name), strings.ToUpper(strings.TrimSpace(kind))
	for _, a := range strings.Split(args, ",") {
		l.args = append(l.args, strings.TrimSpace(a))
	}
	names := l.args
	if gate {
		names = slices.Concat(names, []string{l.name})
	}
	for _, n := range names {
		if n == "" || strings.ContainsAny(n, "=(), \t") {
			return l, fmt.Errorf("%q is no net name", n)
		}
	}
	op, known := benchKinds[l.kind]
	switch {
	case !gate && l.kind != "INPUT" && l.kind != "OUTPUT":
		return l, fmt.Errorf("unknown statement %q", l.kind)
	case gate && !known:
		return l, fmt.Errorf("unknown gate %q", l.kind)
	case (!gate || op.one) && len(l.args) != 1:
		return l, fmt.Errorf("%s takes one net, have %d", l.kind, len(l.args))
	}
	return l, nil
}

// place adds the gates, each after those that feed it.
func (p *benchParser) place(c *Circuit) error {
	for i, g := range p.gates {
		if _, twice := p.at[g.name]; twice {
			return fmt.Errorf("line %d: net %s has two gates", g.line, g.name)
		}
		p.at[g.name] = i
	}
	// A gate is entered, and what feeds it goes above it on the stack; once that is
	// placed, the gate is. What is entered and not placed waits for the gate above it.
	entered := make([]bool, len(p.gates))
	for i := range p.gates {
		for stack := []int{i}; len(stack) > 0; {
			top := stack[len(stack)-1]
			g := p.gates[top]
			if _, placed := c.net[g.name]; placed && entered[top] {
				stack = stack[:len(stack)-1]
				continue
			}
			entered[top] = true
			depth := len(stack)
			for _, a := range g.args {
				if _, ready := c.net[a]; ready {
					continue
				}
				f, ok := p.at[a]
				switch {
				case !ok:
					return fmt.Errorf("line %d: net %s has neither input nor gate", g.line, a)
				case entered[f]:
					return fmt.Errorf("line %d: net %s depends on itself", g.line, g.name)
				}
				stack = append(stack, f)
			}
			if len(stack) > depth {
				continue
			}
			if err := c.addGate(g); err != nil {
				return err
			}
			stack = stack[:len(stack)-1]
		}
	}
	return nil
}

func (c *Circuit) addGate(l benchLine) error {
	k := benchKinds[l.kind]
	g := gate{op: k.op, invert: k.invert}
	for _, a := range l.args {
		g.in = append(g.in, c.net[a])
	}
	if err := c.addNet(l.name); err != nil {
		return fmt.Errorf("line %d: %w", l.line, err)
	}
	c.gates = append(c.gates, g)
	return nil
}

func (c *Circuit) addNet(name string) error {
	if _, twice := c.net[name]; twice {
		return fmt.Errorf("net %s is given twice", name)
	}
	c.net[name] = len(c.names)
	c.names = append(c.names, name)
	return nil
}

// A Case is an observation of a circuit with a known fault.
type Case struct {
	Circuit  string
	Injected string          // the gate that was made wrong
	Seen     map[string]bool // inputs and outputs
}

// ParseCases reads observations, one a line, in four fields with tabs between them:
// circuit, gate, inputs and outputs as net=0 or net=1 with commas between them.
func ParseCases(src string) ([]Case, error) {
	var out []Case
	for i, line := range strings.Split(src, "\n") {
		line = strings.TrimRight(line, "\r")
		if strings.TrimSpace(line) == "" {
			continue
		}
		f := strings.Split(line, "\t")
		if len(f) != 4 {
			return nil, fmt.Errorf("line %d: want 4 fields, have %d", i+1, len(f))
		}
		c := Case{Circuit: f[0], Injected: f[1], Seen: map[string]bool{}}
		for _, term := range strings.Split(f[2]+","+f[3], ",") {
			name, value, _ := strings.Cut(term, "=")
			if name == "" || value != "0" && value != "1" {
				return nil, fmt.Errorf("line %d: want net=0 or net=1, have %q", i+1, term)
			}
			if old, twice := c.Seen[name]; twice && old != (value == "1") {
				return nil, fmt.Errorf("line %d: net %s is both 0 and 1", i+1, name)
			}
			c.Seen[name] = value == "1"
		}
		out = append(out, c)
	}
	return out, nil
}
