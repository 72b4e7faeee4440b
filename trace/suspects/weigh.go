package suspects

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/repair"
)

// Shares, common practice, no source.
const (
	misread     = 0.05  // of readings, that are wrong
	misreadOhms = 0.02  // of readings with all power out, when nothing moves and the meter feeds the circuit itself
	wrongOnes   = 0.1   // of a wrong reading, to show just this
	slipsAgain  = 0.1   // of a wrong reading, to come out alike when it is repeated
	unlisted    = 0.05  // that the cause is not in the board file
	otherRight  = 0.5   // that a cause which is not listed leaves a reading as on a healthy board
	otherLooks  = 0.1   // that it looks just like this instead
	otherReads  = 0.03  // that a meter shows just this instead
	otherPlace  = 0.05  // that it is where the meter is first put
	convicted   = 0.001 // of all faults, at least, for one of a part that was read open from end to end
	otherOpens  = 1e-3  // that a part reads more from end to end by something that is not a fault of it
	secondOne   = 0.3   // that an independent second fault is there as well
	unrelated   = 1e-3  // that a board comes in with a fault that has nothing to do with what reads wrong
	explains    = 0.3   // least agreement that counts as explaining a reading
	floatsLow   = 0.5   // agreement of a low voltage with a net that nothing holds
	inBand      = 0.5   // least agreement of two readings inside the band that the file gives
)

// floatsBelow is the voltage in V under which a floating net reads on a meter.
const floatsBelow = 5.0

// Hypothesis is one thing that may have happened.
type Hypothesis struct {
	predict.Hypothesis
	Name   string
	Weight float64   // before the readings, of all
	P      float64   // after them
	Agrees []float64 // 0 to 1, for each reading, in the stretch of sizes that explains most
	best   int       // that stretch
}

// Narrower keeps what was simulated of a board, so that readings may come one
// after the other. It is not safe for use by several goroutines.
type Narrower struct {
	m          *predict.Simulator
	bench      *probe.Bench
	costs      probe.Costs
	repairs    *repair.Table
	d          *predict.Dictionary
	all        []predict.Hypothesis // the healthy board, then each single fault in several sizes
	usual      []int                // of a fault: the hypothesis with its usual size
	starts     []int                // of a fault: its first stretch
	stretches  []stretch            // the healthy board, then those of each fault
	group      []int                // of a fault: its place in d.Groups
	first      []int                // of a group: its heaviest fault
	rows       map[string][]uint16  // of a fault of some size: its class at each probe
	spans      [][]span             // of a probe: its classes, with those that no fault of usual size shows
	usualSpans []int                // of a probe: how many of them faults of usual size show
	far        map[farAt]uint16     // classes of the others
	most       []int                // of a probe: how many classes it has
	keys       []string             // of a probe
	lifted     map[netlist.NetID]int
	fine       map[int]*fine // by stretch
	hot        map[string]*shown
	cold       map[string][]float64
	columns    map[string]*column
	both       map[[4]int]*both // by the ends of both stretches
}

// shown is what the hypotheses show in one state; a floating net is +Inf.
type shown struct {
	nets         int
	volts, swing []float64 // by hypothesis, then net
	facts        int       // and lanes, which come first
	holds        []bool    // by hypothesis, then lane or fact
	lanes        int
}

// New simulates every single fault of a board.
func New(m *predict.Simulator) *Narrower {
	n := &Narrower{m: m, bench: BenchOf(m), costs: probe.UsualCosts(), repairs: repair.NewTable(m.Model), d: m.Dictionary(),
		lifted: map[netlist.NetID]int{},
		hot:    map[string]*shown{}, cold: map[string][]float64{}, columns: map[string]*column{}, both: map[[4]int]*both{}}
	n.spread()
	n.group, n.first = make([]int, len(n.d.Faults)), make([]int, len(n.d.Groups))
	for g := range n.d.Groups {
		list := n.d.Groups[g].Faults
		n.first[g] = list[0]
		for _, i := range list {
			n.group[i] = g
			if n.d.Weight[i] > n.d.Weight[n.first[g]] {
				n.first[g] = i
			}
		}
	}
	for i, h := range n.d.Faults {
		if f := h.Faults[0]; f.Mode.Does == netlist.Detaches {
			n.lifted[m.Board.Parts[f.Part].Conns[0].Net] = n.usual[i]
		}
	}
	n.fine = map[int]*fine{}
	n.most, n.rows = make([]int, len(n.d.Probes)), map[string][]uint16{}
	n.keys = make([]string, len(n.d.Probes))
	for k := range n.d.Probes {
		n.keys[k] = probeKey(n.d.Probes[k])
		n.most[k] = int(n.d.Healthy[k]) + 1
		for i := range n.d.Faults {
			n.most[k] = max(n.most[k], int(n.d.Classes[i][k])+1)
		}
	}
	n.sortSpans()
	return n
}

