// Package predict simulates the display path of a board, healthy and with any
// faults, and tells what every probe reads there.
//
//	p := predict.NewPredictor(board)
//	report, err := p.Report(predict.State{Setting: board.Usual()}, faults...)
//
// It repeats to a fixed point: rules and switches look at levels; the resistive
// network with its piecewise-linear elements is solved; what moves is carried
// along; facts and lanes follow. With all power out it is what a meter's own test
// current makes of the same network.
package predict

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// Model is a board made ready for simulation. It may be used by one goroutine at
// a time.
type Model struct {
	Board *netlist.Board
	// Unknown lists supplies and regulators for which neither an attribute nor a
	// net line tells what they give; they are taken to give nothing.
	Unknown []netlist.PartID

	nodes    int // with ground
	branches []circuit.Branch
	farads   []float64 // of a branch: passes changes only
	henries  []float64 // of a branch: in series with its resistance, for changes
	net      *circuit.Network
	rest     []*circuit.Law // of each branch with the board powered, before devices act
	cold     []*circuit.Law // with all power out and the panel plugged
	plug     []bool         // the branch is a contact that opens when the panel is unplugged
	devices  []device
	hear     [][]int32 // devices that listen to a node
	makers   [][]int32 // devices that make a fact
	holder   []int32   // device that may hold a node at a level, or -1
	units    []unit
	unitOf   []int32 // first unit of a part
	isle     []int32 // of a node: nets that signals can pass between
	isles    [][]int32
	lanes    []laneEnd
	fuses    []fuse
	ground   []int32       // node that a part takes for ground
	feeds    [][]supplyPin // supply pins of a part
	drive    map[pinKey]outputs
	joints   []joint // dormant branches of faults
	corner   float64
	cal      calibration

	s        *circuit.Solver
	healthy  map[string]*sim
	work     *sim
	latches  bool // a run must start from the board being off
	distinct []State

	all        []int32 // every node but ground
	colds      [2]*coldBase
	blank      *sim // nothing happens in it
	coldSim    *sim
	coldSolver *circuit.Solver
	yBuf       []float64
}

// unit is one channel of a part: a contact, a conductor, a winding, or the part.
type unit struct {
	main int32 // the branch that carries
	body int32 // diode beside it, or -1
}

// joint is a branch that only a fault makes conduct.
type joint struct {
	part   netlist.PartID
	effect netlist.Effect
	unit   int // channel or connection
	branch int32
}

type pinKey struct {
	part netlist.PartID
	node int32
}

// outputs are the branches by which a part drives a net.
type outputs struct{ high, low int32 }

// supplyPin is a supply pin with the voltage at which its part works.
type supplyPin struct {
	node  int32
	least float64 // V
}

type fuse struct {
	branch int32
	part   netlist.PartID
	rating float64 // A
}

// Sizes of parts for which the board file gives none: common practice, no source.
const (
	outputOhms  = 30.0   // of a logic output
	pullOhms    = 20.0   // of an open-drain output
	lineOhms    = 50.0   // of a driver of a fast line
	quietOhms   = 1000.0 // of a line driver at rest
	biasOhms    = 10e3   // behind a rest level set by a receiver
	sinkOffOhms = 1e6    // of a current sink that is off
	termination = 100.0  // Ω across a pair at its receiver: TIA/EIA-644-A, from memory
	diodeOhms   = 0.05
	bodyOhms    = 0.05
	clampOhms   = 1.0
	bodyVolts   = 0.6
	standOff    = 5.0    // V of a clamp without "volts"
	breakdown   = 1.2    // times the stand-off voltage
	seriesCap   = 100e-9 // F of a capacitor without a value
	usualLimit  = 100.0  // A of a source without "limit"
	usualVref   = 1.25   // V
)

// New makes the model of a board.
func New(b *netlist.Board) *Model { return newModel(b, 0) }

