package netlist

import (
	"iter"
	"maps"
	"slices"
)

// NetID indexes Board.Nets.
type NetID int32

// PartID indexes Board.Parts.
type PartID int32

// None is the id of nothing.
const None = -1

// Board is the display path of one board as understood.
type Board struct {
	Name, Title string
	States      []State
	Nets        []Net
	Parts       []Part
	Lanes       []Lane
	Facts       []Fact
	Symptoms    []Symptom
	Stages      []Stage
	Weights     []Weight // what fails more often than usual, or less
	Panel       string   // the panel that With fitted, in words; empty when it is no news

	file      *File
	netIndex  map[string]NetID
	partIndex map[string]PartID
	laneIndex map[string]int
	factIndex map[string]int
	tapStart  []int32
	taps      []Tap
}

// State is a dimension of the board's state: power, lid, which chip draws.
type State struct {
	Name   string
	Values []string // the first is the usual one
	Note   string
	Span   Span
}

// Setting chooses a value for each state of a board, by index.
type Setting []int

// Distance counts the states of which two settings of a board choose another value.
func (s Setting) Distance(o Setting) int {
	n := 0
	for i := range min(len(s), len(o)) {
		if s[i] != o[i] {
			n++
		}
	}
	return n
}

// StateIs is the condition that a state has a value.
type StateIs struct{ State, Value int }

// Net is a set of pins joined by copper.
type Net struct {
	Name   string
	Ground bool
	Idle   bool // carries only lanes that the fitted panel does not use
	Note   string
	Expect []Expect // the first whose conditions hold is valid; empty when unknown
	Cold   Band     // Ω to ground with all power out, Value 0 when not given
	Diode  Band     // V in diode mode with all power out, Value 0 when not given
	// Declared reports whether a net statement names it. A net that is not declared
	// takes over what its neighbour reads, across a part that bears the level on.
	Declared bool
	Like     NetID // that neighbour, or None
	Across   PartID
	Span     Span
}

// Expect is what a healthy net reads against ground.
type Expect struct {
	Band          // V
	Swing float64 // V peak to peak, 0 for a steady level
	Rate  float64 // Hz, 0 when not given
	When  []StateIs
}

// Part is one component.
type Part struct {
	Kind  *Kind
	Name  string
	Conns []Conn
	Attrs []AttrVal
	Rules []Rule
	Note  string
	Span  Span
}

// Conn joins a pin of a part to a net. Pins of one channel belong together: pin
// 7 of a connector, one winding of a choke.
type Conn struct {
	Pin     int16 // index into Kind.Pins
	Channel int16
	Net     NetID
	Num     string // pin number as written, may be empty
	Span    Span
}

// AttrVal is an attribute as written.
type AttrVal struct {
	Attr  *Attr
	Value float64
	Text  string
}

// Rule is what a chip does inside.
type Rule struct {
	Word string
	Nets []NetID // driven, pulled or sent; the lines of a read
	At   []NetID // of a read: the same lines at the part that is read
	Fact int     // read or made, or None
	From PartID  // the part that is read, or None
	When *Expr   // nil for always
	Span Span
}

// Lane is a signal that reaches the panel, on one conductor or two.
type Lane struct {
	Name  string
	Nets  []NetID
	Clock bool
	Idle  bool // the fitted panel does not use it: quiet is right
	Note  string
	Span  Span
}

// RuleRef points at a rule of a part.
type RuleRef struct {
	Part PartID
	Rule int
}

// Fact is something that has happened or not, such as the identity being read.
type Fact struct {
	Name   string
	Makers []RuleRef
	Span   Span
}

// Symptom is a complaint in the customer's words, as observations.
type Symptom struct {
	Name, Words string
	History     []string // what happened to the machine, in words of Histories
	Readings    []Reading
	Seen        []Observation // the readings as far as the file alone judges them
	Span        Span
}

// Stage is a rung of the power-up order.
type Stage struct {
	Number  int
	Words   string
	Targets []Target
	Span    Span
}

// Tap is one place where a net meets a part.
type Tap struct {
	Part PartID
	Conn int32 // index into Part.Conns
}

// Net returns the net with that name.
func (b *Board) Net(name string) (NetID, bool) { id, ok := b.netIndex[name]; return id, ok }

// Part returns the part with that designator.
func (b *Board) Part(name string) (PartID, bool) { id, ok := b.partIndex[name]; return id, ok }

