package predict

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"example.org/walkback/netlist"
)

// Dictionary is what every single fault shows at every probe that can be made on
// the board.
type Dictionary struct {
	Probes []Probe
	Faults []Hypothesis
	Names  []string
	Weight []float64 // on a bench, for ratios only
	// Classes holds, for each fault, the class of its reading at each probe: the
	// readings of one probe fall into classes that a meter can tell apart. Healthy
	// holds those of the healthy board.
	Classes [][]uint16
	Healthy []uint16
	Groups  []Group

	values [][]float64 // of a probe: what the healthy board shows, then each fault
}

// Reads returns what a fault shows at a probe, as Run.Value has it; a fault of -1
// is the healthy board.
func (d *Dictionary) Reads(probe, fault int) float64 { return d.values[probe][fault+1] }

// Group is a set of faults that no probe tells apart.
type Group struct {
	Faults   []int
	Detected bool // some probe tells them from the healthy board
	Parts    int  // repair items in the group
	Weight   float64
}

// Reachable reports whether a probe can land on a net: some part of the board
// itself is on it, no contact or conductor alone, and nothing inside the panel.
func Reachable(b *netlist.Board, n netlist.NetID) bool {
	if b.Nets[n].Ground {
		return false
	}
	return slices.ContainsFunc(b.Taps(n), func(t netlist.Tap) bool {
		p := &b.Parts[t.Part]
		side, _ := p.Attr("side")
		return p.Kind.Form != netlist.RowsForm && !p.Kind.InPanel && side.Text != "panel" && side.Text != "cable"
	})
}

func noProbe(st State) Probe {
	return Probe{Net: netlist.None, Other: netlist.None, Part: netlist.None, Fact: netlist.None, State: st}
}

// hotProbes lists what can be measured in a state with power on.
func (m *Model) hotProbes(st State) []Probe {
	var list []Probe
	none := noProbe(st)
	for i := range m.Board.Nets {
		if n := netlist.NetID(i); Reachable(m.Board, n) && !m.Board.Nets[i].Idle {
			x := none
			x.Method, x.Net = Volts, n
			list = append(list, x)
			x.Method = Activity
			list = append(list, x)
		}
	}
	for i := range m.Board.Facts {
		x := none
		x.Method, x.Fact = Look, i
		list = append(list, x)
	}
	return list
}

// coldProbes lists what can be measured with all power out.
func (m *Model) coldProbes(unplug bool) []Probe {
	var list []Probe
	none := noProbe(State{Unplugged: unplug})
	for i := range m.Board.Nets {
		if n := netlist.NetID(i); Reachable(m.Board, n) {
			x := none
			x.Method, x.Net = Ohms, n
			list = append(list, x)
			x.Method = Diode
			list = append(list, x)
		}
	}
	for id := range m.Board.Parts {
		p := &m.Board.Parts[id]
		if len(p.Kind.Passes) != 1 || p.Kind.Passes[0].OneWay || p.Kind.Passes[0].AC || p.Kind.Form == netlist.RowsForm {
			continue
		}
		for ch := range int(m.unitOf[id+1] - m.unitOf[id]) {
			b := &m.branches[m.units[int(m.unitOf[id])+ch].main]
			if b.A > 0 && b.B > 0 && Reachable(m.Board, netlist.NetID(b.A-1)) && Reachable(m.Board, netlist.NetID(b.B-1)) {
				x := none
				x.Method, x.Part, x.Channel = Across, netlist.PartID(id), ch
				list = append(list, x)
			}
		}
	}
	for _, pair := range m.pairs() {
		x := none
		x.Method, x.Net, x.Other = Across, pair[0], pair[1]
		list = append(list, x)
	}
	return list
}

// pairs lists the nets between which resistance tells something that neither
// tells against ground: the two legs of a pair, with its termination in the
// panel, and neighbouring pins of a connector.
func (m *Model) pairs() [][2]netlist.NetID {
	var list [][2]netlist.NetID
	seen := map[[2]netlist.NetID]bool{}
	add := func(a, b int32, atPins bool) {
		if a <= 0 || b <= 0 || a == b {
			return
		}
		p := [2]netlist.NetID{netlist.NetID(min(a, b) - 1), netlist.NetID(max(a, b) - 1)}
		if !seen[p] && (atPins || Reachable(m.Board, p[0]) && Reachable(m.Board, p[1])) {
			seen[p] = true
			list = append(list, p)
		}
	}
	for _, l := range m.lanes {
		if len(l.nodes) != 2 {
			continue
		}
		first, second := m.leg(l.nodes[0]), m.leg(l.nodes[1])
		for i := range min(len(first), len(second)) {
			add(first[i], second[i], false)
		}
	}
	for id := range m.Board.Parts {
		p := &m.Board.Parts[id]
		if !p.Kind.Plugs {
			continue
		}
		for _, pair := range m.Board.Beside(p) {
			add(m.node(pair[0].Net), m.node(pair[1].Net), true)
		}
		next := m.neighbours(p)
		for ch := range int(m.unitOf[id+1] - m.unitOf[id]) {
			if pair, ok := next[ch]; ok {
				add(pair[0], pair[1], false)
			}
		}
	}
	return list
}