// newModel makes the model with all sources and junctions at the share corner of
// their tolerance: -1, 0 or 1.
func newModel(b *netlist.Board, corner float64) *Model {
	m := &Model{Board: b, corner: corner, drive: map[pinKey]outputs{}, healthy: map[string]*sim{}}
	m.nodes = len(b.Nets) + 1
	m.unitOf = make([]int32, len(b.Parts)+1)
	m.ground, m.feeds = make([]int32, len(b.Parts)), make([][]supplyPin, len(b.Parts))
	for id := range b.Parts {
		p := &b.Parts[id]
		m.ground[id] = m.groundOf(p)
		for _, c := range p.Conns {
			if p.Pin(c).Need == netlist.Supply {
				least := suppliedBy * max(m.nominal(c.Net), 1)
				if p.Kind.Acts == netlist.Raises {
					least = min(least, startsAt) // a converter runs from a wide range
				}
				m.feeds[id] = append(m.feeds[id], supplyPin{m.node(c.Net), least})
			}
		}
	}
	m.holder = slices.Repeat([]int32{-1}, m.nodes)
	for id := range b.Parts {
		m.unitOf[id] = int32(len(m.units))
		m.part(netlist.PartID(id))
	}
	m.unitOf[len(b.Parts)] = int32(len(m.units))
	m.terminate()
	m.reserve()
	m.net = circuit.NewNetwork(m.nodes, m.branches)
	m.islands()
	m.directions()
	m.listen()
	m.s = circuit.NewSolver(m.net)
	for n := int32(1); n < int32(m.nodes); n++ {
		m.all = append(m.all, n)
	}
	m.calibrate()
	m.work, m.blank = m.newSim(), m.newSim()
	m.latches = m.remembers()
	return m
}

func (m *Model) node(n netlist.NetID) int32 {
	if n == netlist.None || m.Board.Nets[n].Ground {
		return 0
	}
	return int32(n) + 1
}

// add makes a branch with its laws while powered and while cold.
func (m *Model) add(a, b int32, hot, cold *circuit.Law) int32 {
	m.branches = append(m.branches, circuit.Branch{A: a, B: b})
	m.farads, m.henries = append(m.farads, 0), append(m.henries, 0)
	m.rest, m.cold, m.plug = append(m.rest, hot), append(m.cold, cold), append(m.plug, false)
	return int32(len(m.branches) - 1)
}

// nominal is the highest level that is declared for a net, in V; 0 when none is.
func (m *Model) nominal(n netlist.NetID) float64 {
	v := 0.0
	for _, e := range m.Board.Nets[n].Expect {
		v = max(v, e.Value)
	}
	return v
}

// swinging returns what a net reads in the first state in which it moves.
func (m *Model) swinging(n netlist.NetID) (netlist.Expect, bool) {
	for _, e := range m.Board.Nets[n].Expect {
		if e.Swing != 0 {
			return e, true
		}
	}
	return netlist.Expect{}, false
}

func (m *Model) attr(p *netlist.Part, name string, other float64) float64 {
	if a, ok := p.Attr(name); ok {
		return a.Value
	}
	if a := p.Kind.AttrByName(name); a != nil && a.Default != "" && len(a.Words) == 0 {
		if v, err := netlist.ParseValue(a.Default, a.Unit); err == nil {
			return v
		}
	}
	return other
}

// pins lists the nodes on a pin, in order.
func (m *Model) pins(p *netlist.Part, name string) []int32 {
	k := p.Kind.PinIndex(name)
	var list []int32
	for _, c := range p.Conns {
		if int(c.Pin) == k {
			list = append(list, m.node(c.Net))
		}
	}
	return list
}

// pin returns the first node on a pin, or -1.
func (m *Model) pin(p *netlist.Part, name string) int32 {
	if n := p.Net(name); n != netlist.None {
		return m.node(n)
	}
	return -1
}

// groundOf returns the node that a part takes for ground.
func (m *Model) groundOf(p *netlist.Part) int32 {
	if n := m.pin(p, "gnd"); n >= 0 {
		return n
	}
	return 0
}

