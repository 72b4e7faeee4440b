package predict

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// Simulator runs a model. It holds the memory of solving and the healthy runs that
// others begin with, and belongs to one goroutine.
type Simulator struct {
	*Model
	solver  *circuit.Solver
	healthy map[string]*sim // by State.key
	colds   [2]*coldBase    // panel plugged, unplugged
	latches bool            // a run must start from the board being off
	work    *sim            // of Sweep and Every
	blank   *sim            // nothing happens in it
	coldSim *sim            // of Cold
}

// Simulator makes another simulator of the model.
func (m *Model) Simulator() *Simulator {
	x := &Simulator{Model: m, solver: circuit.NewSolver(m.net), healthy: map[string]*sim{}}
	x.work, x.blank, x.coldSim = x.newSim(), x.newSim(), x.newSim()
	x.latches = x.remembers()
	return x
}

// sim is one run: a board in a setting, with faults.
type sim struct {
	circuit.Circuit
	lab      *Simulator
	m        *Model
	setting  netlist.Setting
	unplug   bool
	faults   []Fault
	forced   []bool  // a fault decides the law of the branch
	broken   []int32 // branches that pass no changes either
	bridged  []int32 // branches that only faults make conduct
	ac       []float64
	sending  [][]signal // what each device sends now
	dev      []devState
	fact     []bool
	lane     []bool
	blown    []Blown
	unsteady []int32   // devices that did not settle
	lowest   []float64 // V of each node while a run does not settle
	highest  []float64
	failed   bool

	queued  []bool
	queue   []int32
	dirty   []int32
	shunted []int32 // nodes that discharge has seen to
	touches int     // how often something changed
	round   int     // of settling
	isDirt  []bool
	acDue   []bool
	isles   []int32
	group   []int32
	from    []signal
	moving  []circuit.Drive
	before  []float64
	moved   []int32 // nodes whose results may differ from the run it began with
	isMove  []bool
	worst   int     // fuse that is most overloaded, -1 for none
	share   float64 // of its rating
	amps    float64
	ohms    []float64 // from a node to ground with all sources shorted, Ω
}

// devState is what a device remembers between two looks.
type devState struct {
	mode    regime
	level   float64 // V
	draw    float64 // A, taken at its input
	ceiling float64 // V
	factor  float64 // of its level, by a fault
	makes   bool    // of a fact
	sags    bool    // its input is too low for its level
	rounds  int
}

// regime is how a source, a regulator or a converter works.
type regime uint8

// The regimes.
const (
	off        regime = iota
	holding           // gives its level
	limiting          // at its current limit
	idle              // backed up by another source
	climbing          // a converter on its way to the limit
	regulating        // a converter that holds its sinks or its divider
	ceiling           // a converter at its over-voltage limit
	peaking           // a converter at the limit of its coil current
	skewed            // a converter that holds a wrong level
	hiccup            // stops and tries again
	blind             // does not start: no feedback
)

var regimeNames = [...]string{
	"off",
	"regulating",
	"current limit",
	"backed up",
	"climbing",
	"regulating",
	"over-voltage limit",
	"current limit",
	"wrong level",
	"hiccup",
	"no feedback, does not start",
}

// String returns the word that is printed.
func (r regime) String() string { return regimeNames[r] }

// Blown is a fuse that a current opened.
type Blown struct {
	Part netlist.PartID
	Amps float64 // what would have flowed, A
	Over float64 // its rating, A
}

func (m *Simulator) newSim() *sim {
	n, devices := m.nodes, len(m.devices)
	float, bit := func() []float64 { return make([]float64, n) }, func(n int) []bool { return make([]bool, n) }
	return &sim{
		Circuit: *circuit.New(m.net), lab: m, m: m.Model, worst: -1, forced: bit(len(m.branches)),
		ac: float(), ohms: float(), before: float(), isDirt: bit(n), isMove: bit(n), acDue: bit(len(m.isles)),
		dev: make([]devState, devices), sending: make([][]signal, devices), queued: bit(devices),
		fact: bit(len(m.Board.Facts)), lane: bit(len(m.Board.Lanes)),
	}
}

func (s *sim) copySim(o *sim) {
	s.CopyFrom(&o.Circuit)
	s.setting, s.unplug = o.setting, o.unplug
	copy(s.forced, o.forced)
	copy(s.ac, o.ac)
	copy(s.ohms, o.ohms)
	copy(s.sending, o.sending)
	copy(s.dev, o.dev)
	copy(s.fact, o.fact)
	copy(s.lane, o.lane)
	s.faults, s.broken, s.bridged = nil, s.broken[:0], s.bridged[:0]
	s.shunted = append(s.shunted[:0], o.shunted...)
	s.blown, s.unsteady = append(s.blown[:0:0], o.blown...), slices.Clone(o.unsteady)
	s.failed, s.worst = o.failed, -1
	s.lowest, s.highest = o.lowest, o.highest
	for _, n := range s.moved {
		s.isMove[n] = false
	}
	s.moved = s.moved[:0]
}

