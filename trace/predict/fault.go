package predict

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// Fault is one way in which one part, or one unit of it, has failed.
type Fault struct {
	Part netlist.PartID
	// Unit is a channel for faults of contacts, conductors, windings and strings,
	// an index into Part.Conns for faults of a pin, and None for the whole part.
	Unit int
	Mode *netlist.Fault
	// Size is in Ω or a factor, as Mode.Ohms reports; 0 stands for the usual one.
	Size float64
}

// size returns what the fault has for Mode.Value.
func (f Fault) size() float64 { return cmp.Or(f.Size, f.Mode.Value) }

// Steps of a grid of sizes: at most this many times from one to the next.
const sizeStep = 10

// Sizes returns a grid of the sizes that a fault may have, in Ω or as a factor, ascending
// and even in the logarithm; nil where it has none. Two neighbours bound a stretch of
// sizes, but for two factors on either side of 1, which no fault is near.
func (f Fault) Sizes() []float64 {
	r := f.Mode.Sizes
	switch {
	case r == netlist.Range{}:
		return nil
	case f.Mode.Ohms() || r.Low > 1:
		return grid(r.Low, r.High)
	}
	return append(grid(r.Low, 1/nearOne), grid(nearOne, r.High)...)
}

// nearOne is the least factor by which a value has changed.
const nearOne = 1.25

func grid(low, high float64) []float64 {
	n := max(int(math.Ceil(math.Log(high/low)/math.Log(sizeStep)-1e-9)), 1)
	list := make([]float64, n+1)
	for i := range list {
		list[i] = low * math.Pow(high/low, float64(i)/float64(n))
	}
	return list
}

// faultUnits lists the units of a part that a fault can befall; one None for the
// part as a whole.
func (m *Model) faultUnits(id netlist.PartID, f *netlist.Fault) []int {
	p := &m.Board.Parts[id]
	var list []int
	switch f.Per {
	case netlist.PerPart:
		if f.Does == netlist.Grounds && m.groundedNode(id, p, f, 0) <= 0 {
			return nil
		}
		return []int{netlist.None}
	case netlist.PerChannel:
		next := map[int][2]int32{}
		if f.Does == netlist.Bridges {
			next = m.bridges(p, f)
		}
		for ch := range int(m.unitOf[id+1] - m.unitOf[id]) {
			if f.Does == netlist.Bridges {
				if _, ok := next[ch]; !ok {
					continue
				}
			}
			list = append(list, ch)
		}
	default:
		seen := map[int32]bool{}
		for i, c := range p.Conns {
			n := m.node(c.Net)
			if n == 0 || seen[n] || p.Pin(c).Name == "gnd" || !m.concerns(id, p, f, i) {
				continue
			}
			seen[n] = true
			list = append(list, i)
		}
	}
	return list
}

// concerns reports whether a fault of pins can befall a connection.
func (m *Model) concerns(id netlist.PartID, p *netlist.Part, f *netlist.Fault, conn int) bool {
	c := p.Conns[conn]
	switch f.Per {
	case netlist.PerOutput:
		_, ok := m.drive[pinKey{id, m.node(c.Net)}]
		return ok
	case netlist.PerInput:
		return m.listensTo(p, c)
	case netlist.PerPin:
		return f.Pin == "" || p.Pin(c).Name == f.Pin
	}
	return false
}

// listensTo reports whether a part takes notice of a connection: an input of a
// gate, a control, a net in a condition, a line that is read.
func (m *Model) listensTo(p *netlist.Part, c netlist.Conn) bool {
	switch name := p.Pin(c).Name; {
	case p.Kind.Logic != netlist.NoLogic:
		return name == "in"
	case name == "sel" || name == "en":
		return true
	}
	for r := range p.Rules {
		rule := &p.Rules[r]
		if rule.Word == "reads" && slices.Contains(rule.Nets, c.Net) {
			return true
		}
		if !rule.When.Targets(func(t netlist.Target) bool { return t.Net != c.Net }) {
			return true
		}
	}
	for _, l := range m.Board.Lanes {
		if p.Kind.InPanel && slices.Contains(l.Nets, c.Net) {
			return true
		}
	}
	return false
}

// groundedNode returns the node that a fault joins to ground.
func (m *Model) groundedNode(id netlist.PartID, p *netlist.Part, f *netlist.Fault, unit int) int32 {
	if f.Per == netlist.PerPart {
		if n := m.pin(p, f.Pin); n >= 0 {
			return n
		}
		if n, ok := m.output[id]; ok && f.Pin == "out" {
			return n
		}
		return -1
	}
	return m.node(p.Conns[unit].Net)
}

