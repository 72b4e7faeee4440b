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
	"maps"
	"math"
	"slices"
	"sync"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// Model is a board as a network and devices. It does not change once it is made,
// so that any number of simulators may use it at once.
type Model struct {
	Board *netlist.Board
	// Unknown lists supplies and regulators for which neither an attribute nor a
	// net line tells what they give; they are taken to give nothing.
	Unknown []netlist.PartID

	corner   float64 // share of the tolerances at which sources and junctions are
	nodes    int     // with ground
	all      []int32 // every node but ground
	branches []circuit.Branch
	farads   []float64        // of a branch: passes changes only
	henries  []float64        // of a branch: in series with its resistance, for changes
	owner    []netlist.PartID // of a branch, or None
	rest     []*circuit.Law   // of each branch with the board powered, before devices act
	cold     []*circuit.Law   // with all power out and the panel plugged
	plug     []bool           // the branch is a contact that opens when the panel is unplugged
	net      *circuit.Network // of the branches
	cal      calibration

	devices []device
	sights  []sight   // of the devices
	hear    [][]int32 // devices that listen to a node
	of      [][]int32 // devices of a part
	wakes   [][]int32 // devices that a part's faults matter to
	makers  [][]int32 // devices that make a fact
	sources []int32   // devices that may hold a level
	holder  []int32   // device that may hold a node at a level, or -1

	units    []unit
	names    [][]string // of the channels of a part
	unitOf   []int32    // first unit of a part
	fuses    []fuse
	ground   []int32       // node that a part takes for ground
	feeds    [][]supplyPin // supply pins of a part
	drive    map[pinKey]outputs
	joints   []joint                  // dormant branches of faults
	output   map[netlist.PartID]int32 // node that a part without an out pin gives power to
	shifts   map[int32]*transistor    // by branch: changes pass though it rests open
	isle     []int32                  // of a node: nets that signals can pass between
	isles    [][]int32
	lanes    []laneEnd
	distinct func() []State // found once

	// Of use while the model is made.
	now     netlist.PartID // whose branches are added
	senders []*sender
	lit     map[netlist.PartID]*leds
	later   []func() // what waits until all branches are there
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
	over   bool // as netlist.Fault.Over
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
	bodyVolts   = 0.6
	seriesCap   = 100e-9 // F of a capacitor without a value
	usualLimit  = 100.0  // A of a source without "limit"
)

// New makes the model of a board and a simulator for it.
func New(b *netlist.Board) *Simulator { return newModel(b, 0).Simulator() }

