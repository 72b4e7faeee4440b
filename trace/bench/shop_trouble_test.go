package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/repair"
)

// ailment is a way in which parts of a kind come in: its weight beside the others of the
// kind, and the range of its size, even in the logarithm.
type ailment struct {
	weight   float64
	kind     string
	from, to float64
}

const (
	shortFrom, shortTo   = 0.02, 30.0
	leakFrom, leakTo     = 30.0, 1e6
	seriesFrom, seriesTo = 0.3, 100e3
)

var (
	shorted = ailment{1, "short", shortFrom, shortTo}
	leaky   = ailment{0.5, "short", leakFrom, leakTo}
	opened  = ailment{3, "open", 0, 0}
	starved = ailment{1, "series", seriesFrom, seriesTo}
	chipOut = []ailment{{3, "dead", 0, 0}, {3, "low", 0, 0}, {2, "float", 0, 0}, {2, "deaf", 0, 0}}
)

// sick says what comes in to a bench: the weight of one part of a kind, after the shares
// by complaint of shops, and how it fails; sizes have the ranges of a prior that is even
// in the logarithm. Common practice, no source; made without a look at the program's own
// table.
var sick = map[string]struct {
	weight float64
	ways   []ailment
}{
	"connector": {14, []ailment{{4.5, "open", 0, 0}, {3.5, "series", seriesFrom, seriesTo}, {0.8, "bridge", shortFrom, shortTo},
		{1.2, "bridge", leakFrom, leakTo}}},
	"cable": {12, []ailment{{5.5, "open", 0, 0}, {3, "series", seriesFrom, seriesTo}, {1.5, "bridge", shortFrom, shortTo}}},
	"panel": {6, []ailment{{4, "dead", 0, 0}, {1, "vdd", shortFrom, shortTo}}},
	"fuse":  {3, []ailment{opened, starved}},
	"resistor": {0.6, []ailment{{6, "open", 0, 0}, {3, "drift", 0.1, 10}, {0.5, "short", shortFrom, shortTo},
		starved}},
	"capacitor":  {0.8, []ailment{shorted, leaky, {0.3, "open", 0, 0}}},
	"coil":       {2, []ailment{opened, starved}},
	"ferrite":    {2, []ailment{opened, starved}},
	"filter":     {2.5, []ailment{opened, starved}},
	"choke":      {3, []ailment{opened, starved}},
	"diode":      {2.5, []ailment{{1, "open", 0, 0}, shorted}},
	"clamp":      {0.8, []ailment{shorted, leaky}},
	"pfet":       {2, []ailment{opened, starved}},
	"nfet":       {2, []ailment{opened, starved}},
	"npn":        {2, []ailment{opened, starved}},
	"loadswitch": {3, []ailment{{3, "off", 0, 0}, starved}},
	"regulator":  {0.6, []ailment{{1, "off", 0, 0}, {1, "level", 0.05, 0.85}}},
	"boost":      {5, []ailment{{4, "off", 0, 0}, {2, "dead", 0, 0}, {1, "lx", shortFrom, shortTo}, {1, "level", 0.05, 0.85}}},
	"source":     {1.2, chipOut}, "controller": {1, chipOut}, "sensor": {2, chipOut},
	"and": {2, chipOut}, "or": {2, chipOut}, "nand": {2, chipOut}, "nor": {2, chipOut}, "buffer": {2, chipOut}, "inverter": {2, chipOut},
	"mux":    {1.5, []ailment{{2, "dead", 0, 0}, {2, "open", 0, 0}}},
	"rom":    {3, []ailment{{3, "garble", 0, 0}, {1, "dead", 0, 0}, {1, "pin", shortFrom, shortTo}, {1, "sda", 0, 0}}},
	"supply": {0.3, []ailment{{1, "off", 0, 0}, {1, "level", 0.05, 0.85}}},
	"leds":   {1, []ailment{opened}},
}

func evenly(rng *rand.Rand, from, to float64) float64 {
	if from == 0 {
		return 0
	}
	return from * math.Pow(to/from, rng.Float64())
}

