package bench

import (
	"math"
	"math/rand/v2"
	"slices"

	"example.org/walkback/netlist"
)

// specimen is one board on the bench: a circuit with parts somewhere within their
// tolerances, what is wrong with it, and how it is switched. Values of devices that a
// board file does not tell are common practice, no source.
type specimen struct {
	network
	b     *netlist.Board
	flaws []flaw
	blown map[string]bool
	leaks bool // junctions of chips that are off leak

	rng   *rand.Rand
	at    []int              // node of each net
	ways  map[way]int        // branch of a channel that conducts
	chips []*chip            // what acts
	mates []int              // branches that exist with the panel plugged alone
	cold  []int              // branches that exist with all power out alone
	worn  map[int]fit        // of cold: what it is fitted to
	aside map[int][2]float64 // of cold: what it conducts, while power is on
	mated []float64          // their conductances
	fuses []fuse
	rests []rest
	drive map[drivenNet]*driver

	setting   netlist.Setting
	unplugged bool
	powered   bool
	facts     []bool
	next      []bool // of facts, while the board comes to rest
	lanes     []bool
	moving    []float64 // V peak to peak of each net
	unsteady  bool
}

type way struct {
	part    netlist.PartID
	channel int16
}

// rest is a level that the panel gives a line.
type rest struct {
	panel  *netlist.Part
	branch int
}

type fuse struct {
	name   string
	branch int
	rating float64
}

// fit is what a meter shows with all power out at a net of a good board.
type fit struct {
	net   netlist.NetID
	ohms  float64 // or
	diode float64
	// factor is that of this specimen on what was found for the board; 0 is its own.
	factor float64
}

type drivenNet struct {
	part netlist.PartID
	net  netlist.NetID
}

// flaw is something wrong with a board.
type flaw struct {
	part netlist.PartID // None for what is not in the file
	kind string         // open series short ground bridge drift level dead low high float deaf off garble
	ch   int16
	net  netlist.NetID
	to   netlist.NetID
	size float64 // Ω or a factor
}

// chip is a part that acts on what it sees.
type chip struct {
	id  netlist.PartID
	p   *netlist.Part
	on  bool
	out int // branch by which it gives
	in  int // branch by which it takes for what it gives
	// of a converter
	level float64
	sinks []int
	draws []int // branches of its supply pins
}

// driver is one output.
type driver struct {
	pull, sink int // branches: up to a level, down to ground
	level      float64
	swing      float64
	rate       float64
	sends      bool
}

const (
	driveOhms  = 40.0
	driveMost  = 0.03 // A
	leadOhms   = 0.3
	closedOhms = 1e-4
	unknownCap = 100e-9
)

// newSpecimen builds a board with its flaws; the same seed gives the same parts.
func newSpecimen(b *netlist.Board, seed uint64, leaks bool, flaws []flaw) *specimen {
	s := &specimen{b: b, flaws: flaws, leaks: leaks, blown: map[string]bool{}, rng: rand.New(rand.NewPCG(seed, 7)),
		ways: map[way]int{}, worn: map[int]fit{}, aside: map[int][2]float64{}, drive: map[drivenNet]*driver{},
		facts: make([]bool, len(b.Facts)), next: make([]bool, len(b.Facts)), lanes: make([]bool, len(b.Lanes)),
		moving: make([]float64, len(b.Nets))}
	s.nodes = 1
	s.at = make([]int, len(b.Nets))
	for i := range b.Nets {
		if !b.Nets[i].Ground {
			s.at[i] = s.node()
		}
	}
	for i := range b.Parts {
		s.part(netlist.PartID(i))
	}
	for i := range b.Lanes {
		if nets := b.Lanes[i].Nets; len(nets) == 2 {
			s.mate(branch{a: s.at[nets[0]], b: s.at[nets[1]], g: 1 / 100.0})
		}
	}
	for i := range b.Nets {
		s.bias(netlist.NetID(i))
		s.wear(netlist.NetID(i))
	}
	s.wornIn()
	for _, f := range flaws {
		s.spoil(f)
	}
	s.plan()
	return s
}

