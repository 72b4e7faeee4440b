package sequence

import (
	"math"
	"math/bits"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawProblem makes a small problem: up to 6 hypotheses in groups, up to 6 probes with
// up to 3 outcomes in up to 3 conditions, some with guards, and where wanted with prices
// of mending, from less than a probe to more than all of them.
func drawProblem(t *rapid.T, mending bool) *Problem {
	n := rapid.IntRange(1, 6).Draw(t, "hypotheses")
	p := &Problem{Start: 0}
	for range n {
		p.Weights = append(p.Weights, float64(rapid.IntRange(1, 20).Draw(t, "weight")))
		p.Group = append(p.Group, rapid.IntRange(0, n).Draw(t, "group"))
	}
	conditions := rapid.IntRange(1, 3).Draw(t, "conditions")
	dearest, farthest := rapid.SampledFrom([]int{0, 5}).Draw(t, "dearest"), rapid.SampledFrom([]int{0, 9}).Draw(t, "farthest")
	for i := range conditions {
		row := make([]float64, conditions)
		for j := range row {
			if i != j {
				row[j] = float64(rapid.IntRange(0, farthest).Draw(t, "change"))
			}
		}
		p.Change = append(p.Change, row)
	}
	probes := rapid.IntRange(0, 6).Draw(t, "probes")
	for i := range probes {
		probe := Probe{Cost: float64(rapid.IntRange(0, dearest).Draw(t, "cost")), Condition: rapid.IntRange(0, conditions-1).Draw(t, "condition")}
		for range n {
			probe.Outcome = append(probe.Outcome, uint16(rapid.IntRange(0, 2).Draw(t, "outcome")))
		}
		for range rapid.SampledFrom([]int{0, 0, 1, 2}).Draw(t, "guards") {
			g := Guard{Probe: rapid.IntRange(0, i).Draw(t, "guard")}
			if rapid.Bool().Draw(t, "must pass") {
				g.Pass = []uint16{0, uint16(rapid.IntRange(0, 2).Draw(t, "pass"))}
			}
			if g.Probe < i && p.Probes[g.Probe].After == nil {
				probe.After = append(probe.After, g)
			}
		}
		p.Probes = append(p.Probes, probe)
	}
	if mending {
		prices := rapid.SliceOfN(rapid.IntRange(1, 60), n+1, n+1).Draw(t, "prices")
		for _, g := range p.Group {
			p.Act = append(p.Act, float64(prices[g]))
		}
	}
	return p
}

// brute works out the cost of the best plan, times the weight, by trying everything. It
// shares nothing with the package: sets are bits, the cost of a change is the cheapest
// way, and what needs no telling apart is found by comparing hypotheses in pairs.
type brute struct {
	*Problem
	change [][]float64
	groups []uint64 // for each hypothesis: groups that it can never be told from
	known  map[bruteState]float64
	mended map[uint64]float64
}

type bruteState struct {
	set, made uint64
	cond      int
}

func newBrute(p *Problem) *brute {
	b := &brute{Problem: p, known: map[bruteState]float64{}, mended: map[uint64]float64{}}
	for _, row := range p.Change {
		b.change = append(b.change, slices.Clone(row))
	}
	for range b.change { // paths of any length
		for i := range b.change {
			for j := range b.change {
				for k := range b.change {
					b.change[i][j] = min(b.change[i][j], b.change[i][k]+b.change[k][j])
				}
			}
		}
	}
	for h := range p.Weights {
		groups := uint64(0)
		for other := range p.Weights {
			if !b.separable(uint64(1<<h|1<<other), 0) {
				groups |= 1 << p.Group[other]
			}
		}
		b.groups = append(b.groups, groups)
	}
	return b
}

// permitted says whether a probe may be made when those made have gone as they must for the set.
func (b *brute) permitted(i int, set, made uint64) bool {
	h := bits.TrailingZeros64(set)
	for _, g := range b.Probes[i].After {
		if made>>g.Probe&1 == 0 || len(g.Pass) > 0 && !slices.Contains(g.Pass, b.Probes[g.Probe].Outcome[h]) {
			return false
		}
	}
	return true
}

func (b *brute) parts(i int, set uint64) map[uint16]uint64 {
	parts := map[uint16]uint64{}
	for h := range b.Weights {
		if set>>h&1 != 0 {
			parts[b.Probes[i].Outcome[h]] |= 1 << h
		}
	}
	return parts
}

// separable says whether any sequence of permitted probes tells apart some of a set.
func (b *brute) separable(set, made uint64) bool {
	for i := range b.Probes {
		if made>>i&1 != 0 || !b.permitted(i, set, made) {
			continue
		}
		if len(b.parts(i, set)) > 1 || b.separable(set, made|1<<i) {
			return true
		}
	}
	return false
}

func (b *brute) done(set, made uint64) bool {
	alike := true
	first := b.groups[bits.TrailingZeros64(set)]
	for h := range b.Weights {
		alike = alike && (set>>h&1 == 0 || b.groups[h] == first)
	}
	return alike || !b.separable(set, made)
}

// mend is the least cost of mending the groups of a set one after the other: whichever comes
// first is paid for by all that are left.
func (b *brute) mend(set uint64) float64 {
	if cost, ok := b.mended[set]; ok || set == 0 {
		return cost
	}
	best := math.Inf(1)
	for h := range b.Weights {
		if set>>h&1 == 0 {
			continue
		}
		left := set
		for other, g := range b.Group {
			if g == b.Group[h] {
				left &^= 1 << other
			}
		}
		best = min(best, b.weight(set)*b.Act[h]+b.mend(left))
	}
	b.mended[set] = best
	return best
}

func (b *brute) weight(set uint64) float64 {
	weight := 0.0
	for h, w := range b.Weights {
		weight += w * float64(set>>h&1)
	}
	return weight
}

func (b *brute) cost(s bruteState) float64 {
	if cost, ok := b.known[s]; ok {
		return cost
	}
	best := math.Inf(1)
	switch {
	case b.Act != nil:
		best = b.mend(s.set)
	case b.done(s.set, s.made):
		best = 0
	}
	weight := b.weight(s.set)
	for i := range b.Probes {
		if best == 0 || s.made>>i&1 != 0 || !b.permitted(i, s.set, s.made) {
			continue
		}
		sum := weight * (b.change[s.cond][b.Probes[i].Condition] + b.Probes[i].Cost)
		for _, part := range b.parts(i, s.set) {
			sum += b.cost(bruteState{part, s.made | 1<<i, b.Probes[i].Condition})
		}
		best = min(best, sum)
	}
	b.known[s] = best
	return best
}

// least is the cost of the best plan.
func (b *brute) least() float64 {
	sum := 0.0
	for _, w := range b.Weights {
		sum += w
	}
	return b.cost(bruteState{set: 1<<len(b.Weights) - 1, cond: b.Start}) / sum
}

func TestExactSearchAgreesWithTryingEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t, rapid.Bool().Draw(t, "mending"))
		want := newBrute(p).least()
		tree, err := Plan(p, DefaultBudget)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(tree.Expected-want) > 1e-9*(1+want) || !tree.Optimal {
			t.Fatalf("plan costs %g, optimal %v; the best costs %g", tree.Expected, tree.Optimal, want)
		}
	})
}

