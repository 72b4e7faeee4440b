package suspects

import (
	"cmp"
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
)

// Next is a probe that would tell much for what it costs.
type Next struct {
	Probe    netlist.Probe
	Bits     float64 // expected information about the suspects
	Seconds  float64 // with the change of the board's state
	Again    bool    // it was read before
	Outcomes []Outcome
}

// Outcome is one thing that a probe may show.
type Outcome struct {
	Value   float64 // as predict.Run.Value has it; a typical one
	P       float64
	Leaves  [][]string // the likeliest suspects that are left then, each with what no probe tells from it
	More    int        // how many others
	Healthy bool       // what the healthy board shows
}

const (
	mostNext   = 3
	mostLeaves = 3
	mostTimes  = 2    // that a probe is asked for: once more shows a slip, and a third time nothing new
	alive      = 1e-6 // share of a suspect that still counts
	barely     = 1e-9 // while only one has that much
	leastBits  = 1e-12

	believedFrom = 1e-3 // share of a group of which every probe is foretold in its believed size
)

// next picks the probes that tell most about the suspects for what they cost.
// What was read before may be read again: a slip does not happen twice.
func (w *weigher) next(r *Report) {
	mass := w.mass(r)
	type scored struct {
		k           int
		bits, score float64
	}
	var best []scored
	times := map[string]int{}
	for k := range w.readings {
		times[w.answers(&w.readings[k])]++
	}
	off := r.keptOff()
	for k := range w.d.Probes {
		if times[w.keys[k]] >= mostTimes || !w.bench.Asks(w.d.Probes[k]) || off && !w.d.Probes[k].Cold() {
			continue
		}
		if bits := w.bits(k, mass); bits > leastBits {
			score := bits / (w.seconds(w.d.Probes[k]) + probe.Handling)
			if times[w.keys[k]] > 0 {
				score /= 2 // the same hand may slip at the same place
			}
			best = append(best, scored{k, bits, score})
		}
	}
	slices.SortStableFunc(best, func(a, b scored) int { return cmp.Compare(b.score, a.score) })
	order := make([]int, 0, len(best)+2)
	sought := w.fuse(r)
	if sought >= 0 {
		order = append(order, sought)
	}
	if r.Stands != netlist.None {
		order = append(order, w.probeAt(w.readings[r.Stands].Probe))
	}
	for _, x := range best {
		order = append(order, x.k)
	}
	taken, splits := map[[3]int]bool{}, map[string]bool{}
	for i, k := range order {
		p := w.d.Probes[k]
		where := [3]int{int(p.Net), int(p.Part), p.Fact}
		if len(r.Next) == mostNext {
			break
		}
		split := w.split(k, mass)
		if taken[where] || splits[split] {
			continue
		}
		taken[where], splits[split] = true, true
		if i == 0 && r.Fuse != nil && sought >= 0 {
			r.Fuse.Probe = 0
		}
		r.Next = append(r.Next, Next{p, w.bits(k, mass), w.seconds(p), times[w.keys[k]] > 0, w.outcomes(k, mass)})
	}
	if off {
		w.nextOfGate(r, mass, times)
	}
}

// answers is the key of the probe that a reading answers.
func (w *weigher) answers(x *netlist.Reading) string {
	p := x.Probe
	if x.Seen != nil && x.Seen.Target.Fact != netlist.None {
		p.Method = netlist.Look
	}
	return probeKey(p)
}

// live is a group with its share of what a probe can tell apart.
type live struct {
	group int
	p     float64
	row   []uint16 // its class at each probe
}

