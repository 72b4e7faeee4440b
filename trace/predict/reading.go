package predict

import (
	"fmt"
	"math"
	"strings"

	"example.org/walkback/netlist"
)

type (
	// Method is how a probe is made.
	Method = netlist.Method
	// Probe is one measurement or look.
	Probe = netlist.Probe
	// State is the condition of the board in which it is made.
	State = netlist.Condition
)

// The methods, as in package netlist.
const (
	Volts    = netlist.Volts
	Activity = netlist.Activity
	Ohms     = netlist.Ohms
	Diode    = netlist.Diode
	Across   = netlist.Across
	Look     = netlist.Look
)

// Reading is what a probe shows.
type Reading struct {
	Method Method
	// Value is in V, for Activity in V peak to peak, or in Ω; +Inf is more than the
	// meter shows. Low and High are the ends of its band.
	Value, Low, High float64
	// Word stands instead of the value or beside it.
	Word string
}

// Words of readings; looking adds yes, no and alive.
const (
	Floating = "floating" // nothing holds the net
	Quiet    = "quiet"
	Toggling = "toggling"
	Bursts   = "bursts"   // moves only while something is read over the net
	Unsteady = "unsteady" // never comes to rest
)

// Number reports whether the reading is one that a meter shows as a number.
func (r Reading) Number() bool {
	return r.Method != Look && r.Word != Floating && !math.IsInf(r.Value, 0)
}

// String prints a reading: "31.5 V (29 to 34)", Floating, "OL".
func (r Reading) String() string {
	switch {
	case r.Method == Look, r.Word == Floating, r.Word == Quiet:
		return r.Word
	case r.Method == Activity:
		return r.Word + " " + netlist.FormatValue(r.Value, netlist.Volt)
	case math.IsInf(r.Value, 0):
		return "OL"
	case r.Word != "":
		return fmt.Sprintf("%s, %s to %s", r.Word, short(r.Low), netlist.FormatValue(r.High, netlist.Volt))
	case r.Method == Ohms || r.Method == Across:
		return netlist.FormatValue(r.Value, netlist.Ohm)
	}
	return VoltText(r.Value)
}

// VoltText prints V with the digits that a bench meter shows.
func VoltText(v float64) string {
	switch a := math.Abs(v); {
	case a < 0.005:
		return "0 V"
	case a < 1:
		return fmt.Sprintf("%.2f V", v)
	}
	return netlist.FormatValue(v, netlist.Volt)
}

func short(v float64) string { return strings.TrimSuffix(VoltText(v), " V") }

// Band prints the ends of the band: "29.1 to 33.6 V".
func (r Reading) Band() string {
	if !r.Number() {
		return r.String()
	}
	switch r.Method {
	case Ohms, Across:
		return netlist.FormatValue(r.Low, netlist.Ohm) + " to " + netlist.FormatValue(r.High, netlist.Ohm)
	case Activity:
		return r.String()
	}
	return short(r.Low) + " to " + VoltText(r.High)
}

// Alike reports whether a meter would not tell two readings of one probe apart:
// their bands meet, or they say the same.
func (r Reading) Alike(o Reading) bool {
	if r.Number() != o.Number() {
		// A floating net reads near zero under the meter's own resistance.
		return false
	}
	if !r.Number() {
		return r.Word == o.Word && math.IsInf(r.Value, 0) == math.IsInf(o.Value, 0)
	}
	if r.Method == Activity {
		return (r.Word == Quiet) == (o.Word == Quiet) && (r.Value <= 2*o.Value && o.Value <= 2*r.Value || r.Word == Quiet)
	}
	return (r.Word == Unsteady) == (o.Word == Unsteady) && r.Low <= o.High && o.Low <= r.High
}

// Spreads of readings as shares, common practice, no source.
const (
	spreadVolts = 0.02 // meter and resistors, beside the corners of the sources
	spreadOhms  = 0.2  // parts and chips in parallel
	spreadDiode = 0.05 // V, between like pins of two boards
	noiseVolts  = 0.1  // V, on a grounded point
	noiseOhms   = 0.3  // Ω, leads and contacts
	moves       = 0.05 // V peak to peak, least that counts as alive
)

// Predictor simulates a board at the middle and at both corners of its
// tolerances.
type Predictor struct {
	*Simulator // all values as they are written

	low, high *Simulator
}

// NewPredictor makes the predictor of a board.
func NewPredictor(b *netlist.Board) *Predictor {
	return &Predictor{New(b), newModel(b, -1).Simulator(), newModel(b, 1).Simulator()}
}

// NetReadings is what each method shows at a net.
type NetReadings struct {
	Net      netlist.NetID
	Volts    Reading
	Activity Reading
	Ohms     Reading
	Diode    Reading
}

// PartReading is the resistance from end to end of a channel of a part in the
// board.
type PartReading struct {
	Part    netlist.PartID
	Channel int
	Name    string // R12, J2.7
	Across  Reading
}

// FactReading is whether a lane is alive or a fact holds.
type FactReading struct {
	Name  string
	Lane  bool
	Shows Reading
}

// Report is all that probes show in one state under one hypothesis.
type Report struct {
	Board *netlist.Board
	State State
	Hypothesis
	Nets     []NetReadings
	Parts    []PartReading
	Facts    []FactReading // lanes first
	Regimes  []Regime
	Unsteady []netlist.PartID
	Lifted   []netlist.PartID // test points that no longer touch their net
	Names    []string         // of the faults
	Run      *Run             `json:"-"`
}

