package consist

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// subsets yields all sets of numbers below n.
func subsets(n int) iter.Seq[[]int] {
	return func(yield func([]int) bool) {
		for mask := range 1 << n {
			set := []int{}
			for i := range n {
				if mask>>i&1 != 0 {
					set = append(set, i)
				}
			}
			if !yield(set) {
				return
			}
		}
	}
}

// minimal returns the sets that hold no other set for which the test is true, in order.
func minimal(n int, test func([]int) bool) [][]int {
	var out [][]int
	for set := range subsets(n) {
		if !test(set) {
			continue
		}
		least := true
		for k := range set {
			least = least && !test(slices.Delete(slices.Clone(set), k, k+1))
		}
		if least {
			out = append(out, set)
		}
	}
	slices.SortFunc(out, bySize)
	return out
}

func hits(set []int, sets [][]int) bool {
	for _, s := range sets {
		if !slices.ContainsFunc(s, func(i int) bool { return slices.Contains(set, i) }) {
			return false
		}
	}
	return true
}

func drawSets(t *rapid.T, n int) [][]int {
	var out [][]int
	for range rapid.IntRange(0, 8).Draw(t, "sets") {
		out = append(out, rapid.SliceOfNDistinct(rapid.IntRange(0, n-1), 1, n, rapid.ID[int]).Draw(t, "set"))
	}
	return out
}

var equateEmpty = cmpopts.EquateEmpty()

func TestHittingSetsAreThoseOfBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "n")
		sets := drawSets(t, n)
		most := rapid.IntRange(0, n).Draw(t, "most")
		want := slices.DeleteFunc(minimal(n, func(s []int) bool { return hits(s, sets) }), func(s []int) bool { return len(s) > most })
		if diff := cmp.Diff(want, HittingSets(sets, most), equateEmpty); diff != "" {
			t.Fatalf("(-want +got):\n%s", diff)
		}
	})
}

// A system made of known contradictions shows them again.
func TestReadingsAreThoseOfBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "n")
		contradictions := drawSets(t, n)
		asked := 0
		sys := Readings{N: n, Explained: func(readings []int) bool {
			asked++
			if !slices.IsSorted(readings) {
				t.Fatalf("asked for %v", readings)
			}
			return !slices.ContainsFunc(contradictions, func(c []int) bool { return within(c, readings) })
		}}
		checkSystem(t, sys)
		if asked == 0 {
			t.Fatal("never asked")
		}
	})
}

func within(small, large []int) bool {
	return !slices.ContainsFunc(small, func(i int) bool { return !slices.Contains(large, i) })
}

// checkSystem compares every answer about a small system with brute force.
func checkSystem(t *rapid.T, sys System) {
	n := sys.Len()
	diagnoses := minimal(n, sys.Consistent)
	conflicts := minimal(n, func(s []int) bool { return !sys.Consistent(rest(n, s)) })
	if diff := cmp.Diff(diagnoses, Diagnoses(sys, All), equateEmpty); diff != "" {
		t.Fatalf("diagnoses (-want +got):\n%s", diff)
	}
	most := rapid.IntRange(0, n).Draw(t, "most")
	few := slices.DeleteFunc(slices.Clone(diagnoses), func(d []int) bool { return len(d) > most })
	if diff := cmp.Diff(few, Diagnoses(sys, most), equateEmpty); diff != "" {
		t.Fatalf("diagnoses of at most %d (-want +got):\n%s", most, diff)
	}
	if diff := cmp.Diff(conflicts, Conflicts(sys, All), equateEmpty); diff != "" {
		t.Fatalf("conflicts (-want +got):\n%s", diff)
	}
	smallest := slices.DeleteFunc(slices.Clone(conflicts), func(c []int) bool { return len(c) > len(conflicts[0]) })
	if diff := cmp.Diff(smallest, SmallestConflicts(sys), equateEmpty); diff != "" {
		t.Fatalf("smallest conflicts (-want +got):\n%s", diff)
	}
	for _, c := range conflicts {
		for _, d := range diagnoses {
			if !hits(d, [][]int{c}) {
				t.Fatalf("conflict %v does not hit diagnosis %v", c, d)
			}
		}
	}
	without := rapid.SliceOfNDistinct(rapid.IntRange(0, n-1), 0, n, rapid.ID[int]).Draw(t, "without")
	slices.Sort(without)
	c, found := Conflict(sys, without)
	if found == sys.Consistent(without) {
		t.Fatalf("Conflict(%v) = %v, %v", without, c, found)
	}
	if found && (hits(without, [][]int{c}) || !slices.ContainsFunc(conflicts, func(k []int) bool { return slices.Equal(k, c) })) {
		t.Fatalf("Conflict(%v) = %v is not one of %v without these", without, c, conflicts)
	}
}

