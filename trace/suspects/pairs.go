package suspects

import (
	"cmp"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/consist"
	"example.org/walkback/trace/predict"
)

// How far pairs are followed.
const (
	mostPairs = 400  // simulated exactly, the likeliest first
	pairChunk = 40   // between two looks at what is left
	leftPairs = 1e-2 // share of what was found, below which the rest is left
)

// pair is two groups of faults.
type pair struct {
	a, b   int     // groups
	weight float64 // before the readings
	bound  float64 // what it would weigh, each reading explained by the better of the two
}

// pairs looks for two faults that explain every reading between them. Each
// reading must be foretold by one of the two alone; the likeliest pairs are then
// simulated as what they are, with what they lead to.
func (w *weigher) pairs(r *Report) {
	found := w.candidates()
	var all []predict.Hypothesis
	var rows [][]float64
	left := 0.0
	for _, p := range found {
		left += p.bound
	}
	sum := 0.0
	for len(all) < min(len(found), mostPairs) && left > leftPairs*sum {
		chunk := found[len(all):min(len(found), len(all)+pairChunk, mostPairs)]
		for _, p := range chunk {
			left -= p.bound
			h, agrees := w.together(p)
			all, rows = append(all, h), append(rows, agrees)
			if explained(agrees) {
				v := secondOne * p.weight * w.likelihood(agrees)
				sum += v
				r.Pairs = append(r.Pairs, Pair{Groups: [2]int{p.a, p.b}, P: v, Blown: h.Blown})
			}
		}
	}
	if len(r.Pairs) == 0 {
		w.clash(r, rows)
	}
	slices.SortStableFunc(r.Pairs, func(a, b Pair) int { return cmp.Compare(b.P, a.P) })
	for i := range r.Pairs {
		p := &r.Pairs[i]
		for k, g := range p.Groups {
			p.Names[k] = w.Names(g)
		}
	}
}

// both is a pair that was simulated at both ends of the stretches that are believed, with
// how well it foretells the readings that were asked for.
type both struct {
	low, high predict.Hypothesis
	agrees    map[string]float64
}

// together simulates a pair at the readings for which that was not done before.
func (w *weigher) together(p pair) (predict.Hypothesis, []float64) {
	a, b := w.stretches[w.list[w.first[p.a]].best], w.stretches[w.list[w.first[p.b]].best]
	key := [4]int{a.low, a.high, b.low, b.high}
	x := w.both[key]
	if x == nil {
		x = &both{agrees: map[string]float64{}}
		x.low = w.m.Suppose(w.all[a.low].Faults[0], w.all[b.low].Faults[0])
		x.high = x.low
		if a.low != a.high || b.low != b.high {
			x.high = w.m.Suppose(w.all[a.high].Faults[0], w.all[b.high].Faults[0])
		}
		w.both[key] = x
	}
	var missing []netlist.Reading
	for k := range w.readings {
		if _, ok := x.agrees[w.asked[k]]; !ok {
			missing = append(missing, w.readings[k])
		}
	}
	if len(missing) > 0 {
		for k, a := range w.exact(x.low, x.high, missing) {
			x.agrees[readingKey(&missing[k])] = a
		}
	}
	agrees := make([]float64, len(w.readings))
	for k := range agrees {
		agrees[k] = x.agrees[w.asked[k]]
	}
	return x.low, agrees
}

// Names lists the faults of a group of the dictionary.
func (n *Narrower) Names(g int) []string {
	list := make([]string, len(n.d.Groups[g].Faults))
	for k, i := range n.d.Groups[g].Faults {
		list[k] = n.d.Names[i]
	}
	return list
}

// candidates lists the pairs of groups of which each reading is foretold by one,
// the likeliest first.
func (w *weigher) candidates() []pair {
	var found []pair
	var use []int
	weight := make([]float64, len(w.d.Groups))
	for g := range w.d.Groups {
		for _, i := range w.d.Groups[g].Faults {
			weight[g] += w.list[i].Weight
		}
		if w.d.Groups[g].Detected && w.abnormal(w.first[g]) {
			use = append(use, g)
		}
	}
	for x, g := range use {
		a := &w.list[w.first[g]]
		for _, f := range use[:x] {
			b := &w.list[w.first[f]]
			if partOf(a) == partOf(b) {
				continue
			}
			l, ok := 1.0, true
			for k := range w.readings {
				best := max(a.Agrees[k], b.Agrees[k])
				if best < explains {
					ok = false
					break
				}
				l *= w.likely(k, best)
			}
			if ok {
				v := weight[f] * weight[g]
				found = append(found, pair{f, g, v, secondOne * v * l})
			}
		}
	}
	slices.SortStableFunc(found, func(a, b pair) int { return cmp.Compare(b.bound, a.bound) })
	return found
}

// clash finds the smallest sets of readings that nothing explains together: no
// single fault, no pair, and not the healthy board. pairs holds those that were
// simulated; where none could be, two faults count as explaining what one of
// them explains alone.
func (w *weigher) clash(r *Report, pairs [][]float64) {
	rows := append([][]float64{w.healthy}, pairs...)
	for i := range w.list {
		rows = append(rows, w.list[i].Agrees)
	}
	sets := distinct(rows)
	if len(pairs) == 0 {
		var alone [][]float64
		for i := range w.list {
			if w.abnormal(i) {
				alone = append(alone, w.list[i].Agrees)
			}
		}
		list := distinct(alone)
		for i := range list {
			for j := range i {
				both := slices.Clone(list[i])
				for k, x := range list[j] {
					both[k] = both[k] || x
				}
				sets = append(sets, both)
			}
		}
	}
	ok := func(set []int) bool {
		return slices.ContainsFunc(sets, func(s []bool) bool {
			return !slices.ContainsFunc(set, func(k int) bool { return !s[k] })
		})
	}
	r.Clash = consist.SmallestConflicts(len(w.readings), ok)
}

// distinct lists what the rows explain, each set of readings once, none that
// another one holds.
func distinct(rows [][]float64) [][]bool {
	var sets [][]bool
	for _, row := range rows {
		s := make([]bool, len(row))
		for k, a := range row {
			s[k] = a >= explains
		}
		holds := func(a, b []bool) bool {
			for k := range a {
				if b[k] && !a[k] {
					return false
				}
			}
			return true
		}
		if slices.ContainsFunc(sets, func(o []bool) bool { return holds(o, s) }) {
			continue
		}
		sets = append(slices.DeleteFunc(sets, func(o []bool) bool { return holds(s, o) }), s)
	}
	return sets
}
