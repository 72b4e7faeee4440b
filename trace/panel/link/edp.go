package link

import "slices"

// coding is the part of the bits on the wire that carries data: 8 bits travel
// as 10 (VESA DisplayPort 1.2, ANSI 8b/10b; from memory). The kernel counts the
// same: drm_dp_bw_channel_coding_efficiency in drm_dp_helper.c gives 80 %.
const coding = 0.8

const edpBits = 24 // of a panel whose depth is not known: the most that is usual

// Rates lists what a lane of eDP may run at, in bit/s. The four of DisplayPort
// are 1.62, 2.7, 5.4 and 8.1 Gbit/s; the others came with eDP 1.4. From memory
// of VESA eDP 1.4.
func Rates() []float64 {
	return []float64{1.62e9, 2.16e9, 2.43e9, 2.7e9, 3.24e9, 4.32e9, 5.4e9, 8.1e9}
}

// Carry is what a number of lanes carries at one rate.
type Carry struct {
	Rate     float64 `json:"lane_bits_a_second"` // on the wire, bit/s
	Lanes    int     `json:"lanes"`
	Capacity float64 `json:"capacity_bits_a_second"` // of data, bit/s
	Load     float64 `json:"load"`                   // the need as a fraction of Capacity
	Fits     bool    `json:"fits"`
}

// EDPNeed is what an eDP link must give. What is computed here is the least that
// carries the picture; panel and picture chip settle lanes and rate when they
// train the link, within MAX_LINK_RATE and MAX_LANE_COUNT of the panel's DPCD
// registers, and the picture chip the depth, up to the panel's greatest.
type EDPNeed struct {
	Bits     int     `json:"bits_a_pixel"`
	BitsFrom From    `json:"bits_from"`
	Most     int     `json:"greatest_bits_a_pixel,omitempty"` // what the panel takes; the link may run with fewer
	Payload  float64 `json:"payload_bits_a_second"`           // pixel clock times bits, bit/s; blanking counts
	Carry
	LanesFrom From      `json:"lanes_from"`
	RateFrom  From      `json:"rate_from"`
	Readings  []Reading `json:"readings,omitempty"` // none of a link that cannot be

	depths []int // bits a pixel that the link may run with, the greatest first
}

func edp(a Ask) *EDPNeed {
	e := &EDPNeed{Most: a.Most, depths: a.depths()}
	switch {
	case a.Bits > 0:
		e.Most = 0
	case a.Most > 0:
		e.BitsFrom = Computed
	default:
		e.BitsFrom = Assumed
	}
	for _, bits := range e.depths {
		if e.run(a.Mode.Clock, bits); e.choose(a) {
			break
		}
	}
	if !e.Fits {
		e.run(a.Mode.Clock, e.depths[0])
		e.choose(a)
	}
	if e.Fits {
		half, bit := e.Rate/2, 1/e.Rate
		e.Readings = []Reading{
			{"lane, fastest square wave", half, half, "Hz", "bits that change every time: half of the rate"},
			{"one bit", bit, bit, "s", "the inverse of the rate"},
		}
	}
	return e
}

// depths are the bits a pixel that the link may run with, the greatest first.
func (a Ask) depths() []int {
	switch {
	case a.Bits > 0:
		return []int{a.Bits}
	case a.Most == 0:
		return []int{edpBits}
	}
	return append([]int{a.Most}, slices.DeleteFunc([]int{30, 24, 18}, func(n int) bool { return n >= a.Most })...)
}

// run sets the depth and the load that it makes.
func (e *EDPNeed) run(clock float64, bits int) { e.Bits, e.Payload = bits, clock*float64(bits) }

func carry(payload, rate float64, lanes int) Carry {
	c := Carry{Rate: rate, Lanes: lanes, Capacity: coding * rate * float64(lanes)}
	c.Load = payload / c.Capacity
	c.Fits = c.Load <= 1
	return c
}

// choose takes what is given, and else what is usual: the fewest lanes at
// 2.7 Gbit/s, beyond four of them at 5.4 and 8.1 (common practice). Fewer lanes
// at a higher rate carry the same; only the panel's registers tell. It reports
// whether the picture fits.
func (e *EDPNeed) choose(a Ask) bool {
	lanes, rates := []int{1, 2, 4}, []float64{2.7e9, 5.4e9, 8.1e9}
	e.LanesFrom, e.RateFrom = Assumed, Assumed
	switch {
	case a.Rate > 0:
		e.RateFrom, rates = Given, []float64{a.Rate}
	case a.Lanes > 0:
		// With few lanes any of the usual rates may be meant, the slowest too.
		rates = slices.Insert(rates, 0, 1.62e9)
	}
	if a.Lanes > 0 {
		e.LanesFrom, lanes = Given, []int{a.Lanes}
	}
	for _, r := range rates {
		for _, n := range lanes {
			if e.Carry = carry(e.Payload, r, n); e.Fits {
				return true
			}
		}
	}
	return false
}
