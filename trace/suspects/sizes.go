package suspects

import (
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// stretch is a fault with a size between two that were simulated; both are one where the
// fault has no size. All readings must agree on one stretch.
type stretch struct {
	low, high int     // hypotheses
	share     float64 // of the fault's weight: sizes are spread evenly over their logarithm
	usual     bool    // the usual size is an end of it
}

// spread lists the hypotheses that are simulated, the healthy board first, and the
// stretches between them in the order of the faults.
func (n *Narrower) spread() {
	n.all = make([]predict.Hypothesis, 1, 4*len(n.d.Faults))
	n.stretches = append(n.stretches, stretch{share: 1, usual: true})
	for i, h := range n.d.Faults {
		f := h.Faults[0]
		n.starts = append(n.starts, len(n.stretches))
		sizes := f.Sizes()
		if sizes == nil {
			n.usual = append(n.usual, len(n.all))
			n.stretches = append(n.stretches, stretch{len(n.all), len(n.all), 1, true})
			n.all = append(n.all, h)
			continue
		}
		if !slices.Contains(sizes, f.Mode.Value) {
			sizes = append(sizes, f.Mode.Value)
			slices.Sort(sizes)
		}
		sum := 0.0
		for k, size := range sizes {
			if size == f.Mode.Value {
				n.usual = append(n.usual, len(n.all))
				n.all = append(n.all, h)
			} else {
				sized := f
				sized.Size = size
				n.all = append(n.all, n.m.Suppose(sized))
			}
			if k > 0 && (f.Mode.Ohms() || (sizes[k-1] < 1) == (size < 1)) {
				last := len(n.all) - 1
				share := math.Log(size / sizes[k-1])
				sum += share
				n.stretches = append(n.stretches, stretch{last - 1, last, share, sizes[k-1] == f.Mode.Value || size == f.Mode.Value})
			}
		}
		for s := n.starts[i]; s < len(n.stretches); s++ {
			n.stretches[s].share /= sum
		}
	}
	n.starts = append(n.starts, len(n.stretches))
}

// of lists the stretches of a fault of the dictionary.
func (n *Narrower) of(fault int) (first, end int) { return n.starts[fault], n.starts[fault+1] }

// fitted is how a reading stands to a stretch of sizes.
type fitted struct {
	agrees float64 // 0 to 1: whether the reading lies in the stretch
	chance float64 // of just this reading: a wide stretch has many others
}

// column is how a reading stands to each stretch.
type column struct {
	fits   []fitted
	strict []bool // it does not hold all over the stretch
}

// Of a stretch that ends in something else than it begins with, a word or OL, either half
// is as likely.
const eitherEnd = 0.5

// fit tells how well a reading stands between what two ends of a stretch foretell, each a
// value or the truth of a word, and how likely just this one is among those in between.
func (n *Narrower) fit(r *netlist.Reading, low, high, healthy float64) (agrees, chance float64) {
	agrees, chance = n.between(r, low, high, healthy)
	if r.Seen != nil || !r.Probe.Cold() || tight(r.Probe.Method, max(low, high)) || n.measured(r.Probe, low, high, healthy) {
		return agrees, chance
	}
	a, c := leaky(r, low, high)
	return max(agrees, a), sharp*chance + (1-sharp)*c
}

// Chips and junctions leak more than a file tells, and each in its own way: where nobody
// measured what is computed, a meter shows it in so many cases, and in the others
// something less. Common practice, no source.
const (
	sharp    = 0.4
	leakOhms = 30e3 // Ω of leaks beside what is computed, at the least
	leaksOf  = 1e3  // Ω below which they do not count
	offWhack = 0.25 // that diode mode shows just this where no junction was measured

	mostJunction = 1.0 // V in diode mode of any junction
)

// leaps is the share of one reading below which ohms do not slide from one end of a stretch
// to the other but leap, as where a fuse blows: it is two decades.
const leaps = 0.08

// measured reports whether what a stretch foretells was measured on a good board.
func (n *Narrower) measured(p netlist.Probe, low, high, healthy float64) bool {
	if _, ok := n.bench.Band(netlist.Probe{Method: p.Method, Net: p.Net, Other: p.Other, Part: p.Part,
		State: netlist.Condition{Unplugged: true}}); !ok {
		return false
	}
	return near(p.Method, low, healthy) && near(p.Method, high, healthy)
}

// near reports whether a meter does not tell two values apart; OL is near OL alone.
func near(m netlist.Method, a, b float64) bool {
	return a == b || math.Abs(a-b) < predict.Apart(m, min(math.Abs(a), math.Abs(b)))
}

// tight reports whether what is computed with all power out is so low that nothing that
// leaks counts beside it.
func tight(m netlist.Method, high float64) bool {
	if m == netlist.Diode {
		return high < 2*predict.Apart(netlist.Diode, 0)
	}
	return high < leaksOf
}

// leaky tells how well a reading fits where something leaks beside what is computed.
func leaky(r *netlist.Reading, low, high float64) (agrees, chance float64) {
	low, high = min(low, high), max(low, high)
	if r.Probe.Method == netlist.Diode {
		if r.Value > mostJunction {
			return 0, 0
		}
		return inBand, offWhack
	}
	low, high = min(low, predict.MostMeter), min(high, predict.MostMeter)
	least := low * leakOhms / (low + leakOhms)
	if v := min(r.Value, predict.MostMeter); v < least || v > high {
		return 0, 0
	}
	return inBand, fraction(r.Probe.Method, least, high)
}

// between is fit for values that are as they are computed.
func (n *Narrower) between(r *netlist.Reading, low, high, healthy float64) (agrees, chance float64) {
	if low == high {
		a := n.agree(r, low, low, healthy)
		return a, a
	}
	if r.Seen != nil {
		return 1, eitherEnd
	}
	if math.IsInf(low, 1) || math.IsInf(high, 1) {
		end := min(low, high)
		a := max(n.agree(r, low, low, healthy), n.agree(r, high, high, healthy))
		chance = eitherEnd * a
		if !math.IsInf(r.Value, 1) && r.Value > end && r.Probe.Method != netlist.Volts {
			if c := eitherEnd * fraction(r.Probe.Method, end, predict.MostMeter); c > chance {
				return 1, c
			}
		}
		return a, chance
	}
	part := fraction(r.Probe.Method, low, high)
	if r.Probe.Cold() && part < leaps {
		a := max(n.agree(r, low, low, healthy), n.agree(r, high, high, healthy))
		return a, eitherEnd * a
	}
	a := n.agree(r, min(low, high), max(low, high), healthy)
	return a, a * part
}

// fraction is the share that one reading has of all that a meter tells apart between two
// values, when each is as likely.
func fraction(m netlist.Method, a, b float64) float64 {
	low, high := predict.Apart(m, min(a, b)), predict.Apart(m, max(a, b))
	mean := low
	if high > low {
		mean = (high - low) / math.Log(high/low)
	}
	return 1 / (1 + math.Abs(b-a)/mean)
}