// mass lists the groups that still count; a pair counts for both of its groups.
func (w *weigher) mass(r *Report) []live {
	p := make([]float64, len(w.d.Groups))
	for i := range w.list {
		p[w.group[i]] += w.list[i].P
	}
	for _, x := range r.Pairs {
		p[x.Groups[0]] += x.P
		p[x.Groups[1]] += x.P
	}
	var list []live
	sum := 0.0
	for _, from := range []float64{alive, barely} {
		list, sum = list[:0], 0
		for g := range p {
			if w.d.Groups[g].Detected && p[g] > from {
				list = append(list, live{g, p[g], nil})
				sum += p[g]
			}
		}
		if len(list) > 1 {
			break
		}
	}
	r.rows = make([][]uint16, len(w.d.Groups))
	for g := range r.rows {
		r.rows[g] = w.d.Classes[w.first[g]]
	}
	for i := range list {
		x := &list[i]
		x.p /= sum
		if h := w.likeliest(x.group); x.p > believedFrom && w.sized(h) {
			if b := w.believed(h); b.Faults[0].Size != 0 {
				r.rows[x.group] = w.row(b)
			}
		}
		x.row = r.rows[x.group]
	}
	return list
}

// split tells in which way a probe divides the suspects, whatever it shows.
func (w *weigher) split(k int, mass []live) string {
	names := map[uint16]byte{}
	key := make([]byte, len(mass))
	for i, x := range mass {
		c := x.row[k]
		if _, ok := names[c]; !ok {
			names[c] = byte(len(names))
		}
		key[i] = names[c]
	}
	return string(key)
}

// bits is the information that a probe is expected to give about the suspects.
func (w *weigher) bits(k int, mass []live) float64 {
	if w.most[k] < 2 {
		return 0
	}
	var few [64]float64
	share := few[:min(w.most[k], len(few))]
	if w.most[k] > len(few) {
		share = make([]float64, w.most[k])
	}
	for _, x := range mass {
		share[x.row[k]] += x.p
	}
	return Bits(share, w.usualSpans[k])
}

// Bits is the information that a probe is expected to give by the share of each
// outcome, when one in so many readings is wrong and shows any of n.
func Bits(share []float64, n int) float64 {
	slip := misread / float64(n)
	h, shown := 0.0, 0
	for _, s := range share {
		if s > 0 {
			shown++
			q := (1-misread)*s + slip
			h -= q * math.Log2(q)
		}
	}
	if shown < 2 {
		return 0
	}
	right := 1 - misread + slip
	return max(0, h+right*math.Log2(right)+float64(shown-1)*slip*math.Log2(slip))
}

// seconds is what a probe costs after the last reading.
func (w *weigher) seconds(p netlist.Probe) float64 {
	last := netlist.Probe{Method: netlist.Look, State: netlist.Condition{Setting: w.m.Board.Usual()}}
	if n := len(w.readings); n > 0 {
		last = w.readings[n-1].Probe
	}
	return w.costs.Probe(w.bench, p) + w.costs.Change(w.m.Board, last, p)
}

// outcomes tells for each class of a probe what would be left.
func (w *weigher) outcomes(k int, mass []live) []Outcome {
	by := make([][]live, w.most[k])
	for _, x := range mass {
		c := x.row[k]
		by[c] = append(by[c], x)
	}
	var list []Outcome
	for c, left := range by {
		if len(left) == 0 {
			continue
		}
		slices.SortStableFunc(left, func(a, b live) int { return cmp.Compare(b.p, a.p) })
		o := Outcome{Value: w.Typical(k, uint16(c), left[0].group), Healthy: uint16(c) == w.d.Healthy[k]}
		for _, x := range left {
			o.P += x.p
			switch {
			case len(o.Leaves) < mostLeaves && x.p > 0.02*left[0].p:
				o.Leaves = append(o.Leaves, w.Names(x.group))
			case x.p > 0.02*left[0].p:
				o.More++
			}
		}
		list = append(list, o)
	}
	slices.SortStableFunc(list, func(a, b Outcome) int { return cmp.Compare(b.P, a.P) })
	return list
}

