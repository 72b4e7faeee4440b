package netlist

import "slices"

// Reason says why a point or a part is on the path to something else.
type Reason uint8

// The reasons, in the words that are printed.
const (
	NoReason   Reason = iota
	Series            // carries the level or the signal on
	Supply            // gives it power
	Enable            // lets it run
	Clock             // clocks it
	Data              // carries its data
	Sense             // tells it what it is doing
	Return            // takes its current back
	Permission        // policy: something that must have happened first
	Load              // hangs on the net and can pull it down
)

var reasonNames = [...]string{"", "series", "supply", "enable", "clock", "data", "sense", "return", "permission", "load"}

// String returns the word that is printed for the reason.
func (r Reason) String() string { return reasonNames[r] }

// Quantity is what must hold of a net: a level or activity.
type Quantity uint8

// The quantities.
const (
	High     Quantity = iota // at its own level, such as a rail or an active-high line
	Low                      // held near ground, such as an active-low line
	Toggling                 // alive: clock, data or PWM
)

var quantityNames = [...]string{"high", "low", "toggling"}

// String returns the word that is printed for the quantity.
func (q Quantity) String() string { return quantityNames[q] }

// Form is how the pins of a kind are written.
type Form uint8

// The forms.
const (
	ArrowForm  Form = iota // A -> B, in the direction in which energy or signal flows; lists make channels
	OutForm                // -> NET
	SingleForm             // NET
	NamedForm              // in=NET out=NET
	RowsForm               // pin NUMBER A -> B, a line each, or A -> B
)

// Kind is what the program knows of one kind of part.
type Kind struct {
	Name    string
	Summary string   // one line for the reference
	Example string   // a statement that parses
	Letters []string // class letters of IEEE 315-1975 clause 22, the usual one first; FB and CN are common practice
	Form    Form
	Pins    []Pin
	Attrs   []Attr
	Main    string   // the attribute that a bare value sets
	Passes  []Pass   // how it conducts
	Gives   []Give   // what it drives of its own
	Logic   Logic    // of a gate
	Rules   []string // rule words that may stand under it
	Faults  []Fault
	Hidden  map[string]string // by fault: why no probe shows it while all else is well
	// Bench is how often one unit of such a part (a contact, a winding, an output, or the
	// whole part) has failed among the boards that come to a bench for their display, beside
	// one contact of a connector; of that, each fault has its share. Common practice, no
	// source: fitted to what benches tell of the causes behind each complaint.
	Bench float64
	Bears Bearing
	// Minutes is what it takes to exchange such a part and to see whether that helped; of
	// a connector or cable, to reseat it and to exchange the cable where that does not
	// help. Common practice, no source.
	Minutes float64
	// Proof is what shows, beside the readings that led there, that such a part is
	// the one, before it is replaced.
	Proof string

	// What it does with current.
	Acts   string  // the word by which package predict makes its devices; empty when passes, logic and rules tell all
	Starts float64 // V at which its supply pins let it work, when that is less than their share of the level
	Draws  float64 // A that each supply pin takes when the part has no attribute "draws"

	// What sets a kind apart in the walk and at the bench.
	EitherWay bool   // written either way round: energy has no one direction in it
	OpenLines bool   // its lines are open-drain and rest high through a pull-up
	Plugs     bool   // can be unplugged; its neighbouring pins can be bridged
	InPanel   bool   // sits inside the panel, where no probe lands
	Victim    bool   // fails because of something else, which must be sought first
	Balls     bool   // its pins are under the package, unless its line says otherwise
	ToGround  string // how it spoils a net when its other end is ground; empty for a short
}

// Bearing reports whether a value declared for the net on one side of a part
// holds on the other side too.
type Bearing uint8

// The bearings.
const (
	BearsNothing Bearing = iota
	BearsAll
	BearsSteady // unless it swings: the ends of a converter's coil share a mean, not the switching
	BearsSmall  // while its resistance is small
)

// Pin is one pin, or a set of like pins, of a kind.
type Pin struct {
	Name     string
	Need     Reason   // why the part needs the net; NoReason when it does not
	At       Quantity // what the net must be for that
	Optional bool
	Many     bool   // takes a list
	AnyOf    bool   // of the list, one is enough for the part to work at all
	Doc      string // a few words for the reference
	Drag     string // how a fault here spoils the net
}

// Attr is an attribute of a kind.
type Attr struct {
	Name    string
	Unit    Unit
	Words   []string // the words allowed, when it is not a value
	Text    bool     // any text, which may be quoted
	Default string
	Doc     string
}

// Pass is one way in which a part conducts, between the nets of two pins of
// the same channel.
type Pass struct {
	A, B    string
	OneWay  bool     // conducts from A to B alone
	AC      bool     // passes changes but no level
	Ohms    float64  // Ω when the part has no Value attribute
	Value   string   // attribute that holds the resistance
	Control string   // pin that must be at Level for it to conduct
	Level   Quantity // the attribute "on" (high or low) overrides it
	Ref     string   // pin that the control is judged against; empty for the part's ground
	Body    float64  // V, forward voltage of a diode from B to A that is always there; 0 for none
}

// Give is a net that a part drives of its own, once its needs are met.
type Give struct {
	Pin string
	At  Quantity
	// Adds tells that the part only adds to what another part brings, as the
	// switch of a boost converter does to the current of its coil.
	Adds bool
	// Weak reports whether it gives way to whatever else drives the net, as a pull-up does.
	Weak bool
}

// Logic is the function of a gate from its in pins to its out pin.
type Logic uint8

// The gate functions.
const (
	NoLogic Logic = iota
	AndGate
	OrGate
	NandGate
	NorGate
)

