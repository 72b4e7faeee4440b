// Package suspects narrows what may have failed: from readings, with the state of
// the board in which each was taken, to a ranking with the reasons.
//
//	report, err := suspects.Narrow(model, readings, suspects.Options{})
//
// Every single fault is simulated, with what it led to; Bayes' rule weighs its
// failure rate by how well it foretells each reading, with the meter's tolerance
// and a small chance that a reading is wrong. Where no single fault explains the
// readings, pairs are tried.
package suspects

import (
	"cmp"
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// Shares, common practice, no source.
const (
	misread   = 0.05 // of readings, that are wrong
	wrongOnes = 0.2  // of a wrong reading, to show just this
	unlisted  = 0.05 // that the cause is not in the board file
	unlikely  = 0.3  // that a cause which is not listed shows just this
	explains  = 0.3  // least agreement that counts as explaining a reading
)

// Options are what else is known.
type Options struct {
	History []string // words of Histories
}

// Hypothesis is one thing that may have happened.
type Hypothesis struct {
	predict.Hypothesis
	Name   string
	Weight float64   // before the readings, of all
	P      float64   // after them
	Agrees []float64 // 0 to 1, for each reading
	group  int
}

// weigher collects what Narrow needs.
type weigher struct {
	m        *predict.Model
	readings []Reading
	list     []Hypothesis // single faults, in the order of the file
	healthy  []float64    // agreement of the healthy board
	healthyV []float64    // what it shows
}

// weigh simulates every single fault where the readings were taken.
func (w *weigher) weigh(o Options) error {
	faults := w.m.AllFaults()
	w.list = make([]Hypothesis, len(faults))
	w.healthy, w.healthyV = make([]float64, len(w.readings)), make([]float64, len(w.readings))
	for i, f := range faults {
		x, err := historyFactor(o.History, w.m.Board.Parts[f.Part].Kind, f.Mode)
		if err != nil {
			return err
		}
		w.list[i] = Hypothesis{Name: w.m.Name(f), Weight: w.m.Weight(f) * x, Agrees: make([]float64, len(w.readings))}
		w.list[i].Hypothesis = w.m.Suppose(f)
	}
	sum := 0.0
	for i := range w.list {
		sum += w.list[i].Weight
	}
	for i := range w.list {
		w.list[i].Weight *= (1 - unlisted) / sum
	}
	all := []predict.Hypothesis{{}}
	for i := range w.list {
		all = append(all, w.list[i].Hypothesis)
	}
	w.each(all, func(i, k int, agrees, value float64) {
		if i == 0 {
			w.healthy[k], w.healthyV[k] = agrees, value
		} else {
			w.list[i-1].Agrees[k] = agrees
		}
	})
	return nil
}

// each simulates hypotheses in the states of the readings, each state once, and
// tells how well each foretells each reading.
func (w *weigher) each(all []predict.Hypothesis, tell func(i, reading int, agrees, value float64)) {
	done := make([]bool, len(w.readings))
	for k := range w.readings {
		if done[k] {
			continue
		}
		var same []int
		first := &w.readings[k]
		for j := k; j < len(w.readings); j++ {
			if !done[j] && sameState(first.Probe, w.readings[j].Probe) {
				same = append(same, j)
				done[j] = true
			}
		}
		if first.Probe.Cold() {
			for i, h := range all {
				c := w.m.Cold(first.Probe.State.Unplugged, h)
				for _, j := range same {
					v := c.Value(w.readings[j].Probe)
					tell(i, j, w.readings[j].agree(v, false), v)
				}
			}
			continue
		}
		for i, r := range w.m.Sweep(first.Probe.State, all) {
			for _, j := range same {
				x := &w.readings[j]
				if x.Seen != nil {
					tell(i, j, truth(r.Fits(*x.Seen)), 0)
					continue
				}
				v := r.Value(x.Probe)
				tell(i, j, x.agree(v, r.Floats(x.Probe.Net)), v)
			}
		}
	}
}

func sameState(a, b predict.Probe) bool {
	if a.Cold() || b.Cold() {
		return a.Cold() == b.Cold() && a.State.Unplugged == b.State.Unplugged
	}
	return a.State.Unplugged == b.State.Unplugged && slices.Equal(a.State.Setting, b.State.Setting)
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// agree tells how well a foretold value fits what the meter showed. A net that
// nothing holds may read anything low.
func (r *Reading) agree(v float64, floats bool) float64 {
	if floats {
		return truth(r.Value < 5) * 0.5
	}
	if math.IsInf(v, 1) || math.IsInf(r.Value, 1) {
		return truth(math.IsInf(v, 1) == math.IsInf(r.Value, 1))
	}
	spread := r.Probe.Method.Apart(min(math.Abs(v), math.Abs(r.Value))) / 2
	d := (v - r.Value) / spread
	return math.Exp(-d * d / 2)
}

// likelihood of readings under a hypothesis.
func likelihood(agrees []float64) float64 {
	l := 1.0
	for _, a := range agrees {
		l *= (1-misread)*a + misread*wrongOnes
	}
	return l
}

// posterior fills in P and returns that of a cause which is not listed.
func (w *weigher) posterior(list []Hypothesis) (other float64) {
	other = unlisted * math.Pow(unlikely, float64(len(w.readings)))
	sum := other
	for i := range list {
		list[i].P = list[i].Weight * likelihood(list[i].Agrees)
		sum += list[i].P
	}
	for i := range list {
		list[i].P /= sum
	}
	return other / sum
}

// explained tells whether a hypothesis foretells every reading.
func explained(agrees []float64) bool {
	return !slices.ContainsFunc(agrees, func(a float64) bool { return a < explains })
}

// byP sorts by probability, the order of the file among equals.
func byP(list []Hypothesis) {
	slices.SortStableFunc(list, func(a, b Hypothesis) int { return cmp.Compare(b.P, a.P) })
}

// partOf returns the part of the first fault of a hypothesis.
func partOf(h *Hypothesis) netlist.PartID { return h.Faults[0].Part }
