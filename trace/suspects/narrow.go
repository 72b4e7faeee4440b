// Package suspects narrows what may have failed: from readings, with the state of
// the board in which each was taken, to a ranking with the reasons.
//
//	report, err := suspects.Narrow(model, readings, nil)
//
// Every single fault is simulated, with what it led to; Bayes' rule weighs its
// weight on a bench by how well it foretells each reading, with the meter's tolerance
// and a small chance that a reading is wrong. Where no single fault explains the
// readings, pairs are tried.
package suspects

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/repair"
)

// Report is what readings come to. The shares of Suspects, Pairs, Other and Rest
// make 1.
type Report struct {
	Board    *netlist.Board
	Bench    *probe.Bench
	Readings []netlist.Reading
	History  []string
	Healthy  []bool          // the reading is that of a healthy board
	Absent   []bool          // a healthy board does not have the point in this state, as a walk tells it
	Should   []string        // what a healthy board shows
	Suspects []Suspect       // the likeliest first
	Pairs    []Pair          // only when no single fault explains every reading
	Two      float64         // share of all pairs together, shown or not
	Other    float64         // share of a cause that is not in the board file
	Rest     float64         // share of all that is not shown
	Single   bool            // some single fault explains every reading
	Fine     bool            // a healthy board does
	Clash    [][]int         // smallest sets of readings that nothing explains together
	Cleared  []Cleared       // in the order of the file
	Dangers  []Danger        // what keeps power off
	Runaway  netlist.PartID  // a suspect that may be open and would take the limit from a rail, or None
	Actions  []repair.Action // all that may be wrong, by what is done about it, the largest share first
	Next     []Next          // the best next probes; with a danger none that needs power
	Unsaid   []int           // readings that the leading suspect does not explain
	Stands   int             // the reading without which the leading suspect falls, or None; it is read once more
	Fuse     *Fuse           // the leading suspect is an open fuse
	Proofs   []netlist.PartID

	notValid []string // of Absent: the note
	repairs  *repair.Table
	rows     [][]uint16 // see Row
}

// Suspect is a fault, or several that no probe on the board tells apart.
type Suspect struct {
	Names   []string // of the faults, as --fault takes them
	Faults  []int    // indices into the dictionary
	Parts   []netlist.PartID
	P       float64
	For     []int           // readings that speak for it
	Against []int           // and against it
	Blown   []predict.Blown // fuses that it opens
	Size    *Size           // that the readings speak for, where they do
	Settle  string          // what to do with the group, as no probe settles it
}

// Size is between what the size of a fault lies.
type Size struct {
	Low, High float64 // Ω or a factor
	Ohms      bool
}

// String prints a size: "6.7 Ω to 11 Ω", "0.7 to 0.8 times its value".
func (s Size) String() string {
	unit, what := netlist.Ohm, ""
	if !s.Ohms {
		unit, what = netlist.NoUnit, " times its value"
	}
	return probe.LimitText(s.Low, unit) + " to " + probe.LimitText(s.High, unit) + what
}

// Pair is two faults that explain together what neither explains alone, each with
// those that no probe tells from it.
type Pair struct {
	Names  [2][]string
	Groups [2]int // of the dictionary
	P      float64
	Blown  []predict.Blown
}

// Cleared is a part that is no longer suspected.
type Cleared struct {
	Part netlist.PartID
	By   int // the reading that speaks loudest against its faults
}

// Fuse tells what must be sought before an open fuse is called the cause.
type Fuse struct {
	Part     netlist.PartID
	Unsought []string // what would blow it and was not ruled out with all power out
	Probe    int      // among Next, or None
}

// Danger is a reading that keeps power off, and where its cause may be.
type Danger struct {
	probe.Danger
	Names  []string // of the faults that show it, the likeliest first
	Action string   // what finds the one
}

// Lead is what has the largest share.
type Lead uint8

// What may lead.
const (
	OneLeads   Lead = iota // some single fault
	TwoLead                // some pair
	OtherLeads             // a cause that is not in the board file
	NoneLeads              // there is nothing to explain
)

// Leads tells what has the largest share.
func (r *Report) Leads() Lead {
	one := 1 - r.Other - r.Two
	switch {
	case r.Fine:
		return NoneLeads
	case r.Two > max(one, r.Other):
		return TwoLead
	case r.Other >= one || len(r.Suspects) == 0:
		return OtherLeads
	}
	return OneLeads
}

