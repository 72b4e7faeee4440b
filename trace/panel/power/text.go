package power

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/say"
)

const (
	columns   = 98 // of all text
	labelCols = 18
	chartCols = columns - labelCols
)

// Text writes a report for people: a chart in characters, the windows, and what is
// wrong with them.
func Text(w io.Writer, r Report) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s\n", r.Profile.Title)
	wrapped(&b, "", r.Verdict)
	b.WriteByte('\n')
	textChart(&b, schedule(&r.Profile, &r.Measured))
	b.WriteByte('\n')
	textWindows(&b, r.Results)
	for _, n := range r.Notes() {
		b.WriteByte('\n')
		wrapped(&b, "", n.Head)
		for _, line := range n.Lines {
			wrapped(&b, "    ", line)
		}
	}
	b.WriteByte('\n')
	for _, n := range r.Profile.Notes {
		wrapped(&b, "", n)
	}
	for _, n := range r.Cautions {
		wrapped(&b, "", "Caution: "+n)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// Note is one thing that is wrong, with what it means and where to look.
type Note struct {
	Head  string
	Lines []string
}

// Notes says what is wrong in sentences, for every renderer.
func (r Report) Notes() []Note {
	var list []Note
	for _, x := range r.Results {
		if x.Status.Wrong() || x.Status == Unsure {
			list = append(list, Note{x.Name + ": " + x.Says + ".", x.lines()})
		}
	}
	for _, c := range r.Chains {
		list = append(list, Note{Head: "Wrong: " + c.Says + "."})
	}
	for _, n := range r.Contradictions {
		list = append(list, Note{Head: "Contradiction: " + n + "."})
	}
	for _, m := range r.Missing {
		n := Note{fmt.Sprintf("Never came: %s. It waits for %s.", m.Event, m.WaitsFor), m.lines()}
		if len(m.Blocked) > 0 {
			n.Lines = append(n.Lines, "Until it comes these cannot be judged: "+strings.Join(m.Blocked, ", ")+".")
		}
		list = append(list, n)
	}
	return list
}

// lines are the sentences of a meaning.
func (m Meaning) lines() []string {
	var list []string
	if m.Means != "" {
		list = append(list, fmt.Sprintf("It means (%s): %s.", m.Basis, m.Means))
	}
	for _, l := range m.Look {
		list = append(list, "Look at "+string(l)+".")
	}
	return list
}

// letter names an event on the axis, with a capital for what was measured.
func letter(i int, k mark) byte {
	if k.timed {
		return 'A' + byte(i)
	}
	return 'a' + byte(i)
}

// column is the place of x in the chart of characters.
func column(x float64) int { return int(x * (chartCols - 1)) }

func textChart(b *bytes.Buffer, marks []mark) {
	axis := bytes.Repeat([]byte(" "), chartCols)
	for i, k := range marks {
		axis[column(k.x)] = letter(i, k) // of events at one time the last; the list below tells
	}
	fmt.Fprintf(b, "%*s%s\n", labelCols, "", bytes.TrimRight(axis, " "))
	gap := -1
	if i := pause(marks); i > 0 {
		gap = column((marks[i-1].x + marks[i].x) / 2)
	}
	list := rows(marks)
	for _, r := range list {
		line := r.wave()
		if gap >= 0 {
			copy(line[gap:], "  ")
		}
		fmt.Fprintf(b, "%-*s%s\n", labelCols, r.signal, line)
	}
	b.WriteByte('\n')
	cells := make([]string, len(marks))
	for i, k := range marks {
		cells[i] = fmt.Sprintf("%c %s%s", letter(i, k), k.Event, k.when(", "))
	}
	half := (len(cells) + 1) / 2
	for i := range half {
		right := ""
		if i+half < len(cells) {
			right = cells[i+half]
		}
		fmt.Fprintf(b, "%s\n", strings.TrimRight(fmt.Sprintf("  %-46s%s", cells[i], right), " "))
	}
	key := "Not to scale. Capitals were measured, small letters stand in the usual order, x is what never came"
	if slices.ContainsFunc(marks, func(k mark) bool { return k.stopped && !k.never }) {
		key += ", : what cannot come without it"
	}
	wrapped(b, "  ", key+".")
	if names := open(list); len(names) > 0 {
		wrapped(b, "  ", openText(names))
	}
}

// openText is said of signals that are drawn to the end.
func openText(names []string) string {
	return "No window here tells when these end, so how long they last is left open (?): " + strings.Join(names, ", ") + "."
}

// when is the time of an event in words, behind a mark; "" where it was not measured.
func (k mark) when(before string) string {
	switch {
	case k.never:
		return before + "never"
	case k.stopped:
		return before + "does not come"
	case k.timed:
		return before + k.at.String()
	}
	return ""
}

// wave draws one signal in characters.
func (r *row) wave() []byte {
	line := make([]byte, chartCols)
	for _, p := range r.pieces {
		sign := byte('/')
		switch {
		case !p.edge:
			sign = map[float64]byte{0: '_', 0.5: '-', 1: '~'}[p.y0]
		case p.y1 < p.y0:
			sign = '\\'
		}
		from, to := column(p.x0), column(p.x1)
		if !p.edge && p.x0 > 0 {
			from++ // the sign of the edge stays
		}
		for x := from; x <= min(to, chartCols-1); x++ {
			line[x] = sign
		}
		if p.open {
			line[chartCols-1] = '?'
		}
	}
	for _, k := range r.stops {
		line[column(k.x)] = map[bool]byte{true: 'x', false: ':'}[k.never]
	}
	return line
}

func textWindows(b *bytes.Buffer, results []Result) {
	wide := 0
	for _, r := range results {
		wide = max(wide, utf8.RuneCountInString(r.ends()))
	}
	for _, r := range results {
		fmt.Fprintf(b, "  %-4s %-*s  %-16s %s\n", r.Name, wide, r.ends(), r.Span, r.short())
	}
}

// ends names the two events of a window.
func (w *Window) ends() string { return w.From.String() + " → " + w.To.String() }

// short is value and verdict in a few words.
func (r *Result) short() string {
	text := r.Status.String()
	if r.By > 0 {
		text = r.By.String() + " " + text
	}
	if r.Value != nil {
		text = r.Value.String() + "  " + text
	}
	return text
}

// wrapped writes text in lines of at most 98 characters, all behind the same
// indent.
func wrapped(b *bytes.Buffer, indent, text string) {
	b.WriteString(say.Hang(indent, indent, text, columns))
}
