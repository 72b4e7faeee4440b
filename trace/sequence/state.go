package sequence

import (
	"cmp"
	"math"
	"slices"
)

// state is where a plan can stand: what is left, in which condition the board is,
// and which guards were made.
type state struct {
	set    []uint16 // atoms, in rising order
	active []uint16 // probes that may still be of use, in rising order
	mass   float64  // of the set
	labels int      // different ones in the set
	hash   [2]uint64
	cond   int
	made   guards
}

// key tells states apart. It has a hash of the set instead of the set.
type key struct {
	hash [2]uint64
	cond int
	made guards
}

func (s *state) key() key   { return key{s.hash, s.cond, s.made} }
func (s *state) done() bool { return s.labels == 1 || len(s.set) == 1 }

// first is the state before the first probe.
func (m *model) first() *state {
	s := &state{cond: m.start, active: make([]uint16, len(m.probes))}
	for i := range m.probes {
		s.active[i] = uint16(i)
	}
	for a := range m.members {
		m.put(s, uint16(a))
	}
	return s
}

// put adds an atom to a state; atoms come in rising order.
func (m *model) put(s *state, a uint16) {
	if n := len(s.set); n == 0 || m.label[s.set[n-1]] != m.label[a] {
		s.labels++
	}
	s.set = append(s.set, a)
	s.mass += m.weight[a]
	s.hash[0] += m.hash[a][0]
	s.hash[1] += m.hash[a][1]
}

// permitted says whether a probe may be made now.
func (m *model) permitted(s *state, p int) bool {
	pr := &m.probes[p]
	return !s.made.lacks(pr.needs) && int(pr.column[s.set[0]]) != pr.k
}

// price is what a probe costs now, times the mass of the state.
func (m *model) price(s *state, p int) float64 {
	pr := &m.probes[p]
	return s.mass * (m.change[s.cond][pr.cond] + pr.cost)
}

// move is a probe that may be made in a state.
type move struct {
	probe  int
	price  float64 // × mass
	gain   float64 // bits about the labels, × mass
	splits bool
	kinds  int     // of outcomes
	even   float64 // mass of the likeliest outcome
	cut    uint64  // same for probes that cut the set into the same parts
	low    float64 // no plan that starts so costs less, × mass; set by bound
	kids   [2]int  // places in frame.kids; set by bound
}

// frame is room for one level of a search.
type frame struct {
	parts  []part
	moves  []move
	active []uint16  // those of the state that are of use, for the states behind it
	menu   []offer   // what the bound can choose from
	arena  []uint16  // sets of kids
	kids   []state   //
	lows   []float64 // bound of each kid
}

// frames hands out one frame for each depth.
type frames []*frame

func (f *frames) at(depth int) *frame {
	for len(*f) <= depth {
		*f = append(*f, &frame{})
	}
	return (*f)[depth]
}

// part is what belongs to one outcome.
type part struct {
	mass    float64
	sum     float64 // Σ x log2 x over the labels that are complete
	open    float64 // mass of the label that is not
	openX   float64 // its x log2 x, unless it has
	several bool    // atoms, so that this is yet to be worked out
	label   int32
	number  uint64 // 0: empty
}

// close counts the label that is open.
func (t *part) close() {
	if t.several {
		t.openX = xlogx(t.open)
		t.several = false
	}
	t.sum += t.openX
	t.openX = 0
}

// moves lists what may be done in a state, and which probes are still of use; for
// bounds it also fills the menu.
func (m *model) moves(s *state, f *frame, bounds bool) {
	f.moves, f.active, f.menu = f.moves[:0], f.active[:0], f.menu[:0]
	if len(f.parts) <= m.most {
		f.parts = make([]part, m.most+1)
	}
	before := xlogx(s.mass) - m.labelSum(s.set)
	var wanted guards
	idle := false
	for _, p := range s.active {
		pr := &m.probes[p]
		idle = idle || pr.slot >= 0
		if !m.cuts(s, int(p)) {
			continue
		}
		mv := m.look(s, int(p), f.parts, before)
		f.active = append(f.active, p)
		if bounds {
			f.menu = append(f.menu, makeOffer(int(p), pr, f.parts[:pr.k], mv.kinds))
		}
		if m.permitted(s, int(p)) {
			f.moves = append(f.moves, mv)
		} else {
			wanted.join(pr.needs)
		}
	}
	if idle && wanted != (guards{}) {
		m.addGuards(s, f, wanted)
	}
}