// Taps returns where a net meets parts, in the order of the file.
func (b *Board) Taps(n NetID) []Tap { return b.taps[b.tapStart[n]:b.tapStart[n+1]] }

// Points yields the test points on a net.
func (b *Board) Points(n NetID) iter.Seq[PartID] {
	return func(yield func(PartID) bool) {
		for _, t := range b.Taps(n) {
			if b.Parts[t.Part].Kind.Form == SingleForm && !yield(t.Part) {
				return
			}
		}
	}
}

// File returns the file that the board was built from.
func (b *Board) File() *File { return b.file }

// Pin returns the table entry of a connection.
func (p *Part) Pin(c Conn) *Pin { return &p.Kind.Pins[c.Pin] }

// PinLabel names a connection as a person would: its pin number, its pin name,
// or both.
func (p *Part) PinLabel(c Conn) string {
	pin := p.Pin(c)
	name := pin.Name
	switch {
	case c.Num == "":
	case p.Kind.Form == RowsForm:
		return "pin " + c.Num
	default:
		name += " (pin " + c.Num + ")"
	}
	return name
}

// Attr returns the attribute of that name as written.
func (p *Part) Attr(name string) (AttrVal, bool) {
	i := slices.IndexFunc(p.Attrs, func(a AttrVal) bool { return a.Attr.Name == name })
	if i < 0 {
		return AttrVal{}, false
	}
	return p.Attrs[i], true
}

// Net returns the net on the first pin of that name, or None.
func (p *Part) Net(pin string) NetID {
	i := p.Kind.PinIndex(pin)
	for _, c := range p.Conns {
		if int(c.Pin) == i {
			return c.Net
		}
	}
	return None
}

// Ohms returns the resistance of a pass of the part in Ω.
func (p *Part) Ohms(pass *Pass) float64 {
	if pass.Value != "" {
		if a, ok := p.Attr(pass.Value); ok {
			return a.Value
		}
	}
	return pass.Ohms
}

// ControlLevel returns the level that the control pin of a pass or an enable
// pin must have, with the attribute "on" taken into account.
func (p *Part) ControlLevel(table Quantity) Quantity {
	if a, ok := p.Attr("on"); ok {
		if a.Text == "low" {
			return Low
		}
		return High
	}
	return table
}

// Usual returns the setting in which every state has its first value.
func (b *Board) Usual() Setting { return make(Setting, len(b.States)) }

// ExpectIn returns what a net should read in a setting.
func (b *Board) ExpectIn(n NetID, s Setting) (Expect, bool) {
	for _, e := range b.Nets[n].Expect {
		if !slices.ContainsFunc(e.When, func(c StateIs) bool { return s[c.State] != c.Value }) {
			return e, true
		}
	}
	return Expect{}, false
}

// The levels in V that part lines, rails and dangers from each other.
const (
	// LowBelow is the level under which a declared value means "held low": the
	// input threshold of 3.3 V logic, 0.3 VDD in UM10204 (NXP, rev. 7), rounded.
	LowBelow = 0.9
	// LogicTop is the most at which 3.3 V logic rests: the upper end of its supply in
	// JESD8C (JEDEC), from memory. A net that rests above it kills a pin of less.
	LogicTop = 3.6
	// HighRail is the voltage from which one slip to a neighbour destroys what that
	// leads to: above what 3.3 V logic reaches with its mean and its swing together, and
	// below what a battery of two cells gives. Common practice, no source.
	HighRail = 7.0
)

// Rests returns the highest mean in V that the board file has a net rest at, in any
// state, and whether it says anything of it.
func (n *Net) Rests() (volts float64, known bool) {
	for _, e := range n.Expect {
		volts = max(volts, e.Value)
	}
	return volts, len(n.Expect) > 0
}

// Healthy returns what a net does on a healthy board in its usual state, from
// the value declared for it: toggling where a swing is given, low where the
// value is near ground, high otherwise.
func (b *Board) Healthy(n NetID) Quantity { return b.HealthyIn(n, b.Usual()) }

// HealthyIn returns what a net does on a healthy board in a setting.
func (b *Board) HealthyIn(n NetID, s Setting) Quantity {
	if b.Nets[n].Ground {
		return Low
	}
	e, ok := b.ExpectIn(n, s)
	switch {
	case !ok:
		return High
	case e.Swing != 0:
		return Toggling
	case e.Value < LowBelow:
		return Low
	}
	return High
}