// Value is the reading of a probe as a number: for looking 1 or 0, for floating
// and for more than the meter shows what no meter reads.
func (r *Run) Value(p Probe) float64 {
	switch p.Method {
	case Volts:
		if r.Floats(p.Net) {
			return math.Inf(1)
		}
		return r.Volts(p.Net)
	case Activity:
		return r.Swing(p.Net)
	}
	if p.Fact >= 0 && r.Holds(p.Fact) {
		return 1
	}
	return 0
}

// Value is the reading of a probe with all power out as a number.
func (c *Cold) Value(p Probe) float64 {
	switch p.Method {
	case Ohms:
		return c.Ohms(p.Net)
	case Diode:
		return c.Diode(p.Net)
	}
	if p.Part == netlist.None {
		return c.Between(p.Net, p.Other)
	}
	return c.Across(p.Part, p.Channel)
}

// lifted replaces what a probe shows at a net whose test point has come off.
func (m *Model) lifted(h Hypothesis, p Probe, v float64) float64 {
	for _, f := range h.Faults {
		if f.Mode.Does != netlist.Detaches || p.Net == netlist.None || m.Board.Parts[f.Part].Conns[0].Net != p.Net {
			continue
		}
		if p.Method == Activity {
			return 0
		}
		return math.Inf(1)
	}
	return v
}

// Apart is the least difference between two readings of a probe that a person
// would call a difference, on the lower of the two: wider than the spread
// between two good boards.
func Apart(m Method, low float64) float64 {
	a := math.Abs(low)
	switch m {
	case Volts:
		return max(2*noiseVolts, 0.1*a)
	case Activity:
		return max(moves, 0.5*a)
	case Diode:
		return 2 * spreadDiode
	case Look:
		return 0.5
	}
	return 2*spreadOhms*a + 2*noiseOhms
}

// classes sorts the readings of one probe into classes with a gap between them.
// The first value is that of the healthy board.
func classes(m Method, values []float64) []uint16 {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(values[a], values[b]) })
	out := make([]uint16, len(values))
	class := uint16(0)
	for k, i := range order {
		if k > 0 {
			if last := values[order[k-1]]; values[i] != last && !(values[i]-last < Apart(m, last)) {
				class++
			}
		}
		out[i] = class
	}
	return out
}

// mostCells bounds a dictionary: one reading a fault and probe.
const mostCells = 20_000_000

// mostWork bounds the time: each fault and probe may need the whole network.
const mostWork = 500_000_000

// ErrTooLarge means that a board has too many faults and probes for a dictionary.
var ErrTooLarge = errors.New("the board is too large for a dictionary of all its faults")

// Fits reports whether a dictionary of the board is of a size that can be made; the
// error wraps ErrTooLarge.
func (m *Model) Fits() error {
	faults := len(m.AllFaults())
	probes := len(m.Distinct())*len(m.hotProbes(State{Setting: m.Board.Usual()})) + 2*len(m.coldProbes(false))
	if faults*probes > mostCells || faults*probes > mostWork/m.nodes {
		return fmt.Errorf("%w: %d faults and %d probes", ErrTooLarge, faults, probes)
	}
	return nil
}

// Dictionary simulates every single fault with its consequences, in every state
// that differs from another and with all power out, and sorts what the probes show.
func (m *Simulator) Dictionary() *Dictionary {
	d := &Dictionary{}
	list := m.AllFaults()
	states := m.Distinct()
	starts := make([]int, len(states)+2) // where the probes of a state begin; then those of both cold conditions
	for k, st := range states {
		d.Probes = append(d.Probes, m.hotProbes(st)...)
		starts[k+1] = len(d.Probes)
	}
	d.Probes = append(d.Probes, m.coldProbes(true)...)
	starts[len(states)+1] = len(d.Probes)
	d.Probes = append(d.Probes, m.coldProbes(false)...)
	values := make([][]float64, len(d.Probes))
	for k := range values {
		values[k] = make([]float64, len(list)+1)
	}
	fill := func(i, block int, h Hypothesis, value func(Probe) float64) {
		end := len(d.Probes)
		if block+1 < len(starts) {
			end = starts[block+1]
		}
		for k := starts[block]; k < end; k++ {
			values[k][i+1] = m.lifted(h, d.Probes[k], value(d.Probes[k]))
		}
	}
	block := 0
	m.Every(list, func(i int, r *Run) {
		if block >= len(states) {
			block = 0
		}
		if block == 0 && i >= 0 {
			d.Faults = append(d.Faults, r.Hypothesis)
			d.Names = append(d.Names, m.Name(list[i]))
			d.Weight = append(d.Weight, m.Weight(list[i]))
		}
		fill(i, block, r.Hypothesis, r.Value)
		block++
	}, func(i int, c *Cold) {
		k := len(states)
		if !c.Unplugged {
			k++
		}
		fill(i, k, c.Hypothesis, c.Value)
	})
	d.sort(values)
	d.group()
	return d
}

