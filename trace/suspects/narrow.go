package suspects

import (
	"cmp"
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// Suspect is a fault, or several that no probe on the board tells apart.
type Suspect struct {
	Names   []string // of the faults, as --fault takes them
	Faults  []int    // indices into the dictionary
	Parts   []netlist.PartID
	P       float64
	For     []int           // readings that speak for it
	Against []int           // and against it
	Blown   []predict.Blown // fuses that it opens
	Settle  string          // what to do with the group, as no probe settles it
}

// Pair is two faults that explain together what neither explains alone.
type Pair struct {
	Names []string
	P     float64 // among the pairs that explain all
	Blown []predict.Blown
}

// Cleared is a part that is no longer suspected.
type Cleared struct {
	Part netlist.PartID
	By   int // the reading that speaks loudest against its faults
}

// Report is what readings come to.
type Report struct {
	Board    *netlist.Board
	Readings []Reading
	Healthy  []bool    // the reading is that of a healthy board
	Suspects []Suspect // the likeliest first
	Other    float64   // share of a cause that is not on the board file
	Single   bool      // some single fault explains every reading
	Fine     bool      // a healthy board does
	Pairs    []Pair    // only when no single fault explains every reading
	Clash    [][]int   // smallest sets of readings that nothing explains together
	Cleared  []Cleared // in the order of the file
	Next     []Next    // the best next probes
	Unsaid   []Unsaid  // readings that the leading suspect does not explain
	Caution  []string
}

// Unsaid is a reading that the leading suspect does not explain.
type Unsaid struct{ Reading int }

// Next is a probe that would tell much for what it costs.
type Next struct {
	Probe    predict.Probe
	Bits     float64 // expected information about the suspects
	Seconds  float64
	Outcomes []Outcome
}

// Outcome is one thing that a probe may show.
type Outcome struct {
	Value   float64 // as predict.Run.Value has it; a typical one
	P       float64
	Leaves  []string // the likeliest suspects that are left then
	Healthy bool     // what the healthy board shows
}

const (
	mostPairs   = 600  // simulated exactly
	mostShown   = 12   // suspects in the report
	least       = 1e-3 // share of a suspect that is shown
	clearedFrom = 0.02 // share of its weight that a cleared part keeps at most
	mostNext    = 3
)

// Narrow weighs what may have failed by readings. The error tells of a history
// that is not known.
func Narrow(m *predict.Model, readings []Reading, o Options) (*Report, error) {
	w := &weigher{m: m, readings: readings}
	if err := w.weigh(o); err != nil {
		return nil, err
	}
	d := m.Dictionary()
	for g := range d.Groups {
		for _, i := range d.Groups[g].Faults {
			w.list[i].group = g
		}
	}
	r := &Report{Board: m.Board, Readings: readings, Healthy: make([]bool, len(readings))}
	for k, a := range w.healthy {
		r.Healthy[k] = a >= explains
	}
	r.Other = w.posterior(w.list)
	r.Fine = explained(w.healthy)
	r.Single = slices.ContainsFunc(w.list, func(h Hypothesis) bool { return explained(h.Agrees) })
	w.suspects(r, d)
	w.cleared(r)
	if !r.Single && !r.Fine {
		w.pairs(r, o)
	}
	w.next(r, d)
	w.unsaid(r)
	return r, nil
}

// suspects groups the faults that no probe tells apart and sorts the groups.
func (w *weigher) suspects(r *Report, d *predict.Dictionary) {
	mean := make([]float64, len(w.readings))
	for k := range mean {
		for i := range w.list {
			mean[k] += w.list[i].Weight * w.list[i].Agrees[k]
		}
	}
	for g := range d.Groups {
		s := Suspect{}
		if !d.Groups[g].Detected {
			continue // nothing that anyone could see
		}
		for _, i := range d.Groups[g].Faults {
			h := &w.list[i]
			s.P += h.P
			s.Faults, s.Names = append(s.Faults, i), append(s.Names, h.Name)
			if p := partOf(h); !slices.Contains(s.Parts, p) {
				s.Parts = append(s.Parts, p)
			}
			s.Blown = append(s.Blown, h.Blown...)
		}
		if len(s.Faults) == 0 || s.P < least {
			continue
		}
		a := w.list[s.Faults[0]].Agrees
		for k := range a {
			switch {
			case a[k] < explains:
				s.Against = append(s.Against, k)
			case a[k] > 1.2*mean[k]:
				s.For = append(s.For, k)
			}
		}
		s.Settle = settle(w.m.Board, s.Parts)
		r.Suspects = append(r.Suspects, s)
	}
	slices.SortStableFunc(r.Suspects, func(a, b Suspect) int { return cmp.Compare(b.P, a.P) })
	r.Suspects = r.Suspects[:min(len(r.Suspects), mostShown)]
}

// settle names the physical action that tells the parts of a group apart.
func settle(b *netlist.Board, parts []netlist.PartID) string {
	if len(parts) < 2 {
		return ""
	}
	plugs, panel, shorts := false, false, 0
	for _, id := range parts {
		k := b.Parts[id].Kind
		side, _ := b.Parts[id].Attr("side")
		plugs = plugs || k.Form == netlist.RowsForm
		panel = panel || k.InPanel || side.Text == "panel"
		if k.Form == netlist.ArrowForm {
			shorts++
		}
	}
	switch {
	case panel || plugs:
		return "look at the contacts, move the cable, then exchange cable or panel for known-good ones, once all cold checks have passed"
	case shorts > 1:
		return "lift one of them after the other, with all power out, and measure again; or find the warm one with a limited supply"
	}
	return "lift the cheapest of them first, with all power out, and measure again"
}

// cleared lists the parts whose faults have lost nearly all of their weight.
func (w *weigher) cleared(r *Report) {
	before, after := make([]float64, len(w.m.Board.Parts)), make([]float64, len(w.m.Board.Parts))
	loud := make([]map[int]float64, len(w.m.Board.Parts))
	for i := range w.list {
		h := &w.list[i]
		p := partOf(h)
		before[p] += h.Weight
		after[p] += h.P
		if loud[p] == nil {
			loud[p] = map[int]float64{}
		}
		for k, a := range h.Agrees {
			loud[p][k] += h.Weight * math.Log((1-misread)*a+misread*wrongOnes)
		}
	}
	for id := range before {
		if before[id] == 0 || after[id] > clearedFrom*before[id] || after[id] > least {
			continue
		}
		by, most := -1, 0.0
		for k := range w.readings {
			if x := loud[id][k]; x < most {
				by, most = k, x
			}
		}
		if by >= 0 {
			r.Cleared = append(r.Cleared, Cleared{netlist.PartID(id), by})
		}
	}
}

// pairs looks for two faults that explain every reading between them. Each
// reading must be foretold by one of the two; the likeliest pairs are then
// simulated as what they are, with what they lead to.
func (w *weigher) pairs(r *Report, o Options) {
	type pair struct {
		a, b   int
		weight float64
	}
	var found []pair
	use := make([]int, 0, len(w.list))
	for i := range w.list {
		if w.abnormal(i) {
			use = append(use, i)
		}
	}
	for x, i := range use {
		for _, j := range use[:x] {
			ok := partOf(&w.list[i]) != partOf(&w.list[j])
			for k := range w.readings {
				if w.list[i].Agrees[k] < explains && w.list[j].Agrees[k] < explains {
					ok = false
					break
				}
			}
			if ok {
				found = append(found, pair{j, i, w.list[i].Weight * w.list[j].Weight})
			}
		}
	}
	slices.SortStableFunc(found, func(a, b pair) int { return cmp.Compare(b.weight, a.weight) })
	found = found[:min(len(found), mostPairs)]
	all := make([]predict.Hypothesis, len(found))
	agrees := make([][]float64, len(found))
	for x, p := range found {
		all[x] = w.m.Suppose(w.list[p.a].Faults[0], w.list[p.b].Faults[0])
		agrees[x] = make([]float64, len(w.readings))
	}
	w.each(all, func(i, k int, a, _ float64) { agrees[i][k] = a })
	sum := 0.0
	for x, p := range found {
		if !explained(agrees[x]) {
			continue
		}
		v := p.weight * likelihood(agrees[x])
		sum += v
		r.Pairs = append(r.Pairs, Pair{[]string{w.list[p.a].Name, w.list[p.b].Name}, v, all[x].Blown})
	}
	for i := range r.Pairs {
		r.Pairs[i].P /= sum
	}
	slices.SortStableFunc(r.Pairs, func(a, b Pair) int { return cmp.Compare(b.P, a.P) })
	if len(r.Pairs) == 0 {
		w.clash(r, agrees)
	}
	r.Pairs = r.Pairs[:min(len(r.Pairs), mostShown)]
}

// abnormal tells whether a fault explains some reading that a healthy board does
// not show.
func (w *weigher) abnormal(i int) bool {
	for k, a := range w.list[i].Agrees {
		if a >= explains && w.healthy[k] < explains {
			return true
		}
	}
	return false
}

// clash finds the smallest sets of readings that nothing explains together: no
// single fault, none of the simulated pairs, and not the healthy board.
func (w *weigher) clash(r *Report, pairs [][]float64) {
	rows := append([][]float64{w.healthy}, pairs...)
	for i := range w.list {
		rows = append(rows, w.list[i].Agrees)
	}
	ok := func(set []int) bool {
		return slices.ContainsFunc(rows, func(a []float64) bool {
			return !slices.ContainsFunc(set, func(k int) bool { return a[k] < explains })
		})
	}
	for size := 1; size <= len(w.readings) && len(r.Clash) == 0; size++ {
		combinations(len(w.readings), size, func(set []int) {
			if !ok(set) {
				r.Clash = append(r.Clash, slices.Clone(set))
			}
		})
	}
}

// combinations yields every set of size numbers below n, in order.
func combinations(n, size int, yield func([]int)) {
	set := make([]int, 0, size)
	var grow func(from int)
	grow = func(from int) {
		if len(set) == size {
			yield(set)
			return
		}
		for i := from; i < n; i++ {
			set = append(set, i)
			grow(i + 1)
			set = set[:len(set)-1]
		}
	}
	grow(0)
}

// unsaid lists the readings that the leading suspect does not explain.
func (w *weigher) unsaid(r *Report) {
	if len(r.Suspects) == 0 {
		return
	}
	for _, k := range r.Suspects[0].Against {
		r.Unsaid = append(r.Unsaid, Unsaid{k})
	}
}

// next picks the probes that tell most about the suspects for what they cost.
func (w *weigher) next(r *Report, d *predict.Dictionary) {
	type scored struct {
		k           int
		bits, score float64
	}
	live := make([]int, 0, len(w.list))
	total := 0.0
	for i := range w.list {
		if w.list[i].P > 1e-4 && d.Groups[w.list[i].group].Detected {
			live = append(live, i)
			total += w.list[i].P
		}
	}
	if len(live) < 2 {
		return
	}
	var best []scored
	taken := map[[2]int]bool{}
	for k := range d.Probes {
		share := map[uint16]float64{}
		for _, i := range live {
			share[d.Classes[i][k]] += w.list[i].P / total
		}
		bits := 0.0
		for _, c := range slices.Sorted(keys(share)) {
			bits -= share[c] * math.Log2(share[c])
		}
		if bits > 0.02 {
			best = append(best, scored{k, bits, bits / Seconds(d.Probes[k])})
		}
	}
	slices.SortStableFunc(best, func(a, b scored) int { return cmp.Compare(b.score, a.score) })
	for _, x := range best {
		p := d.Probes[x.k]
		where := [2]int{int(p.Net), int(p.Part)}
		if len(r.Next) == mostNext || taken[where] && p.Method != predict.Look {
			continue
		}
		taken[where] = true
		r.Next = append(r.Next, Next{Probe: p, Bits: x.bits, Seconds: Seconds(p), Outcomes: w.outcomes(d, x.k, live, total)})
	}
}

func keys[K comparable, V any](m map[K]V) func(func(K) bool) {
	return func(yield func(K) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// outcomes tells for each class of a probe what would be left.
func (w *weigher) outcomes(d *predict.Dictionary, k int, live []int, total float64) []Outcome {
	by := map[uint16][]int{}
	for _, i := range live {
		by[d.Classes[i][k]] = append(by[d.Classes[i][k]], i)
	}
	var list []Outcome
	for _, c := range slices.Sorted(keys(by)) {
		o := Outcome{Value: d.Typical(k, c), Healthy: c == d.Healthy[k]}
		idx := by[c]
		slices.SortStableFunc(idx, func(a, b int) int { return cmp.Compare(w.list[b].P, w.list[a].P) })
		for _, i := range idx {
			o.P += w.list[i].P / total
			if len(o.Leaves) < 4 {
				o.Leaves = append(o.Leaves, w.list[i].Name)
			}
		}
		list = append(list, o)
	}
	slices.SortStableFunc(list, func(a, b Outcome) int { return cmp.Compare(b.P, a.P) })
	return list
}

// Seconds is what a probe costs: common practice, no source.
func Seconds(p predict.Probe) float64 {
	switch p.Method {
	case predict.Look:
		return 10
	case predict.Activity:
		return 60
	case predict.Diode, predict.Ohms, predict.Across:
		return 30
	}
	return 20
}
