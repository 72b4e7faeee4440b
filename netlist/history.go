package netlist

import (
	"slices"

	"example.org/walkback/netlist/mistake"
)

// History is something that happened to a machine: it shifts the weights of what may
// have failed, and may ask for more before any power. All factors are common practice,
// no source.
type History struct {
	Name, Doc string
	// Waits tells that even what is only looked at with power on waits for the checks that
	// come before any power.
	Waits bool
	// Wet tells that dirt may join what lies side by side anywhere: every rail and every
	// pin of a plug is checked before any power.
	Wet   bool
	shift []shift
}

// shift multiplies the weight of faults with an effect, of kinds; empty lists
// mean all.
type shift struct {
	factor  float64
	kinds   []string
	effects []Effect
}

var chips = []string{"source", "mux", "controller"}

// Histories is the table of what can be said with --history and on a symptom line.
var Histories = []History{
	{Name: "liquid", Doc: "liquid got in", Waits: true, Wet: true, shift: []shift{
		{5, nil, []Effect{Bridges}}, {3, []string{"connector"}, nil}, {2, []string{"fuse"}, nil},
		{2, []string{"filter", "choke", "resistor"}, []Effect{Opens}},
	}},
	{Name: "drop", Doc: "dropped, or the lid pressed", shift: []shift{{3, []string{"connector"}, nil}, {2, []string{"cable"}, nil},
		{2, chips, nil}, {2, []string{"capacitor"}, nil}}},
	{Name: "hinge", Doc: "hinge loose or broken", shift: []shift{{6, []string{"cable"}, nil}, {2, []string{"connector"}, nil}}},
	{Name: "panel", Doc: "panel or cable just changed", shift: []shift{
		{5, []string{"filter", "choke", "ferrite"}, []Effect{Opens}}, {4, []string{"fuse", "boost"}, nil},
		{4, []string{"connector"}, []Effect{Opens, Bridges}},
	}},
	{Name: "repair", Doc: "repaired before by others", Waits: true, shift: []shift{{3, nil, []Effect{Bridges}},
		{3, []string{"resistor", "capacitor", "point"}, nil}}},
	{Name: "sudden", Doc: "failed suddenly while running", shift: []shift{{2, []string{"boost", "fuse"}, nil},
		{2, []string{"capacitor"}, []Effect{Joins}}}},
	{Name: "angle", Doc: "slowly worse, changes with the lid's angle", shift: []shift{{6, []string{"cable"}, nil}}},
	{Name: "hot", Doc: "old and very hot", shift: []shift{{3, chips, nil}}},
}

// FindHistory finds what happened by its word; the error is a mistake.Mistake.
func FindHistory(word string) (*History, error) {
	for i := range Histories {
		if Histories[i].Name == word {
			return &Histories[i], nil
		}
	}
	return nil, mistake.Unknown("history", word, HistoryNames())
}

// HistoryNames lists the words of Histories.
func HistoryNames() []string { return names(Histories, func(h History) string { return h.Name }) }

// Factor is by how much a history multiplies the weight of a fault of a kind.
func (h *History) Factor(k *Kind, f *Fault) float64 {
	x := 1.0
	for _, s := range h.shift {
		if (s.kinds == nil || slices.Contains(s.kinds, k.Name)) && (s.effects == nil || slices.Contains(s.effects, f.Does)) {
			x *= s.factor
		}
	}
	return x
}

// HistoryTexts writes words of Histories in full: "liquid got in".
func HistoryTexts(list []string) []string {
	var texts []string
	for _, w := range list {
		if h, err := FindHistory(w); err == nil {
			texts = append(texts, h.Doc)
		}
	}
	return texts
}

// WithHistory adds to what was told of a machine what the symptoms of readings bring with
// them, each word once.
func WithHistory(told []string, readings []Reading) []string {
	list := slices.Clone(told)
	for i := range readings {
		for _, w := range readings[i].History {
			if !slices.Contains(list, w) {
				list = append(list, w)
			}
		}
	}
	return list
}