// fuse tells what must be sought before an open fuse that leads is called the
// cause, and returns the probe to seek it with, or -1.
func (w *weigher) fuse(r *Report) int {
	if r.Leads() != OneLeads {
		return -1
	}
	lead := w.d.Groups[w.group[r.Suspects[0].Faults[0]]]
	i := slices.IndexFunc(lead.Faults, func(i int) bool {
		f := w.list[i].Faults[0]
		return w.m.Board.Parts[f.Part].Kind.Victim && f.Mode.Does == netlist.Opens
	})
	if i < 0 {
		return -1
	}
	fault := lead.Faults[i]
	id := partOf(&w.list[fault])
	if w.opened(id) < likelyOpen {
		return -1
	}
	r.Fuse = &Fuse{Part: id, Probe: netlist.None}
	var unsought []int
	seen := map[netlist.PartID]bool{}
	for i := range w.list {
		h := &w.list[i]
		blows := slices.ContainsFunc(h.Blown, func(b predict.Blown) bool { return b.Part == id })
		if !blows || w.soughtCold(h.Agrees) {
			continue
		}
		unsought = append(unsought, i)
		if p := partOf(h); !seen[p] {
			seen[p] = true
			r.Fuse.Unsought = append(r.Fuse.Unsought, w.m.Board.Parts[p].Name)
		}
	}
	best, most := -1, 0.0
	for k := range w.d.Probes {
		p := w.d.Probes[k]
		if p.Method != netlist.Ohms || slices.ContainsFunc(w.readings, func(x netlist.Reading) bool { return probeKey(x.Probe) == w.keys[k] }) {
			continue
		}
		apart := 0.0
		for _, i := range unsought {
			if w.d.Classes[i][k] != w.d.Classes[fault][k] {
				apart += w.list[i].Weight
			}
		}
		if w.behind(id, p.Net) {
			// Behind the fuse itself comes before places further on that tell little more.
			apart *= 1.5
			if len(unsought) == 0 && len(w.behindReadings(id)) == 0 {
				apart = math.SmallestNonzeroFloat64
			}
		}
		if apart > most {
			best, most = k, apart
		}
	}
	return best
}

// likelyOpen is the share from which a fuse is spoken of as open.
const likelyOpen = 0.5

// opened is the share of all single faults that leave a fuse open.
func (w *weigher) opened(fuse netlist.PartID) float64 {
	share := 0.0
	for i := range w.list {
		h := &w.list[i]
		if partOf(h) == fuse && h.Faults[0].Mode.Does == netlist.Opens ||
			slices.ContainsFunc(h.Blown, func(b predict.Blown) bool { return b.Part == fuse }) {
			share += h.P
		}
	}
	return share
}

// soughtCold reports whether a reading with all power out rules something out.
func (w *weigher) soughtCold(agrees []float64) bool {
	for k, a := range agrees {
		if a < explains && w.readings[k].Probe.Cold() {
			return true
		}
	}
	return false
}

// behind reports whether a net is the end of a fuse that loses its level when the
// fuse opens.
func (w *weigher) behind(id netlist.PartID, n netlist.NetID) bool {
	p := &w.m.Board.Parts[id]
	if !slices.ContainsFunc(p.Conns, func(c netlist.Conn) bool { return c.Net == n }) {
		return false
	}
	i := slices.IndexFunc(w.list, func(h Hypothesis) bool { return partOf(&h) == id && h.Faults[0].Mode.Does == netlist.Opens })
	t := w.hotValues(netlist.Condition{Setting: w.m.Board.Usual()})
	at := netlist.Probe{Method: netlist.Volts, Net: n}
	a, b := t.value(0, at), t.value(w.usual[i], at)
	return math.IsInf(b, 1) || math.Abs(a-b) > predict.Apart(netlist.Volts, b)
}

// behindReadings lists the readings in ohms behind a fuse.
func (w *weigher) behindReadings(id netlist.PartID) []int {
	var list []int
	for k := range w.readings {
		if p := w.readings[k].Probe; p.Method == netlist.Ohms && w.behind(id, p.Net) {
			list = append(list, k)
		}
	}
	return list
}
