package suspects

import "example.org/walkback/trace/predict"

// prior is the weight of a fault before anything was read: its failure rate, times what the
// board file and the shop say.
func (n *Narrower) prior(i int, f predict.Fault) float64 {
	return n.d.Weight[i] * n.m.Board.Factor(f.Part, f.Mode)
}
