package predict

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// ErrUnsolved means that the values of a board file lead to numbers that are not
// finite.
var ErrUnsolved = errors.New("the values of the board file cannot be solved")

// ContradictionError names sources that fight on the healthy board.
type ContradictionError struct {
	Amps  float64 // that would flow
	Parts []string
	Limit bool // the current stops at a limit
	Fuse  bool // Parts is a fuse that it opens
	Over  float64
}

// Error names the parts between which the current flows.
func (e *ContradictionError) Error() string {
	flow := netlist.FormatValue(e.Amps, netlist.Ampere)
	if e.Fuse {
		return fmt.Sprintf("on a healthy board %s would flow through %s, rated %s, and open it: give the fuse or the loads behind it another "+
			"value", flow, e.Parts[0], netlist.FormatValue(e.Over, netlist.Ampere))
	}
	if e.Limit {
		flow = "the limit of " + flow
	}
	return fmt.Sprintf("on a healthy board %s would flow through %s: give them resistances, a diode or a switch between, or levels that agree",
		flow, strings.Join(e.Parts, ", "))
}

// backfeed is the current into a supply, in A, above which the levels of a board
// file are taken to contradict each other.
const backfeed = 1.0

// Contradiction reports whether sources fight on the healthy board in a state: one
// at its current limit, or one that another feeds. The error is a
// *ContradictionError or ErrUnsolved.
func (m *Simulator) Contradiction(st State) error {
	s := m.base(st)
	if s.failed {
		return ErrUnsolved
	}
	for _, i := range m.sources {
		d, ok := m.devices[i].(*source)
		if !ok || len(s.unsteady) > 0 {
			continue
		}
		amps, limit := 0.0, false
		switch s.dev[i].mode {
		case holding:
			if amps = -s.Leaving(d.out); amps < backfeed {
				continue
			}
		case limiting:
			amps, limit = d.limit, true
		default:
			continue
		}
		return &ContradictionError{Amps: amps, Parts: m.along(s, d.out, amps/2), Limit: limit}
	}
	if len(s.blown) > 0 {
		f := s.blown[0]
		return &ContradictionError{Amps: f.Amps, Parts: []string{m.Board.Parts[f.Part].Name}, Fuse: true, Over: f.Over}
	}
	return nil
}

// Simulates reports whether a board can be simulated in a state: every source has a
// level, and none fight. The error is a *ContradictionError, or says what is
// missing.
func (m *Simulator) Simulates(st State) error {
	if len(m.Unknown) > 0 {
		return fmt.Errorf("nothing tells what %s gives", m.Board.Parts[m.Unknown[0]].Name)
	}
	return m.Contradiction(st)
}

// along names the parts that carry at least some current, from a node on.
func (m *Model) along(s *sim, from int32, least float64) []string {
	var names []string
	seen, queue := map[int32]bool{from: true}, []int32{from}
	add := func(id netlist.PartID) {
		if name := m.Board.Parts[id].Name; len(names) == 0 || names[len(names)-1] != name {
			names = append(names, name)
		}
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		if h := m.holder[n]; h >= 0 {
			add(m.sights[h].part)
		}
		if n == 0 {
			continue
		}
		for _, b := range s.At(n) {
			if math.Abs(s.Current(b)) < least || !m.isUnit(b) {
				continue
			}
			o := s.Other(b, n)
			if !seen[o] {
				seen[o] = true
				add(m.owner[b])
				queue = append(queue, o)
			}
		}
	}
	return names
}

// mostStates bounds the settings that Check simulates.
const mostStates = 256

// Check compares what a board file declares with what the simulation gives, in
// every state, and says what keeps the board from being simulated.
func Check(b *netlist.Board) []mistake.Mistake {
	p := NewPredictor(b)
	f := b.File()
	var list []mistake.Mistake
	warn := func(s netlist.Span, code, msg, want string) {
		list = append(list, f.Problem(s, mistake.Warning, code, msg, want, ""))
	}
	for _, id := range p.Unknown {
		part := &b.Parts[id]
		if e := b.Nets[part.Net("out")].Expect; len(e) > 0 && e[0].Value < 0 {
			warn(part.Span, "no-level", fmt.Sprintf("%s gives a level below ground, which is not simulated", part.Name), "a level above ground")
			continue
		}
		warn(part.Span, "no-level", fmt.Sprintf("nothing tells what %s gives, so nothing behind it can be computed", part.Name),
			"a net line for its output, or gives=12V")
	}
	if len(p.Unknown) > 0 {
		return list
	}
	for _, x := range p.cal.mistakes {
		n := &b.Nets[x.net]
		if x.diode {
			warn(n.Span, "cold-differs", fmt.Sprintf("in diode mode %s cannot read %s: the parts in this file alone keep it at %s", n.Name,
				VoltText(x.declared), VoltText(x.computed)), "")
		} else {
			warn(n.Span, "cold-differs", fmt.Sprintf("%s cannot have %s to ground: the parts in this file alone make %s", n.Name,
				netlist.FormatValue(x.declared, netlist.Ohm), netlist.FormatValue(x.computed, netlist.Ohm)), "")
		}
	}
	told := make([]bool, len(b.Nets))
	count := 0
	for st := range States(b) {
		if count++; count > mostStates {
			break
		}
		var c *ContradictionError
		if err := p.Contradiction(st); errors.As(err, &c) {
			id, _ := b.Part(c.Parts[0])
			warn(b.Parts[id].Span, "contradiction", c.Error(), "")
			return list
		} else if err != nil {
			return append(list, mistake.Mistake{File: f.Name, Severity: mistake.Warning, Code: "unsolved", Msg: err.Error()})
		}
		if parts := p.Run(st, Hypothesis{}).Unsteady(); len(parts) > 0 {
			names := make([]string, len(parts))
			for i, id := range parts {
				names[i] = b.Parts[id].Name
			}
			warn(b.Parts[parts[0]].Span, "unsteady", fmt.Sprintf("the healthy board never comes to rest%s: these keep switching: %s", p.while(st),
				strings.Join(names, ", ")), "")
			return list
		}
		p.compare(st, told, warn)
	}
	return list
}

// while tells a state in a message; empty when the board has no states.
func (p *Predictor) while(st State) string {
	if len(st.Setting) == 0 {
		return ""
	}
	return " while " + p.Board.SettingText(st.Setting)
}

// compare warns of declared values that lie beyond their tolerance and outside
// the computed band.
func (p *Predictor) compare(st State, told []bool, warn func(s netlist.Span, code, msg, want string)) {
	b := p.Board
	mid, low, high := p.Run(st, Hypothesis{}), p.low.Run(st, Hypothesis{}), p.high.Run(st, Hypothesis{})
	for i := range b.Nets {
		id, n := netlist.NetID(i), &b.Nets[i]
		e, ok := b.ExpectIn(id, st.Setting)
		if !ok || !n.Declared || n.Ground || told[i] {
			continue
		}
		x := mid.volts(id)
		x.spread(low.Volts(id), high.Volts(id))
		// A floating net drifts to wherever leaks take it, and that is near zero on
		// many a good board.
		if x.Low <= e.High() && e.Low() <= x.High || x.Word == Floating && e.Value < netlist.LowBelow {
			continue
		}
		told[i] = true
		warn(n.Span, "value-differs", fmt.Sprintf("%s is declared to read %s%s, computed is %s", n.Name, VoltText(e.Value), p.while(st), x),
			"a value that agrees, or parts and rules that lead to it")
	}
}