// weigher collects what one call of Narrow needs.
type weigher struct {
	*Narrower
	readings []netlist.Reading
	list     []Hypothesis // single faults, in the order of the file
	healthy  []float64    // agreement of the healthy board
	stand    []*column    // of each reading
	asked    []string     // keys of the readings
	times    []int        // that a reading was taken, 0 where it repeats an earlier one
	clashes  [][2]int     // readings of one probe of which one size shows only one
}

// weigh compares every single fault with the readings.
func (w *weigher) weigh(history []string) error {
	w.list = make([]Hypothesis, len(w.d.Faults))
	agrees := make([]float64, len(w.d.Faults)*len(w.readings))
	sum := 0.0
	for i, h := range w.d.Faults {
		x, err := historyFactor(history, w.m.Board.Parts[h.Faults[0].Part].Kind, h.Faults[0].Mode)
		if err != nil {
			return err
		}
		n := len(w.readings)
		x *= w.m.Board.Factor(h.Faults[0].Part, h.Faults[0].Mode)
		w.list[i] = Hypothesis{Hypothesis: h, Name: w.d.Names[i], Weight: w.d.Weight[i] * x, Agrees: agrees[i*n : (i+1)*n : (i+1)*n]}
		sum += w.list[i].Weight
	}
	w.repeats()
	w.healthy = make([]float64, len(w.readings))
	w.stand = make([]*column, len(w.readings))
	for k := range w.readings {
		w.asked = append(w.asked, readingKey(&w.readings[k]))
		w.stand[k] = w.column(&w.readings[k])
		w.healthy[k] = w.stand[k].fits[0].agrees
	}
	likely := make([]float64, len(w.list))
	for i := range w.list {
		likely[i] = w.over(i, w.stand)
	}
	wrong := !explained(w.healthy)
	for i := range w.list {
		w.list[i].Weight *= (1 - unlisted) / sum
		if w.convicts(i) {
			w.list[i].Weight = max(w.list[i].Weight, convicted)
		}
		w.list[i].P = w.list[i].Weight * likely[i]
		if wrong && !w.abnormal(i) {
			w.list[i].P *= unrelated
		}
	}
	return nil
}

// opens reports whether a hypothesis has the part open that a probe reads from end to end.
func opens(h *predict.Hypothesis, p netlist.Probe) bool {
	if p.Method != netlist.Across || p.Part == netlist.None {
		return false
	}
	return slices.ContainsFunc(h.Faults, func(f predict.Fault) bool {
		return f.Part == p.Part && f.Mode.Does == netlist.Opens && (f.Unit == netlist.None || f.Unit == p.Channel)
	}) || slices.ContainsFunc(h.Blown, func(b predict.Blown) bool { return b.Part == p.Part })
}

// convicts reports whether a part of a fault was read open from end to end, and the fault
// opens it. No rate from a handbook outweighs that.
func (w *weigher) convicts(i int) bool {
	h := &w.list[i]
	for k := range w.readings {
		p := w.readings[k].Probe
		if !w.direct(k) || !math.IsInf(w.readings[k].Value, 1) || w.healthy[k] >= explains || h.Agrees[k] < explains {
			continue
		}
		if partOf(h) == p.Part || slices.ContainsFunc(h.Blown, func(b predict.Blown) bool { return b.Part == p.Part }) {
			return true
		}
	}
	return false
}

// abnormal reports whether a fault explains some reading that a healthy board does
// not show.
func (w *weigher) abnormal(i int) bool {
	for k, a := range w.list[i].Agrees {
		if a >= explains && w.healthy[k] < explains {
			return true
		}
	}
	return false
}

// key tells readings apart by what they say.
func readingKey(r *netlist.Reading) string {
	if r.Seen != nil {
		key := probeKey(r.Probe) + fmt.Sprint(" ", r.Seen.Target, strings.ToLower(r.Seen.Word))
		for i := range r.Or {
			key += " or " + readingKey(&r.Or[i])
		}
		return key
	}
	return probeKey(r.Probe) + fmt.Sprint(" ", r.Value)
}