// drawCircuit returns a circuit in text, of gates that follow their inputs.
func drawCircuit(t *rapid.T, least, most int) *Circuit {
	kinds := []string{"AND", "NAND", "OR", "NOR", "XOR", "XNOR", "NOT", "BUFF"}
	inputs := rapid.IntRange(1, 4).Draw(t, "inputs")
	gates := rapid.IntRange(least, most).Draw(t, "gates")
	var src strings.Builder
	for i := range inputs {
		fmt.Fprintf(&src, "INPUT(n%d)\n", i)
	}
	for g := range gates {
		kind := rapid.SampledFrom(kinds).Draw(t, "kind")
		fan := 1
		if kind != "NOT" && kind != "BUFF" {
			fan = rapid.IntRange(1, 4).Draw(t, "fan")
		}
		var in []string
		for range fan {
			in = append(in, fmt.Sprintf("n%d", rapid.IntRange(0, inputs+g-1).Draw(t, "net")))
		}
		fmt.Fprintf(&src, "n%d = %s(%s)\n", inputs+g, kind, strings.Join(in, ", "))
	}
	c, err := ParseBench(src.String())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func drawSeen(t *rapid.T, c *Circuit) map[string]bool {
	seen := map[string]bool{}
	for _, name := range c.Inputs() {
		seen[name] = rapid.Bool().Draw(t, name)
	}
	for _, name := range c.Gates() {
		if rapid.IntRange(0, 2).Draw(t, "look") == 0 {
			seen[name] = rapid.Bool().Draw(t, name)
		}
	}
	return seen
}

// outputs evaluates a circuit one case at a time, with given values of the abnormal gates,
// and tells whether it shows what was seen.
func outputs(c *Circuit, seen map[int]bool, abnormal []int, values int) ([]bool, bool) {
	v := make([]bool, len(c.names))
	for n := range c.inputs {
		v[n] = seen[n]
	}
	agree := true
	for g, gate := range c.gates {
		ones := 0
		for _, n := range gate.in {
			if v[n] {
				ones++
			}
		}
		x := ones == len(gate.in)
		switch gate.op {
		case opOr:
			x = ones > 0
		case opXor:
			x = ones%2 == 1
		}
		x = x != gate.invert
		if k := slices.Index(abnormal, g); k >= 0 {
			x = values>>k&1 != 0
		}
		v[c.inputs+g] = x
		if want, ok := seen[c.inputs+g]; ok && want != x {
			agree = false
		}
	}
	return v, agree
}

// oracle is a System that tries all values of the abnormal gates one after the other.
type oracle struct {
	c    *Circuit
	seen map[int]bool // by net
}

func newOracle(c *Circuit, seen map[string]bool) oracle {
	o := oracle{c, map[int]bool{}}
	for name, v := range seen {
		o.seen[c.net[name]] = v
	}
	return o
}

func (o oracle) Len() int { return len(o.c.Gates()) }

func (o oracle) Consistent(without []int) bool {
	for values := range 1 << len(without) {
		if _, ok := outputs(o.c, o.seen, without, values); ok {
			return true
		}
	}
	return false
}

func (o oracle) predict(without []int, net string) (value, known bool) {
	var can [2]bool
	for values := range 1 << len(without) {
		if v, ok := outputs(o.c, o.seen, without, values); ok {
			can[spread(v[o.c.net[net]])&1] = true
		}
	}
	return can[1], can[0] != can[1]
}

func TestCircuitsAreThoseOfBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCircuit(t, 1, 7)
		seen := drawSeen(t, c)
		o, err := c.Observe(seen)
		if err != nil {
			t.Fatal(err)
		}
		slow := newOracle(c, seen)
		n := o.Len()
		for set := range subsets(n) {
			if o.Consistent(set) != slow.Consistent(set) {
				t.Fatalf("Consistent(%v) = %v", set, o.Consistent(set))
			}
			if got := o.solver().solve(o.assume(set)); got != slow.Consistent(set) {
				t.Fatalf("solver(%v) = %v", set, got)
			}
			if slow.Consistent(set) {
				continue
			}
			more := rest(n, set)
			want := slices.DeleteFunc(slices.Clone(more), func(g int) bool { return !slow.Consistent(with(set, g)) })
			if diff := cmp.Diff(want, o.Extend(set, more), equateEmpty); diff != "" {
				t.Fatalf("Extend(%v) (-want +got):\n%s", set, diff)
			}
			if r := o.Refute(set); hits(set, [][]int{r}) || slow.Consistent(rest(n, r)) {
				t.Fatalf("Refute(%v) = %v", set, r)
			}
		}
		checkSystem(t, o)
	})
}