// Report simulates faults in a state.
func (p *Predictor) Report(st State, faults ...Fault) (*Report, error) {
	if err := p.Contradiction(st); err != nil {
		return nil, err
	}
	h := p.Suppose(faults...)
	mid := p.Run(st, h)
	r := &Report{Board: p.Board, State: st, Hypothesis: h, Regimes: mid.Regimes(), Unsteady: mid.Unsteady(), Run: mid}
	if mid.s.failed {
		return nil, ErrUnsolved
	}
	r.Blown = mid.Blew()
	low, high := p.low.Run(st, h), p.high.Run(st, h)
	cold := p.Cold(st.Unplugged, h)
	for i := range p.Board.Nets {
		n := netlist.NetID(i)
		x := p.netReadings(n, mid, low, high)
		x.Ohms, x.Diode = ohmsReading(Ohms, cold.Ohms(n)), diodeReading(cold.Diode(n))
		r.Nets = append(r.Nets, x)
	}
	for id := range p.Board.Parts {
		r.Parts = append(r.Parts, p.across(cold, netlist.PartID(id))...)
	}
	r.Facts = mid.facts()
	for _, f := range faults {
		r.Names = append(r.Names, p.Name(f))
		if f.Mode.Does == netlist.Detaches {
			r.Lifted = append(r.Lifted, f.Part)
		}
	}
	return r, nil
}

// Healthy returns volts and activity of every net on the healthy board.
func (p *Predictor) Healthy(st State) ([]NetReadings, error) {
	if err := p.Contradiction(st); err != nil {
		return nil, err
	}
	mid, low, high := p.Run(st, Hypothesis{}), p.low.Run(st, Hypothesis{}), p.high.Run(st, Hypothesis{})
	list := make([]NetReadings, len(p.Board.Nets))
	for i := range list {
		list[i] = p.netReadings(netlist.NetID(i), mid, low, high)
	}
	return list, nil
}

// netReadings reads volts and activity of a net, with the band from both corners.
func (p *Predictor) netReadings(n netlist.NetID, mid, low, high *Run) NetReadings {
	x := NetReadings{Net: n, Volts: mid.volts(n), Activity: mid.activity(n)}
	if x.Volts.Word == "" {
		x.Volts.spread(low.Volts(n), high.Volts(n))
	}
	return x
}

// across measures every part with two ends that conducts, channel by channel.
func (p *Predictor) across(c *Cold, id netlist.PartID) []PartReading {
	part := &p.Board.Parts[id]
	if len(part.Kind.Passes) == 0 || part.Kind.Passes[0].AC || part.Kind.Passes[0].OneWay || part.Kind.Passes[0].Control != "" {
		return nil
	}
	var list []PartReading
	for ch := range int(p.unitOf[id+1] - p.unitOf[id]) {
		u := p.units[int(p.unitOf[id])+ch]
		if b := &p.branches[u.main]; b.A == b.B {
			continue
		}
		list = append(list, PartReading{id, ch, p.channel(id, ch), ohmsReading(Across, c.Across(id, ch))})
	}
	return list
}

// volts reads a net with the meter.
func (r *Run) volts(n netlist.NetID) Reading {
	x := Reading{Method: Volts, Value: r.Volts(n)}
	if low, high := r.Between(n); high-low > noiseVolts {
		return Reading{Method: Volts, Value: x.Value, Low: low, High: high, Word: Unsteady}
	}
	if r.Floats(n) {
		x.Word = Floating
	}
	x.spread(x.Value, x.Value)
	return x
}

// spread sets the band of a voltage from those at the corners.
func (r *Reading) spread(low, high float64) {
	a, b := min(r.Value, low, high), max(r.Value, low, high)
	r.Low, r.High = a-spreadVolts*math.Abs(a), b+spreadVolts*math.Abs(b)
	if math.Abs(r.Value) < noiseVolts/2 {
		r.Low, r.High = min(r.Low, -noiseVolts), max(r.High, noiseVolts)
	}
}

func (r *Run) activity(n netlist.NetID) Reading {
	x := Reading{Method: Activity, Value: r.Swing(n), Word: Quiet}
	if x.Value >= moves {
		x.Word = Toggling
		if r.bursts(n) {
			x.Word = Bursts
		}
	}
	x.Low, x.High = x.Value/2, x.Value*2
	return x
}

// bursts reports whether a net moves only while something is read over it.
func (r *Run) bursts(n netlist.NetID) bool {
	isle := r.s.m.isle[r.s.m.node(n)]
	for _, list := range r.s.sending {
		for _, x := range list {
			if r.s.m.isle[x.node] == isle && !x.reading {
				return false
			}
		}
	}
	return true
}

func ohmsReading(m Method, ohms float64) Reading {
	return Reading{Method: m, Value: ohms, Low: max(0, ohms*(1-spreadOhms)-noiseOhms), High: ohms*(1+spreadOhms) + noiseOhms}
}

func diodeReading(v float64) Reading {
	return Reading{Method: Diode, Value: v, Low: v - spreadDiode, High: v + spreadDiode}
}

// facts reads lanes and facts.
func (r *Run) facts() []FactReading {
	var list []FactReading
	b := r.s.m.Board
	for i := range b.Lanes {
		word := Quiet
		if r.Alive(i) {
			word = "alive"
		}
		list = append(list, FactReading{b.Lanes[i].Name, true, Reading{Method: Look, Word: word}})
	}
	for i := range b.Facts {
		word := "no"
		if r.Holds(i) {
			word = "yes"
		}
		list = append(list, FactReading{b.Facts[i].Name, false, Reading{Method: Look, Word: word}})
	}
	return list
}