// near draws a factor about 1.
func (s *specimen) near(share float64) float64 {
	return 1 + share*max(-2.5, min(2.5, s.rng.NormFloat64()))
}

func (s *specimen) mate(x branch) {
	s.mates = append(s.mates, s.add(x))
	s.mated = append(s.mated, x.g)
}

func (s *specimen) pin(p *netlist.Part, name string) int {
	if n := p.Net(name); n != netlist.None {
		return s.at[n]
	}
	return -1
}

func (s *specimen) ground(p *netlist.Part) int { return max(0, s.pin(p, "gnd")) }

func attrOf(p *netlist.Part, name string, usual float64) float64 {
	if a, ok := p.Attr(name); ok && a.Text == "" {
		return a.Value
	} else if ok && a.Value != 0 {
		return a.Value
	}
	return usual
}

// nominal is the highest level that a net has in any state.
func nominal(b *netlist.Board, n netlist.NetID) float64 {
	top := 0.0
	if n == netlist.None {
		return 0
	}
	for _, e := range b.Nets[n].Expect {
		top = max(top, e.Value)
	}
	return top
}

// ends lists the channels of a part between two pins.
func ends(p *netlist.Part, a, b string) (list []netlist.Conn, far []netlist.NetID) {
	ia, ib := p.Kind.PinIndex(a), p.Kind.PinIndex(b)
	for _, c := range p.Conns {
		if int(c.Pin) != ia {
			continue
		}
		other := netlist.NetID(netlist.None)
		for _, o := range p.Conns {
			if int(o.Pin) == ib && (o.Channel == c.Channel || other == netlist.None) {
				other = o.Net
				if o.Channel == c.Channel {
					break
				}
			}
		}
		if other != netlist.None {
			list, far = append(list, c), append(far, other)
		}
	}
	return list, far
}

// part makes the branches of a part.
func (s *specimen) part(id netlist.PartID) {
	p := &s.b.Parts[id]
	switch p.Kind.Name {
	case "resistor", "fuse", "coil", "ferrite", "filter", "choke", "connector", "cable":
		s.conductor(id, p)
	case "capacitor":
		near, far := ends(p, "a", "b")
		for i, c := range near {
			s.ways[way{id, c.Channel}] = s.add(branch{a: s.at[c.Net], b: s.at[far[i]], g: 1e-10,
				farads: attrOf(p, "c", unknownCap) * s.near(0.1)})
		}
	case "diode":
		near, far := ends(p, "a", "k")
		for i, c := range near {
			// 0.1 A at its forward voltage, a Schottky of n = 1.05.
			const nvt = 1.05 * 0.0257
			s.ways[way{id, c.Channel}] = s.add(branch{a: s.at[c.Net], b: s.at[far[i]], kind: junction, nvt: nvt,
				is: 0.1 * math.Exp(-attrOf(p, "vf", 0.4)*s.near(0.02)/nvt)})
		}
	case "clamp":
		near, far := ends(p, "a", "b")
		for i, c := range near {
			a, z := s.at[c.Net], s.at[far[i]]
			s.ways[way{id, c.Channel}] = s.add(branch{a: z, b: a, kind: junction, nvt: 0.03, is: 2e-14})
			s.add(branch{a: a, b: z, kind: junction, nvt: 0.05, is: 1e-3, knee: 1.25 * attrOf(p, "volts", 5)})
		}
	case "leds":
		near, far := ends(p, "k", "a")
		for i, c := range near {
			n := attrOf(p, "series", 10)
			v := n * attrOf(p, "vf", 3.1) * s.near(0.003)
			nvt := n * 0.06
			s.ways[way{id, c.Channel}] = s.add(branch{a: s.at[far[i]], b: s.at[c.Net], kind: junction, nvt: nvt,
				is: attrOf(p, "current", 0.02) * math.Exp(-v/nvt)})
		}
		s.chips = append(s.chips, &chip{id: id, p: p, out: -1, in: -1})
	case "pfet", "nfet", "npn", "loadswitch":
		near, far := ends(p, "a", "b")
		for i, c := range near {
			a, z := s.at[c.Net], s.at[far[i]]
			s.ways[way{id, c.Channel}] = s.add(branch{a: a, b: z})
			switch p.Kind.Name {
			case "pfet":
				s.add(branch{a: z, b: a, kind: junction, nvt: 0.03, is: 1e-12})
			case "nfet":
				s.add(branch{a: z, b: a, kind: junction, nvt: 0.03, is: 1e-12})
			case "npn":
				base, e := s.pin(p, "base"), z
				inner := s.node()
				s.add(branch{a: base, b: inner, g: 1 / attrOf(p, "r1", 10e3)})
				s.add(branch{a: inner, b: e, g: 1 / attrOf(p, "r2", 10e3)})
				s.add(branch{a: inner, b: e, kind: junction, nvt: 0.0257, is: 1e-14})
			}
		}
		s.chips = append(s.chips, &chip{id: id, p: p, out: -1, in: -1})
		s.inputs(p, "en")
	case "point":
	default:
		s.chip(id, p)
	}
}

