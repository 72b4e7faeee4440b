package checklist

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/probe"
)

const (
	// skippedLead begins the list of points that need no probe.
	skippedLead = "Not asked, since an observation shows it right: "
	// againstNote limits what the steps say of such a symptom.
	againstNote = " The steps below check them cold; what brings the point is not asked."
	// sharesNote tells how to read a list that was simulated.
	sharesNote = "Shares are of what comes to the step. "
	// noLine ends every list.
	noLine = "A reading that fits no line: read it again, then look for two faults or a cause that is not in the board " +
		"file; walkback narrow weighs readings together."
	// blank is where the reading is written down.
	blank = "read ____________"
)

// head returns what stands above a list, a label and a text each.
func (l *List) head() [][2]string {
	w := l.Walk
	rows := [][2]string{{"symptom", w.Observed(w.Symptoms)}}
	if text := w.Board.SettingText(w.Setting); text != "" {
		rows = slices.Insert(rows, 0, [2]string{"state", text})
	}
	if len(w.Given) > 0 {
		rows = append(rows, [2]string{"given", w.Observed(w.Given)})
	}
	if words := netlist.HistoryTexts(l.Bench.History()); len(words) > 0 {
		rows = append(rows, [2]string{"history", strings.Join(words, "; ")})
	}
	rows = append(rows, [2]string{"order", l.Order + ", " + l.Note})
	if c := l.Costs; c != nil {
		proof := "no order of probes costs less than " + minutes(c.Lower)
		if c.Optimal {
			proof = "proven: no order of probes costs less"
		}
		rows = append(rows, [2]string{"costs", fmt.Sprintf("%s, repair included; %s", c.Spent, proof)})
		var other []string
		if c.Walk != nil {
			other = append(other, "in walking order "+c.Walk.String())
		}
		if c.Half != nil {
			other = append(other, "by halves "+c.Half.String())
		}
		if len(other) > 0 {
			rows = append(rows, [2]string{"against", strings.Join(other, "; ")})
		}
	}
	return rows
}

// String writes what an order costs.
func (s Spent) String() string {
	return fmt.Sprintf("%s on average, %s at worst", minutes(s.Expected), minutes(s.Worst))
}

// minutes writes a time in s for people.
func minutes(s float64) string {
	if s < 90 {
		return fmt.Sprintf("%.0f s", s)
	}
	return fmt.Sprintf("%.1f min", s/60)
}

// notes returns what limits a list.
func (l *List) notes() []string {
	var list []string
	if text := l.Walk.NotValid(); text != "" {
		list = append(list, text)
	}
	for _, text := range l.Walk.AgainstText() {
		list = append(list, text+againstNote)
	}
	return list
}

// pointText writes the numbers of the points of a step: "point 7".
func (s *Step) pointText() string {
	switch len(s.Points) {
	case 0:
		return ""
	case 1:
		return "point " + strconv.Itoa(s.Points[0])
	}
	return fmt.Sprintf("points %d and %d", s.Points[0], s.Points[1])
}

// shared returns what to mind at every step in a condition of the board; it stands under
// the heading, which names the rest.
func (l *List) shared(s *Step) []string {
	switch {
	case s.Probe.Cold():
		return []string{probe.VoltsLow}
	case l.Bench.Wet():
		return []string{l.Bench.Limited()}
	}
	return nil
}

// own returns the cautions of a step alone.
func (l *List) own(s *Step) []string {
	return slices.DeleteFunc(slices.Clone(s.Cautions), func(c string) bool { return slices.Contains(l.shared(s), c) })
}

// lead writes a reading, how often it comes and where it leads: "0.42 V (44 %) -> step 4".
func (o *Outcome) lead(arrow string) string {
	text := o.Reading
	if o.Healthy && o.Share > 0 {
		text += ", as it should be"
	}
	if o.Share > 0 {
		text += " (" + say.Percent(o.Share) + ")"
	}
	switch {
	case o.Next > 0:
		text += fmt.Sprintf(" %s step %d", arrow, o.Next)
	default:
		text += " " + arrow + " stop"
	}
	if o.Means != "" {
		text += ": " + o.Means
	}
	return text
}

// meterText writes how the meter is set and where its leads go.
func (s *Step) meterText() string { return s.Meter + ": " + s.Leads }

// heading names the condition of the board, which stands over the steps made in it, and
// what brings power back where the step before had none. It is empty where the board
// already is in that condition and the heading above names it.
func (l *List) heading(i int) string {
	s := &l.Steps[i]
	text := strings.ToUpper(s.Condition[:1]) + s.Condition[1:]
	if from := l.before(i); from != nil && from.Probe.Cold() && !s.Probe.Cold() {
		return text + ": " + l.Bench.Change(from.Probe, s.Probe)
	}
	if i > 0 && l.Steps[i-1].Condition == s.Condition {
		return ""
	}
	return text
}

// before returns the step that leads to another one, nil where none does.
func (l *List) before(i int) *Step {
	leads := func(s Step) bool {
		return slices.ContainsFunc(s.Outcomes, func(o Outcome) bool { return o.Next == l.Steps[i].Number })
	}
	if k := slices.IndexFunc(l.Steps[:i], leads); k >= 0 {
		return &l.Steps[k]
	}
	return nil
}

