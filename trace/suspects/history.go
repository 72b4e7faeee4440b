package suspects

import (
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// History is something that happened to a machine and shifts the weights of what
// may have failed. All factors are common practice, no source.
type History struct {
	Name, Doc string
	shift     []shift
}

// shift multiplies the weight of faults with an effect, of kinds; empty lists
// mean all.
type shift struct {
	factor  float64
	kinds   []string
	effects []netlist.Effect
}

var chips = []string{"source", "mux", "controller"}

// Histories is the table of what can be said with --history.
var Histories = []History{
	{"liquid", "liquid got in", []shift{
		{5, nil, []netlist.Effect{netlist.Bridges}}, {3, []string{"connector"}, nil}, {2, []string{"fuse"}, nil},
		{2, []string{"filter", "choke", "resistor"}, []netlist.Effect{netlist.Opens}},
	}},
	{"drop", "dropped, or the lid pressed", []shift{{3, []string{"connector"}, nil}, {2, []string{"cable"}, nil}, {2, chips, nil},
		{2, []string{"capacitor"}, nil}}},
	{"hinge", "hinge loose or broken", []shift{{6, []string{"cable"}, nil}, {2, []string{"connector"}, nil}}},
	{"panel", "panel or cable just changed", []shift{
		{5, []string{"filter", "choke", "ferrite"}, []netlist.Effect{netlist.Opens}}, {4, []string{"fuse", "boost"}, nil},
		{4, []string{"connector"}, []netlist.Effect{netlist.Opens, netlist.Bridges}},
	}},
	{"repair", "repaired before by others", []shift{{3, nil, []netlist.Effect{netlist.Bridges}},
		{3, []string{"resistor", "capacitor", "point"}, nil}}},
	{"sudden", "failed suddenly while running", []shift{{2, []string{"boost", "fuse"}, nil},
		{2, []string{"capacitor"}, []netlist.Effect{netlist.Joins}}}},
	{"angle", "slowly worse, changes with the lid's angle", []shift{{6, []string{"cable"}, nil}}},
	{"hot", "old and very hot", []shift{{3, chips, nil}}},
}

// historyFactor multiplies the factors of what happened for one fault.
func historyFactor(words []string, k *netlist.Kind, f *netlist.Fault) (float64, error) {
	x := 1.0
	for _, w := range words {
		i := slices.IndexFunc(Histories, func(h History) bool { return h.Name == w })
		if i < 0 {
			return 0, historyError(w)
		}
		for _, s := range Histories[i].shift {
			if (s.kinds == nil || slices.Contains(s.kinds, k.Name)) && (s.effects == nil || slices.Contains(s.effects, f.Does)) {
				x *= s.factor
			}
		}
	}
	return x, nil
}

func historyError(word string) error {
	names := make([]string, len(Histories))
	for i, h := range Histories {
		names[i] = h.Name
	}
	return mistake.Unknown("history", word, names)
}

// CheckHistory refuses what is not in Histories.
func CheckHistory(word string) error {
	if !slices.ContainsFunc(Histories, func(h History) bool { return h.Name == word }) {
		return historyError(word)
	}
	return nil
}
