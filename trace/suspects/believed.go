package suspects

import (
	"cmp"
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// span is a class of readings of a probe: between what values, as predict.Run.Value has them.
type span struct {
	low, high float64
	class     uint16
}

// sortSpans sorts what the faults show at each probe by its classes.
func (n *Narrower) sortSpans() {
	n.spans, n.usualSpans, n.far = make([][]span, len(n.d.Probes)), make([]int, len(n.d.Probes)), map[farAt]uint16{}
	for k := range n.d.Probes {
		list := make([]span, n.most[k])
		for c := range list {
			list[c] = span{math.Inf(1), math.Inf(-1), uint16(c)}
		}
		for i := -1; i < len(n.d.Faults); i++ {
			c := n.d.Healthy[k]
			if i >= 0 {
				c = n.d.Classes[i][k]
			}
			v := n.d.Reads(k, i)
			list[c].low, list[c].high = min(list[c].low, v), max(list[c].high, v)
		}
		n.spans[k], n.usualSpans[k] = list, len(list)
	}
}

// classOf returns the class of a value at a probe, a new one where it is far from all.
func (n *Narrower) classOf(k int, v float64) uint16 {
	m := n.d.Probes[k].Method
	for _, s := range n.spans[k][:n.usualSpans[k]] {
		if s.low <= v && v <= s.high {
			return s.class
		}
		// Of OL nothing else is near.
		if near := max(s.low-v, v-s.high); near < predict.Apart(m, min(math.Abs(v), math.Abs(s.low))) {
			return s.class
		}
	}
	at := farAt{k, bin(m, v)}
	if c, ok := n.far[at]; ok {
		return c
	}
	c := uint16(n.most[k])
	n.most[k]++
	n.far[at], n.spans[k] = c, append(n.spans[k], span{v, v, c})
	return c
}

// farAt is a bin of values at a probe that no fault of usual size shows.
type farAt struct {
	probe int
	bin   float64
}

// bin numbers what a meter can tell apart, so that a class hangs on the value alone and not
// on what was asked before.
func bin(m netlist.Method, v float64) float64 {
	if math.IsInf(v, 1) {
		return v
	}
	const large = 1e6
	slope := predict.Apart(m, large) / large
	if m == netlist.Diode || m == netlist.Look {
		return math.Round(v / predict.Apart(m, 0))
	}
	return math.Round(math.Asinh(v*slope/predict.Apart(m, 0)) / slope)
}

// row lists the classes of what a hypothesis shows at the probes of the dictionary.
func (n *Narrower) row(h predict.Hypothesis) []uint16 {
	name := n.m.Name(h.Faults[0])
	if row := n.rows[name]; row != nil {
		return row
	}
	row := make([]uint16, len(n.d.Probes))
	for k := range n.d.Probes {
		p := n.d.Probes[k]
		if k > 0 && n.d.Probes[k-1].Cold() == p.Cold() && sameState(n.d.Probes[k-1], p) {
			continue
		}
		end := k + 1
		for end < len(n.d.Probes) && n.d.Probes[end].Cold() == p.Cold() && sameState(n.d.Probes[end], p) {
			end++
		}
		if p.Cold() {
			c := n.m.Cold(p.State.Unplugged, h)
			for j := k; j < end; j++ {
				row[j] = n.classOf(j, c.Value(n.d.Probes[j]))
			}
			continue
		}
		for _, r := range n.m.Sweep(p.State, []predict.Hypothesis{h}) {
			for j := k; j < end; j++ {
				row[j] = n.classOf(j, r.Value(n.d.Probes[j]))
			}
		}
	}
	n.rows[name] = row
	return row
}

// steps divides a stretch in which the size is sought that the readings speak for.
const steps = 4

// fine is a stretch in steps, with what each of its sizes foretells of the readings that
// were asked for.
type fine struct {
	sizes [steps + 1]predict.Hypothesis
	shows map[string][steps + 1]float64
}

// finer returns a stretch in steps, for all readings.
func (w *weigher) finer(at int) *fine {
	x := w.fine[at]
	if x == nil {
		x = &fine{shows: map[string][steps + 1]float64{}}
		low, high := w.all[w.stretches[at].low], w.all[w.stretches[at].high]
		a, b := low.Faults[0], high.Faults[0]
		from, to := cmp.Or(a.Size, a.Mode.Value), cmp.Or(b.Size, b.Mode.Value)
		x.sizes[0], x.sizes[steps] = low, high
		for i := 1; i < steps; i++ {
			a.Size = from * math.Pow(to/from, float64(i)/steps)
			x.sizes[i] = w.m.Suppose(a)
		}
		w.fine[at] = x
	}
	var missing []netlist.Reading
	for k := range w.readings {
		if _, ok := x.shows[w.asked[k]]; !ok {
			missing = append(missing, w.readings[k])
		}
	}
	if len(missing) == 0 {
		return x
	}
	var found [steps + 1][]float64
	for i, h := range x.sizes {
		found[i] = w.foretells(h, missing)
	}
	for k := range missing {
		var v [steps + 1]float64
		for i := range v {
			v[i] = found[i][k]
		}
		x.shows[readingKey(&missing[k])] = v
	}
	return x
}

// sized reports whether the readings speak for another size of a fault than the usual one:
// its best stretch does not end there, or some reading does not hold all over it.
func (w *weigher) sized(fault int) bool {
	s := w.list[fault].best
	return w.wide(s) && (!w.stretches[s].usual || slices.ContainsFunc(w.stand, func(c *column) bool { return c.strict[s] }))
}

// partLikely is how likely the readings are in a stretch between two of its sizes.
func (w *weigher) partLikely(s int, x *fine, from, to int) float64 {
	row := make([]fitted, len(w.readings))
	for k := range row {
		v := x.shows[w.asked[k]]
		row[k].agrees, row[k].chance = w.fit(&w.readings[k], v[from], v[to], w.healthyAt(&w.readings[k]))
	}
	return w.rowLikely(s, row)
}

// believed is a fault with the size that the readings speak for.
func (w *weigher) believed(fault int) predict.Hypothesis {
	s := w.list[fault].best
	x := w.finer(s)
	best, most := 0, -1.0
	for i := range x.sizes {
		l := w.partLikely(s, x, i, i)
		if x.sizes[i].Faults[0].Size == 0 {
			l *= usualFirst
		}
		if l > most {
			best, most = i, l
		}
	}
	return x.sizes[best]
}

// likelyAlso is the share of the likeliest step from which another one is believed as well.
const likelyAlso = 0.25

// sizes tells between what the size of a fault lies, in Ω or as a factor, by the steps that
// explain the readings best.
func (w *weigher) sizes(fault int) Size {
	s := w.list[fault].best
	x := w.finer(s)
	var likely [steps]float64
	for i := range likely {
		likely[i] = w.partLikely(s, x, i, i+1)
	}
	size := func(i int) float64 {
		f := x.sizes[i].Faults[0]
		return cmp.Or(f.Size, f.Mode.Value)
	}
	most := slices.Max(likely[:])
	var list []float64
	for i, l := range likely {
		if l >= likelyAlso*most {
			list = append(list, size(i), size(i+1))
		}
	}
	return Size{slices.Min(list), slices.Max(list), x.sizes[0].Faults[0].Mode.Ohms()}
}

// likeliest is the fault of a group with the largest share.
func (w *weigher) likeliest(group int) int {
	best := w.first[group]
	for _, i := range w.d.Groups[group].Faults {
		if w.list[i].P > w.list[best].P {
			best = i
		}
	}
	return best
}

// Row lists for each probe of the dictionary the class of what a group of faults shows, in
// the size that the readings speak for.
func (r *Report) Row(group int) []uint16 { return r.rows[group] }

// Typical is what a probe of the dictionary shows in a class, as predict.Run.Value has it:
// what the healthy board does, or one of some groups, where it is in the class.
func (n *Narrower) Typical(probe int, class uint16, groups ...int) float64 {
	if class == n.d.Healthy[probe] {
		return n.d.Reads(probe, -1)
	}
	for _, g := range groups {
		if g >= 0 && n.d.Classes[n.first[g]][probe] == class {
			return n.d.Reads(probe, n.first[g])
		}
	}
	return n.spans[probe][class].low
}
