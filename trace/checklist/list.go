// Package checklist is the sheet for the bench: its steps, what stands in each, and
// how it is written as text, Markdown and JSON.
//
//	list := checklist.New(walk, bench)
//	list.Steps = append(list.Steps, list.Step(p))
//	err := list.WriteText(out)
//
// Package plan fills it in walking order, package order in the order of least cost.
// Whatever the order, a point has the same number, place, meter, expectation and
// cautions.
package checklist

import (
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/probe"
)

// The orders of a checklist.
const (
	Best = "best" // least expected cost
	Half = "half" // the most even cut, whatever it costs
	Walk = "walk" // from the symptom to the source
)

// Orders lists them.
func Orders() []string { return []string{Best, Half, Walk} }

// List is a checklist for the bench.
type List struct {
	Walk     *trace.Walk
	Bench    *probe.Bench
	Points   *Points
	Order    string // one of Orders
	Note     string // how many steps for what, one line
	Costs    *Costs // nil where nothing was simulated
	Cautions []string
	Steps    []Step
	Last     string   // what to do where no step finds the fault, in sentences; empty where the steps say it
	Skipped  []string // points that an observation has already shown to be right
}

// Costs are what an order costs, in s.
type Costs struct {
	Spent
	Lower      float64 // no order costs less on average
	Optimal    bool    // this one costs just that
	Walk, Half *Spent  // what other orders cost; nil where that is not known
}

// Spent is what working through an order costs, in s.
type Spent struct{ Expected, Worst float64 }

// Step is one probe of a checklist.
type Step struct {
	Number    int // running, from 1
	Probe     netlist.Probe
	Target    string // what is read: VBL, VBL to BL_K4, F3, LIGHT
	Points    []int  // the numbers of its points on the path, none beside it
	Why       string // why it is there: "supply of U9"
	Place     probe.Place
	Meter     string // how the meter is set
	Leads     string // where its leads go
	Condition string // of the board
	Expect    string // what a healthy board shows
	Low, High float64
	Tell      string // how to tell apart outcomes that the meter alone does not, empty where it does
	Outcomes  []Outcome
	Cautions  []string
	Gate      bool    // it comes before any power
	Seconds   float64 // for the probe itself
	Change    float64 // s to bring the board into its condition
	Share     float64 // how often the list comes here, of 1; 0 where that is not known
}

// Outcome is what a reading means and where it leads.
type Outcome struct {
	// Reading is what a person reads: "in range", "near zero", "at input level", "below range",
	// "above range", "alive", "quiet", "yes", "no"; in an order that was simulated a value, or the ends of a band of them
	Reading   string
	Low, High float64 // ends of the values that are meant, as predict.Run.Value has them, where Reading gives any
	Healthy   bool
	Share     float64 // of those that come to the step; 0 where that is not known
	Means     string
	Left      []Suspect // at the end of an order that was simulated
	Do        []Act     // what is done there, in the order that costs least
	Next      int       // number of the next step, 0 where the search ends
}

// Act is something that is done at an end, and shows at once whether it helped.
type Act struct {
	Name    string
	Share   float64 // of all that come to this end
	Minutes float64
}

// Suspect is a part that is left at an end, with its faults.
type Suspect struct {
	Part   string
	Share  float64 // of all that come to this end
	Faults []string
	Blown  []string // fuses that it has opened
}

// New begins a checklist for a walk.
func New(w *trace.Walk, x *probe.Bench) *List {
	return &List{Walk: w, Bench: x, Points: Number(w), Cautions: x.General()}
}

// Step describes a probe; what its readings mean and where they lead is for whoever
// fills the list.
func (l *List) Step(p netlist.Probe) Step {
	b := l.Walk.Board
	s := Step{
		Probe: p, Target: probe.At(b, p), Points: l.Points.Of(p), Condition: probe.Condition(b, p),
		Cautions: l.Bench.Cautions(p), Gate: l.Bench.Gates(p), Why: l.Points.Role(p),
	}
	if text := l.Bench.GateWhy(p); text != "" {
		if p.Method == netlist.Across {
			s.Why = ""
		}
		s.AddWhy(text + "; " + probe.ReadFirst)
	}
	s.Place, _ = l.Bench.Place(p)
	s.Meter, s.Leads = l.Bench.Meter(p)
	l.expect(&s)
	return s
}

// AddWhy adds a reason to those that a step has.
func (s *Step) AddWhy(text string) { s.Why = strings.TrimPrefix(s.Why+"; "+text, "; ") }

// expect fills in what a healthy board shows.
func (l *List) expect(s *Step) {
	p := s.Probe
	b := l.Walk.Board
	switch {
	case p.Method == netlist.Look:
		s.Expect = "yes"
	case p.Method == netlist.Across && p.Part != netlist.None && strings.HasPrefix(s.Meter, "diode"):
		s.Expect = "a forward drop one way, far more or open the other way"
	case p.Method == netlist.Across && (p.Part != netlist.None || l.Bench.Contact(p)):
		s.High = l.Bench.Through(p.Part)
		s.Expect = "at most " + probe.LimitText(s.High, netlist.Ohm)
		if p.Part == netlist.None {
			s.Expect += ", steady"
		}
	case p.Method == netlist.Across && l.Bench.Gates(p) && l.Bench.Floor(p) == 0:
		s.Expect = "no short; twin lines alike" // what lies between two lines is a matter of the chips
	case p.Method == netlist.Across && p.State.Unplugged:
		s.Low = l.Bench.Apart(p.Net, p.Other)
		s.Expect = "above " + probe.LimitText(s.Low, netlist.Ohm) + " both ways"
	case p.Method == netlist.Ohms:
		s.Expect = band(s, b.Nets[p.Net].Cold, netlist.Ohm, "no short")
		if d := b.Nets[p.Net].Diode; d.Value != 0 {
			s.Expect += "; or diode mode, red lead on ground: " + bandText(d, netlist.Volt)
		}
	case p.Method == netlist.Diode:
		s.Expect = band(s, b.Nets[p.Net].Diode, netlist.Volt, "no short")
	case p.Cold():
	default:
		l.expectVolts(s)
	}
}

func (l *List) expectVolts(s *Step) {
	b, p := l.Walk.Board, s.Probe
	e, known := b.ExpectIn(p.Net, p.State.Setting)
	s.Expect = "no value in the board file"
	if known {
		s.Expect = e.String()
	}
	if slices.Equal(p.State.Setting, l.Walk.Setting) {
		// What was computed for the state of the walk is told beside it.
		if e, known = l.Walk.Expect(p.Net); known {
			s.Expect = l.Walk.ExpectText(p.Net)
		}
	}
	if known && p.Method == netlist.Volts {
		s.Low, s.High = e.Low(), e.High()
	}
}

func bandText(x netlist.Band, unit netlist.Unit) string {
	text := netlist.FormatValue(x.Value, unit)
	if x.Tol != 0 {
		text += " ±" + netlist.FormatValue(x.Tol, netlist.Percent)
	}
	return text
}

func band(s *Step, x netlist.Band, unit netlist.Unit, other string) string {
	if x.Value == 0 {
		return other
	}
	s.Low, s.High = x.Low(), x.High()
	return bandText(x, unit)
}
