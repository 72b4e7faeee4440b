package consist

import (
	"cmp"
	"math"
	"slices"
)

// A Candidate is one account of what is wrong: a mode for each part, where mode 0 is
// healthy, and how probable the account is.
type Candidate struct {
	Modes []int
	P     float64
}

// Faulty returns the parts that are not healthy.
func (c Candidate) Faulty() []int {
	out := []int{}
	for i, m := range c.Modes {
		if m != 0 {
			out = append(out, i)
		}
	}
	return out
}

// Weak returns mode probabilities for parts that are healthy or else do anything, from the
// probability of each part to be faulty.
func Weak(faulty ...float64) [][]float64 {
	var out [][]float64
	for _, p := range faulty {
		out = append(out, []float64{1 - p, p})
	}
	return out
}

// Candidates returns all accounts with at most most faulty parts that the observations
// leave possible, those with fewer faults first and
// then those of earlier parts, with probabilities that add up to one.
// Modes[i][m] is the probability, before anything was seen, that part i is in mode m; parts
// fail independently. The likelihood tells how probable the observations are for an
// account: 0 rules it out, and 1/n is fair for one of n values that it does not predict.
// It must not keep the list.
func Candidates(modes [][]float64, most int, likelihood func(modes []int) float64) []Candidate {
	var out []Candidate
	now := make([]int, len(modes))
	var visit func(part, faults int, p float64)
	visit = func(part, faults int, p float64) {
		switch {
		case p == 0 || faults > len(modes)-part:
		case part < len(modes):
			for m := 1; m < len(modes[part]) && faults > 0; m++ {
				now[part] = m
				visit(part+1, faults-1, p*modes[part][m])
			}
			now[part] = 0
			visit(part+1, faults, p*modes[part][0])
		default:
			if p *= likelihood(now); p > 0 {
				out = append(out, Candidate{slices.Clone(now), p})
			}
		}
	}
	for faults := 0; faults <= min(most, len(modes)); faults++ {
		visit(0, faults, 1)
	}
	normalize(out)
	return out
}

func normalize(cands []Candidate) {
	sum := 0.0
	for _, c := range cands {
		sum += c.P
	}
	for i := range cands {
		cands[i].P /= sum
	}
}

// Marginals returns the probability of each part to be faulty.
func Marginals(cands []Candidate) []float64 {
	var out []float64
	for _, c := range cands {
		if out == nil {
			out = make([]float64, len(c.Modes))
		}
		for _, i := range c.Faulty() {
			out[i] += c.P
		}
	}
	return out
}

// Entropy returns how undecided the candidates are, in bits.
func Entropy(cands []Candidate) float64 {
	h := 0.0
	for _, c := range cands {
		h += surprise(c.P)
	}
	return h
}

// surprise is what an outcome of this probability adds to an entropy. Sums of
// probabilities that should be 1 may be a little more.
func surprise(p float64) float64 {
	if p <= 0 || p >= 1 {
		return 0
	}
	return -p * math.Log2(p)
}

// A Predictor tells the value that an account gives a point, and false when the account
// leaves it open.
type Predictor func(modes []int) (value int, known bool)

// Forecast is what to expect from a measurement.
type Forecast struct {
	Outcomes []Outcome // values that some candidate predicts, ascending
	Unknown  float64   // probability of the candidates that predict none
	Entropy  float64   // of the outcome, bits
	Gain     float64   // by how much the entropy of the candidates will fall on average, bits
}

// Outcome is a value and the probability of the candidates that predict it.
type Outcome struct {
	Value int
	P     float64
}

// Expect returns the forecast for a point that can show values many values, any of which is
// as likely as the others where a candidate leaves it open; 0 stands for very many.
//
// This is the measure of de Kleer and Williams (1987): the best measurement leaves the least
// entropy to be expected. With p(k) the probability of a predicted value and u that of the
// candidates that predict none, value k shows with probability p(k) + u/values, and each
// value that nobody predicts with u/values. The outcome's entropy less the part of it that
// says nothing about the candidates, u·log2(values), is the gain. With very many values the
// two infinite terms cancel, and an open value is an outcome of its own.
func Expect(cands []Candidate, predict Predictor, values int) Forecast {
	var f Forecast
	for _, c := range cands {
		v, known := predict(c.Modes)
		if !known {
			f.Unknown += c.P
			continue
		}
		at, ok := slices.BinarySearchFunc(f.Outcomes, v, func(o Outcome, v int) int { return cmp.Compare(o.Value, v) })
		if !ok {
			f.Outcomes = slices.Insert(f.Outcomes, at, Outcome{Value: v})
		}
		f.Outcomes[at].P += c.P
	}
	share := 0.0
	if values > 0 {
		share = f.Unknown / float64(values)
	}
	for _, o := range f.Outcomes {
		f.Entropy += surprise(o.P + share)
	}
	if values <= 0 {
		f.Entropy += surprise(f.Unknown)
		f.Gain = f.Entropy
		return f
	}
	f.Entropy += float64(max(0, values-len(f.Outcomes))) * surprise(share)
	f.Gain = f.Entropy - f.Unknown*math.Log2(float64(values))
	return f
}

// Best returns the forecast with the most gain, the first of equals, or -1 when none gains
// anything. Differences below a billionth of a bit are rounding, not gain.
func Best(forecasts []Forecast) int {
	const rounding = 1e-9
	best, most := -1, 0.0
	for i, f := range forecasts {
		if f.Gain > most+rounding {
			best, most = i, f.Gain
		}
	}
	return best
}

// Update returns the candidates that a measured value leaves, with Bayes' rule: one that
// predicts another value falls, one that leaves it open had a chance of one in values. With
// very many values (0) that chance is the same for all that leave it open, and they are
// kept beside those that predict the value only if there are none of these.
func Update(cands []Candidate, predict Predictor, value, values int) []Candidate {
	var out []Candidate
	predicted := false
	for _, c := range cands {
		switch v, known := predict(c.Modes); {
		case known && v != value:
			continue
		case known:
			predicted = true
		case values > 0:
			c.P /= float64(values)
		}
		out = append(out, c)
	}
	if values <= 0 && predicted {
		out = slices.DeleteFunc(out, func(c Candidate) bool {
			_, known := predict(c.Modes)
			return !known
		})
	}
	normalize(out)
	return out
}