func pick[T any](rng *rand.Rand, list []T, weight func(T) float64) T {
	sum := 0.0
	for _, x := range list {
		sum += weight(x)
	}
	at := rng.Float64() * sum
	for _, x := range list {
		if at -= weight(x); at < 0 {
			return x
		}
	}
	return list[len(list)-1]
}

// draw makes one trouble of the file by the weights of a bench.
func draw(rng *rand.Rand, b *netlist.Board) flaw {
	for {
		id := pick(rng, slices.Collect(ids(b)), func(id netlist.PartID) float64 {
			w := sick[b.Parts[id].Kind.Name].weight
			if b.Parts[id].Kind.Name == "capacitor" && nominal(b, b.Parts[id].Conns[0].Net) > 15 {
				w *= 4 // ceramic, at a boosted rail
			}
			return w
		})
		if f, ok := ail(rng, b, id); ok {
			return f
		}
	}
}

func ids(b *netlist.Board) func(func(netlist.PartID) bool) {
	return func(yield func(netlist.PartID) bool) {
		for i := range b.Parts {
			if !yield(netlist.PartID(i)) {
				return
			}
		}
	}
}

// ail draws what is wrong with a part.
func ail(rng *rand.Rand, b *netlist.Board, id netlist.PartID) (flaw, bool) {
	p := &b.Parts[id]
	a := pick(rng, sick[p.Kind.Name].ways, func(a ailment) float64 { return a.weight })
	f := flaw{part: id, kind: a.kind, net: netlist.None, to: netlist.None, size: evenly(rng, a.from, a.to)}
	conn := p.Conns[rng.IntN(len(p.Conns))]
	f.ch = conn.Channel
	grounded := func(pins ...string) bool {
		var list []netlist.NetID
		for _, c := range p.Conns {
			if slices.Contains(pins, p.Pin(c).Name) {
				list = append(list, c.Net)
			}
		}
		if len(list) == 0 {
			return false
		}
		f.kind, f.net = "ground", list[rng.IntN(len(list))]
		return true
	}
	switch a.kind {
	case "bridge":
		near := p.Neighbours()
		if len(near) == 0 {
			return f, false
		}
		x := near[rng.IntN(len(near))]
		f.net, f.to = x[0].Net, x[1].Net
	case "vdd":
		return f, grounded("vdd")
	case "lx":
		return f, grounded("lx")
	case "pin":
		return f, grounded("scl", "sda", "vdd")
	case "sda":
		f.kind, f.net = "open", p.Net([]string{"scl", "sda"}[rng.IntN(2)])
	case "low", "high", "float", "deaf":
		var out, in []netlist.NetID
		for _, r := range p.Rules {
			if r.Word == "drives" || r.Word == "sends" || r.Word == "pulls" {
				out = append(out, r.Nets...)
			}
			r.When.Targets(func(t netlist.Target) bool {
				if t.Net != netlist.None {
					in = append(in, t.Net)
				}
				return true
			})
		}
		for _, c := range p.Conns {
			switch p.Pin(c).Name {
			case "out":
				out = append(out, c.Net)
			case "in":
				in = append(in, c.Net)
			}
		}
		if a.kind == "deaf" {
			// A chip hears what it drives itself.
			in = slices.DeleteFunc(in, func(n netlist.NetID) bool { return slices.Contains(out, n) })
			out = in
		}
		if len(out) == 0 {
			return f, false
		}
		f.net = out[rng.IntN(len(out))]
	}
	return f, true
}

// stray is a cause that is not in the file: something of a random size from a net to
// another.
func stray(rng *rand.Rand, b *netlist.Board) flaw {
	for {
		x, y := netlist.NetID(rng.IntN(len(b.Nets))), netlist.NetID(rng.IntN(len(b.Nets)))
		if b.Nets[x].Ground || x == y || !onBoard(b, x) || !b.Nets[y].Ground && !onBoard(b, y) {
			continue
		}
		return flaw{part: netlist.None, kind: "link", net: x, to: y, size: evenly(rng, shortFrom, 100e3)}
	}
}

func side(p *netlist.Part) string { a, _ := p.Attr("side"); return a.Text }