// touch marks a node whose surroundings changed.
func (s *sim) touch(n int32) {
	s.touches++
	if !s.isDirt[n] {
		s.isDirt[n] = true
		s.dirty = append(s.dirty, n)
	}
	s.note(n)
	if n != 0 && !s.acDue[s.m.isle[n]] {
		s.acDue[s.m.isle[n]] = true
		s.isles = append(s.isles, s.m.isle[n])
	}
	if n != 0 && s.Held[n] && s.m.holder[n] >= 0 {
		s.wake(s.m.holder[n])
	}
}

// wake queues a device.
func (s *sim) wake(d int32) {
	if !s.queued[d] {
		s.queued[d] = true
		s.queue = append(s.queue, d)
	}
}

// set gives a branch a law, unless a fault decides it.
func (s *sim) set(b int32, l *circuit.Law) {
	if b < 0 || s.forced[b] || s.Law[b] == l {
		return
	}
	if l != nil && s.Law[b] != nil && *l == *s.Law[b] {
		return
	}
	s.Law[b] = l
	s.touch(s.Branches[b].A)
	s.touch(s.Branches[b].B)
}

// force gives a branch the law of a fault.
func (s *sim) force(b int32, l *circuit.Law) {
	s.forced[b] = false
	s.set(b, l)
	s.forced[b] = true
}

// pin holds a node at v and reports whether that is news. What flows from it is
// known after the next solution only; the device is woken for it.
func (s *sim) pin(n int32, v float64) bool {
	if n <= 0 || s.Held[n] && s.V[n] == v {
		return false
	}
	s.Held[n], s.V[n] = true, v
	s.changed(n)
	s.around(n)
	return true
}

// unpin lets a node go.

func (s *sim) unpin(n int32) {
	if n > 0 && s.Held[n] {
		s.Held[n] = false
		s.changed(n)
		s.around(n)
	}
}

// around touches a node and its neighbours.
func (s *sim) around(n int32) {
	s.touch(n)
	for _, b := range s.At(n) {
		if s.Law[b] != nil {
			s.touch(s.Branches[b].A)
			s.touch(s.Branches[b].B)
		}
	}
}

// put makes a device's injection into a node be amps instead of what it was.
func (s *sim) put(n int32, have *float64, amps float64) {
	if n <= 0 || math.Abs(amps-*have) <= 1e-13*math.Abs(amps) {
		return
	}
	sum := s.Inject[n] + amps - *have
	if math.Abs(sum) < 1e-12*(math.Abs(amps)+math.Abs(*have)) {
		sum = 0 // what rounding leaves would show on a net that floats
	}
	s.Inject[n], *have = sum, amps
	s.touch(n)
}

// changed tells the listeners of a node.
func (s *sim) changed(n int32) {
	for _, d := range s.m.hear[n] {
		s.wake(d)
	}
	s.note(n)
}

// note remembers that a node may differ from where the run began.
func (s *sim) note(n int32) {
	if !s.isMove[n] {
		s.isMove[n] = true
		s.moved = append(s.moved, n)
	}
}

// Rounds before a run counts as not settling: all devices that have something to
// do act together; after manyRounds one at a time, since some loops only swing
// when all switch at once.
const (
	fuseRounds = 25
	manyRounds = 60  // and two more for each device, since a chain takes a round a link
	mostRounds = 400 // and eight more
)

// run goes on until nothing changes, and blows the fuses that do not last. The
// resistances of what moved are then known too.
func (s *sim) run() {
	for {
		s.settle()
		if s.failed || !s.blow() && !s.discharge() {
			return
		}
	}
}

// discharge puts on the nets that nothing holds what was measured there on a good
// board with all power out: a rail without power is no open end, its chips hold
// it near ground. It reports whether that changes anything.
func (s *sim) discharge() bool {
	s.resist()
	if len(s.unsteady) > 0 {
		return false
	}
	found := false
	for _, n := range s.moved {
		if g := s.m.cal.shunt[n]; g > 0 && s.Shunt[n] == 0 && !s.Held[n] && s.ohms[n] > floatsAbove {
			s.Shunt[n] = g
			s.shunted = append(s.shunted, n)
			s.touch(n)
			found = true
		}
	}
	return found
}

// charge takes off what discharge put on, for a run that begins where this one is.
func (s *sim) charge() {
	for _, n := range s.shunted {
		s.Shunt[n] = 0
		s.touch(n)
	}
	s.shunted = s.shunted[:0]
}

// collapsed reports whether a source is at its current limit.
func (s *sim) collapsed() bool {
	for i := range s.dev {
		if s.dev[i].mode == limiting {
			return true
		}
	}
	return false
}