// usualFirst is by how much another stretch must explain more than one at the usual size
// to be believed instead.
const usualFirst = 1.1

// over weighs all sizes of a fault, notes the stretch that explains most, and returns how
// likely the readings are.
func (w *weigher) over(fault int, columns []*column) float64 {
	h := &w.list[fault]
	sum, most := 0.0, 0.0
	row := make([]fitted, len(columns))
	first, end := w.of(fault)
	for s := first; s < end; s++ {
		for k, c := range columns {
			row[k] = c.fits[s]
		}
		l := w.rowLikely(s, row)
		if w.strained(s, columns) {
			l = w.refine(s, row)
		}
		l *= w.stretches[s].share
		sum += l
		if w.stretches[s].usual {
			l *= usualFirst
		}
		if l > most {
			h.best, most = s, l
			for k := range row {
				h.Agrees[k] = row[k].agrees
			}
		}
	}
	if w.wide(h.best) {
		for _, x := range w.clashes {
			w.keepOne(x, h.Agrees)
		}
	}
	return sum
}

// rowLikely is how likely the readings are in a stretch, or in a part of it.
func (w *weigher) rowLikely(s int, row []fitted) float64 {
	l := 1.0
	for k := range row {
		l *= w.likely(k, row[k].chance)
	}
	if w.wide(s) {
		for _, x := range w.clashes {
			l *= w.either(x, row[x[0]].chance, row[x[1]].chance)
		}
	}
	return l
}

// strained reports whether a stretch agrees with every reading and at least two of them
// do not hold all over it, so that it may be that no one size agrees with both.
func (w *weigher) strained(s int, columns []*column) bool {
	if !w.wide(s) {
		return false
	}
	strict := 0
	for k, c := range columns {
		if c.fits[s].agrees < explains {
			return false
		}
		if c.strict[s] && w.times[k] > 0 {
			strict++
		}
	}
	return strict > 1
}

// refine weighs a stretch in steps, and gives the row of the half step that explains most.
// What jumps within a step jumps at one size: on either side of it all is as at that end.
func (w *weigher) refine(s int, row []fitted) float64 {
	x := w.finer(s)
	sum, most := 0.0, -1.0
	part := make([]fitted, len(row))
	for half := range 2 * steps {
		i, side := half/2, (half+1)/2
		for k := range part {
			r, v := &w.readings[k], x.shows[w.asked[k]]
			low, high := v[i], v[i+1]
			if r.Seen != nil || !(math.Abs(high-low) < jumps*predict.Apart(r.Probe.Method, min(math.Abs(low), math.Abs(high)))) {
				low, high = v[side], v[side]
			}
			part[k].agrees, part[k].chance = w.fit(r, low, high, w.healthyAt(r))
		}
		l := w.rowLikely(s, part)
		sum += l / (2 * steps)
		if l > most {
			most = l
			copy(row, part)
		}
	}
	return sum
}

// jumps is how many times what a meter tells apart a value changes within a step where it
// jumps and does not slide.
const jumps = 5

// column tells how a reading stands to each stretch, the healthy board first.
func (n *Narrower) column(r *netlist.Reading) *column {
	key := readingKey(r)
	if c, ok := n.columns[key]; ok {
		return c
	}
	v := n.foretold(r)
	for i := range r.Or { // one that holds is enough
		for h, x := range n.foretold(&r.Or[i]) {
			v[h] = max(v[h], x)
		}
	}
	c := &column{make([]fitted, len(n.stretches)), make([]bool, len(n.stretches))}
	for s, x := range n.stretches {
		low, high := v[x.low], v[x.high]
		c.fits[s].agrees, c.fits[s].chance = n.fit(r, low, high, v[0])
		c.strict[s] = low != high && (r.Seen != nil || !near(r.Probe.Method, low, high))
	}
	n.columns[key] = c
	return c
}

