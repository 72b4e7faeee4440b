package circuit

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// imbalance returns the sum of the currents that leave a free node, the largest
// of them, and what rounding may make of the sum: the voltages are rounded to
// 2⁻⁵³, and their differences are multiplied by conductances. A
// picoampere is a hundredth of what a net at 1 V leaks.
func (c *Circuit) imbalance(n int32) (sum, largest, rounding float64) {
	const eps = 1.0 / (1 << 52)
	largest, rounding = math.Abs(c.Inject[n]), 1e-12
	for _, b := range c.At(n) {
		if l := c.Law[b]; l != nil {
			x := &c.Branches[b]
			k := l.segment(c.Across(b))
			largest = max(largest, math.Abs(c.Current(b)))
			terms := math.Abs(l.g[k]) * (math.Abs(c.V[x.A]) + math.Abs(c.V[x.B]))
			for j := range l.n {
				terms = max(terms, math.Abs(l.i[j])) // the segments meet to this
			}
			rounding += 8 * eps * terms
		}
	}
	return c.Leaving(n), largest, rounding
}

// tangle is a random network of resistors, junctions, sources at their limit and
// the other laws, with some nodes held.
func tangle(t *rapid.T) *Circuit {
	nodes := rapid.IntRange(1, 20).Draw(t, "nodes")
	node := rapid.IntRange(0, nodes)
	r := func() float64 { return math.Pow(10, rapid.Float64Range(-3, 6).Draw(t, "decade")) }
	volts := rapid.Float64Range(0.1, 30)
	var list []element
	for n := range rapid.IntRange(1, 4*nodes).Draw(t, "elements") {
		a, b := node.Draw(t, "a"), node.Draw(t, "b")
		if n < nodes {
			a = n + 1
		}
		e := element{int32(a), int32(b), nil}
		switch rapid.IntRange(0, 8).Draw(t, "law") {
		case 0, 1, 2:
			e.law = Conductor(r())
		case 3, 4:
			e.law = Junction(volts.Draw(t, "vf"), r())
		case 5:
			e.law = Clamping(volts.Draw(t, "low"), r(), volts.Draw(t, "high"), r())
		case 6:
			e.law = Limited(r(), rapid.Float64Range(1e-3, 5).Draw(t, "amps"))
		case 7:
			e.law = Drawing(rapid.Float64Range(1e-3, 5).Draw(t, "amps"), volts.Draw(t, "full"))
		default:
			e.law = Giving(rapid.Float64Range(1e-3, 5).Draw(t, "amps"), volts.Draw(t, "volts"))
		}
		list = append(list, e)
	}
	c := textbook(nodes, list...)
	clear(c.Shunt)
	for n := int32(1); n <= int32(nodes); n++ {
		if rapid.IntRange(0, 4).Draw(t, "held") == 0 {
			c.hold(n, rapid.Float64Range(-30, 30).Draw(t, "volts"))
		}
	}
	return c
}

// One solution, wherever the search begins (the uniqueness theorem of Duffin,
// Nonlinear networks, 1947, for monotone elements).
func TestOneSolutionFromAnyStart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := tangle(t)
		sv := NewSolver(c.Network)
		solve := func() []float64 {
			if !sv.Solve(c, c.everyNode()) {
				t.Fatal("no finite solution")
			}
			return slices.Clone(c.V)
		}
		first := solve()
		for _, n := range c.everyNode() {
			if c.Held[n] {
				continue
			}
			if sum, largest, rounding := c.imbalance(n); !(math.Abs(sum) <= 1e-9*largest+rounding) {
				t.Errorf("node %d: %g A too much beside %g A", n, sum, largest)
			}
		}
		for _, n := range c.everyNode() {
			if c.Held[n] {
				continue
			}
			c.V[n] = rapid.Float64Range(-1000, 1000).Draw(t, "start")
		}
		second := solve()
		// What rounding leaves of the currents moves a node by no more than this
		// times its resistance to ground, which is large where leaks alone hold it.
		total := 0.0
		for _, n := range c.everyNode() {
			_, _, rounding := c.imbalance(n)
			total += rounding
		}
		sv.invert(c)
		for _, n := range c.everyNode() {
			if d := math.Abs(first[n] - second[n]); !c.Held[n] && !(d <= 1e-9*(1+math.Abs(first[n]))+total*sv.zdiag[n]) {
				t.Errorf("node %d: %.15g V, from another start %.15g V", n, first[n], second[n])
			}
		}
	})
}

// What an update of the inverse and a start from the old solution give is what new
// factors and a start from nothing do, and a transfer resistance is the same both
// ways (reciprocity: Tellegen's theorem; Desoer and Kuh, Basic Circuit Theory, from
// memory).
func TestChangesAgreeWithSolvingAnew(t *testing.T) {
	updates := 0
	rapid.Check(t, func(t *rapid.T) {
		base := tangle(t)
		clear(base.Held)
		clear(base.V)
		for b, l := range base.Law {
			if l.At(0) != 0 {
				base.Law[b] = nil // a source
			}
		}
		own := New(base.Network)
		own.CopyFrom(base)
		for range rapid.IntRange(1, 2).Draw(t, "changes") {
			b := rapid.IntRange(0, len(own.Law)-1).Draw(t, "branch")
			own.Law[b] = Conductor(math.Pow(10, rapid.Float64Range(-3, 6).Draw(t, "decade")))
		}
		const amps = 1e-3
		fresh := New(base.Network)
		fresh.CopyFrom(own)
		anew, c := NewInverse(fresh, amps), NewInverse(base, amps).Change(own)
		node := rapid.Int32Range(0, int32(base.Nodes)-1)
		a, b := node.Draw(t, "a"), node.Draw(t, "b")
		if c.full == nil {
			updates++
		}
		// An update may lose digits down to exactEnough of what was there.
		if got, want := c.Ohms(a, b), anew.Ohms(a, b); math.Abs(got-want) > 1e-9*max(want, c.v.Ohms(a, b)) {
			t.Errorf("%d to %d: %.12g Ω, anew %.12g Ω", a, b, got, want)
		}
		if a == 0 {
			return
		}
		got, ok := c.Take(a, 0)
		want, found := anew.Take(a)
		if ok != found || ok && math.Abs(got-want) > 1e-8*(1+math.Abs(want)) {
			t.Errorf("node %d: %.12g V (%v), anew %.12g V (%v)", a, got, ok, want, found)
		}
		if b != 0 {
			anew.sv.response(fresh, a, 0)
			there := anew.sv.next[b]
			anew.sv.response(fresh, b, 0)
			if back := anew.sv.next[a]; math.Abs(there-back) > 1e-9*max(there, back) {
				t.Errorf("%d to %d: %.12g Ω one way, %.12g Ω the other", a, b, there, back)
			}
		}
	})
	if updates == 0 {
		t.Error("no inverse was updated")
	}
}
