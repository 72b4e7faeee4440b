package sequence

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
)

// model is a problem made ready for search. Hypotheses that no permitted probe can
// tell apart are one atom. A set of atoms needs no more probes when all have the
// same label, that is, stand for the same set of groups.
//
// A guard can hold a probe back for good, so what a hypothesis would show to a
// probe that it never lets happen must not count: reach says which probes can
// happen under a hypothesis, and all others show "blocked". With that, two atoms
// can always be told apart by some permitted sequence of probes: make the guards,
// which are always permitted, then the others; up to the first in which the two differ
// they have passed the same guards, so that one is permitted for both, and it is not
// blocked for only one of them because that follows from its guards.
type model struct {
	weight  []float64 // of each atom; they sum to 1
	xlogx   []float64 // weight × log2 of it
	label   []int32   // atoms are sorted by it
	members [][]int   // hypotheses of each atom
	hash    [][2]uint64
	probes  []probe // in the order in which a hand would walk
	place   []int   // probe of the problem → of the model, or -1
	change  [][]float64
	start   int
	most    int       // outcomes of any probe
	group   []int     // of the problem, of each label, where act is given
	act     []float64 // s to mend each label; nil: labels are told apart, and no more
	base    float64   // s that mending alone takes, were all known from the start
	dearest float64   // of act
	fade    []float64 // 2^(-act/dearest) of each label
}

// probe is one of a model.
type probe struct {
	index  int      // in the problem
	column []uint16 // outcome of each atom as a number below k; k: blocked
	value  []uint16 // outcome in the problem for each number
	k      int
	cost   float64
	cond   int
	needs  guards // must all have been made
	slot   int    // its own place among the guards, or -1
}

// guards is a set of those probes that hold others back.
type guards [maxGuards / 64]uint64

func (g guards) has(slot int) bool { return g[slot/64]>>(slot%64)&1 != 0 }
func (g *guards) add(slot int)     { g[slot/64] |= 1 << (slot % 64) }

func (g *guards) join(other guards) {
	for i := range g {
		g[i] |= other[i]
	}
}

// lacks says whether other has a member that g has not.
func (g guards) lacks(other guards) bool {
	for i := range g {
		if other[i]&^g[i] != 0 {
			return true
		}
	}
	return false
}

// xlogx is x log2 x.
func xlogx(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return x * log2(x)
}

const logBits = 11 // of the mantissa that logTable goes by

// logTable has log2 m and 1/m for m from 1 to 2.
var logTable = func() (table [1<<logBits + 1][2]float64) {
	for i := range table {
		m := 1 + float64(i)/(1<<logBits)
		table[i] = [2]float64{math.Log2(m), 1 / m}
	}
	return table
}()

// log2 is math.Log2 for normal positive numbers to 1e-15, several times as fast: the
// search does little else. With m the nearest entry of the table, log2 x is log2 m and
// log2 (1+r), where |r| < 2^-12 leaves a series of four terms.
func log2(x float64) float64 {
	const fraction = 1<<52 - 1
	b := math.Float64bits(x)
	exponent := float64(int(b>>52) - 1023)
	entry := &logTable[(b&fraction+1<<(51-logBits))>>(52-logBits)]
	r := math.Float64frombits(b&fraction|1023<<52)*entry[1] - 1
	return exponent + (entry[0] + math.Log2E*r*(1-r*(1./2-r*(1./3-r/4))))
}

// draft is a model being made.
type draft struct {
	*Problem
	reach  [][]bool // [probe][hypothesis]
	splits []bool   // probes that tell some of the reachable apart
	keep   []bool   // those, and their guards
	slot   []int    // place among the guards, or -1
}