// conductor makes a part that conducts both ways.
func (s *specimen) conductor(id netlist.PartID, p *netlist.Part) {
	pass := &p.Kind.Passes[0]
	tol := 0.05
	if a, ok := p.Attr("tol"); ok {
		tol = a.Value
	} else if p.Kind.Name != "resistor" {
		tol = 0.15
	}
	near, far := ends(p, pass.A, pass.B)
	for i, c := range near {
		r := max(p.Ohms(pass), closedOhms) * s.near(tol/2.5)
		x := branch{a: s.at[c.Net], b: s.at[far[i]], g: 1 / r}
		if p.Kind.Name == "coil" {
			x.farads = 0
		}
		k := s.add(x)
		s.ways[way{id, c.Channel}] = k
		if p.Kind.Plugs {
			s.mates, s.mated = append(s.mates, k), append(s.mated, x.g)
		}
		if p.Kind.Name == "fuse" {
			if rating := attrOf(p, "rating", 0); rating > 0 {
				s.fuses = append(s.fuses, fuse{p.Name, k, rating})
			}
		}
	}
}

// inputs gives pins their protection: a junction from ground, and a breakdown to it, as
// pins have that bear a level while their chip is off.
func (s *specimen) inputs(p *netlist.Part, pins ...string) {
	gnd := s.ground(p)
	for _, c := range p.Conns {
		if slices.Contains(pins, p.Pin(c).Name) && s.at[c.Net] != 0 {
			s.protect(s.at[c.Net], gnd)
		}
	}
}

func (s *specimen) protect(n, gnd int) {
	const nvt = 0.032
	s.add(branch{a: gnd, b: n, kind: junction, nvt: nvt, is: 1e-3 * math.Exp(-0.75*s.near(0.02)/nvt)})
	s.add(branch{a: n, b: gnd, kind: junction, nvt: 0.1, is: 1e-3, knee: 6.5})
}

