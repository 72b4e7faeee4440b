package predict

import (
	"slices"
	"strconv"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict/circuit"
)

// deviceKind is what a device does to the circuit.
type deviceKind uint8

const (
	supplyDevice deviceKind = iota
	regulatorDevice
	switchDevice
	gateDevice
	driveDevice
	pullDevice
	sendDevice
	readDevice
	makeDevice
	shineDevice
	biasDevice
	boostDevice
)

// device changes laws, sources and facts by what it sees. What it sees is the
// last solution; what it does shows in the next one.
type device struct {
	kind     deviceKind
	part     netlist.PartID
	rule     *netlist.Rule
	fact     int
	from     netlist.PartID
	lines    bool // the part read has open-drain lines
	branch   int32
	feed     int32 // what a regulator takes from its input
	branches []int32
	in, far  []int32
	sent     []signal
	laws     []*circuit.Law // of branches, while on
	on       *circuit.Law   // of a switch
	out, inp int32
	en, ref  int32
	also     int32 // a second enable
	enHigh   bool
	alsoHigh bool
	ohms     float64
	level    float64 // V
	limit    float64 // A
	boost    *boostPins
}

// boostPins are what a boost converter is joined to.
type boostPins struct {
	lx, dim, fb int32
	sinks       []int32
	branches    []int32 // of the sinks
	rectifiers  []int32
	ceiling     float64 // V, 0 when only a divider sets it
	headroom    float64
	vref        float64
	drop        float64      // V, of the rectifier
	amps        float64      // of a string
	peak        float64      // A in the coil
	draws       *circuit.Law // of a sink
}

func (m *Model) boost(id netlist.PartID, p *netlist.Part) {
	x := &boostPins{lx: m.pin(p, "lx"), dim: m.pin(p, "dim"), fb: m.pin(p, "fb"), sinks: m.pins(p, "sink")}
	x.headroom, x.amps, x.peak = m.attr(p, "headroom", 0.5)*(1+0.2*m.corner), m.attr(p, "string", 0.02), m.attr(p, "peak", 2.5)
	x.draws = circuit.Drawing(x.amps, 0.8*x.headroom)
	x.vref, x.ceiling = m.attr(p, "vref", usualVref), m.attr(p, "limit", 0)
	if x.fb < 0 && x.ceiling == 0 {
		x.ceiling = 60
	}
	gnd := m.groundOf(p)
	for _, n := range x.sinks {
		b := m.add(n, gnd, sinkLaw, offLaw)
		x.branches = append(x.branches, b)
		m.units = append(m.units, unit{b, -1})
	}
	d := device{kind: boostDevice, part: id, inp: m.pin(p, "in"), en: m.pin(p, "en"), enHigh: p.ControlLevel(netlist.High) == netlist.High, out: -1, boost: x}
	lx := p.Net("lx")
	for _, t := range m.Board.Taps(lx) {
		q := &m.Board.Parts[t.Part]
		if len(q.Kind.Passes) == 1 && q.Kind.Passes[0].OneWay && q.Pin(q.Conns[t.Conn]).Name == q.Kind.Passes[0].A {
			d.out = m.node(q.Net(q.Kind.Passes[0].B))
			x.drop = m.attr(q, "vf", 0.4)
		}
	}
	if d.out > 0 {
		m.holder[d.out] = int32(len(m.devices))
	}
	m.devices = append(m.devices, d)
}

// rectify finds the diodes of a converter, once all branches are there.
func (m *Model) rectify(d *device) {
	for i, b := range m.branches {
		if b.A == d.boost.lx && b.B == d.out && m.rest[i] != nil && m.rest[i].Segments() == 2 {
			d.boost.rectifiers = append(d.boost.rectifiers, int32(i))
		}
	}
}

// strings makes the branches of LED strings. The forward voltage holds at the
// string's current, so the knee lies below it by the slope.
func (m *Model) strings(p *netlist.Part) {
	for _, c := range p.Conns {
		if p.Pin(c).Name == "k" {
			l := m.stringLaw(p, 0)
			m.units = append(m.units, unit{m.add(m.pin(p, "a"), m.node(c.Net), l, l), -1})
		}
	}
}

