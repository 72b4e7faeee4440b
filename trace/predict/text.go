package predict

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/probe"
)

// Sheet is what a person takes to the bench: what probes show on the healthy
// board, and beside it what they show when something has failed.
type Sheet struct {
	Healthy *Report
	Faulty  *Report // nil when nothing has failed
	Pick    *Pick   // nil for all that a probe can reach
	Changes bool    // leave out what does not differ
	Color   bool    // mark what differs by colour too
}

// Sheet simulates the healthy board and, when there are any, faults.
func (p *Predictor) Sheet(st State, faults ...Fault) (*Sheet, error) {
	healthy, err := p.Report(st)
	if err != nil || len(faults) == 0 {
		return &Sheet{Healthy: healthy}, err
	}
	faulty, err := p.Report(st, faults...)
	return &Sheet{Healthy: healthy, Faulty: faulty}, err
}

// Pick is a choice of nets and parts.
type Pick struct {
	Nets  []netlist.NetID
	Parts []netlist.PartID
}

// NewPick chooses by names of test points, nets and parts; a part brings its nets
// along. The error names the nearest right name.
func NewPick(b *netlist.Board, names []string) (*Pick, error) {
	p := &Pick{}
	for _, name := range names {
		_, exact := b.Part(name)
		if n, net := b.FindNet(name); net && !exact {
			p.Nets = append(p.Nets, n)
			continue
		}
		id, ok := b.FindPart(name)
		if !ok {
			return nil, mistake.Unknown("test point, net or part", name, slices.Concat(b.PartNames(), b.NetNames()))
		}
		p.Parts = append(p.Parts, id)
		for _, c := range b.Parts[id].Conns {
			if !b.Nets[c.Net].Ground {
				p.Nets = append(p.Nets, c.Net)
			}
		}
	}
	return p, nil
}

func (p *Pick) net(b *netlist.Board, n netlist.NetID) bool {
	if p == nil {
		return Reachable(b, n)
	}
	return slices.Contains(p.Nets, n)
}

// part leaves out what sits inside the panel unless it was asked for.
func (p *Pick) part(b *netlist.Board, id netlist.PartID) bool {
	if p != nil {
		return slices.Contains(p.Parts, id)
	}
	side, _ := b.Parts[id].Attr("side")
	return !b.Parts[id].Kind.InPanel && side.Text != "panel"
}

// cell is a field of a table; what differs is marked by a sign and by colour.
type cell struct {
	text    string
	differs bool
}

const (
	mark    = " <<"
	markOn  = "\x1b[1;31m"
	markOff = "\x1b[0m"
)

func marked(text string, color bool) string {
	if color {
		return markOn + text + mark + markOff
	}
	return text + mark
}

// places are the columns of a table that has places first and then readings, two
// of a sort.
func places(head int) *say.Table {
	return &say.Table{Head: head, Words: []int{1}, Groups: []int{2, 4}}
}

// writeTable prints a table with these rows.
func writeTable(o *say.Writer, t *say.Table, rows [][]cell, color bool) {
	t.Indent = "  "
	for _, r := range rows {
		row := make([]say.Cell, len(r))
		for i, c := range r {
			row[i] = say.Cell{Text: c.text}
			if c.differs {
				row[i].Text += mark
			}
			if c.differs && color {
				row[i].On, row[i].Off = markOn, markOff
			}
		}
		t.Rows = append(t.Rows, row)
	}
	o.Table(t)
}

// WriteText prints a sheet.
func (s *Sheet) WriteText(out io.Writer) error {
	o := say.NewWriter(out)
	r := s.Healthy
	b := r.Board
	b.WriteHead(o)
	o.Beside("state     ", r.State.Text(b))
	if s.Faulty != nil {
		s.writeFaults(o)
	}
	cold := probe.PowerOut + ", " + r.State.PanelText()
	fmt.Fprintln(o)
	o.Beside("  ! ", "volts, activity: power on, in this state; meter of 10 MΩ, black lead on ground")
	o.Beside("  ! ", "ohms, diode mode: "+cold+"; diode mode: red lead on ground, black on the point")
	fmt.Fprintln(o)
	if s.Faulty == nil {
		s.writePoints(o)
	} else {
		s.writeBeside(o, beside{"Power on", "DC volts", "activity", func(x *NetReadings) (Reading, Reading) { return x.Volts, x.Activity },
			voltsCell})
		fmt.Fprintln(o)
		s.writeBeside(o, beside{"Power out", "to ground", "diode mode", func(x *NetReadings) (Reading, Reading) { return x.Ohms, x.Diode },
			Reading.String})
	}
	s.writeParts(o)
	s.writeFacts(o)
	s.writeRegimes(o)
	fmt.Fprintln(o)
	o.Beside("", "In brackets: from lowest to highest over the tolerances. floating: nothing holds the point, what the meter shows is a "+
		"leak. OL: more than the meter shows.")
	return o.Flush()
}