// WriteText writes a checklist for paper or a terminal.
func (l *List) WriteText(out io.Writer) error {
	o := say.NewWriter(out)
	l.Walk.Board.WriteHead(o)
	for _, row := range l.head() {
		o.Hang(fmt.Sprintf("%-10s", row[0]), strings.Repeat(" ", 10), row[1])
	}
	for _, text := range l.notes() {
		fmt.Fprintln(o)
		o.Hang("", "", text)
	}
	fmt.Fprintln(o)
	for _, c := range l.Cautions {
		o.Hang("  ! ", "    ", c)
	}
	for i := range l.Steps {
		s := &l.Steps[i]
		if h := l.heading(i); h != "" {
			fmt.Fprintln(o)
			o.Hang("", "  ", h)
			for _, c := range l.shared(s) {
				o.Hang("  ! ", "    ", c)
			}
		}
		l.writeStep(o, s)
	}
	if l.Last != "" {
		fmt.Fprintln(o)
		o.Hang("", "", l.Last)
	}
	if len(l.Skipped) > 0 {
		fmt.Fprintln(o)
		o.Hang("", "", skippedLead+strings.Join(l.Skipped, ", "))
	}
	fmt.Fprintln(o)
	o.Hang("", "", l.footer())
	return o.Flush()
}

// footer tells how to read the outcomes of a list.
func (l *List) footer() string {
	text := noLine
	if l.Costs != nil {
		text = sharesNote + noLine
	}
	if first := l.Bench.FirstText(l.Bench.Gate()); first != "" {
		text += " After a repair, " + first + "."
		if limited := l.Bench.Limited(); limited != "" {
			text += " Then " + limited + "."
		}
	}
	return text
}

const inside = "        " // where the lines of a step begin

func (l *List) writeStep(o *say.Writer, s *Step) {
	title := probe.Title(l.Walk.Board, s.Probe)
	if text := s.pointText(); text != "" {
		title += ", " + text
	}
	fmt.Fprintln(o)
	o.Hang(fmt.Sprintf("[ ] %2d  ", s.Number), inside, title)
	row := func(label, text string) {
		if text != "" {
			o.Hang(inside+fmt.Sprintf("%-8s", label), inside+inside, text)
		}
	}
	row("why", s.Why)
	row("at", s.Place.String())
	row("meter", s.meterText())
	row("expect", s.Expect+", "+blank)
	row("tell", s.Tell)
	for k := range s.Outcomes {
		o.Wrap(inside, s.Outcomes[k].lead("->"))
	}
	for _, c := range l.own(s) {
		o.Hang(inside+"! ", inside+"  ", c)
	}
}

// WriteMarkdown writes a checklist as Markdown with boxes to tick.
func (l *List) WriteMarkdown(out io.Writer) error {
	o := say.NewWriter(out)
	b := l.Walk.Board
	fmt.Fprintf(o, "# %s: %s\n\n", say.Markdown(b.Title), say.Markdown(l.Walk.Observed(l.Walk.Symptoms)))
	if text := b.PanelText(); text != "" {
		fmt.Fprintf(o, "Panel: %s\n\n", say.Markdown(text))
	}
	for _, row := range l.head() {
		fmt.Fprintf(o, "- %s: %s\n", row[0], say.Markdown(row[1]))
	}
	for _, text := range l.notes() {
		fmt.Fprintf(o, "\n**%s**\n", say.Markdown(text))
	}
	fmt.Fprintln(o)
	for _, c := range l.Cautions {
		fmt.Fprintf(o, "> **Caution.** %s\n>\n", say.Markdown(c))
	}
	for i := range l.Steps {
		s := &l.Steps[i]
		if h := l.heading(i); h != "" {
			fmt.Fprintf(o, "\n## %s\n\n", say.Markdown(h))
			for _, c := range l.shared(s) {
				fmt.Fprintf(o, "> **Caution.** %s\n\n", say.Markdown(c))
			}
		}
		l.markStep(o, s)
	}
	if l.Last != "" {
		fmt.Fprintf(o, "\n**%s**\n", say.Markdown(l.Last))
	}
	if len(l.Skipped) > 0 {
		fmt.Fprintf(o, "\n%s%s\n", skippedLead, say.Markdown(strings.Join(l.Skipped, ", ")))
	}
	fmt.Fprintf(o, "\n%s\n", l.footer())
	return o.Flush()
}

func (l *List) markStep(o *say.Writer, s *Step) {
	fmt.Fprintf(o, "- [ ] **%d. %s**", s.Number, say.Markdown(probe.Title(l.Walk.Board, s.Probe)))
	if text := s.pointText(); text != "" {
		fmt.Fprintf(o, ", %s", text)
	}
	if s.Why != "" {
		fmt.Fprintf(o, " (%s)", say.Markdown(s.Why))
	}
	fmt.Fprintln(o)
	if s.Place.Name != "" {
		fmt.Fprintf(o, "  - at %s\n", say.Markdown(s.Place.String()))
	}
	fmt.Fprintf(o, "  - %s\n  - expect **%s**, read \\_\\_\\_\\_\\_\\_\n", say.Markdown(s.meterText()), say.Markdown(s.Expect))
	if s.Tell != "" {
		fmt.Fprintf(o, "  - %s\n", say.Markdown(s.Tell))
	}
	for k := range s.Outcomes {
		fmt.Fprintf(o, "  - %s\n", say.Markdown(s.Outcomes[k].lead("→")))
	}
	for _, c := range l.own(s) {
		fmt.Fprintf(o, "  - **Caution.** %s\n", say.Markdown(c))
	}
}
