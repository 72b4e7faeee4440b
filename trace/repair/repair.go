// Package repair turns causes into what would be done about them, with its price and its
// risk, and puts that into the order that costs least.
//
//	list := repair.NewTable(model).Actions(causes)
//
// Several causes can ask for the same action: whatever of a place is shorted, the part
// comes from the search and not from the meter; of a cable and its plugs none is judged
// without moving the others.
package repair

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// Kind is what sort of action it is.
type Kind uint8

// The kinds of actions.
const (
	Replace Kind = iota // a part
	Rework              // a chip with its pins underneath
	Search              // the short or leak to ground on a place
	Reseat              // a plug, and exchange its cable where that does not help
	Panel               // exchange the panel for a known-good one
)

// Action is something that is done about a cause and shows at once whether it helped.
type Action struct {
	Kind    Kind
	Parts   []netlist.PartID // what it touches, of the causes, the likeliest first
	Nets    []netlist.NetID  // of the place of a search
	Minutes float64          // with the look whether it helped
	P       float64          // share of the causes that it mends
	Causes  []int            // indices into what was given
	Name    string           // "replace C34"

	key string
}

// Cause is something that may be wrong: one fault, or several at once.
type Cause struct {
	Faults []predict.Fault
	P      float64
}

// What costs no more or less for the kind of part. Common practice, no source.
const (
	minutesRework = 90.0 // a ball-grid chip
	minutesSearch = 15.0 // a short on a place
	// GiveUp is what it takes in min to give a board up, or to pass it on.
	GiveUp = 90.0
	// Dear is the price in min from which more is asked of an action before it is named.
	Dear = 40.0
)

// copper is the most in Ω that joins two nets so that a hand meter cannot tell on which
// of them a short is.
const copper = 0.35

// Table knows for each part and net of a board what is done about them.
type Table struct {
	m     *predict.Model
	place []netlist.NetID // of a net: the first of those that copper joins with it
	plugs []netlist.PartID
}

// NewTable makes the table of a board.
func NewTable(m *predict.Model) *Table {
	b := m.Board
	t := &Table{m: m, place: make([]netlist.NetID, len(b.Nets)), plugs: make([]netlist.PartID, len(b.Parts))}
	for i := range t.place {
		t.place[i] = netlist.NetID(i)
	}
	for i := range t.plugs {
		t.plugs[i] = netlist.PartID(i)
	}
	for id := range b.Parts {
		p := &b.Parts[id]
		switch {
		case p.Kind.Form == netlist.RowsForm:
			t.joinPlugs(netlist.PartID(id))
		case len(p.Kind.Passes) == 1 && bare(p):
			for k := range b.Channels(netlist.PartID(id)) {
				ends, _ := b.ChannelEnds(netlist.PartID(id), k)
				join(t.place, ends[0], ends[1])
			}
		}
	}
	return t
}

// bare reports whether a part is as good as copper: a bead or a coil, no fuse, which a
// short opens, and nothing that switches.
func bare(p *netlist.Part) bool {
	x := &p.Kind.Passes[0]
	return !x.OneWay && !x.AC && x.Control == "" && !p.Kind.Victim && p.Ohms(x) < copper
}

// join puts two members into one set, named by its lowest member.
func join[T ~int32 | ~int](set []T, a, b T) {
	low, high := min(set[a], set[b]), max(set[a], set[b])
	for i := range set {
		if set[i] == high {
			set[i] = low
		}
	}
}

// joinPlugs puts a plug or cable with those that it shares a net with.
func (t *Table) joinPlugs(id netlist.PartID) {
	b := t.m.Board
	for _, c := range b.Parts[id].Conns {
		if b.Nets[c.Net].Ground {
			continue
		}
		for _, x := range b.Taps(c.Net) {
			if x.Part < id && b.Parts[x.Part].Kind.Form == netlist.RowsForm {
				join(t.plugs, id, x.Part)
			}
		}
	}
}

// Of returns what is done about a fault, without a share.
func (t *Table) Of(f predict.Fault) Action {
	b := t.m.Board
	p := &b.Parts[f.Part]
	side, _ := p.Attr("side")
	a := Action{Parts: []netlist.PartID{f.Part}, Minutes: p.Kind.Minutes}
	net, grounds := t.m.Grounded(f)
	switch {
	case p.Kind.Form == netlist.RowsForm:
		a.Kind, a.key = Reseat, fmt.Sprint("plug ", t.plugs[f.Part])
	case p.Kind.InPanel || side.Text == "panel":
		a.Kind, a.key = Panel, "panel"
		a.Minutes = netlist.KindByName("panel").Minutes
	case grounds && !b.Nets[net].Ground:
		a.Kind, a.key, a.Minutes = Search, fmt.Sprint("place ", t.place[net]), minutesSearch
		a.Nets = t.on(net)
	case p.Balls():
		a.Kind, a.key, a.Minutes = Rework, fmt.Sprint("part ", f.Part), minutesRework
	default:
		a.Kind, a.key = Replace, fmt.Sprint("part ", f.Part)
	}
	return a
}