// Fault is one way in which a kind fails.
type Fault struct {
	Name   string
	Share  float64 // of all failures of the kind, 0 when no source gives one
	Source string  // where Share comes from
	Bench  float64 // instead of Share, of one unit beside a contact, where a bench tells otherwise; common practice, no source
	Doc    string
	Per    Per     // what of the part can have it alone
	Does   Effect  // what it does to the circuit
	Value  float64 // Ω or a factor, for the effects that need one; sizes are common practice, no source
	Sizes  Range   // between which Value lies on real boards, even in the logarithm; zero where a fault has no size
	Pin    string  // of an effect on one pin or between a pin and ground
	Over   bool    // of Bridges: over the ground pins beside a rail, as Board.OverGuards has them
}

// Range is between what the size of a fault lies, in Ω or as a factor.
type Range struct{ Low, High float64 }

// Ranges that several faults share; common practice, no source.
var (
	shortSizes   = Range{0.01, 30}
	leakSizes    = Range{30, 1e6}
	contactSizes = Range{0.3, 1e5}
	driftSizes   = Range{0.1, 10}
	levelSizes   = Range{0.05, 1.4}
)

// Ohms reports whether the size of a fault is in Ω; else it is a factor.
func (f *Fault) Ohms() bool {
	switch f.Does {
	case Joins, Grounds, Bridges, LeaksGate, Resists:
		return true
	}
	return false
}

// Per is what of a part a fault befalls.
type Per uint8

// The units of a fault.
const (
	PerPart    Per = iota // the part as a whole
	PerChannel            // one contact, conductor, winding, string or sink
	PerOutput             // one net that the part drives
	PerInput              // one net that the part listens to
	PerPin                // one net on the pins of Fault.Pin, or on any pin but ground when that is empty
)

// Effect is what a fault does to the circuit.
type Effect uint8

// The effects.
const (
	Hides      Effect = iota // nothing that a meter shows while all else is well
	Opens                    // no longer conducts
	Joins                    // its ends are joined by Value Ω
	Resists                  // has Value Ω more in series
	Scales                   // its resistance is Value times as large
	Grounds                  // its pin is joined to ground by Value Ω
	Bridges                  // joined to the next pin by Value Ω
	LeaksGate                // its control pin is joined to its reference by Value Ω
	SticksLow                // drives low whatever its inputs are
	SticksHigh               // drives high whatever its inputs are
	Frees                    // drives nothing
	Deafens                  // takes its input as low
	Dies                     // does nothing at all
	StaysOn                  // ignores its control or enable
	StaysOff                 // never conducts or gives
	Levels                   // gives Value times its level
	Limits                   // its current limit is Value times as large
	Garbles                  // answers wrongly when it is read
	Darkens                  // Value of its elements in series are bridged
	Detaches                 // the place to probe is not on the net any more
)

// KindNames lists the kinds in the order of the table.
func KindNames() []string {
	names := make([]string, len(Kinds))
	for i := range Kinds {
		names[i] = Kinds[i].Name
	}
	return names
}

var kindIndex = func() map[string]*Kind {
	m := make(map[string]*Kind, len(Kinds))
	for i := range Kinds {
		m[Kinds[i].Name] = &Kinds[i]
	}
	return m
}()

// KindByName returns the kind with that name, or nil.
func KindByName(name string) *Kind { return kindIndex[name] }

// PinIndex returns the place of a pin in the table, or -1.
func (k *Kind) PinIndex(name string) int {
	return slices.IndexFunc(k.Pins, func(p Pin) bool { return p.Name == name })
}

// AttrByName returns the attribute with that name, or nil. Every part takes the
// attributes of CommonAttrs.
func (k *Kind) AttrByName(name string) *Attr {
	for _, list := range [][]Attr{k.Attrs, CommonAttrs} {
		if i := slices.IndexFunc(list, func(a Attr) bool { return a.Name == name }); i >= 0 {
			return &list[i]
		}
	}
	return nil
}

// AllowsRule reports whether a rule word may stand under a part of this kind.
func (k *Kind) AllowsRule(word string) bool { return slices.Contains(k.Rules, word) }

// CommonAttrs are the attributes that every part takes.
var CommonAttrs = []Attr{
	{Name: "side", Words: []string{"top", "bottom", "panel", "cable"}, Doc: "where it sits"},
	{Name: "at", Text: true, Doc: "where to find it, a text"},
	{Name: "weight", Doc: "how many times as often as others of its kind it fails"},
	{Name: "package", Words: []string{"bga", "qfn", "soic"}, Doc: "of a chip: bga has its pins underneath, where no probe lands"},
}

// RuleWord is a word that begins a rule under a part or a net.
type RuleWord struct {
	Name, Form, Doc string
}

// RuleWords is the table of rules.
var RuleWords = []RuleWord{
	{"drives", "drives NET… when CONDITION", "the part drives the net high while the condition holds, low otherwise"},
	{"pulls", "pulls NET… when CONDITION", "an open-drain output: the part holds the net low while the condition holds"},
	{"sends", "sends NET… when CONDITION", "clock, data or PWM comes out on the nets while the condition holds"},
	{"reads", "reads FACT from=PART over=NET,NET [at=NET,NET] when CONDITION",
		"the fact holds once the part was read over those lines, clock first; at= names the lines at the part read, when it is no rom"},
	{"makes", "makes FACT when CONDITION", "the fact holds while the condition does"},
	{"pin", "pin NUMBER NET -> NET", "one pin of a connector or one conductor of a cable; pin NUMBER NET leads nowhere"},
	{"expect", "expect VALUE [TOLERANCE] when STATE=VALUE", "under a net: what it reads in another state of the board"},
}