func (s *sim) settle() {
	for round := 0; len(s.queue) > 0 || len(s.dirty) > 0; round++ {
		s.round = round
		if round >= fuseRounds && s.collapsed() {
			if s.overload(); s.worst >= 0 {
				return // the fuse is quicker than what the board does with a supply at its limit
			}
		}
		switch {
		case round == mostRounds+8*len(s.dev):
			s.watch()
			return
		case round > manyRounds+2*len(s.dev) && len(s.queue) > 0:
			slices.Sort(s.queue)
			d := s.queue[0]
			s.queue = append(s.queue[:0], s.queue[1:]...)
			s.queued[d] = false
			s.m.devices[d].act(s, d)
		default:
			// Devices that are woken while these act come in the next round.
			list := s.queue
			s.queue = nil
			slices.Sort(list)
			for _, d := range list {
				s.queued[d] = false
			}
			for _, d := range list {
				s.m.devices[d].act(s, d)
			}
		}
		if !s.dc() {
			s.failed = true
			return
		}
		s.signals()
	}
}

// watch follows a run that does not settle and notes what keeps changing.
func (s *sim) watch() {
	s.lowest, s.highest = slices.Clone(s.V), slices.Clone(s.V)
	members := map[int32]bool{}
	for range manyRounds {
		slices.Sort(s.queue)
		list := s.queue
		s.queue = nil
		for _, d := range list {
			s.queued[d] = false
		}
		for _, d := range list {
			before := s.touches
			s.m.devices[d].act(s, d)
			if s.touches != before {
				members[d] = true
			}
		}
		if !s.dc() {
			s.failed = true
			break
		}
		s.signals()
		s.overload()
		for n, v := range s.V {
			s.lowest[n], s.highest[n] = min(s.lowest[n], v), max(s.highest[n], v)
		}
	}
	for d := range members {
		if s.swings(d) {
			s.unsteady = append(s.unsteady, d)
		}
	}
	slices.Sort(s.unsteady)
	for _, d := range s.queue {
		s.queued[d] = false
	}
	s.queue = nil
}

// swings reports whether something that a device acts on went up and down while it
// was watched; one that makes facts counts in any case.
func (s *sim) swings(d int32) bool {
	on := s.m.sights[d].on
	for _, n := range on {
		if s.highest[n]-s.lowest[n] > moves {
			return true
		}
	}
	return len(on) == 0
}

// dc solves around what was touched.
func (s *sim) dc() bool {
	if len(s.dirty) == 0 {
		return true
	}
	sv := s.lab.solver
	sv.Gather(&s.Circuit, s.dirty)
	for _, n := range sv.Region() {
		s.before[n] = s.V[n]
	}
	ok := sv.Relax(&s.Circuit)
	for _, n := range s.dirty {
		s.isDirt[n] = false
	}
	s.dirty = s.dirty[:0]
	for _, n := range sv.Region() {
		if d := math.Abs(s.V[n] - s.before[n]); d > 1e-12*(1+math.Abs(s.V[n])) {
			s.changed(n)
		}
	}
	return ok
}

// holdsFor is the share of its rating that a fuse carries for ever: its rated
// current, and what rounding and leaks add to it.
const holdsFor = 1.001

// overload notes the fuse that is most overloaded so far.
func (s *sim) overload() {
	for i, f := range s.m.fuses {
		if s.forced[f.branch] || s.Law[f.branch] == nil {
			continue
		}
		amps := math.Abs(s.Current(f.branch))
		if share := amps / (f.rating * s.factor(f.part, netlist.Limits)); share > holdsFor && (s.worst < 0 || share > s.share*(1+1e-9)) {
			s.worst, s.share, s.amps = i, share, amps
		}
	}
}

// blow opens the fuse that is most overloaded, at rest or at any moment of a run
// that does not come to rest.
func (s *sim) blow() bool {
	s.overload()
	if s.worst < 0 {
		return false
	}
	f := s.m.fuses[s.worst]
	s.blown = append(s.blown, Blown{f.part, s.amps, f.rating})
	s.worst = -1
	s.force(f.branch, nil)
	s.broken = append(s.broken, f.branch)
	s.unsteady, s.lowest, s.highest = nil, nil, nil
	for i := range s.dev {
		s.wake(int32(i))
	}
	return true
}

// start sets a run up from the board being off.
func (s *sim) start(setting netlist.Setting, unplug bool) {
	m := s.m
	s.setting, s.unplug = setting, unplug
	copy(s.Law, m.rest)
	if unplug {
		for b, is := range m.plug {
			if is {
				s.cut(int32(b))
			}
		}
	}
	for n := int32(1); n < int32(m.nodes); n++ {
		s.touch(n)
	}
	for d := range m.devices {
		s.wake(int32(d))
	}
}
