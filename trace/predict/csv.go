package predict

import (
	"io"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist/say"
)

// csvNumber prints a number the way JSON does; empty when there is none.
func csvNumber(v float64) string {
	x := number(v)
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'g', -1, 64)
}

func yesNo(v bool) string {
	if v {
		return "yes"
	}
	return "no"
}

// csvReading is the value, both ends of the band, the unit and what is shown.
func csvReading(r Reading) []string {
	unit := "V"
	if r.Method == Ohms || r.Method == Across {
		unit = "ohm"
	}
	if !r.Number() {
		return []string{"", "", "", "", r.String()}
	}
	return []string{csvNumber(r.Value), csvNumber(r.Low), csvNumber(r.High), unit, r.String()}
}

// WriteCSV prints reports of one board as a table, a row a reading. The last
// column reports whether it differs from the healthy board in the same state; it
// is empty where that board is not among the reports.
func WriteCSV(out io.Writer, list []*Report, pick *Pick) error {
	rows := [][]string{{"board", "state", "panel", "faults", "item", "name", "points", "method", "value", "low", "high", "unit", "shows",
		"differs"}}
	for _, r := range list {
		rows = append(rows, r.csv(list, pick)...)
	}
	return say.CSV(out, rows)
}

func (r *Report) csv(list []*Report, pick *Pick) [][]string {
	b := r.Board
	var healthy *Report
	if i := slices.IndexFunc(list, func(o *Report) bool { return len(o.Names) == 0 && stateKey(o.State) == stateKey(r.State) }); i >= 0 {
		healthy = list[i]
	}
	var rows [][]string
	add := func(item, name, points string, x Reading, was func(*Report) Reading) {
		differs := ""
		if healthy != nil {
			differs = yesNo(!was(healthy).Alike(x))
		}
		row := []string{b.Name, b.SettingText(r.State.Setting), plugWord(r.State.Unplugged), strings.Join(r.Names, " "), item, name, points,
			x.Method.String()}
		rows = append(rows, append(append(row, csvReading(x)...), differs))
	}
	for i := range r.Nets {
		x := &r.Nets[i]
		if pick != nil && !pick.net(b, x.Net) {
			continue
		}
		points := strings.Join(partNames(b, slices.Collect(b.Points(x.Net))), " ")
		for _, get := range []func(*NetReadings) Reading{
			func(x *NetReadings) Reading { return x.Volts }, func(x *NetReadings) Reading { return x.Activity },
			func(x *NetReadings) Reading { return x.Ohms }, func(x *NetReadings) Reading { return x.Diode },
		} {
			add("net", b.Nets[x.Net].Name, points, get(x), func(o *Report) Reading { return get(&o.Nets[i]) })
		}
	}
	for i, x := range r.Parts {
		if pick == nil || pick.part(b, x.Part) {
			add("part", x.Name, "", x.Across, func(o *Report) Reading { return o.Parts[i].Across })
		}
	}
	for i, x := range r.Facts {
		item := "fact"
		if x.Lane {
			item = "lane"
		}
		add(item, x.Name, "", x.Shows, func(o *Report) Reading { return o.Facts[i].Shows })
	}
	for i, x := range r.Regimes {
		word := func(text string) Reading { return Reading{Method: Look, Word: text} }
		add("source", b.Parts[x.Part].Name, "", word(x.Text), func(o *Report) Reading { return word(o.Regimes[i].Text) })
	}
	return rows
}

// WriteCSV prints a dictionary as a table, a row a sign; a fault that no probe
// sees has one row.
func (d *Dictionary) WriteCSV(out io.Writer, m *Simulator) error {
	b, s, of := m.Board, m.Signatures(d), d.groupOf()
	rows := [][]string{{"fault", "weight", "group", "detected", "method", "at", "state", "panel", "healthy", "shows"}}
	for i, name := range d.Names {
		lead := []string{name, csvNumber(d.Weight[i]), strconv.Itoa(of[i]), yesNo(d.Groups[of[i]].Detected)}
		if len(s.Faults[i]) == 0 {
			rows = append(rows, append(lead, "", "", "", "", "", ""))
		}
		for _, x := range s.Faults[i] {
			p := d.Probes[x.Probe]
			state := "all power out"
			if !p.Cold() {
				state = b.SettingText(p.State.Setting)
			}
			rows = append(rows, append(slices.Clone(lead), p.Method.String(), m.At(p), state, plugWord(p.State.Unplugged),
				s.Healthy[x.Probe].String(), x.Shows.String()))
		}
	}
	return say.CSV(out, rows)
}

// WriteCSV prints a power-up order as a table, a row a stage.
func (c *Climb) WriteCSV(out io.Writer) error {
	rows := [][]string{{"stage", "words", "targets", "status", "missing"}}
	for i, st := range c.Board.Stages {
		rows = append(rows, []string{strconv.Itoa(st.Number), st.Words, strings.Join(c.targets(i), " "), c.status(i), c.missing(i)})
	}
	return say.CSV(out, rows)
}