// foretold is what each hypothesis foretells of a reading: a value as predict.Run.Value
// has it, or 1 where a word holds.
func (n *Narrower) foretold(r *netlist.Reading) []float64 {
	v := make([]float64, len(n.all))
	switch {
	case r.Probe.Cold():
		copy(v, n.coldValues(r.Probe))
		for i := range v {
			if math.IsInf(r.Value, 1) && !math.IsInf(v[0], 1) && opens(&n.all[i], r.Probe) {
				v[i] = math.Inf(1) // whatever the file has in parallel
			}
		}
	case r.Seen == nil:
		t := n.hotValues(r.Probe.State)
		for i := range v {
			v[i] = t.value(i, r.Probe)
		}
	case r.Seen.Target.Net == netlist.None:
		t := n.hotValues(r.Probe.State)
		for i := range v {
			v[i] = truth(predict.SaysThere(*r.Seen, t.there(0, r.Seen.Target)) == t.there(i, r.Seen.Target))
		}
	case r.Seen.Word == predict.Floating:
		t := n.hotValues(r.Probe.State)
		for i := range v {
			v[i] = truth(math.IsInf(t.value(i, netlist.Probe{Net: r.Probe.Net}), 1))
		}
	default:
		for i, x := range n.m.Sweep(r.Probe.State, n.all) {
			v[i] = truth(x.Fits(*r.Seen))
		}
		if i, ok := n.lifted[r.Seen.Target.Net]; ok {
			v[i] = truth(nothingFits(*r.Seen))
		}
	}
	return v
}

func (t *shown) value(hypothesis int, p netlist.Probe) float64 {
	if p.Method == netlist.Activity {
		return t.swing[hypothesis*t.nets+int(p.Net)]
	}
	return t.volts[hypothesis*t.nets+int(p.Net)]
}

// there reports whether a lane lives or a fact holds.
func (t *shown) there(hypothesis int, x netlist.Target) bool {
	if x.Lane != netlist.None {
		return t.holds[hypothesis*t.facts+x.Lane]
	}
	return t.holds[hypothesis*t.facts+t.lanes+x.Fact]
}

// fits reports whether an observation agrees with a run.
func (t *shown) fits(r *predict.Run, o netlist.Observation) bool {
	switch x := o.Target; {
	case x.Net != netlist.None:
		return r.Fits(o)
	case x.Lane != netlist.None:
		return r.Alive(x.Lane) == predict.SaysThere(o, t.there(0, x))
	default:
		return r.Holds(x.Fact) == predict.SaysThere(o, t.there(0, x))
	}
}

// nothingFits reports whether a probe that touches nothing shows what was seen.
func nothingFits(o netlist.Observation) bool {
	switch strings.ToLower(o.Word) {
	case "low", "zero", "floating", "quiet":
		return true
	case "high", "toggling", "alive":
		return false
	}
	return o.Wrong && !o.Above
}

// hotValues simulates every hypothesis in a state.
func (n *Narrower) hotValues(st netlist.Condition) *shown {
	key := stateKey(st)
	if t := n.hot[key]; t != nil {
		return t
	}
	nets := len(n.m.Board.Nets)
	b := n.m.Board
	t := &shown{nets: nets, lanes: len(b.Lanes), facts: len(b.Lanes) + len(b.Facts), volts: make([]float64, len(n.all)*nets),
		swing: make([]float64, len(n.all)*nets)}
	p := netlist.Probe{Fact: netlist.None}
	for i, r := range n.m.Sweep(st, n.all) {
		for k := range b.Lanes {
			t.holds = append(t.holds, r.Alive(k))
		}
		for k := range b.Facts {
			t.holds = append(t.holds, r.Holds(k))
		}
		for k := range nets {
			p.Net = netlist.NetID(k)
			p.Method = netlist.Volts
			t.volts[i*nets+k] = r.Value(p)
			p.Method = netlist.Activity
			t.swing[i*nets+k] = r.Value(p)
			if n.lifted[p.Net] == i && i > 0 {
				t.volts[i*nets+k], t.swing[i*nets+k] = math.Inf(1), 0
			}
		}
	}
	n.hot[key] = t
	return t
}

// coldValues measures every hypothesis at a probe with all power out.
func (n *Narrower) coldValues(p netlist.Probe) []float64 {
	key := probeKey(p)
	if v := n.cold[key]; v != nil {
		return v
	}
	v := make([]float64, len(n.all))
	for i, h := range n.all {
		v[i] = n.m.Cold(p.State.Unplugged, h).Value(p)
	}
	if i, ok := n.lifted[p.Net]; ok {
		v[i] = math.Inf(1)
	}
	n.cold[key] = v
	return v
}

func stateKey(st netlist.Condition) string { return fmt.Sprint(st.Unplugged, st.Setting) }

func probeKey(p netlist.Probe) string {
	st := p.State
	if p.Cold() {
		st.Setting = nil
	}
	return fmt.Sprint(p.Method, p.Net, p.Other, p.Part, p.Channel, p.Fact, stateKey(st))
}

