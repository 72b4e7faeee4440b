package power

import "fmt"

// Though is an event that came although one that it waits for never did.
type Though struct {
	Event Event  `json:"event"`
	Says  string `json:"says"`
	Means string `json:"means"`
	Basis string `json:"basis"`
	Look  []Look `json:"look_at"`
}

// though lists what came although e never did: the first events on each way on from
// it. They mean what they would mean if they had come too early. A way down after a
// failed start is no fault.
func though(p *Profile, m *Measured, f *fates, e Event) []Though {
	var list []Though
	var seen [eventCount]bool
	for _, w := range p.Windows {
		waits := f.stopped[w.From] && f.root[w.From] == e && (e.down() || !w.To.down())
		if !waits || !f.came[w.To] || needs(w.To, w.From) || seen[w.To] {
			continue
		}
		seen[w.To] = true
		res := Result{Window: w, Status: TooEarly}
		if ruleFor(e, w.To, TooEarly) != nil {
			res.From = e
		}
		res.explain(false)
		says := fmt.Sprintf("%s came%s although %s never came", w.To, m.atText(w.To), e)
		list = append(list, Though{w.To, says, res.Means, res.Basis, res.Look})
	}
	return list
}
