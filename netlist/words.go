package netlist

// Expect, states and test points in the words that every text and every JSON has
// for them.

// String prints what a net reads: "31.5 V ±5 %, swing 32 V at 600 kHz".
func (e Expect) String() string {
	text := FormatValue(e.Value, Volt)
	if e.Tol != 0 {
		text += " ±" + FormatValue(e.Tol, Percent)
	}
	if e.Swing != 0 {
		text += ", swing " + FormatValue(e.Swing, Volt)
	}
	if e.Rate != 0 {
		text += " at " + FormatValue(e.Rate, Hertz)
	}
	return text
}

// SettingMap returns a setting by the names of its states and values.
func (b *Board) SettingMap(s Setting) map[string]string {
	m := make(map[string]string, len(s))
	for i, v := range s {
		m[b.States[i].Name] = b.States[i].Values[v]
	}
	return m
}

// TestPoint is where a probe lands, by the names of the board file.
type TestPoint struct {
	Name string `json:"name"`
	Side string `json:"side,omitempty"`
	At   string `json:"at,omitempty"`
}

// TestPoint returns a part as a place for a probe.
func (b *Board) TestPoint(id PartID) TestPoint {
	p := &b.Parts[id]
	side, _ := p.Attr("side")
	at, _ := p.Attr("at")
	return TestPoint{p.Name, side.Text, at.Text}
}

// String prints a test point with its side and place: "TP4 top (by L2)".
func (p TestPoint) String() string {
	text := p.Name
	if p.Side != "" {
		text += " " + p.Side
	}
	if p.At != "" {
		text += " (" + p.At + ")"
	}
	return text
}

// PointText prints a part as a place for a probe.
func (b *Board) PointText(id PartID) string { return b.TestPoint(id).String() }