// exact tells of a stretch between two hypotheses that are not in the list how well it
// foretells readings.
func (n *Narrower) exact(low, high predict.Hypothesis, readings []netlist.Reading) []float64 {
	a, b := n.foretells(low, readings), n.foretells(high, readings)
	out := make([]float64, len(readings))
	for k := range out {
		out[k], _ = n.fit(&readings[k], a[k], b[k], n.healthyAt(&readings[k]))
	}
	return out
}

// healthyAt is what the healthy board foretells of a reading that is a value.
func (n *Narrower) healthyAt(r *netlist.Reading) float64 {
	switch {
	case r.Probe.Cold():
		return n.coldValues(r.Probe)[0]
	case r.Seen == nil:
		return n.hotValues(r.Probe.State).value(0, r.Probe)
	}
	return 0
}

// foretells simulates one more hypothesis, each state once, and lists what it foretells of
// readings, as foretold has it.
func (n *Narrower) foretells(h predict.Hypothesis, readings []netlist.Reading) []float64 {
	out := make([]float64, len(readings))
	done := make([]bool, len(readings))
	for k := range readings {
		if done[k] {
			continue
		}
		var same []int
		for j := k; j < len(readings); j++ {
			if !done[j] && sameState(readings[k].Probe, readings[j].Probe) {
				same = append(same, j)
				done[j] = true
			}
		}
		st := readings[k].Probe.State
		if readings[k].Probe.Cold() {
			c := n.m.Cold(st.Unplugged, h)
			for _, j := range same {
				out[j] = n.coldShows(c, &readings[j])
			}
			continue
		}
		healthy := n.hotValues(st)
		for _, r := range n.m.Sweep(st, []predict.Hypothesis{h}) {
			for _, j := range same {
				out[j] = n.hotShows(healthy, r, &readings[j])
			}
		}
	}
	return out
}

// coldShows is what a board with all power out foretells of a reading.
func (n *Narrower) coldShows(c *predict.Cold, x *netlist.Reading) float64 {
	switch {
	case n.misses(c.Hypothesis, x.Probe.Net):
		return math.Inf(1)
	case math.IsInf(x.Value, 1) && opens(&c.Hypothesis, x.Probe):
		return math.Inf(1)
	}
	return c.Value(x.Probe)
}

// hotShows is what a run foretells of a reading: a value, or 1 where a word holds.
func (n *Narrower) hotShows(healthy *shown, r *predict.Run, x *netlist.Reading) float64 {
	lifted := n.misses(r.Hypothesis, x.Probe.Net)
	switch {
	case x.Seen != nil && lifted:
		return truth(nothingFits(*x.Seen))
	case x.Seen != nil:
		a := truth(healthy.fits(r, *x.Seen))
		for i := range x.Or {
			a = max(a, n.hotShows(healthy, r, &x.Or[i]))
		}
		return a
	case lifted && x.Probe.Method == netlist.Activity:
		return 0
	case lifted:
		return math.Inf(1)
	}
	return r.Value(x.Probe)
}

// misses reports whether a hypothesis has the test point of a net lifted.
func (n *Narrower) misses(h predict.Hypothesis, net netlist.NetID) bool {
	i, ok := n.lifted[net]
	return ok && slices.ContainsFunc(h.Faults, func(f predict.Fault) bool { return f == n.all[i].Faults[0] })
}

