package bench

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
)

// What chips and switches of a specimen do: thresholds of 3.3 V logic at half the
// supply, enables at 1.2 V, transistors at 1.5 V, fuses that open at 1.6 times their
// rating. Common practice, no source.
const (
	enableAt  = 1.2
	gateAt    = 1.5
	blowsAt   = 1.6
	aliveFrom = 0.05 // V peak to peak
	pairFrom  = 0.4  // share of its swing at which a lane is still received
)

// switchTo brings the board into a state and lets it come to rest.
func (s *specimen) switchTo(setting netlist.Setting, unplugged, powered bool) {
	s.setting, s.unplugged, s.powered = setting, unplugged, powered
	for i, k := range s.mates {
		s.branches[k].g = s.mated[i]
		if unplugged {
			s.branches[k].g = 0
		}
	}
	for _, k := range s.cold {
		x := &s.branches[k]
		kept, aside := s.aside[k]
		switch {
		case powered && !aside:
			s.aside[k] = [2]float64{x.g, x.is}
			x.g, x.is = 0, 0
		case !powered && aside:
			x.g, x.is = kept[0], kept[1]
			delete(s.aside, k)
		}
	}
	clear(s.facts)
	clear(s.lanes)
	clear(s.moving)
	s.restart()
	for _, c := range s.chips {
		s.rest(c)
	}
	for _, x := range s.rests {
		s.branches[x.branch].g = 0
	}
	if !powered {
		return
	}
	for range len(s.fuses) + 1 {
		s.settle()
		if !s.blow() {
			return
		}
	}
}

// rest takes all drive off a part.
func (s *specimen) rest(c *chip) {
	c.on = false
	if c.out >= 0 {
		s.branches[c.out].g = 0
	}
	if c.in >= 0 {
		s.branches[c.in].most = 0
	}
	for _, k := range c.sinks {
		s.branches[k].most = 0
	}
	for _, k := range c.draws {
		s.branches[k].most = 0
	}
	for key, k := range s.ways {
		if key.part == c.id && s.switches(c.p) {
			s.branches[k].g = 0
		}
	}
	for key, d := range s.drive {
		if key.part == c.id {
			s.branches[d.pull].g, s.branches[d.sink].g = 0, 0
		}
	}
}

func (s *specimen) switches(p *netlist.Part) bool {
	switch p.Kind.Name {
	case "pfet", "nfet", "npn", "loadswitch", "mux":
		return true
	}
	return false
}

// settle repeats until nothing changes.
func (s *specimen) settle() {
	const most = 120
	last := make([]float64, len(s.v))
	for round := range most {
		s.solve()
		s.signals()
		change := false
		clear(s.next)
		for _, x := range s.rests {
			g := 0.0
			if s.supplied(x.panel) {
				g = 1 / 5e3
			}
			change = set(&s.branches[x.branch].g, g) || change
		}
		for _, c := range s.chips {
			change = s.act(c, round) || change
		}
		change = change || !slices.Equal(s.facts, s.next)
		copy(s.facts, s.next)
		moved := false
		for i := range s.v {
			moved = moved || math.Abs(s.v[i]-last[i]) > 2e-3
		}
		copy(last, s.v)
		s.unsteady = round == most-1
		if !change && !moved && round > 2 {
			break
		}
	}
	if !s.solve() {
		s.unsteady = true
	}
	s.signals()
	s.bursts()
}

// blow opens what carries too much, and reports whether something did.
func (s *specimen) blow() bool {
	for _, f := range s.fuses {
		if x := &s.branches[f.branch]; !s.blown[f.name] && x.g > 0 && math.Abs(s.flow(f.branch)) > blowsAt*f.rating {
			s.blown[f.name] = true
			x.g = 0
			s.restart()
			return true
		}
	}
	return false
}

// opens puts blown fuses into a board that was built anew.
func (s *specimen) opens(names map[string]bool) {
	for _, f := range s.fuses {
		if names[f.name] {
			s.blown[f.name] = true
			s.branches[f.branch].g = 0
		}
	}
}

func (s *specimen) over(n, ref int) float64 { return s.v[n] - s.v[ref] }

// supplied reports whether all supply pins of a part have their level.
func (s *specimen) supplied(p *netlist.Part) bool {
	gnd := s.ground(p)
	ok := math.Abs(s.v[gnd]) < 0.4
	for _, c := range p.Conns {
		if p.Pin(c).Name == "vdd" {
			ok = ok && s.over(s.at[c.Net], gnd) > 0.8*nominal(s.b, c.Net)
		}
	}
	return ok
}

