package suspects

import (
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
)

// BenchOf makes a bench of a board, with the highest that a simulation of the healthy
// board shows on each net in any state.
func BenchOf(m *predict.Simulator) *probe.Bench {
	top := make([]float64, len(m.Board.Nets))
	for _, st := range m.Distinct() {
		r := m.Run(st, predict.Hypothesis{})
		for i := range top {
			n := netlist.NetID(i)
			if v := r.Volts(n); !r.Floats(n) && !m.Board.Nets[i].Ground {
				top[i] = max(top[i], v, v+r.Swing(n))
			}
		}
	}
	return probe.On(m.Board, top)
}

// Bench returns the board as a hand with a meter meets it.
func (n *Narrower) Bench() *probe.Bench { return n.bench }