// Grounded reports whether a net is ground or declared as 0 V in every state, like
// the ground of a cable.
func (b *Board) Grounded(n NetID) bool {
	x := &b.Nets[n]
	return x.Ground || len(x.Expect) > 0 && !slices.ContainsFunc(x.Expect, func(e Expect) bool { return e.Value != 0 || e.Swing != 0 })
}

// NetNames lists the nets in the order of the file.
func (b *Board) NetNames() []string { return names(b.Nets, func(n Net) string { return n.Name }) }

// LaneNames lists the lanes.
func (b *Board) LaneNames() []string { return names(b.Lanes, func(l Lane) string { return l.Name }) }

// FactNames lists the facts.
func (b *Board) FactNames() []string { return names(b.Facts, func(f Fact) string { return f.Name }) }

// PartNames lists the designators.
func (b *Board) PartNames() []string { return names(b.Parts, func(p Part) string { return p.Name }) }

// SymptomNames lists the named complaints.
func (b *Board) SymptomNames() []string {
	return names(b.Symptoms, func(s Symptom) string { return s.Name })
}

func names[T any](list []T, name func(T) string) []string {
	out := make([]string, len(list))
	for i, x := range list {
		out[i] = name(x)
	}
	return out
}

// index fills the table of taps, by counting, in one pass over the parts.
func (b *Board) index() {
	b.tapStart = make([]int32, len(b.Nets)+1)
	for i := range b.Parts {
		for _, c := range b.Parts[i].Conns {
			b.tapStart[c.Net+1]++
		}
	}
	for i := range len(b.Nets) {
		b.tapStart[i+1] += b.tapStart[i]
	}
	b.taps = make([]Tap, b.tapStart[len(b.Nets)])
	next := slices.Clone(b.tapStart)
	for i := range b.Parts {
		for k, c := range b.Parts[i].Conns {
			b.taps[next[c.Net]] = Tap{PartID(i), int32(k)}
			next[c.Net]++
		}
	}
}

// bearOhms is the largest series resistor across which a level is taken over.
const bearOhms = 100

// bear gives nets that were not declared the values of their neighbours.
func (b *Board) bear() {
	queue := make([]NetID, 0, len(b.Nets))
	for i := range b.Nets {
		if n := &b.Nets[i]; len(n.Expect) > 0 && !n.Ground {
			queue = append(queue, NetID(i))
		}
	}
	for len(queue) > 0 {
		id := queue[0]
		queue = queue[1:]
		for _, t := range b.Taps(id) {
			p := &b.Parts[t.Part]
			if !p.bears(b.Nets[id].Expect[0]) {
				continue
			}
			here := p.Conns[t.Conn]
			for _, c := range p.Conns {
				far := &b.Nets[c.Net]
				if c.Channel != here.Channel || c.Pin == here.Pin || far.Declared || far.Ground || len(far.Expect) > 0 {
					continue
				}
				from := &b.Nets[id]
				far.Expect, far.Like, far.Across = from.Expect, id, t.Part
				if p.Kind.Form != RowsForm {
					far.Cold, far.Diode = from.Cold, from.Diode
				}
				queue = append(queue, c.Net)
			}
		}
	}
}

func (p *Part) bears(e Expect) bool {
	switch p.Kind.Bears {
	case BearsAll:
		return true
	case BearsSteady:
		return e.Swing == 0
	case BearsSmall:
		return p.Ohms(&p.Kind.Passes[0]) <= bearOhms
	}
	return false
}

// names known to the board, for suggestions.
func (b *Board) knownNames() []string {
	return slices.Sorted(maps.Keys(b.scope()))
}

// scope returns every name that may stand in a condition or an observation.
func (b *Board) scope() map[string]Target {
	m := make(map[string]Target, len(b.netIndex)+len(b.Lanes)+len(b.Facts))
	for name, id := range b.netIndex {
		m[name] = Target{Net: id, Lane: None, Fact: None}
	}
	for name, i := range b.laneIndex {
		m[name] = Target{Net: None, Lane: i, Fact: None}
	}
	for name, i := range b.factIndex {
		m[name] = Target{Net: None, Lane: None, Fact: i}
	}
	return m
}
