package panel

import (
	"fmt"
	"math"
	"slices"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/panel/link"
)

// Fitted is a board with a panel on it.
type Fitted struct {
	// Board leaves quiet what the panel does not use. It is the board that was given
	// when the file tells nothing of its panel, when the panel does not fit, or when
	// what it asks for is in doubt.
	Board *netlist.Board
	Asked Asked
	Need  link.Need
	Fit   link.Fit
}

// Fit lays a panel on a board. A spec that tells nothing changes nothing.
func Fit(b *netlist.Board, s Spec, read func(name string) ([]byte, error)) (Fitted, error) {
	f := Fitted{Board: b}
	if !s.Told() {
		return f, nil
	}
	asked, err := s.Read(read)
	if err != nil {
		return f, err
	}
	f.Asked = asked
	if f.Need, f.Fit, err = asked.On(b); err != nil {
		return f, err
	}
	if f.Fit.OK() {
		p := netlist.Panel{Words: f.Need.String(), Idle: f.Fit.Idle, Rates: map[int]float64{}, Shown: s.Shown}
		for _, i := range f.Fit.Alive {
			// The rates of the board file are those of its own panel, not of another.
			if rate := f.laneRate(&b.Lanes[i]); rate != 0 || s.Shown {
				p.Rates[i] = rate
			}
		}
		f.Board = b.With(p)
	}
	return f, nil
}

// On computes what a panel asks for when it is on a board. A link that the panel
// does not tell is the board's, and where what it asks for is in doubt no lane is
// right to be quiet.
func (a Asked) On(b *netlist.Board) (link.Need, link.Fit, error) {
	need, fit, err := a.onLink(b)
	if a.Doubt != "" {
		fit.Unsure = append(slices.Clone(fit.Unsure), fit.Idle...)
		fit.Alive = append(slices.Clone(fit.Alive), fit.Idle...)
		slices.Sort(fit.Unsure)
		slices.Sort(fit.Alive)
		fit.Idle = nil
	}
	return need, fit, err
}

func (a Asked) onLink(b *netlist.Board) (link.Need, link.Fit, error) {
	need, err := link.Needs(a.Ask)
	if err != nil {
		return need, link.Fit{}, err
	}
	fit := need.On(b)
	if a.Kind != link.Unknown || fit.Kind == link.Unknown {
		return need, fit, nil
	}
	notes := fit.Notes
	a.Kind = fit.Kind
	if need, err = link.Needs(a.Ask); err != nil {
		return need, fit, err
	}
	fit = need.On(b)
	for _, n := range notes {
		if !slices.Contains(fit.Notes, n) {
			fit.Notes = append(fit.Notes, n)
		}
	}
	return need, fit, nil
}

// offClock is how far a declared clock may be from the panel's before that is said.
const offClock = 0.02

// Check compares a board file with the panel that it names.
func Check(b *netlist.Board, read func(name string) ([]byte, error)) []mistake.Mistake {
	part, ok := Part(b)
	if !ok {
		return nil
	}
	var list []mistake.Mistake
	add := func(at netlist.Span, msg, want string) {
		list = append(list, b.File().Problem(at, mistake.Warning, "panel", msg, want, ""))
	}
	s, err := Of(b)
	var f Fitted
	if err == nil {
		f, err = Fit(b, s, read)
	}
	if err != nil {
		add(part.Span, err.Error(), "what the panel asks for, so that walks know which lanes must be alive")
		return list
	}
	if s.EDID != "" && s.Mode != "" {
		add(part.Span, fmt.Sprintf("edid= and mode= both say what the panel asks for; the mode %s is taken", s.Mode), "one of them")
	}
	for i := range b.Parts {
		if p := &b.Parts[i]; p != part && tells(p) {
			add(p.Span, fmt.Sprintf("%s says what panel is fitted, and %s does too; that of %s is taken", p.Name, part.Name, part.Name), "one panel")
		}
	}
	if f.Asked.Doubt != "" {
		add(part.Span, f.Asked.Doubt, "sound identity data; until then every lane is taken to be needed")
		return list
	}
	for _, text := range f.Fit.Problems {
		add(part.Span, text, "")
	}
	for _, i := range f.Fit.Alive {
		l := &b.Lanes[i]
		want := f.laneRate(l)
		for _, n := range l.Nets {
			for _, e := range b.Nets[n].Expect {
				if want == 0 || e.Rate == 0 || math.Abs(e.Rate-want) <= offClock*want {
					continue
				}
				net := &b.Nets[n]
				add(l.Span, fmt.Sprintf("%s of the lane %s is said to run at %s, and with this panel it runs at %s", net.Name, l.Name,
					netlist.FormatValue(e.Rate, netlist.Hertz), netlist.FormatValue(want, netlist.Hertz)), "the pixel clock of a channel, in Hz")
				break
			}
		}
	}
	return list
}

// laneRate is what a lane should run at, in Hz: the clock of an LVDS channel, half
// the bit rate of an eDP lane; 0 when that is not settled.
func (f Fitted) laneRate(l *netlist.Lane) float64 {
	switch {
	case f.Fit.Kind == link.LVDS && l.Clock && f.Need.LVDS.ChannelsFrom != link.Assumed:
		return f.Need.LVDS.Clock
	case f.Fit.Kind == link.EDP && f.Need.EDP.RateFrom == link.Given:
		return f.Need.EDP.Rate / 2
	}
	return 0
}
