package trace

import (
	"fmt"
	"io"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

// WriteText prints a walk for people: a line a step, branches indented, the
// loads under the net they hang on, and a summary.
func WriteText(out io.Writer, w *Walk) error {
	o := say.NewWriter(out)
	b := w.Board
	b.WriteHead(o)
	if len(w.Setting) > 0 {
		o.Beside("state     ", b.SettingText(w.Setting))
	}
	o.Beside("symptom   ", w.Observed(w.Symptoms))
	if len(w.Given) > 0 {
		o.Beside("given     ", w.Observed(w.Given))
	}
	if len(w.History) > 0 {
		o.Beside("history   ", strings.Join(netlist.HistoryTexts(w.History), "; "))
	}
	fmt.Fprintln(o)
	if text := w.NotValid(); text != "" {
		o.Beside("", text)
		fmt.Fprintln(o)
	}
	for _, text := range w.AgainstText() {
		o.Wrap("", text)
		fmt.Fprintln(o)
	}
	w.writeSteps(o)
	fmt.Fprintln(o)
	o.Hang("* ", "  ", "single point of failure: if it alone is open or does not work, the symptom is there")
	w.writeSummary(o)
	return o.Flush()
}

// Observed prints observations: "VBL=0V EDID=read".
func (w *Walk) Observed(list []netlist.Observation) string {
	words := make([]string, len(list))
	for i, s := range list {
		words[i] = w.Board.ObservationText(s)
	}
	return strings.Join(words, " ")
}

// NotValid says that a healthy board does not have the symptoms' points in this
// state, or at all; empty when it has.
func (w *Walk) NotValid() string {
	names := strings.Join(w.unreachable(), ", ")
	absent := ""
	if len(w.absent) > 0 {
		absent = fmt.Sprintf(notValid, strings.Join(w.absent, ", "), w.stateList(w.absentIn))
	}
	switch {
	case names == "":
		return absent
	case len(w.Held) > 0:
		return strings.TrimSpace(fmt.Sprintf(notValid, names, w.heldText()) + " " + absent)
	}
	return fmt.Sprintf("The board file gives %s no way to be right; walkback check tells what is missing.", names)
}

const notValid = "Not valid in this state: on a healthy board %s is not there while %s."

// NotValid says, a sentence for each state of the board, of which readings with power
// on a healthy board shows nothing in the state in which they were taken.
func NotValid(b *netlist.Board, readings []netlist.Reading) []string {
	var lines []string
	done := make([]bool, len(readings))
	for k := range readings {
		var seen []netlist.Observation
		st := readings[k].Probe.State
		for i := k; i < len(readings); i++ {
			r := &readings[i]
			if done[i] || r.Probe.Cold() || r.Probe.State.Setting.Distance(st.Setting) > 0 {
				continue
			}
			done[i] = true
			o := netlist.Observation{Target: netlist.Target{Net: r.Probe.Net, Lane: netlist.None, Fact: r.Probe.Fact}, Wrong: true}
			if r.Seen != nil {
				o.Target = r.Seen.Target
			}
			seen = append(seen, o)
		}
		if len(seen) == 0 {
			continue
		}
		if w, err := Run(b, st.Setting, seen); err == nil && len(w.Held) > 0 {
			lines = append(lines, w.NotValid())
		}
	}
	return lines
}

// unreachable returns the symptoms that nothing in the board file can make right.
func (w *Walk) unreachable() []string {
	var names []string
	for _, id := range w.Roots {
		if s := &w.Steps[id-1]; s.Held {
			names = append(names, s.Name)
		}
	}
	return names
}

func (w *Walk) heldText() string { return w.stateList(w.Held) }

func (w *Walk) stateList(list []netlist.StateIs) string {
	words := make([]string, len(list))
	for i, h := range list {
		words[i] = w.Board.States[h.State].Name + "=" + w.Board.States[h.State].Values[h.Value]
	}
	return strings.Join(words, " and ")
}

// Branches stand in up to mostIndent columns, less where a line is too short for
// that beside three more columns.
const mostIndent, leastIndent, beside = 24, 12, 76

// writeSteps writes the walk as a table, a row a step; under a net, in a row that
// has all of the line, what hangs on it.
func (w *Walk) writeSteps(o *say.Writer) {
	most := min(mostIndent, max(leastIndent, o.Width-beside))
	t := &say.Table{Words: []int{3}, Groups: []int{3}, Below: 9}
	for i := range w.Steps {
		s := &w.Steps[i]
		if s.Depth == 0 && s.Parent == 0 && s.ID > 1 {
			t.Rows = append(t.Rows, nil)
		}
		indent := min(2*s.Depth, most)
		mark := " "
		if s.Single {
			mark = "*"
		}
		name := fmt.Sprintf("%4d %s %s%s", s.ID, mark, strings.Repeat(" ", indent), s.Name)
		t.Rows = append(t.Rows, say.Row(name, w.kindWord(s), w.ReasonWord(s), w.detail(s)))
		if len(s.Loads) > 0 {
			lead := "can pull it down: "
			if s.At == netlist.Low {
				lead = "can hold it up: "
			}
			in := strings.Repeat(" ", 9+indent)
			t.Note(say.Hang(in, in+" ", lead+w.loadList(s.Loads), o.Width))
		}
	}
	o.Table(t)
}

func (w *Walk) kindWord(s *Step) string {
	if s.Kind == PartStep {
		return w.Board.Parts[s.Part].Kind.Name
	}
	return string(s.Kind)
}

// ReasonWord says in a word why a step is there.
func (w *Walk) ReasonWord(s *Step) string {
	switch {
	case s.Parent == 0:
		return "symptom"
	case s.Source && s.Kind == PartStep:
		return "source"
	default:
		return s.Reason.String()
	}
}

func (w *Walk) detail(s *Step) string {
	var words []string
	add := func(text string) {
		if text != "" {
			words = append(words, text)
		}
	}
	switch {
	case s.Loop:
		add(fmt.Sprintf("see %d: the loop closes here", s.Again))
	case s.Again != 0 && s.Does == "":
		add(fmt.Sprintf("see %d", s.Again))
	case s.Kind == NetStep:
		add(w.netDetail(s))
	case s.Kind == StateStep:
		add("the board must be in this state")
	default:
		add(w.partDetail(s))
		if s.Again != 0 {
			add(fmt.Sprintf("see %d", s.Again))
		}
	}
	if s.Proven && s.Kind != StateStep && !s.Source {
		add("proven right")
	}
	if s.Held && s.Kind != StateStep {
		add("not there in this state")
	} else if s.Held {
		add("it is not")
	}
	return strings.Join(words, ", ")
}

func (w *Walk) partDetail(s *Step) string {
	text := s.Does
	if s.From.Label != "" && s.To.Label != "" {
		if s.From.Label == s.To.Label {
			text += " (" + s.From.Label + ")"
		} else {
			text += " (" + s.From.Label + " -> " + s.To.Label + ")"
		}
	}
	return text
}

func (w *Walk) netDetail(s *Step) string {
	b := w.Board
	if b.Nets[s.Net].Ground {
		return "ground"
	}
	words := []string{"should be " + s.At.String()}
	e, known := w.Expect(s.Net)
	if text := w.ExpectText(s.Net); text != "" {
		words[0] = text
		switch {
		case !known:
			words[0] = "should be " + s.At.String() + ", " + text
		case s.At == netlist.Low:
			words[0] = "low, " + words[0]
		case s.At == netlist.High && e.Swing != 0 && e.Rate != 0 && s.Reason == netlist.Supply:
			words[0] = "rests high, " + words[0]
		}
	}
	for _, p := range s.Points {
		words = append(words, b.PointText(p))
	}
	return strings.Join(words, ", ")
}

// loadList groups loads by the part behind which they hang.
func (w *Walk) loadList(loads []LoadRef) string {
	var b strings.Builder
	last := netlist.PartID(netlist.None)
	for i, l := range loads {
		switch {
		case i == 0 && l.Through == netlist.None:
		case l.Through != last || i == 0:
			if i > 0 {
				b.WriteString("; ")
			}
			fmt.Fprintf(&b, "behind %s: ", w.Board.Parts[l.Through].Name)
		default:
			b.WriteString(", ")
		}
		last = l.Through
		b.WriteString(w.Board.Parts[l.Part].Name)
		if l.Pin != "" && w.Board.Parts[l.Part].Kind.Form != netlist.ArrowForm {
			b.WriteString(" " + l.Pin)
		}
	}
	return b.String()
}

// UnitText names a unit: "J2 pin 7".
func UnitText(b *netlist.Board, u Unit) string {
	p := &b.Parts[u.Part]
	if u.Channel == netlist.None {
		return p.Name
	}
	for _, c := range p.Conns {
		if int(c.Channel) == u.Channel && c.Num != "" {
			return p.Name + " pin " + c.Num
		}
	}
	names := b.ChannelNames(u.Part)
	if u.Channel >= len(names) || names[u.Channel] == "" {
		return p.Name
	}
	if _, ok := b.Net(names[u.Channel]); ok {
		return p.Name + " on " + names[u.Channel]
	}
	return p.Name + " channel " + names[u.Channel]
}

func (w *Walk) writeSummary(o *say.Writer) {
	b := w.Board
	section := func(title string, items []string) {
		if len(items) == 0 {
			return
		}
		fmt.Fprintln(o)
		o.Beside("", title)
		o.Wrap("  ", strings.Join(items, ", "))
	}
	sources := w.sourceNames()
	for i, s := range w.Sources {
		if s.Proven {
			sources[i] += " (proven right)"
		}
	}
	section("Sources", sources)
	units := make([]string, len(w.Singles))
	for i, u := range w.Singles {
		units[i] = UnitText(b, u)
	}
	section("Single points of failure, in walking order", units)
	var double []string
	for _, r := range w.Redundant {
		double = append(double, w.redundantText(r))
	}
	section("More than one way leads there (faults needed to lose it)", double)
	for _, l := range w.Loops {
		names := w.partList(l.Parts)
		switch l.Kind {
		case Feedback:
			section("Feedback loop", names)
		case Handshake:
			section("Handshake, each waits for the other in turn", names)
		default:
			section("Deadlock: none of these can be first", names)
		}
	}
	if len(w.Symptoms) < 2 {
		return
	}
	section("One failed function of any of these explains every symptom", w.partList(w.Common))
	if len(w.Common) == 0 {
		fmt.Fprintln(o)
		o.Wrap("", "No single fault in the board file explains every symptom: look for two faults, or for a cause that is not in the file.")
	}
	section("Explain every symptom only if several of their functions fail", w.partList(w.Several))
}

func (w *Walk) redundantText(r Redundancy) string {
	from := "its drivers"
	if r.From != netlist.None {
		from = w.Board.Nets[r.From].Name
	}
	return fmt.Sprintf("%s to %s (%d)", from, w.Board.Nets[r.Net].Name, r.Faults)
}

func (w *Walk) partList(ids []netlist.PartID) []string {
	list := make([]string, len(ids))
	for i, p := range ids {
		list[i] = w.Board.Parts[p].Name
	}
	return list
}

func (w *Walk) sourceNames() []string {
	list := make([]string, len(w.Sources))
	for i, s := range w.Sources {
		list[i] = w.Board.Parts[s.Part].Name
	}
	return list
}