// bridges returns, for each channel of a part that a fault can bridge, the two nodes.
func (m *Model) bridges(p *netlist.Part, f *netlist.Fault) map[int][2]int32 {
	if !f.Over {
		return m.neighbours(p)
	}
	over := map[int][2]int32{}
	for _, pair := range m.Board.OverGuards(p) {
		over[pair[0].Channel] = [2]int32{m.node(pair[0].Net), m.node(pair[1].Net)}
	}
	return over
}

// neighbours returns, for each channel of a part with pins in a row, the nodes of
// that pin and of the next wired one.
func (m *Model) neighbours(p *netlist.Part) map[int][2]int32 {
	type pin struct {
		num, channel int
		node         int32
	}
	var row []pin
	for i, c := range p.Conns {
		if c.Pin != 0 {
			continue
		}
		num, err := strconv.Atoi(c.Num)
		if err != nil {
			num = i
		}
		row = append(row, pin{num, int(c.Channel), m.node(c.Net)})
	}
	slices.SortStableFunc(row, func(a, b pin) int { return a.num - b.num })
	next := map[int][2]int32{}
	for i := 0; i+1 < len(row); i++ {
		if row[i].node != row[i+1].node {
			next[row[i].channel] = [2]int32{row[i].node, row[i+1].node}
		}
	}
	return next
}

// Faults lists every single fault of a part, in the order of the table.
func (m *Model) Faults(id netlist.PartID) []Fault {
	var list []Fault
	p := &m.Board.Parts[id]
	for i := range p.Kind.Faults {
		f := &p.Kind.Faults[i]
		for _, u := range m.faultUnits(id, f) {
			list = append(list, Fault{Part: id, Unit: u, Mode: f})
		}
	}
	return list
}

// AllFaults lists every single fault of every part, in the order of the file.
func (m *Model) AllFaults() []Fault {
	var list []Fault
	for id := range m.Board.Parts {
		list = append(list, m.Faults(netlist.PartID(id))...)
	}
	return list
}

// Name prints a fault the way it is typed: F3:open, J2.7:open, U7.BL_EN:stuck-low,
// C34:short=8.
func (m *Model) Name(f Fault) string {
	name := m.Board.Parts[f.Part].Name
	if u := m.unitName(f); u != "" {
		name += "." + u
	}
	name += ":" + f.Mode.Name
	if f.Size != 0 {
		name += "=" + netlist.FormatValue(f.Size, netlist.NoUnit)
	}
	return name
}

// unitName names the unit of a fault: a channel as netlist.Board.ChannelNames does,
// or the net on a pin; empty for the whole part and for a part of one channel.
func (m *Model) unitName(f Fault) string {
	p := &m.Board.Parts[f.Part]
	if f.Unit == netlist.None {
		return ""
	}
	if f.Mode.Per != netlist.PerChannel {
		return m.Board.Nets[p.Conns[f.Unit].Net].Name
	}
	return m.names[f.Part][f.Unit]
}

// channel names a channel with its part: R12, RN2.ID_CLK.
func (m *Model) channel(id netlist.PartID, channel int) string {
	name := m.Board.Parts[id].Name
	if u := m.names[id][channel]; u != "" {
		name += "." + u
	}
	return name
}