// hasGround tells whether a kind is a chip: its pins then have a junction from
// its ground (common practice).
func hasGround(k *netlist.Kind) bool { return k.PinIndex("gnd") >= 0 }

func (m *Model) part(id netlist.PartID) {
	p := &m.Board.Parts[id]
	for i := range p.Kind.Passes {
		m.pass(id, p, &p.Kind.Passes[i])
	}
	switch p.Kind.Acts {
	case netlist.Supplies, netlist.Lowers:
		m.holds(id, p)
	case netlist.Raises:
		m.boost(id, p)
	case netlist.Shines:
		m.strings(p)
	case netlist.Clamps:
		for _, c := range p.Conns {
			if c.Pin == 0 {
				l := circuit.Clamping(bodyVolts, breakdown*m.attr(p, "volts", standOff), clampOhms)
				m.units = append(m.units, unit{m.add(m.node(c.Net), m.otherEnd(p, c, "b"), l, l), -1})
			}
		}
	case netlist.Passive:
	}
	if hasGround(p.Kind) {
		m.chip(id, p)
	}
	if p.Kind.Logic != netlist.NoLogic {
		out := m.pin(p, "out")
		m.driver(id, p, out)
		m.devices = append(m.devices, device{kind: gateDevice, part: id, in: m.pins(p, "in"), out: out})
	}
	for r := range p.Rules {
		m.rule(id, p, r)
	}
	m.joins(id, p)
}

// otherEnd returns the node at the other end of a channel: of the same channel,
// or the one that is common to all.
func (m *Model) otherEnd(p *netlist.Part, c netlist.Conn, pin string) int32 {
	k, common := p.Kind.PinIndex(pin), int32(0)
	for _, o := range p.Conns {
		if int(o.Pin) != k {
			continue
		}
		if o.Channel == c.Channel {
			return m.node(o.Net)
		}
		common = m.node(o.Net)
	}
	return common
}

// pass makes the branches of one way of conducting.
func (m *Model) pass(id netlist.PartID, p *netlist.Part, pass *netlist.Pass) {
	first := p.Kind.PinIndex(pass.A)
	for _, c := range p.Conns {
		if int(c.Pin) != first {
			continue
		}
		a, b := m.node(c.Net), m.otherEnd(p, c, pass.B)
		if p.Kind.Form == netlist.RowsForm && !slices.ContainsFunc(p.Conns, func(o netlist.Conn) bool { return o.Channel == c.Channel && o.Pin != c.Pin }) {
			// A pin that leads nowhere.
			m.units = append(m.units, unit{m.add(a, a, nil, nil), -1})
			continue
		}
		ohms := p.Ohms(pass)
		u := unit{body: -1}
		switch {
		case pass.AC:
			u.main = m.add(a, b, nil, nil)
			m.farads[u.main] = m.attr(p, "c", seriesCap)
		case pass.OneWay:
			l := circuit.Junction(m.attr(p, "vf", 0.4)*(1+tolJunction*m.corner), diodeOhms)
			u.main = m.add(a, b, l, l)
		case pass.Control != "":
			u.main = m.add(a, b, offLaw, offLaw)
			if pass.Body != 0 {
				l := circuit.Junction(pass.Body*(1+tolJunction*m.corner), bodyOhms)
				u.body = m.add(b, a, l, l)
			}
			m.devices = append(m.devices, m.switching(id, p, pass, u.main, ohms))
			if pass.B == "out" {
				m.driver(id, p, b)
			}
		default:
			l := circuit.Conductor(ohms)
			u.main = m.add(a, b, l, l)
			m.henries[u.main] = m.attr(p, "l", 0)
			m.plug[u.main] = p.Kind.Plugs
			if rating := m.attr(p, "rating", 0); rating > 0 {
				m.fuses = append(m.fuses, fuse{u.main, id, rating})
			}
		}
		m.units = append(m.units, u)
	}
}

