package suspects

import (
	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// Model returns the model of the board.
func (n *Narrower) Model() *predict.Simulator { return n.m }

// Dictionary returns what every single fault shows.
func (n *Narrower) Dictionary() *predict.Dictionary { return n.d }

// Weights returns for each fault of the dictionary its share of all single faults
// after the readings; their sum is 1.
func (n *Narrower) Weights(readings []netlist.Reading, history []string) ([]float64, error) {
	w := &weigher{Narrower: n, readings: readings}
	if err := w.weigh(netlist.WithHistory(history, readings)); err != nil {
		return nil, err
	}
	sum := 0.0
	for i := range w.list {
		sum += w.list[i].P
	}
	list := make([]float64, len(w.list))
	for i := range w.list {
		list[i] = w.list[i].P / sum
	}
	return list, nil
}
