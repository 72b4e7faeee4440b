package repair

import (
	"cmp"
	"slices"
)

// Order returns actions in the order that costs least until one has helped: by share for
// the price, the largest first. One fault is there, each action mends its own and shows at
// once whether it did (J. B. Kadane, H. A. Simon, "Optimal strategies for a class of
// constrained sequential problems", Annals of Statistics 5, 1977).
func Order(list []Action) []Action {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b Action) int { return cmp.Compare(b.P*a.Minutes, a.P*b.Minutes) })
	return list
}

// Expected returns the expected cost of repair in min of actions in an order, of which the
// shares sum to 1 at most: Σ (1 - Σ p of those before) C (D. Heckerman, J. S. Breese,
// K. Rommelse, "Decision-theoretic troubleshooting", CACM 38, 1995). What is left after all
// of them costs last, which is 0 where nothing is left.
func Expected(list []Action, last float64) float64 {
	left, cost := 1.0, 0.0
	for i := range list {
		cost += left * list[i].Minutes
		left -= list[i].P
	}
	return cost + max(left, 0)*last
}
