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
	fault     int     // of the dictionary; -1 for the healthy board
	low, high int     // hypotheses
	share     float64 // of the fault's weight: sizes are spread evenly over their logarithm
	usual     bool    // the usual size is an end of it
}

// spread lists the hypotheses that are simulated, the healthy board first, and the
// stretches between them in the order of the faults.
func (n *Narrower) spread() {
	n.all = make([]predict.Hypothesis, 1, 4*len(n.d.Faults))
	n.stretches = append(n.stretches, stretch{fault: -1, share: 1, usual: true})
	for i, h := range n.d.Faults {
		f := h.Faults[0]
		n.starts = append(n.starts, len(n.stretches))
		sizes := f.Sizes()
		if sizes == nil {
			n.usual = append(n.usual, len(n.all))
			n.stretches = append(n.stretches, stretch{i, len(n.all), len(n.all), 1, true})
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
				n.stretches = append(n.stretches, stretch{i, last - 1, last, share, sizes[k-1] == f.Mode.Value || size == f.Mode.Value})
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

// column is how a reading stands to each stretch.
type column struct {
	agrees []float64 // 0 to 1: whether the reading lies in the stretch
	chance []float64 // of just this reading: a wide stretch has many others
}

// Of a stretch that ends in something else than it begins with, a word or OL, either half
// is as likely.
const eitherEnd = 0.5

// fit tells how well a reading stands between what two ends of a stretch foretell, each a
// value or the truth of a word, and how likely just this one is among those in between.
func (n *Narrower) fit(r *netlist.Reading, low, high, healthy float64) (agrees, chance float64) {
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
	a := n.agree(r, min(low, high), max(low, high), healthy)
	return a, a * fraction(r.Probe.Method, low, high)
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