// Whatever the budget is: bound ≤ best ≤ plan ≤ walking and ≤ the textbook rule, and
// what is called optimal is.
func TestPlansLieBetweenTheBoundAndTheWalk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t, rapid.Bool().Draw(t, "mending"))
		best := newBrute(p).least()
		slack := 1e-9 * (1 + best)
		walk, err := Evaluate(p, upTo(len(p.Probes)))
		if err != nil {
			t.Fatal(err)
		}
		textbook, err := gain(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, budget := range []int{0, rapid.IntRange(1, 8000).Draw(t, "budget")} {
			tree, err := Plan(p, budget)
			if err != nil {
				t.Fatal(err)
			}
			if tree.Lower > best+slack || best > tree.Expected+slack || tree.Expected > min(walk.Expected, textbook.Expected)+slack {
				t.Fatalf("budget %d: bound %g, best %g, plan %g, walk %g, gain %g", budget, tree.Lower, best, tree.Expected, walk.Expected,
					textbook.Expected)
			}
			if tree.Optimal && math.Abs(tree.Expected-best) > slack {
				t.Fatalf("budget %d: called optimal at %g, best %g", budget, tree.Expected, best)
			}
			if tree.Worst < tree.Expected-slack {
				t.Fatalf("worst case %g below the mean %g", tree.Worst, tree.Expected)
			}
			checkTree(t, p, tree)
		}
		for _, rule := range []func(*Problem) (*Tree, error){Half, gain} {
			tree, err := rule(p)
			if err != nil {
				t.Fatal(err)
			}
			if tree.Expected < best-slack || tree.Lower > best+slack {
				t.Fatalf("a rule costs %g with bound %g, best %g", tree.Expected, tree.Lower, best)
			}
			checkTree(t, p, tree)
		}
	})
}