// ledOhms is the slope of one LED at its current: common practice, no source.
const ledOhms = 5.0

// stringLaw is the law of a string with some of its LEDs bridged.
func (m *Model) stringLaw(p *netlist.Part, bridged float64) *circuit.Law {
	n := max(m.attr(p, "series", 10)-bridged, 0)
	if n == 0 {
		return circuit.Conductor(ledOhms)
	}
	i := m.attr(p, "current", 0.02)
	slope := min(ledOhms, 0.5*m.attr(p, "vf", 3.1)/max(i, 1e-6))
	return circuit.Junction(n*(m.attr(p, "vf", 3.1)*(1+tolJunction*m.corner)-i*slope), n*slope)
}

func (m *Model) stringBranches(id netlist.PartID) []int32 {
	var list []int32
	for _, u := range m.units[m.unitOf[id]:] {
		list = append(list, u.main)
	}
	return list
}

// neighbours returns, for each channel of a part with pins in a row, the nodes of
// that pin and of the next one; a pin whose next number is missing has none.
func (m *Model) neighbours(p *netlist.Part) map[int][2]int32 {
	type pin struct {
		num, channel int
		node         int32
	}
	var row []pin
	for i, c := range p.Conns {
		if c.Pin != 0 {
			continue
		}
		num, err := strconv.Atoi(c.Num)
		if err != nil {
			num = i
		}
		row = append(row, pin{num, int(c.Channel), m.node(c.Net)})
	}
	slices.SortStableFunc(row, func(a, b pin) int { return a.num - b.num })
	next := map[int][2]int32{}
	for i := 0; i+1 < len(row); i++ {
		if row[i+1].num == row[i].num+1 && row[i].node != row[i+1].node {
			next[row[i].channel] = [2]int32{row[i].node, row[i+1].node}
		}
	}
	return next
}

// listen notes which devices hear which nodes.
func (m *Model) listen() {
	m.hear, m.makers = make([][]int32, m.nodes), make([][]int32, len(m.Board.Facts))
	for i := range m.devices {
		d := &m.devices[i]
		if (d.kind == readDevice || d.kind == makeDevice || d.kind == shineDevice) && d.fact >= 0 {
			m.makers[d.fact] = append(m.makers[d.fact], int32(i))
		}
		hear := func(nodes ...int32) {
			for _, n := range nodes {
				if n > 0 && !slices.Contains(m.hear[n], int32(i)) {
					m.hear[n] = append(m.hear[n], int32(i))
				}
			}
		}
		p := &m.Board.Parts[d.part]
		supplies := func(id netlist.PartID) {
			hear(m.ground[id])
			for _, x := range m.feeds[id] {
				hear(x.node)
			}
		}
		supplies(d.part)
		switch d.kind {
		case supplyDevice, regulatorDevice:
			hear(d.out, d.inp, d.en)
			m.hearAround(i, d.out)
		case boostDevice:
			m.rectify(d)
			hear(d.out, d.inp, d.en, d.boost.lx, d.boost.dim, d.boost.fb)
			hear(d.boost.sinks...)
			m.hearAround(i, d.out)
			m.hearAround(i, d.boost.lx)
		case switchDevice:
			hear(d.en, d.ref, d.also)
		case gateDevice, readDevice:
			hear(d.in...)
			hear(d.far...)
			if d.kind == readDevice {
				supplies(d.from)
			}
		case shineDevice:
			hear(m.pin(p, "a"))
			hear(m.pins(p, "k")...)
		case driveDevice, pullDevice, sendDevice, makeDevice, biasDevice:
		}
		if d.rule != nil && d.rule.When != nil {
			d.rule.When.Targets(func(t netlist.Target) bool {
				if t.Net != netlist.None {
					hear(m.node(t.Net))
				}
				return true
			})
		}
	}
}

// hearAround lets a device hear the neighbours of the node that it holds, since
// the current it gives depends on them.
func (m *Model) hearAround(device int, n int32) {
	if n <= 0 {
		return
	}
	for _, b := range m.net.At(n) {
		o := m.net.Other(b, n)
		if o > 0 && !slices.Contains(m.hear[o], int32(device)) {
			m.hear[o] = append(m.hear[o], int32(device))
		}
	}
}
