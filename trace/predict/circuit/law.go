package circuit

import "math"

// Law is the current through a two-terminal element as a function of the voltage
// across it: monotone, continuous and piecewise linear. In segment k, which
// begins at from[k-1], the current in A is i[k] + g[k]·v with v in V and g in S.
// Networks of such elements have one solution (Millar, Some general theorems for
// nonlinear systems possessing resistance, 1951: it is the minimum of a convex
// function, the content), which is why the solver needs no starting luck.
type Law struct {
	n    int        // segments, 1 to 4
	from [3]float64 // V, where segment k+1 begins; the first n-1 count and ascend
	g    [4]float64 // S, the slope of each segment; not negative
	i    [4]float64 // A, where each segment, drawn on, meets 0 V; neighbours agree at from
}

// Segments returns how many straight pieces the law has.
func (l *Law) Segments() int { return l.n }

// Segment returns where piece k ends, in V (+Inf for the last), and its current
// i + g·v in A.
func (l *Law) Segment(k int) (upTo, g, i float64) {
	upTo = math.Inf(1)
	if k < l.n-1 {
		upTo = l.from[k]
	}
	return upTo, l.g[k], l.i[k]
}

// Slope returns the conductance at a voltage, in S.
func (l *Law) Slope(v float64) float64 { return l.g[l.segment(v)] }

// segment returns the segment in which v lies.
func (l *Law) segment(v float64) int {
	k := 0
	for k < l.n-1 && v >= l.from[k] {
		k++
	}
	return k
}

// At returns the current at a voltage.
func (l *Law) At(v float64) float64 {
	k := l.segment(v)
	return l.i[k] + l.g[k]*v
}

// segmented makes a continuous law through the origin from slopes and the
// voltages between them; the slope that holds at 0 V passes through 0 A, unless
// offset is given.
func segmented(from, g []float64) *Law {
	l := &Law{n: len(g)}
	copy(l.from[:], from)
	copy(l.g[:], g)
	zero := l.segment(0)
	for k := zero + 1; k < l.n; k++ {
		l.i[k] = l.i[k-1] + (l.g[k-1]-l.g[k])*l.from[k-1]
	}
	for k := zero - 1; k >= 0; k-- {
		l.i[k] = l.i[k+1] + (l.g[k+1]-l.g[k])*l.from[k]
	}
	return l
}

// Sizes to which values are bound, so that no number overflows.
const (
	LeastOhms = 1e-6 // Ω; an element of 0 Ω is taken as this
	MostOhms  = 1e12 // Ω
	MostVolts = 1e6  // V
	MostAmps  = 1e6  // A
)

// Leaks in S.
const (
	Insulation = 1e-10 // from every node to ground
	OffLeak    = 1e-9  // of a switch, diode or output that is off
	FlatLeak   = 1e-9  // slope of a current source
)

func bound(v, low, high float64) float64 {
	if math.IsNaN(v) {
		return high
	}
	return min(max(v, low), high)
}

// Conductor is the law of a resistance in Ω.
func Conductor(ohms float64) *Law {
	return &Law{n: 1, g: [4]float64{1 / bound(ohms, LeastOhms, MostOhms)}}
}

// Leak is the law of something that should not conduct.
func Leak() *Law { return &Law{n: 1, g: [4]float64{OffLeak}} }

// Junction conducts from its first end to its second above vf volts, through r Ω.
func Junction(vf, r float64) *Law {
	return segmented([]float64{bound(vf, 1e-3, MostVolts)}, []float64{OffLeak, 1 / bound(r, LeastOhms, MostOhms)})
}

// Clamping conducts above high volts through above Ω, and below -low volts through
// below Ω.
func Clamping(low, below, high, above float64) *Law {
	slope := func(r float64) float64 { return 1 / bound(r, LeastOhms, MostOhms) }
	return segmented([]float64{-bound(low, 1e-3, MostVolts), bound(high, 1e-3, MostVolts)}, []float64{slope(below), OffLeak, slope(above)})
}

// Base is the way into a base behind r1 Ω, with r2 Ω from base to emitter: both
// resistors, until there are vbe volts across the second one.
func Base(r1, r2, vbe float64) *Law {
	r1, r2 = bound(r1, LeastOhms, MostOhms), bound(r2, LeastOhms, MostOhms)
	return segmented([]float64{bound(vbe, 1e-3, MostVolts) * (r1 + r2) / r2}, []float64{1 / (r1 + r2), 1 / r1})
}

// Limited is a resistance that carries at most amps either way.
func Limited(ohms, amps float64) *Law {
	r := bound(ohms, LeastOhms, MostOhms)
	v := r * bound(amps, 1e-9, MostAmps)
	return segmented([]float64{-v, v}, []float64{FlatLeak, 1 / r, FlatLeak})
}

// Drawing takes amps once there are full volts across it, and less below.
func Drawing(amps, full float64) *Law {
	full = bound(full, 1e-3, MostVolts)
	return segmented([]float64{0, full}, []float64{OffLeak, bound(amps, 1e-9, MostAmps) / full, FlatLeak})
}

// Taking is drawing without any leak: what a regulator takes is known exactly.
func Taking(amps, full float64) *Law {
	return &Law{n: 3, from: [3]float64{0, full}, g: [4]float64{0, amps / full, 0}, i: [4]float64{0, 0, amps}}
}

// Giving is a source at its current limit: it pushes amps into the node up to
// volts, where it could hold the level again.
func Giving(amps, volts float64) *Law {
	const g = 1e3
	top := volts + amps/g
	return &Law{n: 3, from: [3]float64{volts, top}, g: [4]float64{FlatLeak, g, OffLeak},
		i: [4]float64{-amps - FlatLeak*volts, -amps - g*volts, -OffLeak * top}}
}

// EMF is a source of e volts behind r Ω, seen from its first end.
func EMF(e, r float64) *Law {
	g := 1 / bound(r, LeastOhms, MostOhms)
	return &Law{n: 1, g: [4]float64{g}, i: [4]float64{-g * bound(e, -MostVolts, MostVolts)}}
}

// Plus returns the law with a conductance in S beside it.
func (l *Law) Plus(g float64) *Law {
	sum := *l
	for k := range sum.n {
		sum.g[k] += g
	}
	return &sum
}
