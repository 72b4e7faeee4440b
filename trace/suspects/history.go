package suspects

import "example.org/walkback/netlist"

// historyFactor multiplies the factors of what happened for one fault.
func historyFactor(words []string, k *netlist.Kind, f *netlist.Fault) (float64, error) {
	x := 1.0
	for _, w := range words {
		h, err := netlist.FindHistory(w)
		if err != nil {
			return 0, err
		}
		x *= h.Factor(k, f)
	}
	return x, nil
}
