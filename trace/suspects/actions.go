package suspects

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/repair"
)

// fewActions bounds the actions that are shown, and leastAction is the share of one that
// is.
const (
	fewActions  = 6
	leastAction = 0.005
)

// Repairs returns what is done about the faults of the board.
func (n *Narrower) Repairs() *repair.Table { return n.repairs }

// actions adds all that may be wrong up by what is done about it.
func (w *weigher) actions(r *Report) {
	if r.Fine {
		return
	}
	var causes []repair.Cause
	for i := range w.list {
		if w.list[i].P > 0 {
			causes = append(causes, repair.Cause{Faults: w.list[i].Faults[:1], P: w.list[i].P})
		}
	}
	for _, p := range r.Pairs {
		a, b := w.first[p.Groups[0]], w.first[p.Groups[1]]
		causes = append(causes, repair.Cause{Faults: []predict.Fault{w.list[a].Faults[0], w.list[b].Faults[0]}, P: p.P})
	}
	r.Actions = w.repairs.Actions(causes)
}

// Worth lists the actions that are shown, the largest share first.
func (r *Report) Worth() []repair.Action {
	list := r.Actions[:min(len(r.Actions), fewActions)]
	if k := slices.IndexFunc(list, func(a repair.Action) bool { return a.P < leastAction }); k >= 0 {
		list = list[:k]
	}
	return list
}

// ActionText says an action with its price and the parts that it is about.
func (r *Report) ActionText(a *repair.Action) string {
	text := fmt.Sprintf("%s, %g min", a.Name, a.Minutes)
	if a.Kind == repair.Panel {
		return text + ", once all cold checks have passed"
	}
	if len(a.Parts) < 2 {
		return text
	}
	const few = 4
	var names []string
	for _, id := range a.Parts[:min(len(a.Parts), few)] {
		names = append(names, r.Board.Parts[id].Name)
	}
	text += ": " + strings.Join(names, ", ")
	if n := len(a.Parts) - few; n > 0 {
		text += fmt.Sprintf(" or %d more", n)
	}
	return text
}

// OrderText tells the order of actions that costs least, empty where there is one alone.
func (r *Report) OrderText() string {
	list := repair.Order(r.Worth())
	if len(list) < 2 {
		return ""
	}
	names := make([]string, len(list))
	for i := range list {
		names[i] = list[i].Name
	}
	return fmt.Sprintf("%s; %.0f min on average, with %g for giving the board up", strings.Join(names, "; then "),
		repair.Expected(list, repair.GiveUp), repair.GiveUp)
}

// writeActions says what is done about it, all suspects added up.
func (r *Report) writeActions(o *say.Writer) {
	list := r.Worth()
	if len(list) == 0 {
		return
	}
	o.Hang("\n", "  ", "What is to be done, all suspects added up")
	for i := range list {
		o.Beside(fmt.Sprintf("  %s  ", say.Share(list[i].P)), r.ActionText(&list[i]))
	}
	if text := r.OrderText(); text != "" {
		o.Beside("  without another probe, in this order: ", text)
	}
}