// newModel makes the model with all sources and junctions at the share corner of
// their tolerance: -1, 0 or 1.
func newModel(b *netlist.Board, corner float64) *Model {
	m := &Model{
		Board:  b,
		corner: corner,
		drive:  map[pinKey]outputs{},
		lit:    map[netlist.PartID]*leds{},
		shifts: map[int32]*transistor{},
		output: map[netlist.PartID]int32{},
	}
	m.nodes = len(b.Nets) + 1
	m.unitOf = make([]int32, len(b.Parts)+1)
	m.ground, m.feeds = make([]int32, len(b.Parts)), make([][]supplyPin, len(b.Parts))
	for id := range b.Parts {
		p := &b.Parts[id]
		m.ground[id] = m.groundOf(p)
		for _, c := range p.Conns {
			if p.Pin(c).Need == netlist.Supply {
				least := suppliedBy * max(m.nominal(c.Net), 1)
				if p.Kind.Starts > 0 {
					least = min(least, p.Kind.Starts)
				}
				m.feeds[id] = append(m.feeds[id], supplyPin{m.node(c.Net), least})
			}
		}
	}
	m.holder = slices.Repeat([]int32{-1}, m.nodes)
	for id := range b.Parts {
		m.unitOf[id] = int32(len(m.units))
		m.now = netlist.PartID(id)
		m.part(m.now)
	}
	m.now = netlist.None
	m.unitOf[len(b.Parts)] = int32(len(m.units))
	m.names = make([][]string, len(b.Parts))
	for id := range b.Parts {
		if n := len(m.channels(netlist.PartID(id))); n > 0 {
			m.names[id] = b.ChannelNames(netlist.PartID(id))
		}
	}
	m.terminate()
	m.reserve()
	m.net = circuit.NewNetwork(m.nodes, m.branches)
	for _, f := range m.later {
		f()
	}
	m.islands()
	m.directions()
	m.listen()
	for n := int32(1); n < int32(m.nodes); n++ {
		m.all = append(m.all, n)
	}
	m.calibrate(circuit.NewSolver(m.net))
	m.distinct = sync.OnceValue(m.classes)
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
	m.owner = append(m.owner, m.now)
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

// hasGround reports whether a kind is a chip: its pins then have a junction from
// its ground (common practice).
func hasGround(k *netlist.Kind) bool { return k.PinIndex("gnd") >= 0 }

// unit makes a branch a channel of its part, and returns it.
func (m *Model) unit(b int32) int32 {
	m.units = append(m.units, unit{b, -1})
	return b
}

// channels lists the channels of a part.
func (m *Model) channels(id netlist.PartID) []unit { return m.units[m.unitOf[id]:m.unitOf[id+1]] }

func (m *Model) part(id netlist.PartID) {
	p := &m.Board.Parts[id]
	for i := range p.Kind.Passes {
		m.passes(id, p, &p.Kind.Passes[i])
	}
	if maker := makers[p.Kind.Acts]; maker != nil {
		maker(m, id, p)
	}
	if hasGround(p.Kind) {
		m.chip(id, p)
	}
	if p.Kind.Logic != netlist.NoLogic {
		m.gate(id, p)
	}
	for r := range p.Rules {
		rule := &p.Rules[r]
		if maker := rules[rule.Word]; maker != nil {
			maker(m, ruled{own: own{id}, rule: rule}, p)
		}
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

// passes makes the branches of one way of conducting.
func (m *Model) passes(id netlist.PartID, p *netlist.Part, pass *netlist.Pass) {
	first := p.Kind.PinIndex(pass.A)
	for _, c := range p.Conns {
		if int(c.Pin) != first {
			continue
		}
		a, b := m.node(c.Net), m.otherEnd(p, c, pass.B)
		if p.Kind.Form == netlist.RowsForm &&
			!slices.ContainsFunc(p.Conns, func(o netlist.Conn) bool { return o.Channel == c.Channel && o.Pin != c.Pin }) {
			// A pin that leads nowhere.
			m.unit(m.add(a, a, nil, nil))
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
			m.switching(id, p, pass, u.main)
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
			m.joints = append(m.joints, joint{id, netlist.Opens, i, b, false})
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

// joins makes the dormant branches of a part's faults.
func (m *Model) joins(id netlist.PartID, p *netlist.Part) {
	for f := range p.Kind.Faults {
		fault := &p.Kind.Faults[f]
		switch fault.Does {
		case netlist.Grounds:
			for _, i := range m.faultUnits(id, fault) {
				n := m.groundedNode(id, p, fault, i)
				if n > 0 && n != m.groundOf(p) {
					m.joints = append(m.joints, joint{id, fault.Does, i, m.add(n, m.groundOf(p), nil, nil), false})
				}
			}
		case netlist.Bridges:
			if fault.Value > 1 {
				continue // the same branch as the bridge of less resistance
			}
			next := m.bridges(p, fault)
			for _, ch := range slices.Sorted(maps.Keys(next)) {
				m.joints = append(m.joints, joint{id, fault.Does, ch, m.add(next[ch][0], next[ch][1], nil, nil), fault.Over})
			}
		case netlist.LeaksGate:
			pass := &p.Kind.Passes[0]
			m.joints = append(m.joints, joint{id, fault.Does, netlist.None, m.add(m.pin(p, pass.Control), m.pin(p, pass.Ref), nil, nil), false})
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