// onBoard reports whether a part of the board itself is on a net.
func onBoard(b *netlist.Board, n netlist.NetID) bool {
	return slices.ContainsFunc(b.Taps(n), func(t netlist.Tap) bool {
		p := &b.Parts[t.Part]
		return p.Kind.Form != netlist.RowsForm && side(p) != "panel" && side(p) != "cable"
	})
}

// name writes a flaw for the list of cases.
func (f flaw) name(b *netlist.Board) string {
	size := ""
	if f.size > 0 {
		size = fmt.Sprintf(" %.3g", f.size)
	}
	net := ""
	if f.net != netlist.None {
		net = " " + b.Nets[f.net].Name
	}
	if f.to != netlist.None {
		net += "/" + b.Nets[f.to].Name
	}
	if f.part == netlist.None {
		return "unlisted" + net + size
	}
	p := &b.Parts[f.part]
	if net == "" {
		for _, c := range p.Conns {
			if c.Channel == f.ch && len(p.Conns) > 2 && p.Kind.Form != netlist.NamedForm {
				net = "." + b.Nets[c.Net].Name
				break
			}
		}
	}
	return p.Name + ":" + f.kind + net + size
}

// grounds reports whether a flaw loads a net to ground, and which.
func (f flaw) grounds(b *netlist.Board) (netlist.NetID, bool) {
	ground := func(n netlist.NetID) bool { return b.Grounded(n) }
	switch f.kind {
	case "ground":
		return f.net, true
	case "link", "bridge":
		if ground(f.to) {
			return f.net, true
		}
		return f.to, ground(f.net)
	case "short":
		p := &b.Parts[f.part]
		var nets []netlist.NetID
		for _, c := range p.Conns {
			if c.Channel == f.ch || ground(c.Net) {
				nets = append(nets, c.Net)
			}
		}
		for i, n := range nets {
			for _, o := range nets[i+1:] {
				if ground(o) && !ground(n) {
					return n, true
				}
				if ground(n) && !ground(o) {
					return o, true
				}
			}
		}
	}
	return netlist.None, false
}

// mends reports whether an action mends a flaw: it touches the part, or what is found on
// the place where it searches.
func mends(b *netlist.Board, a *repair.Action, f flaw) bool {
	if f.part != netlist.None {
		p := &b.Parts[f.part]
		switch a.Kind {
		case repair.Reseat:
			if p.Kind.Form == netlist.RowsForm {
				return true
			}
		case repair.Panel:
			if side(p) == "panel" {
				return true
			}
		}
		if slices.Contains(a.Parts, f.part) && a.Kind != repair.Search {
			return true
		}
	}
	if len(a.Nets) == 0 {
		return false
	}
	if n, ok := f.grounds(b); ok && slices.Contains(a.Nets, n) {
		return true
	}
	return f.part == netlist.None && (slices.Contains(a.Nets, f.net) || slices.Contains(a.Nets, f.to))
}

// complaint is what a customer says: the symptom of the file that says most of what is
// to be seen, else what is seen; nil where all is well.
func complaint(s *specimen) []string {
	b := s.b
	right := func(t netlist.Target) bool {
		if t.Lane != netlist.None {
			return s.lanes[t.Lane]
		}
		return s.facts[t.Fact]
	}
	best, most, bad := -1, 0, 0
	for i := range b.Symptoms {
		list := b.Symptoms[i].Readings
		fits, wrong := true, 0
		for _, r := range list {
			if r.Seen == nil || r.Seen.Target.Net != netlist.None {
				fits = false
				break
			}
			fits = fits && right(r.Seen.Target) != r.Seen.Wrong
			if r.Seen.Wrong {
				wrong++
			}
		}
		if fits && wrong > 0 && len(list) > most {
			best, most = i, len(list)
		}
	}
	if best >= 0 {
		return []string{b.Symptoms[best].Name}
	}
	var list []string
	for i := range b.Facts {
		word := "yes"
		if !s.facts[i] {
			word = "no"
			bad++
		}
		list = append(list, b.Facts[i].Name+"="+word)
	}
	if bad == 0 {
		return nil
	}
	return list
}

func (s *specimen) well() bool {
	s.switchTo(s.b.Usual(), false, true)
	return !slices.Contains(s.facts, false) && len(s.blown) == 0
}