func sameState(a, b netlist.Probe) bool {
	if a.Cold() || b.Cold() {
		return a.Cold() == b.Cold() && a.State.Unplugged == b.State.Unplugged
	}
	return a.State.Unplugged == b.State.Unplugged && slices.Equal(a.State.Setting, b.State.Setting)
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// agree tells how well what the meter showed fits between two values that are foretold;
// healthy is what the healthy board shows. A net that nothing holds may read anything low.
func (n *Narrower) agree(r *netlist.Reading, low, high, healthy float64) float64 {
	switch {
	case r.Seen != nil:
		return low
	case math.IsInf(low, 1) && r.Probe.Method == netlist.Volts:
		return floatsLow * truth(r.Value < floatsBelow)
	case math.IsInf(low, 1) || math.IsInf(r.Value, 1):
		return truth(math.IsInf(low, 1) == math.IsInf(r.Value, 1))
	case low <= r.Value && r.Value <= high:
		return 1
	}
	v := low
	if r.Value > high {
		v = high
	}
	apart := predict.Apart(r.Probe.Method, min(math.Abs(v), math.Abs(r.Value)))
	d := 2 * (v - r.Value) / apart
	a := math.Exp(-d * d / 2)
	// Two good boards differ by as much as the file allows.
	if a < inBand && math.Abs(v-healthy) < apart {
		if b, ok := n.bench.Band(r.Probe); ok && b.Low() <= r.Value && r.Value <= b.High() {
			return inBand
		}
	}
	return a
}

// likelihood of the readings under a hypothesis.
func (w *weigher) likelihood(agrees []float64) float64 {
	l := 1.0
	for k, a := range agrees {
		l *= w.likely(k, a)
	}
	return l
}

// likely is how likely a reading is under a hypothesis that foretells it so well. What is
// read again adds nothing but that the hand did not slip: the same hand at the same place
// slips again in so many cases.
func (w *weigher) likely(k int, chance float64) float64 {
	if w.times[k] == 0 {
		return 1
	}
	slip := misread
	if w.readings[k].Probe.Cold() {
		slip = misreadOhms
	}
	return (1-slip)*chance + slip*wrongOnes*math.Pow(slipsAgain, float64(w.times[k]-1))
}

// repeats counts how often each reading was taken.
func (w *weigher) repeats() {
	w.times = make([]int, len(w.readings))
	for k := range w.readings {
		first := slices.IndexFunc(w.readings[:k], func(x netlist.Reading) bool { return again(&x, &w.readings[k]) })
		if first < 0 {
			first = k
		}
		w.times[first]++
	}
	for k := range w.readings {
		for j := range w.readings[:k] {
			a, b := &w.readings[j], &w.readings[k]
			if w.times[j] > 0 && w.times[k] > 0 && a.Seen == nil && b.Seen == nil && probeKey(a.Probe) == probeKey(b.Probe) {
				w.clashes = append(w.clashes, [2]int{j, k})
			}
		}
	}
}

// again reports whether two readings say the same of one probe.
func again(a, b *netlist.Reading) bool {
	if probeKey(a.Probe) != probeKey(b.Probe) || (a.Seen == nil) != (b.Seen == nil) {
		return false
	}
	if a.Seen != nil {
		return readingKey(a) == readingKey(b)
	}
	return near(a.Probe.Method, a.Value, b.Value)
}

// wide reports whether a stretch has sizes between its ends.
func (w *weigher) wide(s int) bool { return w.stretches[s].low != w.stretches[s].high }

// either is by how much two readings of one probe are less likely than if each were true
// of a size of its own: one of them is a slip, or both are.
func (w *weigher) either(x [2]int, first, second float64) float64 {
	a, b := w.likely(x[0], first), w.likely(x[1], second)
	slipA, slipB := w.likely(x[0], 0), w.likely(x[1], 0)
	return (a*slipB + slipA*b - slipA*slipB) / (a * b)
}

// keepOne leaves of two readings of one probe the one that was taken more often, else that
// which agrees better.
func (w *weigher) keepOne(x [2]int, agrees []float64) {
	drop := x[1]
	if w.times[x[1]] > w.times[x[0]] || w.times[x[1]] == w.times[x[0]] && agrees[x[1]] > agrees[x[0]] {
		drop = x[0]
	}
	for k := range w.readings {
		if k == drop || w.times[k] == 0 && again(&w.readings[drop], &w.readings[k]) {
			agrees[k] = 0
		}
	}
}

// direct reports whether a reading was taken from end to end of one part with all power out.
func (w *weigher) direct(k int) bool {
	p := w.readings[k].Probe
	return p.Method == netlist.Across && p.Part != netlist.None
}

// other is the share, before all are brought to 1, of a cause that is not listed. It is
// somewhere on the board: that the first wrong reading of a meter is at its place is not
// likely, and that the next one is near is.
func (w *weigher) other() float64 {
	x, placed := unlisted, false
	for k, a := range w.healthy {
		switch {
		case w.times[k] == 0:
		case a >= explains:
			x *= otherRight
		case w.readings[k].Probe.Method == netlist.Look:
			x *= otherLooks
		case w.direct(k) && w.readings[k].Value > w.healthyAt(&w.readings[k]):
			x *= otherOpens
		default:
			x *= otherReads
			if !placed {
				x *= otherPlace
			}
			placed = true
		}
	}
	return x
}

// explained reports whether a hypothesis foretells every reading.
func explained(agrees []float64) bool {
	return !slices.ContainsFunc(agrees, func(a float64) bool { return a < explains })
}

// partOf returns the part of the first fault of a hypothesis.
func partOf(h *Hypothesis) netlist.PartID { return h.Faults[0].Part }