// writeFaults says what has failed and what that led to.
func (s *Sheet) writeFaults(o *say.Writer) {
	r := s.Faulty
	b := r.Board
	names := strings.Join(r.Names, ", ")
	cause := "the cause is " + names
	if len(r.Names) > 1 {
		cause = "the cause is among " + names
	}
	line := func(word, text string) { o.Beside(fmt.Sprintf("%-10s", word), text) }
	line("fault", names)
	for _, x := range r.Blown {
		name := b.Parts[x.Part].Name
		line("blown", fmt.Sprintf("%s opens: %s through %s; %s; do not replace %s before that is gone",
			name, netlist.FormatValue(x.Amps, netlist.Ampere), netlist.FormatValue(x.Over, netlist.Ampere), cause, name))
	}
	if len(r.Unsteady) > 0 {
		var ranges []string
		for i := range r.Nets {
			if x := &r.Nets[i]; x.Volts.Word == Unsteady && s.Pick.net(b, x.Net) {
				ranges = append(ranges, b.Nets[x.Net].Name+" "+x.Volts.Band())
			}
		}
		text := "never comes to rest, starts and stops for ever: " + strings.Join(partNames(b, r.Unsteady), ", ")
		if len(ranges) > 0 {
			text += "; moves between: " + strings.Join(ranges, ", ")
		}
		line("unsteady", text)
	}
	for _, id := range r.Lifted {
		line("lifted", fmt.Sprintf("%s no longer touches %s: a probe on it shows nothing, whatever the net does", b.Parts[id].Name,
			b.Nets[b.Parts[id].Conns[0].Net].Name))
	}
	points, differ := 0, 0
	for i := range r.Nets {
		if s.Pick.net(b, r.Nets[i].Net) {
			points++
			if s.differs(i) {
				differ++
			}
		}
	}
	if differ == 0 {
		line("differs", fmt.Sprintf("none of %d points beyond the tolerances", points))
		return
	}
	line("differs", fmt.Sprintf("%d of %d points, marked <<", differ, points))
}

func partNames(b *netlist.Board, ids []netlist.PartID) []string {
	list := make([]string, len(ids))
	for i, id := range ids {
		list[i] = b.Parts[id].Name
	}
	return list
}

// differs reports whether a net shows something else than on the healthy board.
func (s *Sheet) differs(i int) bool {
	a, b := &s.Healthy.Nets[i], &s.Faulty.Nets[i]
	return !a.Volts.Alike(b.Volts) || !a.Activity.Alike(b.Activity) || !a.Ohms.Alike(b.Ohms) || !a.Diode.Alike(b.Diode)
}

// pointsText names the test points of a net; those that came off are said to.
func pointsText(r *Report, n netlist.NetID) string {
	var words []string
	for id := range r.Board.Points(n) {
		text := r.Board.PointText(id)
		if slices.Contains(r.Lifted, id) {
			text += " LIFTED"
		}
		words = append(words, text)
	}
	if len(words) == 0 && !Reachable(r.Board, n) {
		return "inside the panel or cable"
	}
	return strings.Join(words, ", ")
}

// voltsCell prints a reading, volts with the band.
func voltsCell(x Reading) string {
	switch {
	case x.Method != Volts:
		return x.String()
	case x.Word == Floating:
		if math.Abs(x.Value) >= noiseVolts {
			return Floating + ", " + VoltText(x.Value)
		}
		return Floating
	case x.Word == Unsteady:
		return x.String()
	case math.Abs(x.Value) < noiseVolts/2 && x.High <= noiseVolts && x.Low >= -noiseVolts:
		return "0 V"
	}
	return fmt.Sprintf("%s (%s to %s)", VoltText(x.Value), short(x.Low), short(x.High))
}

// writePoints prints the table of the healthy board: a row a net.
func (s *Sheet) writePoints(o *say.Writer) {
	r := s.Healthy
	rows := [][]cell{
		{{text: ""}, {text: ""}, {text: "power on"}, {text: "power on"}, {text: "power OUT"}, {text: "power OUT"}},
		{{text: "net"}, {text: "test point"}, {text: "DC volts"}, {text: "activity"}, {text: "to ground"}, {text: "diode mode"}},
	}
	for i := range r.Nets {
		if x := &r.Nets[i]; s.Pick.net(r.Board, x.Net) {
			rows = append(rows, []cell{
				{text: r.Board.Nets[x.Net].Name}, {text: pointsText(r, x.Net)},
				{text: voltsCell(x.Volts)}, {text: x.Activity.String()}, {text: x.Ohms.String()}, {text: x.Diode.String()},
			})
		}
	}
	writeTable(o, places(2), rows, s.Color)
}

// beside is a pair of methods that want the board in one condition.
type beside struct {
	title         string
	first, second string
	get           func(*NetReadings) (Reading, Reading)
	text          func(Reading) string
}

