package predict

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/probe"
)

// Sign is a probe that shows something else than on the healthy board.
type Sign struct {
	Probe int // index into Dictionary.Probes
	Shows Reading
	// Clear is what the reading tells, in bits: the fewer faults show the same, the
	// more; less where a meter barely tells it from the healthy board.
	Clear float64
}

// Signatures is what every fault of a dictionary shows.
type Signatures struct {
	Healthy []Reading // of each probe
	Faults  [][]Sign  // of each fault, in the order of the probes
}

// Signatures simulates the faults of a dictionary once more and keeps the
// readings by which each differs from the healthy board.
func (m *Simulator) Signatures(d *Dictionary) *Signatures {
	s := &Signatures{Healthy: make([]Reading, len(d.Probes)), Faults: make([][]Sign, len(d.Faults))}
	hot, cold := map[string][]int{}, map[bool][]int{}
	for k, p := range d.Probes {
		if p.Cold() {
			cold[p.State.Unplugged] = append(cold[p.State.Unplugged], k)
		} else {
			hot[stateKey(p.State)] = append(hot[stateKey(p.State)], k)
		}
	}
	list := make([]Fault, len(d.Faults))
	for i, h := range d.Faults {
		list[i] = h.Faults[0]
	}
	alike := d.alike()
	note := func(i int, probes []int, h Hypothesis, value func(Probe) float64) {
		for _, k := range probes {
			p := d.Probes[k]
			switch {
			case i < 0:
				s.Healthy[k] = probeReading(p, value(p))
			case d.Classes[i][k] != d.Healthy[k]:
				x := probeReading(p, m.lifted(h, p, value(p)))
				bits := math.Log2(float64(len(list)+1) / float64(alike[k][d.Classes[i][k]]))
				s.Faults[i] = append(s.Faults[i], Sign{k, x, bits * clearness(p.Method, s.Healthy[k], x)})
			}
		}
	}
	m.Every(list, func(i int, r *Run) { note(i, hot[stateKey(r.State)], r.Hypothesis, r.Value) },
		func(i int, c *Cold) { note(i, cold[c.Unplugged], c.Hypothesis, c.Value) })
	return s
}

// reading puts the value of a probe into words.
func probeReading(p Probe, v float64) Reading {
	switch p.Method {
	case Volts:
		if math.IsInf(v, 0) {
			return Reading{Method: Volts, Word: Floating}
		}
		x := Reading{Method: Volts, Value: v}
		x.spread(v, v)
		return x
	case Activity:
		x := Reading{Method: Activity, Value: v, Low: v / 2, High: 2 * v, Word: Quiet}
		if v >= moves {
			x.Word = Toggling
		}
		return x
	case Diode:
		return diodeReading(v)
	case Look:
		if v == 0 {
			return Reading{Method: Look, Word: "no"}
		}
		return Reading{Method: Look, Word: "yes"}
	}
	return ohmsReading(p.Method, v)
}

// alike counts for each class of each probe the faults that show it, with the
// healthy board.
func (d *Dictionary) alike() [][]int {
	count := make([][]int, len(d.Probes))
	for k := range d.Probes {
		most := d.Healthy[k]
		for i := range d.Classes {
			most = max(most, d.Classes[i][k])
		}
		count[k] = make([]int, most+1)
		count[k][d.Healthy[k]]++
		for i := range d.Classes {
			count[k][d.Classes[i][k]]++
		}
	}
	return count
}

// clear is 1 for a difference that nobody can miss and less for small ones.
func clearness(m Method, a, b Reading) float64 {
	if m == Look || a.Number() != b.Number() {
		return 1
	}
	return min(1, math.Abs(a.Value-b.Value)/(3*Apart(m, min(math.Abs(a.Value), math.Abs(b.Value)))))
}

// Clearest picks at most n signs of a fault: clear ones, the usual state and test
// points before others, no net or part twice.
func (s *Signatures) Clearest(b *netlist.Board, d *Dictionary, fault, n int) []Sign {
	usual := stateKey(State{Setting: b.Usual()})
	worth := func(x Sign) float64 {
		p, w := d.Probes[x.Probe], x.Clear
		if p.Net != netlist.None {
			for range b.Points(p.Net) {
				w *= 1.3
				break
			}
		}
		if stateKey(p.State) != usual && !p.Cold() || p.Cold() && !p.State.Unplugged {
			w /= 1.5
		}
		return w
	}
	list := slices.Clone(s.Faults[fault])
	slices.SortStableFunc(list, func(x, y Sign) int { return cmp.Compare(worth(y), worth(x)) })
	type place struct {
		net  netlist.NetID
		part netlist.PartID
		fact int
	}
	seen := map[place]bool{}
	var out []Sign
	for _, x := range list {
		p := d.Probes[x.Probe]
		if at := (place{p.Net, p.Part, p.Fact}); len(out) < n && !seen[at] {
			seen[at] = true
			out = append(out, x)
		}
	}
	return out
}