// chip makes what has rules or an output of its own.
func (s *specimen) chip(id netlist.PartID, p *netlist.Part) {
	x := &chip{id: id, p: p, out: -1, in: -1}
	s.chips = append(s.chips, x)
	gnd := s.ground(p)
	for _, c := range p.Conns {
		if p.Pin(c).Name == "vdd" && p.Kind.Draws > 0 {
			amps := attrOf(p, "draws", p.Kind.Draws)
			x.draws = append(x.draws, s.add(branch{a: s.at[c.Net], b: gnd, kind: sinking, sat: max(1, nominal(s.b, c.Net)/2)}))
			s.branches[x.draws[len(x.draws)-1]].back = amps * s.near(0.1)
		}
	}
	switch p.Kind.Name {
	case "supply", "regulator":
		out := p.Net("out")
		level := attrOf(p, "gives", nominal(s.b, out)) * s.near(0.008)
		x.level = level
		x.out = s.add(branch{a: s.at[out], b: gnd, kind: giving, emf: level, most: attrOf(p, "limit", 10)})
		if p.Kind.Name == "supply" {
			s.branches[x.out].back = 10
		}
		if in := s.pin(p, "in"); in > 0 {
			x.in = s.add(branch{a: in, b: gnd, kind: sinking, sat: 1})
		}
	case "boost":
		s.boost(x, gnd)
	case "mux":
		for _, side := range []string{"a", "b"} {
			near, far := ends(p, side, "out")
			for i, c := range near {
				ch := c.Channel
				if side == "b" {
					ch += 1000
				}
				s.ways[way{id, ch}] = s.add(branch{a: s.at[c.Net], b: s.at[far[i]]})
			}
		}
		s.inputs(p, "a", "b", "out", "sel", "en")
	default:
		if p.Kind.Logic != netlist.NoLogic {
			s.driver(id, p, p.Net("out"), false)
		}
		done := map[netlist.NetID]bool{}
		for _, r := range p.Rules {
			for _, n := range slices.Concat(r.Nets, r.At) {
				switch r.Word {
				case "drives", "pulls", "sends":
					s.driver(id, p, n, r.Word == "sends")
				case "reads":
					if s.drive[drivenNet{id, n}] == nil && slices.Contains(r.Nets, n) {
						s.driver(id, p, n, false)
					}
				}
				done[n] = true
			}
		}
		s.inputs(p, "in", "out", "io", "scl", "sda")
		for n := range done {
			has := slices.ContainsFunc(p.Conns, func(c netlist.Conn) bool { return c.Net == n })
			if !has && s.at[n] != 0 {
				s.protect(s.at[n], gnd)
			}
		}
	}
}

// driver makes an output: dormant until the part acts.
func (s *specimen) driver(id netlist.PartID, p *netlist.Part, n netlist.NetID, sends bool) {
	key := drivenNet{id, n}
	if n == netlist.None || s.drive[key] != nil {
		return
	}
	d := &driver{level: nominal(s.b, n), sends: sends, rate: 1e3}
	for _, e := range s.b.Nets[n].Expect {
		if e.Swing > 0 {
			d.swing, d.level, d.rate = e.Swing, e.Value, max(e.Rate, 1)
			if e.Rate == 0 {
				d.rate = 100e6
			}
		}
	}
	if d.level == 0 || d.level < netlist.LowBelow && !sends && d.swing == 0 {
		for _, c := range p.Conns {
			if p.Pin(c).Need == netlist.Supply {
				d.level = max(d.level, nominal(s.b, c.Net))
			}
		}
		if sends && d.swing == 0 {
			d.swing, d.level = d.level, d.level/2
		}
	}
	d.pull = s.add(branch{a: s.at[n], b: 0, kind: giving, most: driveMost, back: driveMost})
	d.sink = s.add(branch{a: s.at[n], b: s.ground(p)})
	s.drive[key] = d
}

// boost makes a converter: its output, its sinks, and what it takes at its switch node.
func (s *specimen) boost(x *chip, gnd int) {
	p := x.p
	out := s.rectified(p)
	if out != netlist.None {
		x.out = s.add(branch{a: s.at[out], b: gnd, kind: giving, most: 5})
		x.in = s.add(branch{a: s.pin(p, "lx"), b: gnd, kind: sinking, sat: 1})
	}
	for _, c := range p.Conns {
		if p.Pin(c).Name == "sink" {
			k := s.add(branch{a: s.at[c.Net], b: gnd, kind: sinking, sat: 0.8 * attrOf(p, "headroom", 0.5)})
			x.sinks = append(x.sinks, k)
			s.ways[way{x.id, c.Channel}] = k
			s.protect(s.at[c.Net], gnd)
		}
	}
	s.inputs(p, "en", "dim", "fb")
}

// rectified returns the net behind the diode at a switch node.
func (s *specimen) rectified(p *netlist.Part) netlist.NetID {
	for _, t := range s.b.Taps(p.Net("lx")) {
		if q := &s.b.Parts[t.Part]; q.Kind.Name == "diode" && q.Net("a") == p.Net("lx") {
			return q.Net("k")
		}
	}
	return netlist.None
}