// writeBeside prints two methods, each healthy and faulty side by side.
func (s *Sheet) writeBeside(o *say.Writer, t beside) {
	b := s.Faulty.Board
	rows := [][]cell{{{text: "net"}, {text: "point"}, {text: t.first}, {text: "now"}, {text: t.second}, {text: "now"}}}
	for i := range s.Faulty.Nets {
		a1, a2 := t.get(&s.Healthy.Nets[i])
		b1, b2 := t.get(&s.Faulty.Nets[i])
		n := s.Faulty.Nets[i].Net
		if d1, d2 := !a1.Alike(b1), !a2.Alike(b2); s.Pick.net(b, n) && (!s.Changes || d1 || d2) {
			rows = append(rows, []cell{{text: b.Nets[n].Name}, {text: s.place(n)}, {text: t.text(a1)}, {t.text(b1), d1}, {text: t.text(a2)},
				{t.text(b2), d2}})
		}
	}
	fmt.Fprintln(o, t.title)
	if len(rows) == 1 {
		fmt.Fprintln(o, "  nothing differs beyond the tolerances")
	} else {
		writeTable(o, places(1), rows, s.Color)
	}
}

// place names the test points of a net with their sides.
func (s *Sheet) place(n netlist.NetID) string {
	b := s.Faulty.Board
	var words []string
	for id := range b.Points(n) {
		side, _ := b.Parts[id].Attr("side")
		text := strings.TrimSpace(b.Parts[id].Name + " " + side.Text)
		if slices.Contains(s.Faulty.Lifted, id) {
			text += " LIFTED"
		}
		words = append(words, text)
	}
	return strings.Join(words, ", ")
}

// writeParts prints ohms from end to end: what differs first, then parts, then
// contacts and conductors, of which only the highest is told.
func (s *Sheet) writeParts(o *say.Writer) {
	b := s.Healthy.Board
	rows := [][]cell{{{text: "part"}, {text: "across"}, {text: "now"}}}
	var items, pins []string
	most, count := map[netlist.PartID]float64{}, map[netlist.PartID]int{}
	var order []netlist.PartID
	for i, x := range s.Healthy.Parts {
		if !s.Pick.part(b, x.Part) {
			continue
		}
		if s.Faulty != nil && !x.Across.Alike(s.Faulty.Parts[i].Across) {
			rows = append(rows, []cell{{text: x.Name}, {text: x.Across.String()}, {s.Faulty.Parts[i].Across.String(), true}})
			continue
		}
		if b.Parts[x.Part].Kind.Form != netlist.RowsForm {
			items = append(items, x.Name+"  "+x.Across.String())
			continue
		}
		if count[x.Part] == 0 {
			order = append(order, x.Part)
		}
		count[x.Part]++
		most[x.Part] = max(most[x.Part], x.Across.High)
	}
	for _, id := range order {
		text := fmt.Sprintf("%s  %d pins, each under %s", b.Parts[id].Name, count[id], netlist.FormatValue(most[id], netlist.Ohm))
		if math.IsInf(most[id], 0) {
			text = fmt.Sprintf("%s  %d pins, unplugged: OL", b.Parts[id].Name, count[id])
		}
		pins = append(pins, text)
	}
	if s.Changes {
		items, pins = nil, nil
	}
	if len(rows) > 1 || len(items)+len(pins) > 0 {
		fmt.Fprintln(o)
		o.Hang("", "  ", "Power out: ohms from end to end of a part, in the board")
	}
	if len(rows) > 1 {
		writeTable(o, &say.Table{Head: 1}, rows, s.Color)
	}
	o.Grid("  ", items)
	o.Grid("  ", pins)
}

// changes prints what was and, when it is something else, what it is now.
func (s *Sheet) changes(name, was, now string) (text string, differs bool) {
	if s.Faulty == nil || was == now {
		return name + " " + was, false
	}
	return marked(name+" "+was+" -> "+now, s.Color), true
}

func (s *Sheet) writeFacts(o *say.Writer) {
	if s.Pick != nil {
		return
	}
	var lists [2][]string
	for i, x := range s.Healthy.Facts {
		now := x.Shows.Word
		if s.Faulty != nil {
			now = s.Faulty.Facts[i].Shows.Word
		}
		k := 1
		if x.Lane {
			k = 0
		}
		if text, differs := s.changes(x.Name, x.Shows.Word, now); differs || !s.Changes {
			lists[k] = append(lists[k], text)
		}
	}
	for k, title := range []string{"Lanes, at the panel", "Seen without a meter"} {
		writeList(o, title, lists[k])
	}
}

func (s *Sheet) writeRegimes(o *say.Writer) {
	var list []string
	for i, x := range s.Healthy.Regimes {
		if s.Pick != nil && !slices.Contains(s.Pick.Parts, x.Part) {
			continue
		}
		now := x.Text
		if s.Faulty != nil {
			now = s.Faulty.Regimes[i].Text
		}
		if text, differs := s.changes(s.Healthy.Board.Parts[x.Part].Name, x.Text, now); differs || !s.Changes {
			list = append(list, text)
		}
	}
	writeList(o, "Sources and converters, power on", list)
}

func writeList(o *say.Writer, title string, items []string) {
	if len(items) > 0 {
		fmt.Fprintf(o, "\n%s\n", title)
		o.Beside("  ", strings.Join(items, ", "))
	}
}