// Tolerances of what is not written, as shares: common practice, no source.
const (
	tolSource   = 0.05
	tolJunction = 0.08
)

// switching makes the device that opens and closes a controlled pass.
func (m *Model) switching(id netlist.PartID, p *netlist.Part, pass *netlist.Pass, b int32, ohms float64) device {
	d := device{kind: switchDevice, part: id, branch: b, en: m.pin(p, pass.Control), enHigh: pass.Level == netlist.High, ref: -1}
	if pass.B != "out" {
		d.enHigh = p.ControlLevel(pass.Level) == netlist.High
	} else if d.also = m.pin(p, "en"); d.also >= 0 {
		d.alsoHigh = p.ControlLevel(netlist.High) == netlist.High
	}
	if pass.B != "out" {
		d.also = -1
	}
	if pass.Ref != "" {
		d.ref = m.pin(p, pass.Ref)
	}
	d.ohms, d.limit = ohms, m.attr(p, "limit", 0)
	d.on = d.closed(1, 1)
	return d
}

// closed is the law of a switch that is on, with its resistance and its limit as
// faults scale them.
func (d *device) closed(scale, limit float64) *circuit.Law {
	if d.limit > 0 {
		return circuit.Limited(d.ohms*scale, d.limit*limit)
	}
	return circuit.Conductor(d.ohms * scale)
}

// holds makes a supply or a regulator.
func (m *Model) holds(id netlist.PartID, p *netlist.Part) {
	out := p.Net("out")
	d := device{kind: supplyDevice, part: id, out: m.node(out), inp: -1, en: -1, limit: m.attr(p, "limit", usualLimit)}
	d.level = m.attr(p, "gives", m.nominal(out))
	if d.level == 0 {
		m.Unknown = append(m.Unknown, id)
	}
	d.level *= 1 + m.tolerance(out)*m.corner
	if p.Kind.Acts == netlist.Lowers {
		d.kind, d.inp, d.en = regulatorDevice, m.pin(p, "in"), m.pin(p, "en")
		d.enHigh = p.ControlLevel(netlist.High) == netlist.High
		d.feed = m.add(d.inp, m.groundOf(p), nil, nil)
	}
	d.branch = m.add(d.out, 0, nil, nil)
	if d.out != 0 {
		m.holder[d.out] = int32(len(m.devices))
	}
	m.devices = append(m.devices, d)
}

// tolerance of what a net is declared to read, as a share.
func (m *Model) tolerance(n netlist.NetID) float64 {
	for _, e := range m.Board.Nets[n].Expect {
		if e.Value != 0 && e.Tol != 0 {
			return e.Tol
		}
	}
	return tolSource
}

// chip adds what every chip has: currents into its supply pins, and a junction
// from its ground to each other pin, which shows with all power out.
func (m *Model) chip(id netlist.PartID, p *netlist.Part) {
	gnd := m.groundOf(p)
	done := map[int32]bool{gnd: true}
	draws := m.attr(p, "draws", p.Kind.Draws)
	for i, c := range p.Conns {
		n := m.node(c.Net)
		if p.Pin(c).Need == netlist.Supply && draws > 0 && n != gnd {
			full := max(m.nominal(c.Net), 1)
			b := m.add(n, gnd, circuit.Conductor(full/draws), nil)
			m.joints = append(m.joints, joint{id, netlist.Opens, i, b})
		}
		if !done[n] {
			done[n] = true
			if m.Board.Nets[c.Net].Diode.Value == 0 {
				m.add(gnd, n, nil, circuit.Junction(chipDiode, chipOhms))
			}
		}
	}
}

// The junction from a chip's ground to a pin: 0.35 to 0.6 V in diode mode,
// common practice.
const (
	chipDiode = 0.5  // V
	chipOhms  = 50.0 // Ω
)