// How much is shown.
const (
	mostShown   = 12   // suspects, and pairs
	least       = 1e-3 // share of a suspect that is shown
	clearedFrom = 0.02 // share of its weight that a cleared part keeps at most
)

// Narrow weighs what may have failed by readings and by the words of Histories. The
// error tells of a history that is not known or of a board that is too large.
func Narrow(m *predict.Simulator, readings []netlist.Reading, history []string) (*Report, error) {
	if err := m.Fits(); err != nil {
		return nil, err
	}
	return New(m).Narrow(readings, history)
}

// Narrow weighs what may have failed by all readings so far.
func (n *Narrower) Narrow(readings []netlist.Reading, history []string) (*Report, error) {
	history = netlist.WithHistory(history, readings)
	after := *n
	after.bench = n.bench.After(history)
	w := &weigher{Narrower: &after, readings: readings}
	if err := w.weigh(history); err != nil {
		return nil, err
	}
	r := &Report{Board: n.m.Board, Bench: w.bench, Readings: readings, History: history, repairs: n.repairs, Other: w.other()}
	r.Single = slices.ContainsFunc(w.list, func(h Hypothesis) bool { return explained(h.Agrees) })
	w.standing(r)
	r.Fine = !slices.Contains(r.Healthy, false)
	if !r.Single && !r.Fine {
		w.pairs(r)
	}
	w.share(r)
	w.actions(r)
	w.suspects(r)
	w.cleared(r)
	w.dangers(r)
	r.Stands = w.stands(r)
	w.next(r)
	w.conclude(r)
	return r, nil
}

// standing compares the readings with the healthy board.
func (w *weigher) standing(r *Report) {
	r.Healthy, r.Absent, r.Should = make([]bool, len(w.readings)), make([]bool, len(w.readings)), make([]string, len(w.readings))
	r.notValid = make([]string, len(w.readings))
	usual := netlist.Condition{Setting: w.m.Board.Usual()}
	for k := range w.readings {
		x := &w.readings[k]
		r.Healthy[k] = w.right(k)
		r.Should[k] = w.shows(x.Probe, x.Seen)
		if floor := w.bench.Floor(x.Probe); x.Seen == nil && x.Value < floor {
			r.Healthy[k] = false
			r.Should[k] = netlist.FormatValue(floor, netlist.Ohm) + " or more"
		}
		if x.Probe.Cold() || sameState(x.Probe, netlist.Probe{State: usual}) {
			continue
		}
		r.notValid[k] = strings.Join(trace.NotValid(w.m.Board, w.readings[k:k+1]), " ")
		r.Absent[k] = r.notValid[k] != ""
	}
}

// Should puts into words what a healthy board shows at a probe without a fact.
func (n *Narrower) Should(p netlist.Probe) string { return n.shows(p, nil) }

// right reports whether a reading is that of the healthy board, as every command judges
// it. What is told in a word of a lane, a fact or a net that floats is compared with the
// simulation, since what is right in one state is not in another.
func (w *weigher) right(k int) bool {
	x := &w.readings[k]
	if x.Seen == nil || x.Seen.Moves() || x.Seen.Levels() {
		if o, err := w.m.Board.Judge(*x, w.m.HealthyBand); err == nil {
			return !o.Wrong
		}
	}
	return w.healthy[k] >= explains
}

// shows puts into words what the healthy board shows at a probe.
func (n *Narrower) shows(p netlist.Probe, seen *netlist.Observation) string {
	switch {
	case p.Cold():
		return ValueText(p, n.coldValues(p)[0])
	case seen == nil || seen.Target.Net != netlist.None:
		return ValueText(p, n.hotValues(p.State).value(0, p))
	}
	there := n.hotValues(p.State).there(0, seen.Target)
	switch {
	case seen.Target.Lane != netlist.None && there:
		return "alive"
	case seen.Target.Lane != netlist.None:
		return "quiet"
	case there:
		return "yes"
	}
	return "no"
}

// share brings all shares to a sum of 1 and keeps the pairs that are shown.
func (w *weigher) share(r *Report) {
	sum := r.Other
	for i := range w.list {
		sum += w.list[i].P
	}
	for _, p := range r.Pairs {
		sum += p.P
	}
	r.Other /= sum
	for i := range w.list {
		w.list[i].P /= sum
	}
	for i := range r.Pairs {
		r.Pairs[i].P /= sum
		r.Two += r.Pairs[i].P
	}
	for _, p := range r.Pairs[min(len(r.Pairs), mostShown):] {
		r.Rest += p.P
	}
	r.Pairs = r.Pairs[:min(len(r.Pairs), mostShown)]
}

