package power

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist"
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
	marks := schedule(&r.Profile, &r.Measured)
	textChart(&b, marks)
	b.WriteByte('\n')
	textWindows(&b, r.Results)
	for i := range r.Results {
		textWrong(&b, &r.Results[i])
	}
	for _, c := range r.Chains {
		wrapped(&b, "", "\nWrong: "+c.Says+".")
	}
	for _, n := range r.Contradictions {
		wrapped(&b, "", "\nContradiction: "+n+".")
	}
	for i := range r.Missing {
		textMissing(&b, &r.Missing[i])
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

// letters name the events on the axis.
const letters = "abcdefghijklmnop"

// letter is a capital for what was measured.
func letter(i int, k mark) string {
	if k.measured && !k.stopped {
		return strings.ToUpper(letters[i : i+1])
	}
	return letters[i : i+1]
}

func textChart(b *bytes.Buffer, marks []mark) {
	at := columnsOf(marks)
	axis := []byte(strings.Repeat(" ", chartCols))
	second := []byte(strings.Repeat(" ", chartCols)) // of events at the same time
	for i, k := range marks {
		line := axis
		if axis[at[i]] != ' ' {
			line = second
		}
		// Where three and more fall together the list below tells.
		line[at[i]] = letter(i, k)[0]
	}
	for _, line := range [][]byte{second, axis} {
		if text := strings.TrimRight(string(line), " "); text != "" {
			fmt.Fprintf(b, "%*s%s\n", labelCols, "", text)
		}
	}
	gap := -1
	if i := pause(marks); i > 0 {
		gap = (at[i-1] + at[i]) / 2
	}
	column := map[Event]int{}
	for i, k := range marks {
		column[k.Event] = at[i]
	}
	for _, r := range rows(marks) {
		fmt.Fprintf(b, "%-*s%s\n", labelCols, r.signal, wave(&r, column, gap))
	}
	b.WriteByte('\n')
	textEvents(b, marks)
}

// columnsOf gives every event its column; later events stand at least two on.
func columnsOf(marks []mark) []int {
	at := make([]int, len(marks))
	for i, k := range marks {
		at[i] = int(k.x * (chartCols - 1))
		if i == 0 {
			continue
		}
		if k.at == marks[i-1].at {
			at[i] = at[i-1]
		} else {
			at[i] = max(at[i], at[i-1]+2)
		}
	}
	// What was pushed out on the right comes back.
	for i, limit := len(marks)-1, chartCols-2; i >= 0; i-- {
		at[i] = min(at[i], limit)
		if i > 0 && marks[i].at != marks[i-1].at {
			limit = at[i] - 2
		} else {
			limit = at[i]
		}
	}
	return at
}

// wave draws one signal; gap is the column of the pause, -1 for none.
func wave(r *row, column map[Event]int, gap int) string {
	line := make([]byte, chartCols)
	level, next := levelChar(r.startsHigh()), 0
	for x := range line {
		line[x] = level
		for ; next < len(r.edges) && column[r.edges[next].Event] == x; next++ {
			var sign byte
			if level, sign = edgeChar(r, next, level); sign != 0 {
				line[x] = sign
			}
		}
		if x == gap || x == gap+1 {
			line[x] = ' '
		}
	}
	slope(line, r, column)
	return string(line)
}

// halfway is the level of a supply that does not come to the end of its slope.
const halfway = '-'

// edgeChar is what an edge makes of the level before it, and its sign; 0 for none.
func edgeChar(r *row, i int, level byte) (after, sign byte) {
	k := r.edges[i]
	switch {
	case k.never && i > 0 && r.halts(i-1) && events[k.Event].rising:
		return levelChar(false), 'x'
	case k.never:
		return level, 'x'
	case k.stopped:
		return level, ':'
	}
	after = levelChar(events[k.Event].rising)
	if after == level {
		return level, 0
	}
	sign = map[byte]byte{'~': '/', '_': '\\'}[after]
	if r.halts(i) {
		after = halfway
	}
	return after, sign
}

func levelChar(high bool) byte {
	if high {
		return '~'
	}
	return '_'
}

// slope draws a supply that takes its time from one end of its edge to the other.
func slope(line []byte, r *row, column map[Event]int) {
	for i := 1; i < len(r.edges); i++ {
		a, z := r.edges[i-1], r.edges[i]
		sign := line[column[a.Event]]
		if !ramp(a.Event, z.Event) || a.stopped || z.stopped || sign != '/' && sign != '\\' {
			continue
		}
		for x := column[a.Event]; x <= column[z.Event]; x++ {
			line[x] = sign
		}
	}
}

func textEvents(b *bytes.Buffer, marks []mark) {
	cells := make([]string, len(marks))
	for i, k := range marks {
		when := "about " + k.at.about().String()
		switch {
		case k.never:
			when = "never"
		case k.stopped:
			when = "does not come"
		case k.timed:
			when = k.at.String()
		}
		cells[i] = fmt.Sprintf("%s %s, %s", letter(i, k), k.Event, when)
	}
	half := (len(cells) + 1) / 2
	for i := range half {
		left, right := cells[i], ""
		if i+half < len(cells) {
			right = cells[i+half]
		}
		fmt.Fprintf(b, "%s\n", strings.TrimRight(fmt.Sprintf("  %-46s%s", left, right), " "))
	}
	key := "Not to scale. Capitals were measured, small letters stand where the event usually comes, x is what never came"
	if slices.ContainsFunc(marks, func(k mark) bool { return k.stopped && !k.never }) {
		key += ", : what cannot come without it"
	}
	wrapped(b, "  ", key+".")
}

func textWindows(b *bytes.Buffer, results []Result) {
	wide := 0
	for _, r := range results {
		wide = max(wide, utf8.RuneCountInString(r.From.String()+" → "+r.To.String()))
	}
	for i := range results {
		r := &results[i]
		line := fmt.Sprintf("  %-4s %-*s  %-16s %s", r.Name, wide, r.From.String()+" → "+r.To.String(), r.Span, r.short())
		fmt.Fprintf(b, "%s\n", line)
	}
}

// short is value and verdict in a few words.
func (r *Result) short() string {
	text := r.Status.String()
	if r.By > 0 {
		text = r.By.String() + " " + text
	}
	if r.Value != nil {
		text = r.Value.String() + "  " + text
	}
	if r.Contradicted {
		text += ", contradicted"
	}
	return text
}

func textWrong(b *bytes.Buffer, r *Result) {
	if !r.Status.Wrong() && r.Status != Unsure {
		return
	}
	wrapped(b, "", fmt.Sprintf("\n%s: %s.", r.Name, r.Says))
	if r.Means != "" {
		wrapped(b, "    ", fmt.Sprintf("It means (%s): %s.", r.Basis, r.Means))
	}
	for _, l := range r.Look {
		wrapped(b, "    ", "Look at "+string(l)+".")
	}
}

func textMissing(b *bytes.Buffer, m *Missing) {
	wrapped(b, "", fmt.Sprintf("\nNever came: %s. It waits for %s.", m.Event, m.WaitsFor))
	if m.Means != "" {
		wrapped(b, "    ", fmt.Sprintf("It means (%s): %s.", m.Basis, m.Means))
	}
	for _, l := range m.Look {
		wrapped(b, "    ", "Look at "+string(l)+".")
	}
	if len(m.Blocked) > 0 {
		wrapped(b, "    ", "Until it comes these cannot be judged: "+strings.Join(m.Blocked, ", ")+".")
	}
	for _, t := range m.Though {
		wrapped(b, "", fmt.Sprintf("\nWrong order: %s.", t.Says))
		wrapped(b, "    ", fmt.Sprintf("It means (%s): %s.", t.Basis, t.Means))
		for _, l := range t.Look {
			wrapped(b, "    ", "Look at "+string(l)+".")
		}
	}
}

// wrapped writes text in lines of at most 98 characters, all behind the same
// indent.
func wrapped(b *bytes.Buffer, indent, text string) {
	body := strings.TrimLeft(text, "\n")
	b.WriteString(text[:len(text)-len(body)])
	b.WriteString(netlist.Hang(indent, indent, body, columns))
}