// No bound is above the cost of the best plan from where it is taken, wherever a plan can stand.
func TestBoundsAreBelowTheBestFromAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		for range 30 { // a bound that is too high shows in few problems
			checkBounds(t, drawProblem(t, rapid.IntRange(0, 3).Draw(t, "mending") > 0))
		}
	})
}

// With more guards than there are tiers kept for, the bounds hold too.
func TestBoundsWithManyGuardsAreBelowTheBest(t *testing.T) {
	p := table([]float64{5, 3, 2}, "0000000001", "0000000011", "0000001011")
	p.Group, p.Change, p.Start = []int{0, 1, 2}, [][]float64{{0, 7}, {6, 0}}, 1
	for g := range 8 {
		for last := 8; last < len(p.Probes); last++ {
			p.Probes[last].Condition = 1
			p.Probes[last].After = append(p.Probes[last].After, Guard{Probe: g})
		}
	}
	checkBounds(t, p)
	checkBounds(t, mended(p, 20, 30, 40))
}

func checkBounds(t rapid.TB, p *Problem) {
	m, err := compile(p, false)
	if err != nil {
		t.Fatal(err)
	}
	b, search, seen := newBrute(p), newSearch(m, 0), map[key]bool{}
	all := b.weight(1<<len(p.Weights) - 1)
	var visit func(s *state, made uint64)
	visit = func(s *state, made uint64) {
		if s.done() || seen[s.key()] {
			return
		}
		seen[s.key()] = true
		set, mending := uint64(0), 0.0 // what every plan pays
		for _, h := range m.hypotheses(s.set) {
			set |= 1 << h
			if p.Act != nil {
				mending += p.Weights[h] * p.Act[h]
			}
		}
		best := (b.cost(bruteState{set, made, s.cond}) - mending) / all
		f := &frame{}
		m.moves(s, f, true)
		direct := search.below(s, search.makeMenu(s, f.menu), -1, math.Inf(1))
		if bound := search.bound(s, f, math.Inf(1)); max(direct, bound) > best+1e-9*(1+best) {
			t.Fatalf("suspects %b after probes %b in condition %d: bounds %g and %g, the best plan %g", set, made, s.cond, direct, bound, best)
		}
		for _, mv := range f.moves {
			for k := mv.kids[0]; k < mv.kids[1]; k++ {
				visit(&f.kids[k], made|1<<m.probes[mv.probe].index)
			}
		}
	}
	visit(m.first(), 0)
}

// A search under any limits in turn never takes a plan for dearer than the best is, and finds
// the best once the limit lets it.
func TestLimitsDoNotMisleadTheSearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t, rapid.Bool().Draw(t, "mending"))
		m, err := compile(p, false)
		if err != nil {
			t.Fatal(err)
		}
		best, s := newBrute(p).least()-m.base, newSearch(m, math.MaxInt)
		limits := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 4).Draw(t, "limits")
		for _, share := range append(limits, 1+1e-6) {
			limit := share*best + 1e-9
			cost, exact := s.solve(m.first(), limit, 0)
			if cost > best+1e-9*(1+best) || exact && cost < best-1e-9*(1+best) || !exact && cost < limit {
				t.Fatalf("below %g of %g: %g, exact %v", limit, best, cost, exact)
			}
		}
	})
}

// checkTree follows every hypothesis through a tree: changes of condition are priced,
// guards are kept, branches are those of its outcomes, and at the end no more could be told
// apart, or all that is left is mended.
func checkTree(t *rapid.T, p *Problem, tree *Tree) {
	b := newBrute(p)
	sum, expected, worst := 0.0, 0.0, 0.0
	for h, w := range p.Weights {
		n, cond, made, cost := tree.Root, p.Start, uint64(0), 0.0
		for n.Probe >= 0 {
			pr := &p.Probes[n.Probe]
			set := uint64(0)
			for _, s := range n.Suspects {
				set |= 1 << s
			}
			if !b.permitted(n.Probe, set, made) || set>>h&1 == 0 {
				t.Fatalf("probe %d on the way to %d is not permitted", n.Probe, h)
			}
			if n.Change != b.change[cond][pr.Condition] || n.Cost != pr.Cost {
				t.Fatalf("probe %d: change %g, cost %g", n.Probe, n.Change, n.Cost)
			}
			cost += n.Change + n.Cost
			cond, made = pr.Condition, made|1<<n.Probe
			i := slices.IndexFunc(n.Branches, func(b Branch) bool { return b.Outcome == pr.Outcome[h] })
			n = n.Branches[i].Node
		}
		set := uint64(0)
		for _, s := range n.Suspects {
			set |= 1 << s
		}
		left := map[int]bool{}
		for _, s := range n.Suspects {
			left[p.Group[s]] = true
		}
		switch {
		case p.Act == nil && !b.done(set, made):
			t.Fatalf("%v are left together", n.Suspects)
		case p.Act != nil && (len(n.Order) != len(left) || !left[p.Group[h]]):
			t.Fatalf("of %v, groups %v are mended", n.Suspects, n.Order)
		case p.Act != nil:
			for _, g := range n.Order[:slices.Index(n.Order, p.Group[h])+1] {
				cost += p.Act[slices.Index(p.Group, g)]
			}
		}
		sum, expected, worst = sum+w, expected+w*cost, max(worst, cost)
	}
	if math.Abs(expected/sum-tree.Expected) > 1e-9*(1+expected) || math.Abs(worst-tree.Worst) > 1e-9*(1+worst) {
		t.Fatalf("tree says %g and %g, its paths %g and %g", tree.Expected, tree.Worst, expected/sum, worst)
	}
}

