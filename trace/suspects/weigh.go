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
	unlisted    = 0.05  // that the cause is not in the board file
	otherRight  = 0.5   // that a cause which is not listed leaves a reading as on a healthy board
	otherLooks  = 0.1   // that it looks just like this instead
	otherReads  = 0.03  // that a meter shows just this instead
	convicted   = 0.001 // of all faults, at least, for one of a part that was read open from end to end
	otherOpens  = 1e-3  // that a part is open from end to end by something that is not a fault of it
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
	Agrees []float64 // 0 to 1, for each reading
}

// Narrower keeps what was simulated of a board, so that readings may come one
// after the other. It is not safe for use by several goroutines.
type Narrower struct {
	m       *predict.Simulator
	bench   *probe.Bench
	costs   probe.Costs
	repairs *repair.Table
	d       *predict.Dictionary
	all     []predict.Hypothesis // the healthy board, then each single fault
	group   []int                // of a fault: its place in d.Groups
	first   []int                // of a group: its heaviest fault
	classes [][]uint16           // of a probe: the class of each group; see d.Classes
	most    []int                // of a probe: how many classes it has
	keys    []string             // of a probe
	lifted  map[netlist.NetID]int
	hot     map[string]*shown
	cold    map[string][]float64
	columns map[string][]float64
	both    map[[2]int]*both // by groups
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
		hot:    map[string]*shown{}, cold: map[string][]float64{}, columns: map[string][]float64{}, both: map[[2]int]*both{}}
	n.all = append(make([]predict.Hypothesis, 1, len(n.d.Faults)+1), n.d.Faults...)
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
			n.lifted[m.Board.Parts[f.Part].Conns[0].Net] = i + 1
		}
	}
	n.classes, n.most = make([][]uint16, len(n.d.Probes)), make([]int, len(n.d.Probes))
	n.keys = make([]string, len(n.d.Probes))
	for k := range n.d.Probes {
		n.keys[k] = probeKey(n.d.Probes[k])
		n.classes[k] = make([]uint16, len(n.d.Groups))
		n.most[k] = int(n.d.Healthy[k]) + 1
		for g := range n.d.Groups {
			c := n.d.Classes[n.first[g]][k]
			n.classes[k][g] = c
			n.most[k] = max(n.most[k], int(c)+1)
		}
	}
	return n
}