// compile makes a model. With all set, no probe is left out because another one
// does the same for less.
func compile(p *Problem, all bool) (*model, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	d := &draft{Problem: p}
	d.findReach()
	if err := d.findKept(); err != nil {
		return nil, err
	}
	m := &model{}
	d.makeAtoms(m)
	if m.act != nil {
		m.dearest = slices.Max(m.act)
		for _, c := range m.act {
			m.fade = append(m.fade, math.Exp2(-c/m.dearest))
		}
	}
	d.makeProbes(m, all)
	d.makeChange(m)
	return m, nil
}

// findReach works out under which hypotheses a probe can happen at all.
func (d *draft) findReach() {
	d.reach, d.splits = make([][]bool, len(d.Probes)), make([]bool, len(d.Probes))
	for i := range d.Probes {
		reach, first := make([]bool, len(d.Weights)), -1
		for h := range reach {
			reach[h] = d.passes(i, h)
			if !reach[h] {
				continue
			}
			if first < 0 {
				first = h
			}
			d.splits[i] = d.splits[i] || d.Probes[i].Outcome[h] != d.Probes[i].Outcome[first]
		}
		d.reach[i] = reach
	}
}

// passes says whether all guards of a probe let it happen under a hypothesis.
func (d *draft) passes(i, h int) bool {
	for _, g := range d.Probes[i].After {
		if len(g.Pass) > 0 && !slices.Contains(g.Pass, d.Probes[g.Probe].Outcome[h]) {
			return false
		}
	}
	return true
}

// findKept drops probes that neither tell suspects apart nor guard one that does.
func (d *draft) findKept() error {
	d.keep, d.slot = slices.Clone(d.splits), make([]int, len(d.Probes))
	for i := range d.slot {
		d.slot[i] = -1
	}
	n := 0
	for i, splits := range d.splits {
		if !splits {
			continue
		}
		for _, g := range d.Probes[i].After {
			d.keep[g.Probe] = true
			if d.slot[g.Probe] < 0 {
				d.slot[g.Probe] = n
				n++
			}
		}
	}
	if n > maxGuards {
		return fmt.Errorf("%d probes hold others back, more than %d", n, maxGuards)
	}
	return nil
}

// makeAtoms merges hypotheses that show the same to every probe that can happen.
func (d *draft) makeAtoms(m *model) {
	type atom struct {
		label   int32
		members []int
	}
	var atoms []atom
	index := map[string]int{}
	var key []byte
	for h := range d.Weights {
		key = key[:0]
		if d.Act != nil { // what no probe tells apart is mended one after the other
			key = binary.LittleEndian.AppendUint64(key, uint64(groupsOf(d.Problem, []int{h})[0]))
		}
		for i := range d.Probes {
			switch {
			case !d.keep[i]:
			case d.reach[i][h]:
				key = binary.LittleEndian.AppendUint16(append(key, 1), d.Probes[i].Outcome[h])
			default:
				key = append(key, 0, 0, 0)
			}
		}
		at, ok := index[string(key)]
		if !ok {
			at = len(atoms)
			index[string(key)] = at
			atoms = append(atoms, atom{})
		}
		atoms[at].members = append(atoms[at].members, h)
	}
	labels := map[string]int32{}
	for i := range atoms {
		groups := groupsOf(d.Problem, atoms[i].members)
		name := fmt.Sprint(groups)
		if _, ok := labels[name]; !ok {
			labels[name] = int32(len(labels))
			if d.Act != nil {
				m.act, m.group = append(m.act, d.Act[atoms[i].members[0]]), append(m.group, groups[0])
			}
		}
		atoms[i].label = labels[name]
	}
	slices.SortFunc(atoms, func(a, b atom) int {
		return cmp.Or(cmp.Compare(a.label, b.label), cmp.Compare(a.members[0], b.members[0]))
	})
	sum := 0.0
	for _, w := range d.Weights {
		sum += w
	}
	seed := uint64(1)
	for _, a := range atoms {
		w := 0.0
		for _, h := range a.members {
			w += max(d.Weights[h]/sum, leastWeight)
		}
		m.weight, m.xlogx = append(m.weight, w), append(m.xlogx, xlogx(w))
		m.label, m.members = append(m.label, a.label), append(m.members, a.members)
		m.hash = append(m.hash, [2]uint64{splitMix(&seed), splitMix(&seed)})
		if m.act != nil {
			m.base += w * m.act[a.label]
		}
	}
}

