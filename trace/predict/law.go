package predict

import "math"

// law is the current through a two-terminal element as a function of the voltage
// across it: monotone, continuous and piecewise linear. In segment k, which
// begins at from[k-1], the current in A is i[k] + g[k]·v with v in V and g in S.
// Networks of such elements have one solution (Millar, Some general theorems for
// nonlinear systems possessing resistance, 1951: it is the minimum of a convex
// function, the content), which is why the solver needs no starting luck.
type law struct {
	n    int // segments
	from [3]float64
	g, i [4]float64
}

// segment returns the segment in which v lies.
func (l *law) segment(v float64) int {
	k := 0
	for k < l.n-1 && v >= l.from[k] {
		k++
	}
	return k
}

// at returns the current at a voltage.
func (l *law) at(v float64) float64 {
	k := l.segment(v)
	return l.i[k] + l.g[k]*v
}

// segmented makes a continuous law through the origin from slopes and the
// voltages between them; the slope that holds at 0 V passes through 0 A, unless
// offset is given.
func segmented(from, g []float64) *law {
	l := &law{n: len(g)}
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

// Sizes that bound what a board file may say, so that no number overflows.
const (
	leastOhms = 1e-6 // Ω; a part of 0 Ω is taken as this
	mostOhms  = 1e12 // Ω
	mostVolts = 1e6  // V
	mostAmps  = 1e6  // A
)

// Leaks in S.
const (
	insulation = 1e-10 // from every net to ground
	offLeak    = 1e-9  // of a switch, diode or output that is off
	flatLeak   = 1e-9  // slope of a current source
)

func bound(v, low, high float64) float64 {
	if math.IsNaN(v) {
		return high
	}
	return min(max(v, low), high)
}

// conductor is the law of a resistance in Ω.
func conductor(ohms float64) *law {
	return &law{n: 1, g: [4]float64{1 / bound(ohms, leastOhms, mostOhms)}}
}

// leak is the law of something that should not conduct.
func leak() *law { return &law{n: 1, g: [4]float64{offLeak}} }

// junction conducts from its first end to its second above vf volts, through r Ω.
func junction(vf, r float64) *law {
	return segmented([]float64{bound(vf, 1e-3, mostVolts)}, []float64{offLeak, 1 / bound(r, leastOhms, mostOhms)})
}

// clamping conducts above high volts and below -low volts.
func clamping(low, high, r float64) *law {
	g := 1 / r
	return segmented([]float64{-bound(low, 1e-3, mostVolts), bound(high, 1e-3, mostVolts)}, []float64{g, offLeak, g})
}

// limited is a resistance that carries at most amps either way.
func limited(ohms, amps float64) *law {
	r := bound(ohms, leastOhms, mostOhms)
	v := r * bound(amps, 1e-9, mostAmps)
	return segmented([]float64{-v, v}, []float64{flatLeak, 1 / r, flatLeak})
}

// drawing takes amps once there are full volts across it, and less below.
func drawing(amps, full float64) *law {
	full = bound(full, 1e-3, mostVolts)
	return segmented([]float64{0, full}, []float64{offLeak, bound(amps, 1e-9, mostAmps) / full, flatLeak})
}

// taking is drawing without any leak: what a regulator takes is known exactly.
func taking(amps, full float64) *law {
	return &law{n: 3, from: [3]float64{0, full}, g: [4]float64{0, amps / full, 0}, i: [4]float64{0, 0, amps}}
}

// giving is a source at its current limit: it pushes amps into the node up to
// volts, where it could hold the level again.
func giving(amps, volts float64) *law {
	const g = 1e3
	top := volts + amps/g
	return &law{n: 3, from: [3]float64{volts, top}, g: [4]float64{flatLeak, g, offLeak},
		i: [4]float64{-amps - flatLeak*volts, -amps - g*volts, -offLeak * top}}
}

// emf is a source of e volts behind r Ω, seen from its first end.
func emf(e, r float64) *law {
	g := 1 / bound(r, leastOhms, mostOhms)
	return &law{n: 1, g: [4]float64{g}, i: [4]float64{-g * bound(e, -mostVolts, mostVolts)}}
}

// plus returns the law with a conductance in S beside it.
func (l *law) plus(g float64) *law {
	sum := *l
	for k := range sum.n {
		sum.g[k] += g
	}
	return &sum
}