// set changes a value of a branch and reports whether that is news.
func set(to *float64, v float64) bool {
	news := math.Abs(*to-v) > 1e-3*math.Abs(v)+1e-12
	*to = v
	return news
}

// act lets a part do what it does at the voltages as they stand.
func (s *specimen) act(c *chip, round int) bool {
	p := c.p
	dead := s.flawed(c.id, "dead", netlist.None) != nil
	news := false
	if len(c.draws) > 0 {
		on := s.supplied(p) && !dead
		for _, k := range c.draws {
			amps := s.branches[k].back
			if !on {
				amps *= 0.1
			}
			news = set(&s.branches[k].most, amps) || news
		}
	}
	switch p.Kind.Name {
	case "pfet", "nfet", "npn", "loadswitch":
		return s.actSwitch(c) || news
	case "supply", "regulator":
		return s.actSource(c, round) || news
	case "boost":
		return s.actBoost(c, round) || news
	case "mux":
		return s.actMux(c, dead) || news
	case "leds":
		return s.actLights(c) || news
	}
	return s.actRules(c, dead) || news
}

func (s *specimen) enabled(p *netlist.Part, id netlist.PartID) bool {
	en := s.pin(p, "en")
	if en < 0 {
		return true
	}
	v := s.over(en, s.ground(p))
	if s.flawed(id, "deaf", p.Net("en")) != nil {
		v = 0
	}
	return (v > enableAt) == (p.ControlLevel(netlist.High) == netlist.High)
}

func (s *specimen) actSwitch(c *chip) bool {
	p, news := c.p, false
	for key, k := range s.ways {
		if key.part != c.id {
			continue
		}
		x := &s.branches[k]
		on, ohms := false, attrOf(p, "r", 0.05)
		switch p.Kind.Name {
		case "pfet":
			on = s.over(x.a, s.pin(p, "gate")) > gateAt
		case "nfet":
			on = s.over(s.pin(p, "gate"), x.b) > gateAt
		case "npn":
			ohms = attrOf(p, "r", 5)
			r1, r2 := attrOf(p, "r1", 10e3), attrOf(p, "r2", 10e3)
			on = s.over(s.pin(p, "base"), x.b) > 0.65*(r1+r2)/r2*1.15
		case "loadswitch":
			on = s.enabled(p, c.id) && s.over(x.a, s.ground(p)) > gateAt
			x.most = attrOf(p, "limit", 5)
			ohms = attrOf(p, "r", 0.06)
		}
		if s.flawed(c.id, "stuckon", netlist.None) != nil {
			on = true
		}
		if s.flawed(c.id, "off", netlist.None) != nil || s.flawed(c.id, "open", netlist.None) != nil {
			on = false
		}
		if f := s.flawed(c.id, "series", netlist.None); f != nil {
			ohms += f.size
		}
		g := 0.0
		if on {
			g = 1 / ohms
		}
		news = set(&x.g, g) || news
	}
	return news
}

func (s *specimen) actSource(c *chip, round int) bool {
	p, x := c.p, &s.branches[c.out]
	level := c.level
	if f := s.flawed(c.id, "level", netlist.None); f != nil {
		level *= f.size
	}
	on := s.flawed(c.id, "off", netlist.None) == nil
	in := s.pin(p, "in")
	if in > 0 {
		have := s.over(in, s.ground(p))
		level = min(level, have-0.15)
		on = on && s.enabled(p, c.id) && have > min(2.5, 0.7*nominal(s.b, p.Net("in"))) && level > 0.2
	}
	g := 0.0
	if on {
		g = 200
	}
	news := set(&x.g, g)
	news = set(&x.emf, max(level, 0)) || news
	if c.in < 0 {
		return news
	}
	draw := 0.0
	if on {
		gives := max(0, -s.flow(c.out))
		have := max(1, s.over(in, s.ground(p)))
		draw = gives * max(0, s.over(x.a, x.b)) / (0.9 * have)
		s.branches[c.in].sat = 0.9 * have
		if old := s.branches[c.in].most; old > 0 && round > 6 {
			draw = (draw + old) / 2
		}
	}
	return set(&s.branches[c.in].most, draw) || news
}