// groupsOf gives the groups of hypotheses, each once, in rising order.
func groupsOf(p *Problem, hypotheses []int) []int {
	groups := slices.Clone(hypotheses)
	for i, h := range hypotheses {
		if p.Group != nil {
			groups[i] = p.Group[h]
		}
	}
	slices.Sort(groups)
	return slices.Compact(groups)
}

// splitMix is the generator of Steele, Lea and Flood, "Fast splittable
// pseudorandom number generators", OOPSLA 2014. Sums of its numbers stand for
// sets; with 128 bits two sets among millions do not meet.
func splitMix(seed *uint64) uint64 {
	*seed += 0x9e3779b97f4a7c15
	z := *seed
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// makeProbes writes outcomes as small numbers and merges probes that do the same.
func (d *draft) makeProbes(m *model, all bool) {
	m.place = make([]int, len(d.Probes))
	number := make([]uint16, 1<<16)
	same := map[string]int{}
	for i := range d.Probes {
		m.place[i] = -1
		if !d.keep[i] {
			continue
		}
		pr := d.makeProbe(m, i, number)
		key := pr.key()
		if at, ok := same[key]; ok && !all && pr.slot < 0 && m.probes[at].slot < 0 {
			// The place in the walk stays that of the first, so that walking costs no more than with both.
			if pr.cost < m.probes[at].cost {
				m.probes[at] = pr
			}
			m.place[i] = at
			continue
		}
		if pr.slot < 0 {
			same[key] = len(m.probes)
		}
		m.place[i] = len(m.probes)
		m.probes = append(m.probes, pr)
	}
}

// key is the same for probes that do the same.
func (pr *probe) key() string {
	key := binary.LittleEndian.AppendUint64(nil, uint64(pr.cond))
	for _, word := range pr.needs {
		key = binary.LittleEndian.AppendUint64(key, word)
	}
	for _, c := range pr.column {
		key = binary.LittleEndian.AppendUint16(key, c)
	}
	return string(key)
}

// makeProbe uses number for outcome → number + 1, and leaves it as it was: all 0.
func (d *draft) makeProbe(m *model, i int, number []uint16) probe {
	from := &d.Probes[i]
	pr := probe{index: i, cost: from.Cost, cond: from.Condition, slot: d.slot[i], column: make([]uint16, len(m.members))}
	for _, g := range from.After {
		pr.needs.add(d.slot[g.Probe])
	}
	for a, members := range m.members {
		if !d.reach[i][members[0]] {
			pr.column[a] = math.MaxUint16
			continue
		}
		value := from.Outcome[members[0]]
		if number[value] == 0 {
			pr.value = append(pr.value, value)
			number[value] = uint16(len(pr.value))
		}
		pr.column[a] = number[value] - 1
	}
	for _, value := range pr.value {
		number[value] = 0
	}
	pr.k = len(pr.value)
	for a, c := range pr.column {
		if c == math.MaxUint16 {
			pr.column[a] = uint16(pr.k)
		}
	}
	m.most = max(m.most, pr.k)
	return pr
}

// makeChange takes the cheapest ways between conditions.
func (d *draft) makeChange(m *model) {
	if d.Change == nil {
		m.change = [][]float64{{0}}
		for i := range m.probes {
			m.probes[i].cond = 0
		}
	} else {
		m.start = d.Start
		for _, row := range d.Change {
			m.change = append(m.change, slices.Clone(row))
		}
	}
	n := len(m.change)
	for k := range n {
		for i := range n {
			for j := range n {
				m.change[i][j] = min(m.change[i][j], m.change[i][k]+m.change[k][j])
			}
		}
	}
}