// on lists the nets of the place of a net.
func (t *Table) on(n netlist.NetID) []netlist.NetID {
	var list []netlist.NetID
	for i := range t.place {
		if t.place[i] == t.place[n] {
			list = append(list, netlist.NetID(i))
		}
	}
	return list
}

// Actions adds causes up by what is done about them, the largest share first. A cause of
// several faults counts for each of their actions.
func (t *Table) Actions(causes []Cause) []Action {
	at := map[string]int{}
	var list []Action
	share := map[[2]int]float64{} // of an action and a part
	for i, c := range causes {
		counted := map[int]bool{}
		for _, f := range c.Faults {
			x := t.Of(f)
			k, ok := at[x.key]
			if !ok {
				k = len(list)
				at[x.key] = k
				list = append(list, x)
			}
			a := &list[k]
			share[[2]int{k, int(f.Part)}] += c.P
			if !slices.Contains(a.Parts, f.Part) {
				a.Parts = append(a.Parts, f.Part)
			}
			if !counted[k] {
				counted[k] = true
				a.P += c.P
				a.Causes = append(a.Causes, i)
			}
		}
	}
	for k := range list {
		a := &list[k]
		slices.SortStableFunc(a.Parts, func(x, y netlist.PartID) int {
			return cmp.Compare(share[[2]int{k, int(y)}], share[[2]int{k, int(x)}])
		})
		a.Name = t.name(a)
	}
	slices.SortStableFunc(list, func(x, y Action) int { return cmp.Compare(y.P, x.P) })
	return list
}

// name says an action in a few words.
func (t *Table) name(a *Action) string {
	b := t.m.Board
	part := b.Parts[a.Parts[0]].Name
	switch a.Kind {
	case Rework:
		return "rework " + part
	case Search:
		return "find the short or leak to ground on " + t.placeName(a.Nets)
	case Reseat:
		return t.plugName(t.plugs[a.Parts[0]])
	case Panel:
		return "exchange the panel for a known-good one"
	case Replace:
	}
	if b.Parts[a.Parts[0]].Kind.Form == netlist.SingleForm {
		return "mend " + part
	}
	return "replace " + part
}

// few bounds the nets of a place that are named.
const few = 2

// placeName names the nets of a place.
func (t *Table) placeName(nets []netlist.NetID) string {
	var names []string
	for _, n := range nets[:min(len(nets), few)] {
		names = append(names, t.m.Board.Nets[n].Name)
	}
	text := strings.Join(names, " and ")
	if n := len(nets) - few; n > 0 {
		text = strings.Join(names, ", ") + fmt.Sprintf(" and %d more", n)
	}
	return text
}

// plugName names plugs and cables that hang together: those that are moved, then those
// that are exchanged.
func (t *Table) plugName(set netlist.PartID) string {
	var plugs, cables []string
	for id, s := range t.plugs {
		switch p := &t.m.Board.Parts[id]; {
		case s != set || p.Kind.Form != netlist.RowsForm:
		case p.Kind.Plugs:
			plugs = append(plugs, p.Name)
		default:
			cables = append(cables, p.Name)
		}
	}
	switch {
	case len(cables) == 0:
		return "reseat " + strings.Join(plugs, " and ")
	case len(plugs) == 0:
		return "reseat or exchange " + strings.Join(cables, " and ")
	}
	return "reseat " + strings.Join(plugs, " and ") + ", or exchange " + strings.Join(cables, " and ")
}

// Risk says in a few words what an action puts at risk.
func (t *Table) Risk(a *Action) string {
	switch a.Kind {
	case Rework:
		return "ball-grid chip, of which a tenth of the boards is lost"
	case Reseat:
		return "cable"
	case Panel:
		return "panel, only once the cold checks have passed"
	case Search:
		return "small parts"
	case Replace:
	}
	if t.m.Board.Parts[a.Parts[0]].Kind.Form == netlist.NamedForm {
		return "chip"
	}
	return "small part"
}