func (s *specimen) actBoost(c *chip, round int) bool {
	p, gnd := c.p, s.ground(c.p)
	on := s.over(s.pin(p, "in"), gnd) > 2.7 && s.enabled(p, c.id) && math.Abs(s.v[gnd]) < 0.4 &&
		s.flawed(c.id, "dead", netlist.None) == nil
	dimmed := true
	if dim := p.Net("dim"); dim != netlist.None {
		dimmed = s.moving[dim] > 1.5 || s.over(s.at[dim], gnd) > 1.5
		dimmed = dimmed && s.flawed(c.id, "deaf", dim) == nil
	}
	news := false
	for _, k := range c.sinks {
		amps := 0.0
		if on && dimmed && !s.openSink(c.id, k) {
			amps = attrOf(p, "string", 0.02)
		}
		news = set(&s.branches[k].most, amps) || news
	}
	if c.out < 0 {
		return news
	}
	x := &s.branches[c.out]
	vin, vout := s.over(s.pin(p, "lx"), gnd), s.over(x.a, gnd)
	top := attrOf(p, "limit", 60)
	runs := on && dimmed && s.flawed(c.id, "off", netlist.None) == nil && vin > 2
	if fb := s.pin(p, "fb"); fb >= 0 {
		vref, sense := attrOf(p, "vref", 1.25), s.over(fb, gnd)
		if sense < 0.05*vref {
			runs = false
		} else {
			top = min(60, vref*vout/sense)
		}
	}
	if !runs {
		news = set(&x.g, 0) || news
		c.level = 0
		return set(&s.branches[c.in].most, 0) || news
	}
	if c.level == 0 {
		c.level = vin
	}
	c.level = s.boosted(c, gnd, top)
	amps := max(0, -s.flow(c.out))
	coil := amps * (vout + 0.4) / (0.9 * max(vin, 1))
	if peak := attrOf(p, "peak", 2.5); coil > peak {
		c.level = max(vin-0.4, min(c.level, vout*math.Sqrt(peak/coil)))
		coil = min(coil, peak)
	}
	s.branches[c.in].sat = max(1, 0.9*vin)
	if old := s.branches[c.in].most; old > 0 && round > 6 {
		coil = (coil + old) / 2
	}
	news = set(&x.g, 20) || news
	news = set(&x.emf, c.level) || news
	return set(&s.branches[c.in].most, coil) || news
}

func (s *specimen) openSink(id netlist.PartID, branch int) bool {
	for key, k := range s.ways {
		if k == branch && key.part == id {
			for _, f := range s.flaws {
				if f.part == id && f.kind == "open" && f.ch == key.channel {
					return true
				}
			}
		}
	}
	return false
}

// boosted is the next level of a converter's output: so that the weakest string that
// carries current has its headroom, no more than its ceiling.
func (s *specimen) boosted(c *chip, gnd int, top float64) float64 {
	want := attrOf(c.p, "headroom", 0.5)
	least, lit := math.Inf(1), false
	for _, k := range c.sinks {
		x := &s.branches[k]
		if s.flow(k) > 0.4*x.most && x.most > 0 {
			lit = true
			least = min(least, s.over(x.a, gnd))
		}
	}
	level := top
	if f := s.flawed(c.id, "level", netlist.None); f != nil {
		return top * f.size
	}
	if len(c.sinks) > 0 {
		if lit {
			level = c.level + 0.7*(want-least)
		} else if level = c.level + 3; level > top {
			level = top
		}
	}
	return max(0.5, min(level, top))
}

func (s *specimen) actMux(c *chip, dead bool) bool {
	p, gnd := c.p, s.ground(c.p)
	on := s.supplied(p) && !dead && s.enabled(p, c.id)
	sel := s.over(max(0, s.pin(p, "sel")), gnd) > 1.65
	if s.flawed(c.id, "deaf", p.Net("sel")) != nil {
		sel = false
	}
	news := false
	for key, k := range s.ways {
		if key.part != c.id {
			continue
		}
		g := 0.0
		if on && sel == (key.channel >= 1000) && !s.openWay(c.id, key.channel%1000) {
			g = 1 / 5.0
		}
		news = set(&s.branches[k].g, g) || news
	}
	return news
}

func (s *specimen) openWay(id netlist.PartID, ch int16) bool {
	for _, f := range s.flaws {
		if f.part == id && f.kind == "open" && f.ch == ch {
			return true
		}
	}
	return false
}

// actLights sees which strings are lit; the fact that they make holds then.
func (s *specimen) actLights(c *chip) bool {
	light := 0.0
	for key, k := range s.ways {
		if key.part == c.id && s.branches[k].kind == junction {
			light += s.flow(k)
		}
	}
	lit := light > 0.2*attrOf(c.p, "current", 0.02)
	for i := range c.p.Rules {
		if r := &c.p.Rules[i]; r.Word == "makes" {
			s.next[r.Fact] = s.next[r.Fact] || lit && s.holds(r.When, c)
		}
	}
	return false
}