// With many gates given up other ways are taken, with the same answers.
func TestManyAbnormalGates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCircuit(t, mostBits+2, mostBits+2)
		seen := drawSeen(t, c)
		o, err := c.Observe(seen)
		if err != nil {
			t.Fatal(err)
		}
		slow := newOracle(c, seen)
		n := o.Len()
		set := rapid.SliceOfNDistinct(rapid.IntRange(0, n-1), mostBits-1, n, rapid.ID[int]).Draw(t, "set")
		slices.Sort(set)
		consistent := slow.Consistent(set)
		if o.Consistent(set) != consistent {
			t.Fatalf("Consistent(%v) = %v", set, !consistent)
		}
		net := rapid.SampledFrom(c.Gates()).Draw(t, "net")
		v, known := o.Predict(set, net)
		if wantV, wantKnown := slow.predict(set, net); known != wantKnown || known && v != wantV {
			t.Fatalf("Predict(%v, %s) = %v, %v, want %v, %v", set, net, v, known, wantV, wantKnown)
		}
		if consistent {
			return
		}
		if r := o.Refute(set); hits(set, [][]int{r}) || slow.Consistent(rest(n, r)) {
			t.Fatalf("Refute(%v) = %v", set, r)
		}
		more := rest(n, set)
		want := slices.DeleteFunc(slices.Clone(more), func(g int) bool { return !slow.Consistent(with(set, g)) })
		if diff := cmp.Diff(want, o.Extend(set, more), equateEmpty); diff != "" {
			t.Fatalf("Extend(%v) (-want +got):\n%s", set, diff)
		}
	})
}

// A minimal conflict of a circuit of 160 gates: every diagnosis hits it, and giving up any
// gate of it takes it away.
func TestConflictsOfALargeCircuit(t *testing.T) {
	c := readBench(t, "c432.bench")
	for i, k := range readCases(t) {
		o := observe(t, c, k.Seen)
		conflict, found := Conflict(o, nil)
		if !found || len(conflict) == 0 {
			t.Fatalf("case %d: no conflict", i+1)
		}
		others := rest(o.Len(), conflict)
		if o.Consistent(others) {
			t.Errorf("case %d: %v can all be healthy", i+1, conflict)
		}
		for _, g := range conflict {
			if !o.Consistent(with(others, g)) {
				t.Errorf("case %d: the conflict does not need %s", i+1, c.Gates()[g])
			}
		}
		for _, d := range Diagnoses(o, 2) {
			if !hits(d, [][]int{conflict}) {
				t.Errorf("case %d: diagnosis %v does not hit the conflict", i+1, d)
			}
		}
	}
}

// The smallest conflicts of three of the cases, the others take longer: every diagnosis hits
// each, no conflict found in another way is smaller.
func TestSmallestConflictsOfALargeCircuit(t *testing.T) {
	c := readBench(t, "c432.bench")
	cases := readCases(t)
	for _, i := range []int{0, 2, 4} {
		o := observe(t, c, cases[i].Seen)
		smallest := SmallestConflicts(o)
		if len(smallest) == 0 {
			t.Fatalf("case %d: none", i+1)
		}
		diagnoses := Diagnoses(o, 2)
		for _, k := range smallest {
			if o.Consistent(rest(o.Len(), k)) {
				t.Errorf("case %d: %v can all be healthy", i+1, k)
			}
			for _, d := range diagnoses {
				if !hits(d, [][]int{k}) {
					t.Errorf("case %d: diagnosis %v does not hit conflict %v", i+1, d, k)
				}
			}
		}
		if k, _ := Conflict(o, nil); len(k) < len(smallest[0]) || len(o.Refute(nil)) < len(smallest[0]) {
			t.Errorf("case %d: %v is smaller than %v", i+1, k, smallest[0])
		}
	}
}

// What a measurement is said to gain is what the entropy falls by, averaged over its
// outcomes.
func TestGainIsTheFallOfEntropy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.IntRange(2, 4).Draw(t, "values")
		shown := map[int]int{}
		var cands []Candidate
		for i := range rapid.IntRange(1, 8).Draw(t, "candidates") {
			cands = append(cands, Candidate{Modes: []int{i}, P: rapid.Float64Range(0.01, 1).Draw(t, "p")})
			if v := rapid.IntRange(-1, values-1).Draw(t, "value"); v >= 0 {
				shown[i] = v
			}
		}
		normalize(cands)
		predict := func(modes []int) (int, bool) {
			v, ok := shown[modes[0]]
			return v, ok
		}
		left := 0.0
		for v := range values {
			p := 0.0
			for _, c := range cands {
				switch got, known := predict(c.Modes); {
				case !known:
					p += c.P / float64(values)
				case got == v:
					p += c.P
				}
			}
			if p > 0 {
				left += p * Entropy(Update(cands, predict, v, values))
			}
		}
		f := Expect(cands, predict, values)
		if fall := Entropy(cands) - left; math.Abs(fall-f.Gain) > 1e-9 {
			t.Fatalf("entropy falls by %g, Gain = %g", fall, f.Gain)
		}
	})
}
