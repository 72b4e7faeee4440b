package netlist

import "slices"

// Method is how a probe is made.
type Method uint8

// The methods.
const (
	Volts    Method = iota // DC, a net against ground, meter of 10 MΩ
	Activity               // how far a net moves
	Ohms                   // a net to ground, all power out
	Diode                  // red lead on ground, black lead on the net, all power out
	Across                 // from end to end of a part, or between two nets, all power out
	Look                   // no meter: see, or ask the operating system
)

var methodNames = [...]string{"DC volts", "activity", "ohms to ground", "diode mode", "ohms across", "look"}

// String returns the words for the method.
func (m Method) String() string { return methodNames[m] }

// Cold reports whether all power must be out.
func (m Method) Cold() bool { return m == Ohms || m == Diode || m == Across }

// Condition is how the board is while something is read on it.
type Condition struct {
	Setting   Setting
	Unplugged bool // the panel is not plugged in
}

// PanelText says whether the panel is plugged.
func (c Condition) PanelText() string {
	if c.Unplugged {
		return "panel unplugged"
	}
	return "panel plugged"
}

// Text prints a condition of a board: "power=run lid=open, panel plugged".
func (c Condition) Text(b *Board) string {
	if len(c.Setting) == 0 {
		return c.PanelText()
	}
	return b.SettingText(c.Setting) + ", " + c.PanelText()
}

// Probe is one measurement in one state of the board.
type Probe struct {
	Method  Method
	Net     NetID  // of volts, activity, ohms and diode mode, or None
	Other   NetID  // of ohms across two nets, from Net; or None
	Part    PartID // of ohms across a part, or None
	Channel int    // of Part, an index of Channels
	Fact    int    // of looking, or None
	// State is where the probe is made; with all power out only Unplugged counts.
	State Condition
}

// Cold reports whether all power must be out.
func (p Probe) Cold() bool { return p.Method.Cold() }

// Same reports whether two probes are one; between two nets either may stand first.
func (p Probe) Same(o Probe) bool {
	if p.Method != o.Method || p.Part != o.Part || p.Channel != o.Channel || p.Fact != o.Fact || p.State.Unplugged != o.State.Unplugged {
		return false
	}
	if (p.Net != o.Net || p.Other != o.Other) && (p.Net != o.Other || p.Other != o.Net) {
		return false
	}
	return p.Cold() || slices.Equal(p.State.Setting, o.State.Setting)
}

// ColdProbe is a probe of a net, or between two, with all power out and the panel
// unplugged.
func ColdProbe(m Method, n, other NetID) Probe {
	return Probe{Method: m, Net: n, Other: other, Part: None, Fact: None, State: Condition{Unplugged: true}}
}