// A chain costs the same in any order of parts and with any side called 1.
func TestChainsCostTheSameInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 9).Draw(t, "parts")
		weights, costs := make([]float64, n), make([]float64, n-1)
		for i := range weights {
			weights[i] = float64(rapid.IntRange(0, 9).Draw(t, "weight")) + .5
		}
		for i := range costs {
			costs[i] = float64(rapid.IntRange(0, 9).Draw(t, "cost"))
		}
		p := chainProblem(weights, costs)
		chain, err := Plan(p, DefaultBudget)
		if err != nil {
			t.Fatal(err)
		}
		order := rapid.Permutation(upTo(n)).Draw(t, "order")
		shuffled := &Problem{Weights: make([]float64, n)}
		for i, at := range order {
			shuffled.Weights[at] = weights[i]
		}
		for _, pr := range p.Probes {
			flip := uint16(rapid.IntRange(0, 1).Draw(t, "flip"))
			outcome := make([]uint16, n)
			for i, at := range order {
				outcome[at] = pr.Outcome[i] ^ flip
			}
			shuffled.Probes = append(shuffled.Probes, Probe{Outcome: outcome, Cost: pr.Cost})
		}
		got, err := Plan(shuffled, DefaultBudget)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Expected-chain.Expected) > 1e-9 || !got.Optimal || !chain.Optimal {
			t.Fatalf("chain %g, shuffled %g", chain.Expected, got.Expected)
		}
	})
}

// With probes that cost alike, a chain is an alphabetic tree: the plan costs what the plain
// recurrence over all splits finds.
func TestChainsAgreeWithAllSplits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weights := rapid.SliceOfN(rapid.Float64Range(0.01, 10), 2, 25).Draw(t, "weights")
		n := len(weights)
		all := 0.0
		for _, w := range weights {
			all += w
		}
		best := make([][]float64, n)
		for i := n - 1; i >= 0; i-- {
			best[i] = make([]float64, n)
			sum := weights[i]
			for j := i + 1; j < n; j++ {
				sum += weights[j]
				least := math.Inf(1)
				for k := i; k < j; k++ {
					least = min(least, best[i][k]+best[k+1][j])
				}
				best[i][j] = least + sum
			}
		}
		tree, err := Plan(chainProblem(weights, same(1, n-1)), DefaultBudget)
		if err != nil || !tree.Optimal || math.Abs(tree.Expected*all-best[0][n-1]) > 1e-8 {
			t.Fatalf("%v, error %v, want %g", tree, err, best[0][n-1])
		}
	})
}

// When the rules have used up their budget in the middle of a plan, it still costs no
// more than the walk.
func TestPlansOutOfBudgetAreNoWorseThanTheWalk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t, rapid.Bool().Draw(t, "mending"))
		m, err := compile(p, false)
		if err != nil {
			t.Fatal(err)
		}
		pl := newPlanner(m)
		pl.roller.budget = rapid.IntRange(0, 2000).Draw(t, "budget")
		tree := pl.plan(0)
		walk, err := Evaluate(p, upTo(len(p.Probes)))
		if err != nil {
			t.Fatal(err)
		}
		if tree.Expected > walk.Expected+1e-9*(1+walk.Expected) {
			t.Fatalf("plan %g, walk %g", tree.Expected, walk.Expected)
		}
		checkTree(t, p, tree)
	})
}