// sort puts the readings of each probe into classes.
func (d *Dictionary) sort(values [][]float64) {
	d.Classes = make([][]uint16, len(d.Faults))
	d.Healthy = make([]uint16, len(d.Probes))
	for i := range d.Classes {
		d.Classes[i] = make([]uint16, len(d.Probes))
	}
	d.values = values
	for k, p := range d.Probes {
		for i, c := range classes(p.Method, values[k]) {
			if i == 0 {
				d.Healthy[k] = c
			} else {
				d.Classes[i-1][k] = c
			}
		}
	}
}

// group collects faults with the same classes at every probe, in the order of
// the board file.
func (d *Dictionary) group() {
	at := map[string]int{}
	key := func(c []uint16) string {
		b := make([]byte, 0, 2*len(c))
		for _, x := range c {
			b = append(b, byte(x), byte(x>>8))
		}
		return string(b)
	}
	healthy := key(d.Healthy)
	for i, c := range d.Classes {
		k := key(c)
		g, ok := at[k]
		if !ok {
			g = len(d.Groups)
			at[k] = g
			d.Groups = append(d.Groups, Group{Detected: k != healthy})
		}
		d.Groups[g].Faults = append(d.Groups[g].Faults, i)
		d.Groups[g].Weight += d.Weight[i]
	}
	for g := range d.Groups {
		parts := map[netlist.PartID]bool{}
		for _, i := range d.Groups[g].Faults {
			parts[d.Faults[i].Faults[0].Part] = true
		}
		d.Groups[g].Parts = len(parts)
	}
}

// Weight is how often a fault lies on a bench beside a contact of a connector: what its
// kind comes to by the share of the mode, and more in the places that fail first.
func (m *Model) Weight(f Fault) float64 {
	k := m.Board.Parts[f.Part].Kind
	if f.Mode.Bench > 0 {
		return f.Mode.Bench
	}
	share := f.Mode.Share
	if share == 0 {
		share = unknownShare
	}
	return k.Bench * share * m.place(f.Part)
}

// Places that fail first; common practice, no source.
const (
	boosted  = 3.0 // a ceramic capacitor on a boosted rail
	coupling = 5.0 // a capacitor in a fast line, beside the connector
)

// place is how many times as often a part fails where it sits as elsewhere.
func (m *Model) place(id netlist.PartID) float64 {
	p := &m.Board.Parts[id]
	if len(p.Kind.Passes) == 0 || !p.Kind.Passes[0].AC {
		return 1
	}
	x := 1.0
	if !slices.ContainsFunc(p.Conns, func(c netlist.Conn) bool { return m.node(c.Net) == 0 }) {
		x = coupling
	}
	for _, c := range p.Conns {
		if slices.Contains(slices.Collect(maps.Values(m.output)), m.node(c.Net)) {
			x = max(x, boosted)
		}
	}
	return x
}

// unknownShare stands for the share of a failure mode that no source gives.
const unknownShare = 0.05

// Figures are the testability of a board by its own probes, each weighted by
// how often a bench meets it (IEEE 1522-2004 and MIL-HDBK-2165, the definitions from memory).
type Figures struct {
	Detected  float64   // fraction of faults detected: detected rate over whole rate
	Isolated  []float64 // fraction of detected faults isolated to at most n parts, n = 1, 2, 3…
	GroupSize float64   // expected size of the ambiguity group, in parts
	Average   float64   // mean size of the groups, each counted once
}

// Figures computes the testability. Isolated has as many entries as the largest
// group has parts.
func (d *Dictionary) Figures() Figures {
	var f Figures
	whole, detected, groups := 0.0, 0.0, 0
	largest := 0
	for _, g := range d.Groups {
		whole += g.Weight
		if g.Detected {
			detected += g.Weight
			largest = max(largest, g.Parts)
			f.GroupSize += float64(g.Parts) * g.Weight
			f.Average += float64(g.Parts)
			groups++
		}
	}
	if detected == 0 {
		return f
	}
	f.Detected, f.GroupSize, f.Average = detected/whole, f.GroupSize/detected, f.Average/float64(groups)
	f.Isolated = make([]float64, largest)
	for _, g := range d.Groups {
		if g.Detected {
			for n := g.Parts; n <= largest; n++ {
				f.Isolated[n-1] += g.Weight / detected
			}
		}
	}
	return f
}