// suspects groups the faults that no probe tells apart and sorts the groups.
func (w *weigher) suspects(r *Report) {
	mean := make([]float64, len(w.readings))
	for k := range mean {
		for i := range w.list {
			mean[k] += w.list[i].Weight * w.list[i].Agrees[k]
		}
	}
	for g := range w.d.Groups {
		s := Suspect{Names: w.Names(g), Faults: w.d.Groups[g].Faults}
		for _, i := range s.Faults {
			h := &w.list[i]
			s.P += h.P
			if p := partOf(h); !slices.Contains(s.Parts, p) {
				s.Parts = append(s.Parts, p)
			}
			for _, b := range h.Blown {
				if !slices.ContainsFunc(s.Blown, func(x predict.Blown) bool { return x.Part == b.Part }) {
					s.Blown = append(s.Blown, b)
				}
			}
		}
		if !w.d.Groups[g].Detected || s.P < least {
			r.Rest += s.P
			continue
		}
		h := w.likeliest(g)
		for k, x := range w.list[h].Agrees {
			switch {
			case x < explains:
				s.Against = append(s.Against, k)
			case x > 1.2*mean[k]:
				s.For = append(s.For, k)
			}
		}
		if w.sized(h) {
			size := w.sizes(h)
			s.Size = &size
		}
		s.Settle = settle(w.m.Board, s.Parts, len(s.Blown) > 0)
		r.Suspects = append(r.Suspects, s)
	}
	slices.SortStableFunc(r.Suspects, func(a, b Suspect) int { return cmp.Compare(b.P, a.P) })
	for _, s := range r.Suspects[min(len(r.Suspects), mostShown):] {
		r.Rest += s.P
	}
	r.Suspects = r.Suspects[:min(len(r.Suspects), mostShown)]
}

// settle names the physical action that tells the parts of a group apart.
func settle(b *netlist.Board, parts []netlist.PartID, short bool) string {
	if len(parts) < 2 {
		return ""
	}
	plugs, panel := 0, 0
	for _, id := range parts {
		p := &b.Parts[id]
		side, _ := p.Attr("side")
		switch {
		case p.Kind.InPanel || side.Text == "panel":
			panel++
		case p.Kind.Form == netlist.RowsForm:
			plugs++
		}
	}
	switch {
	case panel > 0:
		return "once all cold checks have passed, plug in a known-good panel with its cable, first with the old cable, then without"
	case plugs > 0:
		return "look at the contacts under magnification, move the plug and the cable, then exchange the cable for a known-good one"
	case short:
		return probe.Separate
	}
	return "with all power out lift or exchange the cheapest of them first, and measure again"
}

// cleared lists the parts whose faults have lost nearly all of their weight.
func (w *weigher) cleared(r *Report) {
	parts := len(w.m.Board.Parts)
	before, after := make([]float64, parts), make([]float64, parts)
	loud := make([][]float64, parts)
	for i := range w.list {
		h := &w.list[i]
		p := partOf(h)
		before[p] += h.Weight
		after[p] += h.P
		if loud[p] == nil {
			loud[p] = make([]float64, len(w.readings))
		}
		for k, a := range h.Agrees {
			loud[p][k] += h.Weight * math.Log(w.likely(k, a))
		}
	}
	for _, p := range r.Pairs {
		for _, g := range p.Groups {
			for _, i := range w.d.Groups[g].Faults {
				after[partOf(&w.list[i])] += p.P
			}
		}
	}
	for id := range before {
		if before[id] == 0 || after[id] > clearedFrom*before[id] || after[id] > least {
			continue
		}
		by, most := -1, 0.0
		for k, x := range loud[id] {
			if x < most {
				by, most = k, x
			}
		}
		if by >= 0 {
			r.Cleared = append(r.Cleared, Cleared{netlist.PartID(id), by})
		}
	}
}

// conclude lists what the leading suspect leaves open and what must prove it.
func (w *weigher) conclude(r *Report) {
	var faults []int
	switch r.Leads() {
	case OneLeads:
		r.Unsaid = r.Suspects[0].Against
		faults = r.Suspects[0].Faults
	case TwoLead:
		for _, g := range r.Pairs[0].Groups {
			faults = append(faults, w.d.Groups[g].Faults...)
		}
	case OtherLeads, NoneLeads:
	}
	for _, i := range faults {
		if p := partOf(&w.list[i]); !slices.Contains(r.Proofs, p) {
			r.Proofs = append(r.Proofs, p)
		}
	}
}
