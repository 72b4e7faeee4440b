package repair

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// priced makes actions of shares and prices.
func priced(p, c []float64) []Action {
	list := make([]Action, len(p))
	for i := range p {
		list[i] = Action{P: p[i], Minutes: c[i], Causes: []int{i}}
	}
	return list
}

// numbers tells in which order actions stand, counted from 1.
func numbers(list []Action) []int {
	var order []int
	for i := range list {
		order = append(order, list[i].Causes[0]+1)
	}
	return order
}

// permutations calls visit with each order of a list.
func permutations(list []Action, visit func([]Action)) {
	var next func(n int)
	next = func(n int) {
		if n == 0 {
			visit(list)
			return
		}
		for i := range n {
			list[i], list[n-1] = list[n-1], list[i]
			next(n - 1)
			list[i], list[n-1] = list[n-1], list[i]
		}
	}
	next(len(list))
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9 {
		t.Errorf("%s: %.9g, want %.9g", what, got, want)
	}
}

// TestSharesOverPrices orders by p/C (Kadane and Simon 1977). The figures of that paper
// were not to be read: own examples, whose costs were found by exhaustive search over
// all orders; the search is done again here.
func TestSharesOverPrices(t *testing.T) {
	for _, c := range []struct {
		p, c               []float64
		order              []int
		cost, worst, bound float64
	}{
		{[]float64{.4, .3, .2, .1}, []float64{8, 3, 1, 2}, []int{3, 2, 1, 4}, 7.6, 10.9, 4.5},
		{[]float64{.45, .25, .15, .1, .05}, []float64{25, 6, 12, 3, .5}, []int{5, 2, 4, 1, 3}, 25.1, 36.275, 14.875},
		{[]float64{.3, .25, .2, .15, .1}, []float64{6, 6, 6, 6, 6}, []int{1, 2, 3, 4, 5}, 15, 21, 6},
	} {
		list := priced(c.p, c.c)
		best := Order(list)
		if got := numbers(best); !slices.Equal(got, c.order) {
			t.Errorf("order %v, want %v", got, c.order)
		}
		near(t, "cost", Expected(best, 0), c.cost)
		low, high := math.Inf(1), 0.0
		permutations(slices.Clone(list), func(order []Action) {
			x := Expected(order, 0)
			low, high = min(low, x), max(high, x)
		})
		near(t, "least of all orders", low, c.cost)
		near(t, "worst of all orders", high, c.worst)
		// What each step of the order may still cost is what it costs beyond knowing all.
		known, later := 0.0, 0.0
		for i := range best {
			known += best[i].P * best[i].Minutes
			for j := range best[:i] {
				later += best[i].P * best[j].Minutes
			}
		}
		near(t, "with perfect knowledge", known, c.bound)
		near(t, "value of perfect knowledge", later, c.cost-c.bound)
	}
}

// TestRepairDoesNotCountInTheOrder looks at parts before they are repaired: what the
// repair costs stands outside the order (Heckerman, Breese and Rommelse 1995; own
// example, exhaustive search over all six orders, since the paper was not to be read).
func TestRepairDoesNotCountInTheOrder(t *testing.T) {
	p, look, mend := []float64{.5, .3, .2}, []float64{4, 1, 2}, []float64{20, 40, 10}
	mends := 0.0
	both := make([]float64, len(p))
	for i := range p {
		mends += p[i] * mend[i]
		both[i] = look[i] + mend[i]
	}
	best := Order(priced(p, look))
	if got := numbers(best); !slices.Equal(got, []int{2, 1, 3}) {
		t.Errorf("order %v", got)
	}
	near(t, "by the price of looking", Expected(best, 0)+mends, 28.2)
	wrong := Order(priced(p, both))
	for i := range wrong {
		wrong[i].Minutes = look[wrong[i].Causes[0]]
	}
	near(t, "by the price of both", Expected(wrong, 0)+mends, 29.3)
}

// TestLastResort weighs the rest of the order as a whole. Own examples, computed over all
// ordered subsets; that the sorted order stays best beside a last action that mends all:
// V. Lín, "Scheduling results applicable to decision-theoretic troubleshooting", abstract.
func TestLastResort(t *testing.T) {
	p, c := []float64{.4, .25, .15, .1}, []float64{12, 6, 25, 3}
	for _, x := range []struct {
		last  float64
		order []int
		cost  float64
	}{
		{0, nil, 0}, {21, nil, 21}, {22, []int{2, 1, 4}, 21.55}, {42, []int{2, 1, 4, 3}, 26.5},
		{60, []int{2, 1, 4, 3}, 28.3}, {100, []int{2, 1, 4, 3}, 32.3}, {300, []int{2, 1, 4, 3}, 52.3}, {500, []int{2, 1, 4, 3}, 72.3},
	} {
		list := Order(priced(p, c))
		n, cost := until(list, x.last)
		if got := numbers(list[:n]); !slices.Equal(got, x.order) {
			t.Errorf("last resort %g: %v, want %v", x.last, got, x.order)
		}
		near(t, "cost", cost, x.cost)
	}
	// Each of the two alone loses against 10, and both together win.
	list := Order(priced([]float64{.5, .4}, []float64{5.6, 4.7}))
	n, cost := until(list, 10)
	if n != 2 {
		t.Errorf("%d actions", n)
	}
	near(t, "both", cost, 8.95)
	near(t, "the first alone", Expected(list[:1], 10), 10.6)
}

// TestSwappedNeighbours changes the cost by what the swap gains: p of the later times C of
// the earlier, less the other way round.
func TestSwappedNeighbours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 9).Draw(t, "actions")
		p, c, sum := make([]float64, n), make([]float64, n), 0.0
		for i := range p {
			p[i], c[i] = rapid.Float64Range(0.001, 1).Draw(t, "p"), rapid.Float64Range(0.1, 100).Draw(t, "c")
			sum += p[i]
		}
		for i := range p {
			p[i] /= sum
		}
		list := priced(p, c)
		best := Expected(Order(list), 0)
		before := Expected(list, 0)
		i := rapid.IntRange(0, n-2).Draw(t, "place")
		gain := list[i+1].P*list[i].Minutes - list[i].P*list[i+1].Minutes
		list[i], list[i+1] = list[i+1], list[i]
		after := Expected(list, 0)
		if math.Abs(before-after-gain) > 1e-9*max(1, before) {
			t.Fatalf("%g, swapped %g, by the formula %g less", before, after, gain)
		}
		if best > min(before, after)*(1+1e-12) {
			t.Fatalf("the best order costs %g, another one %g", best, min(before, after))
		}
	})
}

// until returns how many of ordered actions are worth trying where the last resort costs
// last and mends all, and what that comes to in min. The rest of the order is weighed as a
// whole: two actions can pay together of which neither pays alone.
func until(list []Action, last float64) (n int, cost float64) {
	cost = last
	for i := range list {
		if c := Expected(list[:i+1], last); c < cost {
			n, cost = i+1, c
		}
	}
	return n, cost
}
