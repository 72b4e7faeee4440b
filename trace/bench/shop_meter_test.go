package bench

import (
	"math"
	"math/rand/v2"
	"strconv"

	"example.org/walkback/netlist"
)

const (
	meterLoad = 1e-7 // S, of 10 MΩ
	mostOhms  = 20e6
	floatOhms = 5e6 // from where a reading drifts under the hand
)

// ohms is what a meter shows between two nodes with all power out: with 0.2 V or less,
// and 1 mA at most. More than it shows is +Inf.
func (s *specimen) ohms(a, b int) float64 {
	s.restart()
	s.linear(0)
	x := make([]float64, s.nodes)
	x[a], x[b] = 1, x[b]-1
	s.back(x)
	r := x[a] - x[b]
	if r > mostOhms {
		return math.Inf(1)
	}
	amps := min(1e-3, 0.2/r)
	k := s.add(branch{a: b, b: a, kind: forcing, most: amps})
	s.solve()
	s.branches = s.branches[:k]
	if r = (s.v[a] - s.v[b]) / amps; r > mostOhms {
		return math.Inf(1)
	}
	return max(0, r)
}

// diode is what diode mode shows with red on ground and black on a node, from 1 mA.
func (s *specimen) diode(n int) float64 {
	s.restart()
	k := s.add(branch{a: n, kind: giving, emf: -2.6, g: 0.1, most: 1, back: 1e-3, stands: atBack})
	s.solve()
	s.branches = s.branches[:k]
	if v := -s.v[n]; v < 2 {
		return max(0, v)
	}
	return math.Inf(1)
}

// volts is what a meter of 10 MΩ shows; +Inf where it drifts since nothing holds the net.
func (s *specimen) volts(n int) float64 {
	keep := append([]float64(nil), s.v...)
	s.linear(0)
	x := make([]float64, s.nodes)
	x[n] = 1
	s.back(x)
	if x[n] > floatOhms {
		return math.Inf(1)
	}
	k := s.add(branch{a: n, g: meterLoad})
	s.solve()
	s.branches = s.branches[:k]
	v := s.v[n]
	copy(s.v, keep)
	return v
}

// value is what a probe shows on the specimen: V, V peak to peak, Ω, or 1 and 0 for yes
// and no.
func (s *specimen) value(p netlist.Probe) float64 {
	cold := p.Cold()
	if cold == s.powered || s.unplugged != p.State.Unplugged || !cold && !sameSetting(s.setting, p.State.Setting) {
		s.switchTo(p.State.Setting, p.State.Unplugged, !cold)
	}
	switch p.Method {
	case netlist.Volts:
		return s.volts(s.at[p.Net])
	case netlist.Activity:
		return s.moving[p.Net]
	case netlist.Ohms:
		return s.ohms(s.at[p.Net], 0)
	case netlist.Diode:
		return s.diode(s.at[p.Net])
	case netlist.Across:
		a, b := p.Net, p.Other
		if p.Part != netlist.None {
			e, _ := s.b.ChannelEnds(p.Part, p.Channel)
			a, b = e[0], e[1]
		}
		return s.ohms(s.at[a], s.at[b])
	case netlist.Look:
	}
	if s.facts[p.Fact] {
		return 1
	}
	return 0
}

func sameSetting(a, b netlist.Setting) bool { return len(a) == len(b) && a.Distance(b) == 0 }

// hand is who reads: a meter of 1 % and 2 digits, leads of 0.3 Ω, one misread in fifty.
type hand struct {
	rng  *rand.Rand
	slip float64
	gain float64 // of this meter
	last string  // what was misread, for the list
}

// digits rounds to what a meter of 4000 counts shows, two digits off.
func (h *hand) digits(v float64) float64 {
	scale := 4.0
	for scale < math.Abs(v) {
		scale *= 10
	}
	for scale > 0.4 && math.Abs(v) < scale/10 {
		scale /= 10
	}
	step := scale / 4000
	v = v*(1+0.01*h.gain) + step*float64(h.rng.IntN(5)-2)
	return math.Round(v/step) * step
}

// typed is what the hand types for a value of a probe.
func (h *hand) typed(p netlist.Probe, v float64) string {
	slips := h.rng.Float64() < h.slip
	h.last = ""
	switch p.Method {
	case netlist.Look:
		if slips && h.rng.Float64() < 0.5 {
			v, h.last = 1-v, "look"
		}
		if v != 0 {
			return "y"
		}
		return "n"
	case netlist.Activity:
		alive := v > aliveFrom
		if slips {
			alive, h.last = !alive, "activity"
		}
		if alive {
			return "t"
		}
		return "q"
	case netlist.Volts, netlist.Diode, netlist.Ohms, netlist.Across:
	}
	if slips {
		h.last = "number"
		switch h.rng.IntN(3) {
		case 0:
			v = 0
		case 1:
			v = math.Inf(1)
		default:
			v *= math.Pow(10, (h.rng.Float64()-0.5)*4)
		}
	}
	if math.IsInf(v, 1) {
		if p.Method == netlist.Volts {
			return "f"
		}
		return "OL"
	}
	if p.Method == netlist.Ohms || p.Method == netlist.Across {
		v += leadOhms
	}
	v = h.digits(v)
	if v < 0 {
		v = 0
	}
	return strconv.FormatFloat(v, 'f', max(0, min(4, 3-int(math.Floor(math.Log10(max(v, 1e-3)))))), 64)
}
