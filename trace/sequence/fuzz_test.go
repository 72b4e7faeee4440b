package sequence

import (
	"math"
	"slices"
	"testing"
)

// reader makes numbers out of bytes; it gives 0 when there are no more.
type reader []byte

func (r *reader) byte() int {
	if len(*r) == 0 {
		return 0
	}
	b := (*r)[0]
	*r = (*r)[1:]
	return int(b)
}

// small is mostly from 0 to n, and sometimes below or above.
func (r *reader) small(n int) int {
	b := r.byte()
	if b == 255 {
		return r.byte() - 128
	}
	return b % (n + 1)
}

func (r *reader) number() float64 {
	switch b := r.byte(); b {
	case 250:
		return math.NaN()
	case 251:
		return math.Inf(1)
	case 252:
		return math.MaxFloat64
	case 253:
		return math.SmallestNonzeroFloat64
	case 254:
		return -1
	default:
		return float64(b)
	}
}

func (r *reader) list(n int) []int {
	list := make([]int, r.byte()%8)
	for i := range list {
		list[i] = r.small(n)
	}
	return slices.Clip(list)
}

// wild makes a problem in which lengths, numbers and places need not fit.
func (r *reader) wild() *Problem {
	n, conditions := r.byte()%9, r.byte()%4
	p := &Problem{Start: r.small(conditions)}
	for range n {
		p.Weights = append(p.Weights, r.number())
	}
	if r.byte()%2 == 1 {
		for range r.near(n) {
			p.Group = append(p.Group, r.small(5))
		}
	}
	for range conditions {
		row := make([]float64, r.near(conditions))
		for j := range row {
			row[j] = r.number()
		}
		if i := len(p.Change); i < len(row) && r.byte() < 250 {
			row[i] = 0
		}
		p.Change = append(p.Change, row)
	}
	for range r.byte() % 9 {
		probe := Probe{Cost: r.number(), Condition: r.small(max(conditions-1, 0)), Outcome: make([]uint16, r.near(n))}
		for h := range probe.Outcome {
			probe.Outcome[h] = uint16(r.small(3))
		}
		for range r.byte() % 3 {
			g := Guard{Probe: r.small(8)}
			for range r.byte() % 3 {
				g.Pass = append(g.Pass, uint16(r.small(3)))
			}
			probe.After = append(probe.After, g)
		}
		p.Probes = append(p.Probes, probe)
	}
	if r.byte()%2 == 1 {
		prices := make([]float64, 6)
		for i := range prices {
			prices[i] = 20 * r.number()
		}
		for h := range r.near(n) {
			g := h
			if h < len(p.Group) {
				g = p.Group[h]
			}
			p.Act = append(p.Act, prices[(g%6+6)%6])
		}
	}
	return p
}

// near is mostly n.
func (r *reader) near(n int) int {
	if b := r.byte(); b >= 252 {
		return b - 252
	}
	return n
}

// FuzzPlan: no problem makes the package panic, and what it plans holds together.
func FuzzPlan(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{4, 2, 0, 9, 9, 9, 9, 0, 0, 0, 7, 0, 0, 5, 0, 0, 3, 3, 0, 0, 0, 0, 0, 1, 1, 0, 4, 1, 0, 0, 1, 0, 1, 1, 0, 0, 1})
	f.Add([]byte{5, 0, 0, 1, 2, 3, 4, 5, 1, 0, 1, 2, 3, 4, 0, 4, 6, 0, 0, 1, 2, 3, 0, 1, 1, 1, 1, 1, 7, 0, 0, 2, 2, 1, 0, 1, 0})
	f.Add([]byte{3, 3, 255, 0, 250, 1, 2, 254, 251, 252, 253})
	f.Fuzz(func(t *testing.T, data []byte) {
		r := reader(data)
		p := r.wild()
		budget := r.byte() * 40
		order := r.list(len(p.Probes))
		tree, err := Plan(p, budget)
		if err != nil {
			if _, err := Half(p); err == nil {
				t.Fatal("an error for Plan is none for Half")
			}
			return
		}
		sane(t, p, tree)
		for _, rule := range []func(*Problem) (*Tree, error){Half, gain} {
			tree, err := rule(p)
			if err != nil {
				t.Fatal(err)
			}
			sane(t, p, tree)
		}
		if tree, err := Evaluate(p, order); err == nil {
			sane(t, p, tree)
		}
	})
}

// sane checks that a tree ends with each suspect once and that its sums are in order.
func sane(t *testing.T, p *Problem, tree *Tree) {
	t.Helper()
	var all []int
	for _, leaf := range leaves(tree.Root) {
		all = append(all, leaf...)
	}
	slices.Sort(all)
	if want := upTo(len(p.Weights)); !slices.Equal(all, want) {
		t.Fatalf("the leaves hold %v, the suspects are %v", all, want)
	}
	slack := 1e-9 * (1 + tree.Worst)
	if !(tree.Expected >= 0 && tree.Expected <= tree.Worst+slack && tree.Lower >= 0) || math.IsInf(tree.Worst, 0) {
		t.Fatalf("expected %g, worst %g, lower bound %g", tree.Expected, tree.Worst, tree.Lower)
	}
	if tree.Optimal && math.Abs(tree.Expected-tree.Lower) > slack {
		t.Fatalf("optimal at %g with lower bound %g", tree.Expected, tree.Lower)
	}
}