// driver makes the branches by which a part drives a net high or low, once.
func (m *Model) driver(id netlist.PartID, p *netlist.Part, n int32) {
	key := pinKey{id, n}
	if _, ok := m.drive[key]; ok {
		return
	}
	gnd := m.groundOf(p)
	o := outputs{high: -1, low: m.add(n, gnd, nil, nil)}
	if vdd := m.driveSupply(p, n); vdd >= 0 && vdd != n {
		o.high = m.add(vdd, n, nil, nil)
	}
	m.drive[key] = o
}

// driveSupply returns the supply of a part that is nearest to the level declared
// for a net that it drives, or -1.
func (m *Model) driveSupply(p *netlist.Part, n int32) int32 {
	best, off := int32(-1), math.Inf(1)
	want := 0.0
	if n > 0 {
		want = m.nominal(netlist.NetID(n - 1))
	}
	for _, c := range p.Conns {
		if p.Pin(c).Need != netlist.Supply {
			continue
		}
		d := 0.0
		if want > 0 {
			d = math.Abs(m.nominal(c.Net) - want)
		}
		if d < off {
			best, off = m.node(c.Net), d
		}
	}
	return best
}

// rule makes the device of one rule of a chip.
func (m *Model) rule(id netlist.PartID, p *netlist.Part, r int) {
	rule := &p.Rules[r]
	d := device{part: id, rule: rule, fact: rule.Fact}
	switch rule.Word {
	case "drives", "pulls":
		d.kind = driveDevice
		if rule.Word == "pulls" {
			d.kind = pullDevice
		}
		for _, n := range rule.Nets {
			m.driver(id, p, m.node(n))
			d.in = append(d.in, m.node(n))
		}
	case "sends":
		d.kind = sendDevice
		for _, n := range rule.Nets {
			d.in = append(d.in, m.node(n))
			x := m.sending(id, p, n)
			x.mean *= 1 + m.tolerance(n)*m.corner
			x.law = circuit.EMF(x.mean, x.ohms)
			d.sent = append(d.sent, x)
		}
	case "reads":
		d.kind = readDevice
		m.reading(&d, p, rule)
	case "makes":
		d.kind = makeDevice
		if p.Kind.Acts == netlist.Shines {
			d.kind = shineDevice
			d.branches = m.stringBranches(id)
			d.limit = m.attr(p, "current", 0.02)
		}
	}
	m.devices = append(m.devices, d)
}

// joins makes the dormant branches of a part's faults.
func (m *Model) joins(id netlist.PartID, p *netlist.Part) {
	for f := range p.Kind.Faults {
		fault := &p.Kind.Faults[f]
		switch fault.Does {
		case netlist.Grounds:
			for _, i := range m.faultUnits(id, fault) {
				n := m.groundedNode(p, fault, i)
				if n > 0 && n != m.groundOf(p) {
					m.joints = append(m.joints, joint{id, fault.Does, i, m.add(n, m.groundOf(p), nil, nil)})
				}
			}
		case netlist.Bridges:
			if fault.Value > 1 {
				continue // the same branch as the bridge of less resistance
			}
			for ch, pair := range m.neighbours(p) {
				m.joints = append(m.joints, joint{id, fault.Does, ch, m.add(pair[0], pair[1], nil, nil)})
			}
		case netlist.LeaksGate:
			pass := &p.Kind.Passes[0]
			m.joints = append(m.joints, joint{id, fault.Does, netlist.None, m.add(m.pin(p, pass.Control), m.pin(p, pass.Ref), nil, nil)})
		}
	}
}

// union is the usual disjoint-set forest with path halving.
type union []int32

func newUnion(n int) union {
	u := make(union, n)
	for i := range u {
		u[i] = int32(i)
	}
	return u
}

func (u union) find(a int32) int32 {
	for u[a] != a {
		u[a] = u[u[a]]
		a = u[a]
	}
	return a
}

func (u union) join(a, b int32) { u[u.find(a)] = u.find(b) }
