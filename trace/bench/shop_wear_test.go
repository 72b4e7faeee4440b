package bench

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
)

// wear gives a net what chips conduct while they are off: as much as the board file
// says of a good board.
func (s *specimen) wear(n netlist.NetID) {
	x := &s.b.Nets[n]
	if x.Ground || s.at[n] == 0 {
		return
	}
	chips := 0
	for _, t := range s.b.Taps(n) {
		if p := &s.b.Parts[t.Part]; p.Kind.Form == netlist.NamedForm && p.Kind.Name != "leds" {
			chips++
		}
	}
	put := func(b branch, f fit) {
		k := s.add(b)
		s.cold = append(s.cold, k)
		s.worn[k] = f
	}
	spread := math.Exp(0.08 * max(-2.5, min(2.5, s.rng.NormFloat64())))
	lift := 0.01 * max(-2.5, min(2.5, s.rng.NormFloat64()))
	leak := math.Exp(math.Log(50e3) + s.rng.Float64()*math.Log(20))
	leaky := s.rng.Float64() < 0.4
	if x.Declared && x.Cold.Value > 0 {
		put(branch{a: s.at[n], g: 1e-9}, fit{net: n, ohms: x.Cold.Value, factor: 1 / spread})
	} else if chips > 0 {
		g := 5e-9 // what reads OL
		if s.leaks && leaky {
			g = 1 / leak
		}
		put(branch{a: s.at[n], g: g}, fit{net: n})
	}
	if v := x.Diode.Value; x.Declared && v > 0 {
		const nvt = 0.035
		put(branch{b: s.at[n], kind: junction, nvt: nvt, is: 1e-3 * math.Exp(-v/nvt)}, fit{net: n, diode: v, factor: math.Exp(-lift / nvt)})
	}
}

// fitted keeps what fitCold found for a board.
var fitted = map[*netlist.Board][]branch{}

// wornIn gives the branches of cold what was found for the board, spread from one
// specimen to the next.
func (s *specimen) wornIn() {
	if fitted[s.b] == nil {
		s.plan()
		s.fitCold()
		var list []branch
		for _, k := range s.cold {
			list = append(list, s.branches[k])
		}
		fitted[s.b] = list
	}
	for i, k := range s.cold {
		f, x := s.worn[k], &s.branches[k]
		if f.factor > 0 {
			x.g, x.is = fitted[s.b][i].g*f.factor, fitted[s.b][i].is*f.factor
		}
	}
}

// fitCold finds what the chips conduct, so that a meter shows what the file says.
func (s *specimen) fitCold() {
	s.switchTo(nil, true, false)
	for range 5 {
		for _, k := range s.cold {
			if f := s.worn[k]; f.ohms > 0 {
				have := s.ohms(s.at[f.net], 0)
				s.branches[k].g = max(1e-9, s.branches[k].g+1/f.ohms-1/have)
			}
		}
	}
	for range 6 {
		for _, k := range s.cold {
			f := s.worn[k]
			if f.diode <= 0 {
				continue
			}
			x := &s.branches[k]
			have := s.diode(s.at[f.net])
			step := math.Exp((min(have, 2) - f.diode) / x.nvt)
			x.is = min(max(x.is*min(max(step, 0.02), 50), 1e-25), 1e-3)
		}
	}
}

// spoil applies a flaw.
func (s *specimen) spoil(f flaw) {
	short := func(a, b netlist.NetID) {
		s.add(branch{a: s.at[a], b: s.at[b], g: 1 / f.size})
	}
	if f.kind == "link" || f.kind == "bridge" {
		short(f.net, f.to)
		return
	}
	if f.kind == "ground" {
		s.add(branch{a: s.at[f.net], b: s.ground(&s.b.Parts[f.part]), g: 1 / f.size})
		return
	}
	k, ok := s.ways[way{f.part, f.ch}]
	if !ok {
		return // what acts minds it itself
	}
	x := &s.branches[k]
	switch f.kind {
	case "open":
		s.replace(k, branch{a: x.a, b: x.b})
	case "series":
		y := *x
		y.g = 1 / (1/x.g + f.size)
		s.replace(k, y)
	case "drift":
		y := *x
		y.g = x.g / f.size
		s.replace(k, y)
	case "short":
		s.add(branch{a: x.a, b: x.b, g: 1 / f.size})
	}
}

// replace puts another branch in the place of one.
func (s *specimen) replace(k int, x branch) {
	s.branches[k] = x
	if i := slices.Index(s.mates, k); i >= 0 {
		s.mated[i] = x.g
	}
}

// flawed returns the flaw of a part of some kind, on a net where that is not None.
func (s *specimen) flawed(id netlist.PartID, kind string, n netlist.NetID) *flaw {
	for i := range s.flaws {
		f := &s.flaws[i]
		if f.part == id && f.kind == kind && (n == netlist.None || f.net == netlist.None || f.net == n) {
			return f
		}
	}
	return nil
}

// bias lets the panel hold the rest level of a line that nothing else holds, as behind
// the capacitors of a pair.
func (s *specimen) bias(n netlist.NetID) {
	var panel *netlist.Part
	for _, t := range s.b.Taps(n) {
		if p := &s.b.Parts[t.Part]; p.Kind.Name == "panel" && p.Pin(p.Conns[t.Conn]).Name == "io" {
			panel = p
		}
	}
	if panel == nil || nominal(s.b, n) == 0 {
		return
	}
	seen := map[netlist.NetID]bool{}
	queue := []netlist.NetID{n}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		if seen[at] || s.b.Nets[at].Ground {
			continue
		}
		seen[at] = true
		for _, t := range s.b.Taps(at) {
			p := &s.b.Parts[t.Part]
			if s.drive[drivenNet{t.Part, at}] != nil || p.Kind.Name == "resistor" && p.Ohms(&p.Kind.Passes[0]) > 100 || p.Kind.Name == "mux" {
				return
			}
			switch p.Kind.Name {
			case "resistor", "ferrite", "filter", "choke", "connector", "cable":
				for _, c := range p.Conns {
					if c.Channel == p.Conns[t.Conn].Channel {
						queue = append(queue, c.Net)
					}
				}
			}
		}
	}
	k := s.add(branch{a: s.at[n], b: s.ground(panel), kind: giving, emf: nominal(s.b, n), most: 1e-3, back: 1e-3})
	s.rests = append(s.rests, rest{panel, k})
}