// ParseFault reads a fault such as F3:open, J2.7:open, FL2.A0P:open, U7:stuck-low or,
// with its size, C34:short=8. A part with several units and no unit named has the fault in all
// of them; a channel goes by its name or by a net that no other has. The error is
// a mistake.Mistake that lists what the part can have.
func (m *Model) ParseFault(text string) ([]Fault, error) {
	target, mode, ok := strings.Cut(text, ":")
	mode, size, sized := strings.Cut(mode, "=")
	name, unit, named := strings.Cut(target, ".")
	// fail marks the word that ends at an offset of text; an empty one means all of it.
	fail := func(word string, end int, x mistake.Mistake) ([]Fault, error) {
		x.Text, x.Code = text, "fault"
		if word != "" {
			x = x.At(end-len(word), end)
		}
		return nil, x
	}
	if id, is := m.Board.FindPart(name); !ok && is {
		_, _, modes := m.pickFaults(id, "", func(Fault) bool { return true })
		if len(modes) > 0 {
			return fail("", 0, mistake.Mistake{Msg: fmt.Sprintf("%s is a part, and its fault is missing", target),
				Want: target + ":FAULT with " + mistake.OneOf(modes)})
		}
	}
	if !ok {
		return fail("", 0, mistake.Mistake{Msg: "a fault is PART:FAULT or PART.PIN:FAULT",
			Want: "a fault such as F3:open, J2.7:open or U7:stuck-low"})
	}
	if named && unit == "" {
		return fail(".", len(target), mistake.Mistake{Msg: "nothing stands after the point",
			Want: name + ":FAULT, or a pin or net after the point"})
	}
	id, ok := m.Board.FindPart(name)
	if !ok {
		return fail(name, len(name), mistake.Mistake{Msg: fmt.Sprintf("the board has no part %s", name),
			Near: mistake.Nearest(name, m.Board.PartNames())})
	}
	// What is pointed at is what was typed, which may have another length.
	typedMode, typedUnit := mode, unit
	end := len(target) + 1 + len(mode)
	mode, unit = strings.ToLower(mode), m.unitCase(id, unit)
	channel, several := m.Board.Channel(id, unit)
	hits, units, modes := m.pickFaults(id, mode, func(f Fault) bool {
		return !named || m.unitName(f) == unit || channel >= 0 && f.Mode.Per == netlist.PerChannel && f.Unit == channel
	})
	kind := m.Board.Parts[id].Kind.Name
	switch {
	case mode == "":
		return fail(":", end, mistake.Mistake{Msg: "the fault is missing behind the colon", Want: mistake.OneOf(modes)})
	case !slices.Contains(modes, mode):
		return fail(typedMode, end, mistake.Mistake{Msg: fmt.Sprintf("%s is a %s and does not fail by %q", name, kind, mode),
			Want: mistake.OneOf(modes), Near: mistake.Nearest(mode, modes)})
	case len(hits) == 0 && len(units) == 0:
		return fail(typedUnit, len(target), mistake.Mistake{Msg: fmt.Sprintf("%s has %s as a whole, and nothing after a point", name, mode),
			Want: name + ":" + mode})
	case len(hits) == 0 && len(several) > 0:
		for i, u := range several {
			several[i] = name + "." + u + ":" + mode
		}
		return fail(typedUnit, len(target), mistake.Mistake{Msg: fmt.Sprintf("%s is on %d channels of %s", unit, len(several), name),
			Want: mistake.OneOf(several)})
	case len(hits) == 0:
		return fail(typedUnit, len(target), mistake.Mistake{Msg: fmt.Sprintf("%s has nothing called %q that can be %s", name, unit, mode),
			Want: mistake.OneOf(units), Near: mistake.Nearest(unit, units)})
	case sized:
		v, m := sizeOf(hits[0].Mode, name+":"+mode, size)
		if m != nil {
			return fail(cmp.Or(size, "="), len(text), *m)
		}
		for i := range hits {
			hits[i].Size = v
		}
	}
	return hits, nil
}

// sizeOf reads the size of a fault, in Ω or as a factor.
func sizeOf(f *netlist.Fault, fault, text string) (float64, *mistake.Mistake) {
	unit, what := netlist.NoUnit, "a factor"
	if f.Ohms() {
		unit, what = netlist.Ohm, "a resistance"
	}
	r := f.Sizes
	if r == (netlist.Range{}) {
		return 0, &mistake.Mistake{Msg: f.Name + " has no size", Want: fault}
	}
	v, err := netlist.ParseValue(text, unit)
	if err != nil || v < r.Low || v > r.High {
		return 0, &mistake.Mistake{Msg: fmt.Sprintf("%q is not a size of %s", text, f.Name),
			Want: fmt.Sprintf("%s between %s and %s, such as %s=%s", what, netlist.FormatValue(r.Low, unit), netlist.FormatValue(r.High, unit),
				fault, netlist.FormatValue(f.Value, netlist.NoUnit))}
	}
	return v, nil
}

// unitCase returns a unit of a part as it is written in the file, where other capitals
// leave one.
func (m *Model) unitCase(id netlist.PartID, unit string) string {
	var units []string
	for _, f := range m.Faults(id) {
		if u := m.unitName(f); u != "" && !slices.Contains(units, u) {
			units = append(units, u)
		}
	}
	if i := netlist.FindName(units, unit); i >= 0 {
		return units[i]
	}
	return unit
}

// pickFaults lists the faults of a part in a mode that are meant, the units that
// can have that mode, and all modes.
func (m *Model) pickFaults(id netlist.PartID, mode string, meant func(Fault) bool) (hits []Fault, units, modes []string) {
	for _, f := range m.Faults(id) {
		if !slices.Contains(modes, f.Mode.Name) {
			modes = append(modes, f.Mode.Name)
		}
		if f.Mode.Name != mode {
			continue
		}
		if u := m.unitName(f); u != "" {
			units = append(units, u)
		}
		if meant(f) {
			hits = append(hits, f)
		}
	}
	return hits, units, modes
}