// addGuards adds probes whose outcome is known but which hold others back.
func (m *model) addGuards(s *state, f *frame, wanted guards) {
	for _, p := range s.active {
		pr := &m.probes[p]
		if pr.slot < 0 || !wanted.has(pr.slot) || s.made.has(pr.slot) {
			continue
		}
		if _, splits := slices.BinarySearch(f.active, p); splits {
			continue
		}
		f.active = append(f.active, p)
		f.moves = append(f.moves, move{probe: int(p), price: m.price(s, int(p)), even: s.mass})
	}
	slices.Sort(f.active)
	slices.SortFunc(f.moves, func(a, b move) int { return cmp.Compare(a.probe, b.probe) })
}

// labelSum is Σ x log2 x over the masses of the labels in a set.
func (m *model) labelSum(set []uint16) float64 {
	sum, open := 0.0, 0.0
	for i, a := range set {
		open += m.weight[a]
		if i+1 == len(set) || m.label[set[i+1]] != m.label[a] {
			sum += xlogx(open)
			open = 0
		}
	}
	return sum
}

// look works out how a probe cuts the set of a state, and into how many parts. It is the inner loop of
// everything, so the logarithm of an atom that is alone with its label is looked up.
func (m *model) look(s *state, p int, parts []part, before float64) move {
	pr := &m.probes[p]
	parts = parts[:pr.k+1]
	for i := range parts {
		parts[i] = part{label: -1}
	}
	var cut, seen uint64 // seen numbers the parts in the order in which they appear
	for _, a := range s.set {
		c := pr.column[a]
		t := &parts[c]
		w, l := m.weight[a], m.label[a]
		t.mass += w
		if t.number == 0 {
			seen++
			t.number = seen
		}
		cut += t.number * m.hash[a][0]
		if t.label == l {
			t.open += w
			t.several = true
			continue
		}
		t.close()
		t.label, t.open, t.openX = l, w, m.xlogx[a]
	}
	mv := move{probe: p, price: m.price(s, p), splits: true, cut: cut}
	after := 0.0
	for i := range pr.k {
		t := &parts[i]
		if t.number == 0 {
			continue
		}
		mv.kinds++
		mv.even = max(mv.even, t.mass)
		t.close()
		after += xlogx(t.mass) - t.sum
	}
	mv.gain = max(before-after, 0)
	return mv
}

// split appends to kids the states behind a probe. Their sets lie in arena.
func (m *model) split(s *state, p int, active, arena []uint16, kids []state) ([]uint16, []state) {
	pr := &m.probes[p]
	var room [16]int32
	count := room[:]
	if pr.k > len(count) {
		count = make([]int32, pr.k)
	}
	for _, a := range s.set {
		count[pr.column[a]]++
	}
	made := s.made
	if pr.slot >= 0 {
		made.add(pr.slot)
	}
	arena = slices.Grow(arena, len(s.set))
	for c := range pr.k {
		if count[c] == 0 {
			count[c] = -1
			continue
		}
		from, n := len(arena), int(count[c])
		arena = arena[:from+n]
		count[c] = int32(len(kids))
		kids = append(kids, state{set: arena[from : from : from+n], active: active, cond: pr.cond, made: made})
	}
	for _, a := range s.set {
		m.put(&kids[count[pr.column[a]]], a)
	}
	return arena, kids
}

// worth is gain for its price; what costs nothing comes first.
func (mv *move) worth() float64 {
	if mv.price == 0 {
		return math.Inf(1)
	}
	return mv.gain / mv.price
}
