package sequence

import (
	"cmp"
	"math"
	"slices"
)

// offer is a probe as the bounds see it: what it costs, by how many bits a single
// use can narrow a set, and how much it can tell in all. What a guard costs is in the
// bound for changes.
type offer struct {
	probe int
	cost  float64
	bits  float64 // log2 of kinds
	price float64 // cost for a bit
	tells float64 // bits of its outcome before anything else is known, × mass
	joint float64 // bits that it and all before it in the menu tell at most, × mass; infinite where that does not matter
	adds  float64 // to joint, × mass
	kinds int     // of outcomes that it can have in the set
}

func makeOffer(p int, pr *probe, parts []part, kinds int) offer {
	o := offer{probe: p, cost: pr.beside(), bits: log2(float64(kinds)), joint: math.Inf(1), kinds: kinds}
	o.price = o.cost / o.bits
	all := 0.0
	for i := range parts {
		all += parts[i].mass
		o.tells -= xlogx(parts[i].mass)
	}
	o.tells = max(o.tells+xlogx(all), 0)
	return o
}

// beside is what a probe costs beside the bound for changes, which has the guards.
func (pr *probe) beside() float64 {
	if pr.slot >= 0 {
		return 0
	}
	return pr.cost
}

// menu is what a plan can choose from.
type menu struct {
	offers []offer   // by price
	costs  []float64 // in rising order; where labels are told apart, and no more
	places []place   // room to sort
	kinds  int       // most of any
}

// place is where an offer of some price is.
type place struct {
	price float64
	at    int
}

// makeMenu sorts the offers of a state.
func (b *bounder) makeMenu(s *state, offers []offer) *menu {
	m := &b.menu
	m.offers, m.costs, m.places, m.kinds = m.offers[:0], m.costs[:0], m.places[:0], 0
	for i := range offers {
		o := &offers[i]
		m.places = append(m.places, place{o.price, i})
		m.kinds = max(m.kinds, o.kinds)
		if b.act == nil {
			m.costs = append(m.costs, o.cost)
		}
	}
	slices.SortFunc(m.places, func(x, y place) int { return cmp.Or(cmp.Compare(x.price, y.price), cmp.Compare(x.at, y.at)) })
	for _, x := range m.places {
		m.offers = append(m.offers, offers[x.at])
	}
	slices.Sort(m.costs)
	b.join(s, m.offers)
	return m
}

// mostTable is the size up to which a table tells apart what probes show together.
const mostTable = 1 << 12

// join works out what the first so many offers tell together, as far as that is less than what
// the set needs.
func (b *bounder) join(s *state, offers []offer) {
	class, classes := slices.Grow(b.class[:0], len(s.set))[:len(s.set)], 1
	clear(class)
	b.class = class
	need, all, joint, sum := xlogx(s.mass)-b.labelSum(s.set), xlogx(s.mass), 0.0, 0.0
	for i := range offers {
		o := &offers[i]
		pr := &b.probes[o.probe]
		width := pr.k + 1
		if sum >= need || classes*width > mostTable {
			return
		}
		part := b.table(classes * width)
		masses := b.masses[:0]
		for j, a := range s.set {
			to := &part[int(class[j])*width+int(pr.column[a])]
			if *to == 0 {
				masses = append(masses, 0)
				*to = int32(len(masses))
			}
			class[j] = *to - 1
			masses[*to-1] += b.weight[a]
		}
		if len(masses) > classes {
			classes, joint = len(masses), all
			for _, x := range masses {
				joint -= xlogx(x)
			}
		}
		b.masses = masses
		before := sum
		sum = max(min(sum+o.tells, joint), sum)
		o.joint, o.adds = sum, sum-before
	}
}

// bits is the bound by bits for a set with a mass and entropy h, times the mass both,
// without the probe except. What probes tell in the whole is no less than in the part; where
// except was made, what the others tell beyond it is less by what it adds or tells, whichever
// is less. A bit costs no more than most, for which mending tells it.
func (m *menu) bits(h, mass float64, except int, most float64) float64 {
	cost, got, made := 0.0, 0.0, 0.0
	for i := range m.offers {
		o := &m.offers[i]
		switch {
		case o.price >= most:
			return cost + (h-got)*most
		case o.probe == except:
			made = o.adds
			continue
		}
		part := max(min(h-got, o.tells, mass*o.bits, o.joint-made-got), 0)
		cost += part * o.price
		got += part
		if got >= h {
			return cost
		}
	}
	if math.IsInf(most, 1) {
		return cost
	}
	return cost + (h-got)*most
}

// number is C(d), without a probe of some cost.
func (m *menu) number(d, except float64) float64 {
	cost := 0.0
	for _, x := range m.costs {
		if x == except {
			except = math.NaN()
			continue
		}
		if d <= 1 {
			return cost + x*d
		}
		cost += x
		d--
	}
	return cost
}