// weigher collects what one call of Narrow needs.
type weigher struct {
	*Narrower
	readings []netlist.Reading
	list     []Hypothesis // single faults, in the order of the file
	healthy  []float64    // agreement of the healthy board
	asked    []string     // keys of the readings
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
	w.healthy = make([]float64, len(w.readings))
	for k := range w.readings {
		w.asked = append(w.asked, readingKey(&w.readings[k]))
		c := w.column(&w.readings[k])
		w.healthy[k] = c[0]
		for i := range w.list {
			w.list[i].Agrees[k] = c[i+1]
		}
	}
	wrong := !explained(w.healthy)
	for i := range w.list {
		w.list[i].Weight *= (1 - unlisted) / sum
		if w.convicts(i) {
			w.list[i].Weight = max(w.list[i].Weight, convicted)
		}
		w.list[i].P = w.list[i].Weight * w.likelihood(w.list[i].Agrees)
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

// column tells how well each hypothesis foretells a reading, the healthy board
// first.
func (n *Narrower) column(r *netlist.Reading) []float64 {
	key := readingKey(r)
	if c, ok := n.columns[key]; ok {
		return c
	}
	c := make([]float64, len(n.all))
	switch {
	case r.Probe.Cold():
		values := n.coldValues(r.Probe)
		for i, v := range values {
			c[i] = n.agree(r, v, values[0])
			if math.IsInf(r.Value, 1) && !math.IsInf(values[0], 1) && opens(&n.all[i], r.Probe) {
				c[i] = 1 // whatever the file has in parallel
			}
		}
	case r.Seen == nil:
		t := n.hotValues(r.Probe.State)
		for i := range n.all {
			c[i] = n.agree(r, t.value(i, r.Probe), t.value(0, r.Probe))
		}
	case r.Seen.Target.Net == netlist.None:
		t := n.hotValues(r.Probe.State)
		for i := range n.all {
			c[i] = truth(predict.SaysThere(*r.Seen, t.there(0, r.Seen.Target)) == t.there(i, r.Seen.Target))
		}
	case r.Seen.Word == predict.Floating:
		t := n.hotValues(r.Probe.State)
		for i := range n.all {
			c[i] = truth(math.IsInf(t.value(i, netlist.Probe{Net: r.Probe.Net}), 1))
		}
	default:
		for i, x := range n.m.Sweep(r.Probe.State, n.all) {
			c[i] = truth(x.Fits(*r.Seen))
		}
		if i, ok := n.lifted[r.Seen.Target.Net]; ok {
			c[i] = truth(nothingFits(*r.Seen))
		}
	}
	for i := range r.Or { // one that holds is enough
		for j, a := range n.column(&r.Or[i]) {
			c[j] = max(c[j], a)
		}
	}
	n.columns[key] = c
	return c
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

// exact simulates one more hypothesis at readings, each state once.
func (n *Narrower) exact(h predict.Hypothesis, readings []netlist.Reading) []float64 {
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
				v := c.Value(readings[j].Probe)
				if n.misses(h, readings[j].Probe.Net) {
					v = math.Inf(1)
				}
				out[j] = n.agree(&readings[j], v, n.coldValues(readings[j].Probe)[0])
			}
			continue
		}
		healthy := n.hotValues(st)
		for _, r := range n.m.Sweep(st, []predict.Hypothesis{h}) {
			for _, j := range same {
				out[j] = n.hotAgrees(healthy, r, &readings[j])
			}
		}
	}
	return out
}

// hotAgrees tells how well a run foretells a reading.
func (n *Narrower) hotAgrees(healthy *shown, r *predict.Run, x *netlist.Reading) float64 {
	lifted := n.misses(r.Hypothesis, x.Probe.Net)
	v := math.Inf(1)
	switch {
	case x.Seen != nil && lifted:
		return truth(nothingFits(*x.Seen))
	case x.Seen != nil:
		a := truth(healthy.fits(r, *x.Seen))
		for i := range x.Or {
			a = max(a, n.hotAgrees(healthy, r, &x.Or[i]))
		}
		return a
	case lifted && x.Probe.Method == netlist.Activity:
		v = 0
	case !lifted:
		v = r.Value(x.Probe)
	}
	return n.agree(x, v, healthy.value(0, x.Probe))
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

// agree tells how well a foretold value fits what the meter showed; healthy is
// what the healthy board shows. A net that nothing holds may read anything low.
func (n *Narrower) agree(r *netlist.Reading, v, healthy float64) float64 {
	if math.IsInf(v, 1) && r.Probe.Method == netlist.Volts {
		return floatsLow * truth(r.Value < floatsBelow)
	}
	if math.IsInf(v, 1) || math.IsInf(r.Value, 1) {
		return truth(math.IsInf(v, 1) == math.IsInf(r.Value, 1))
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

// likely is how likely a reading is under a hypothesis that agrees with it so well.
func (w *weigher) likely(k int, agrees float64) float64 {
	slip := misread
	if w.readings[k].Probe.Cold() {
		slip = misreadOhms
	}
	return (1-slip)*agrees + slip*wrongOnes
}

// direct reports whether a reading was taken from end to end of one part with all power out.
func (w *weigher) direct(k int) bool {
	p := w.readings[k].Probe
	return p.Method == netlist.Across && p.Part != netlist.None
}

// other is the share, before all are brought to 1, of a cause that is not listed.
func (w *weigher) other() float64 {
	x := unlisted
	for k, a := range w.healthy {
		switch {
		case a >= explains:
			x *= otherRight
		case w.readings[k].Probe.Method == netlist.Look:
			x *= otherLooks
		case w.direct(k) && math.IsInf(w.readings[k].Value, 1):
			x *= otherOpens
		default:
			x *= otherReads
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