// At names where a probe lands: VBL, L0P to L0N, across R12, LIGHT.
func (m *Model) At(p Probe) string {
	b := m.Board
	switch {
	case p.Fact != netlist.None:
		return b.Facts[p.Fact].Name
	case p.Part == netlist.None && p.Other != netlist.None:
		return b.Nets[p.Net].Name + " to " + b.Nets[p.Other].Name
	case p.Part == netlist.None:
		return b.Nets[p.Net].Name
	}
	return m.channel(p.Part, p.Channel)
}

// signText puts a sign into words: "VBL 0 V, not 31.5 V".
func (m *Model) signText(p Probe, healthy, shows Reading) string {
	at := m.At(p)
	switch p.Method {
	case Ohms:
		at += " to ground"
	case Diode:
		at = "diode mode " + at
	case Across:
		at = "across " + at
		if p.Part == netlist.None {
			at = m.At(p)
		}
	}
	text := at + " " + shows.String()
	if p.Method != Look {
		text += ", not " + healthy.String()
	}
	var where []string
	for i, v := range p.State.Setting {
		if v != 0 {
			where = append(where, m.Board.States[i].Name+"="+m.Board.States[i].Values[v])
		}
	}
	if p.Cold() && !p.State.Unplugged {
		where = append(where, State{}.PanelText())
	}
	if len(where) > 0 {
		text += " (" + strings.Join(where, " ") + ")"
	}
	return text
}

// fewSigns bounds the signs that are printed for a fault.
const fewSigns = 3

// WriteText prints a dictionary: its figures, what no probe sees or tells apart,
// and the signature of every fault.
func (d *Dictionary) WriteText(out io.Writer, m *Simulator) error {
	o := say.NewWriter(out)
	b := m.Board
	b.WriteHead(o)
	o.Beside("", fmt.Sprintf("%d single faults, %d probes on the board itself, in %d states and with all power out", len(d.Faults),
		len(d.Probes), len(m.Distinct())))
	fmt.Fprintln(o)
	d.writeFigures(o)
	d.writeGroups(o)
	s := m.Signatures(d)
	fmt.Fprintln(o)
	o.Beside("", fmt.Sprintf("What each fault shows, the clearest first, at most %d", fewSigns))
	o.Beside("  ! ", "volts, activity: power on, usual state unless another is named; ohms, across, diode mode: "+probe.PowerOut+", panel "+
		"unplugged unless said; diode mode: red lead on ground, black on the point")
	width := 0
	for _, name := range d.Names {
		width = max(width, len(name))
	}
	for i, name := range d.Names {
		var words []string
		for _, x := range s.Clearest(b, d, i, fewSigns) {
			words = append(words, m.signText(d.Probes[x.Probe], s.Healthy[x.Probe], x.Shows))
		}
		for _, x := range d.Faults[i].Blown {
			words = append(words, b.Parts[x.Part].Name+" blows")
		}
		if len(words) == 0 {
			words = []string{"nothing that a probe on the board sees"}
		}
		o.Beside(fmt.Sprintf("  %-*s  ", width, name), strings.Join(words, "; "))
	}
	return o.Flush()
}

func (d *Dictionary) writeFigures(o *say.Writer) {
	percent := func(x float64) string { return fmt.Sprintf("%5.1f %%", 100*x) }
	f := d.Figures()
	rows := [][]say.Cell{say.Row("Faults detected (FFD)", percent(f.Detected), "weighted by how often a bench meets them")}
	for i, x := range f.Isolated {
		lead := fmt.Sprintf("  isolated to at most %d", i+1)
		if i == 0 {
			lead = "  of these isolated to 1"
		}
		rows = append(rows, say.Row(lead, percent(x), plural(i+1, "part")))
	}
	rows = append(rows, say.Row("Expected size of a group", fmt.Sprintf("%5.2f", f.GroupSize), "parts, weighted in the same way"),
		say.Row("Average size of a group", fmt.Sprintf("%5.2f", f.Average), "parts, each group counted once"))
	o.Table(&say.Table{Rows: rows, Words: []int{2}})
}

func plural(n int, what string) string {
	if n == 1 {
		return what
	}
	return what + "s"
}

// writeGroups names what no probe sees, then what none tells apart.
func (d *Dictionary) writeGroups(o *say.Writer) {
	names := func(g Group) string {
		list := make([]string, len(g.Faults))
		for k, i := range g.Faults {
			list[k] = d.Names[i]
		}
		return strings.Join(list, ", ")
	}
	for _, g := range d.Groups {
		if !g.Detected {
			fmt.Fprintf(o, "\nNo probe sees these %d\n", len(g.Faults))
			o.Beside("  ", names(g))
		}
	}
	title := "No probe tells these apart, a line a group"
	for _, g := range d.Groups {
		if g.Detected && len(g.Faults) > 1 {
			if title != "" {
				fmt.Fprintln(o)
				o.Hang("", "  ", title)
				title = ""
			}
			o.Beside("  - ", names(g))
		}
	}
}
