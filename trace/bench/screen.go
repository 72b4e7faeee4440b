package bench

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	tea "charm.land/bubbletea/v2"
	"charm.land/lipgloss/v2"
	"github.com/clipperhouse/displaywidth"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/suspects"
)

// Screen shows a dialogue on a whole terminal: the step on top, suspects with
// bars, the log of readings, and a line to type in. It is a model for bubbletea:
// keys and sizes go in, and the picture of the terminal comes out.
type Screen struct {
	d             *Dialogue
	look          look
	width, height int // of the terminal, in cells, and no less than what the screen needs
	rows          int // of the terminal as it is
	input         string
	message       []string
	scroll        int
	typed         []string // what was entered before
	recall        int
	end           bool
}

// NewScreen makes the screen of a dialogue, with colours or without.
func NewScreen(d *Dialogue, color bool) *Screen {
	s := &Screen{d: d, width: 80, height: 24, rows: 24}
	if color {
		s.look = coloured
	}
	return s
}

// Init has nothing to wait for before the first key.
func (s *Screen) Init() tea.Cmd { return nil }

// Update takes a key, or the size of the terminal.
func (s *Screen) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		s.width, s.height, s.rows = max(msg.Width, 20), max(msg.Height, 6), max(msg.Height, 1)
		s.scroll = 0
	case tea.KeyPressMsg:
		if s.end {
			// Quitting takes a moment, and a key may come in it.
			return s, nil
		}
		return s, s.key(msg)
	}
	return s, nil
}

func (s *Screen) key(k tea.KeyPressMsg) tea.Cmd {
	switch k.String() {
	case "enter", "ctrl+j":
		return s.enter()
	case "backspace", "ctrl+h":
		s.input = withoutLast(s.input)
	case "ctrl+u":
		s.input = ""
	case "esc":
		s.message, s.scroll = nil, 0
	case "ctrl+c", "ctrl+d":
		s.end = true
		return tea.Quit
	case "up":
		s.bringBack(s.recall + 1)
	case "down":
		s.bringBack(s.recall - 1)
	case "pgup":
		s.scroll = max(0, s.scroll-s.height/2)
	case "pgdown":
		s.scroll += s.height / 2
	default:
		if !strings.ContainsFunc(k.Text, func(r rune) bool { return !unicode.IsPrint(r) }) {
			s.input += k.Text
		}
	}
	return nil
}

// withoutLast takes away what is seen as the last letter, with its marks.
func withoutLast(text string) string {
	last := ""
	for g := displaywidth.StringGraphemes(text); g.Next(); {
		last = g.Value()
	}
	return strings.TrimSuffix(text, last)
}

// bringBack puts what was entered n lines ago into the input.
func (s *Screen) bringBack(n int) {
	s.recall = min(max(n, 0), len(s.typed))
	s.input = ""
	if s.recall > 0 {
		s.input = s.typed[len(s.typed)-s.recall]
	}
}

func (s *Screen) enter() tea.Cmd {
	text := s.input
	s.input, s.recall, s.scroll = "", 0, 0
	if strings.TrimSpace(text) != "" {
		s.typed = append(s.typed, text)
	}
	r := s.d.Do(text, max(20, s.width-1))
	s.message, s.end = r.Lines, r.End
	if s.end {
		return tea.Quit
	}
	return nil
}

// look is how pieces of text look; its zero value leaves them as they are.
type look struct {
	strong, quiet, warning, good, odd, bar lipgloss.Style
}

// coloured is the look where there are colours: of the eight that every terminal
// has, as its user has chosen them.
var coloured = look{
	strong:  lipgloss.NewStyle().Bold(true),
	quiet:   lipgloss.NewStyle().Faint(true),
	warning: lipgloss.NewStyle().Bold(true).Foreground(lipgloss.Red),
	good:    lipgloss.NewStyle().Foreground(lipgloss.Green),
	odd:     lipgloss.NewStyle().Foreground(lipgloss.Yellow),
	bar:     lipgloss.NewStyle().Foreground(lipgloss.Cyan),
}

// row is a line of the screen.
type row struct {
	text  string
	style lipgloss.Style
}

// paint writes rows, clipped to a width.
func paint(rows []row, width int) []string {
	lines := make([]string, len(rows))
	for i, r := range rows {
		lines[i] = r.style.Render(clip(r.text, width))
	}
	return lines
}

// sideWidth is the column of suspects at the right, from wide on.
const (
	sideWidth = 42
	wide      = 104
)

// View draws the terminal.
func (s *Screen) View() tea.View {
	lines, input := s.lines()
	// Where that is too much, the line to type in stays.
	lines = lines[max(0, len(lines)+1-s.rows):]
	v := tea.NewView(strings.Join(append(lines, input), "\n"))
	v.AltScreen = true
	// A list of readings that is pasted is entered line by line.
	v.DisableBracketedPasteMode = true
	v.Cursor = tea.NewCursor(displaywidth.String(input), len(lines))
	return v
}

// lines returns all lines but the last, none wider than the terminal, and the last
// line, in which is typed.
func (s *Screen) lines() (lines []string, input string) {
	message, long := s.messageRows()
	room := s.height - 2 - len(message)
	var body []string
	if s.width >= wide {
		left := s.width - sideWidth - 2
		rows := append(append(s.stepRows(left), row{}), s.readingRows(left)...)
		body = beside(paint(rows, left), left, paint(s.suspectRows(sideWidth, 8), sideWidth))
	} else {
		rows := append(s.stepRows(s.width), row{})
		rows = append(rows, s.suspectRows(s.width-1, max(3, room/5))...)
		rows = append(append(rows, row{}), s.readingRows(s.width)...)
		body = paint(rows, s.width)
	}
	switch {
	case !long:
		body = scrolled(s, body, s.look.quiet.Render("-- PgDn: more --"), room)
	case len(body) > room:
		body = cut(body, s.look.quiet.Render("-- Esc: more --"), room)
	}
	lines = append(paint([]row{{s.d.b.Name + "  " + s.d.Saved, s.look.strong}}, s.width), body...)
	lines = append(lines, make([]string, room-len(body))...)
	lines = append(lines, paint(message, s.width)...)
	return lines, clipLeft("> "+s.input, s.width-1)
}

// beside puts lines to the right of others, which are given a width.
func beside(left []string, width int, right []string) []string {
	block := lipgloss.NewStyle().Width(width + 2).Render(strings.Join(left, "\n"))
	return strings.Split(lipgloss.JoinHorizontal(lipgloss.Top, block, strings.Join(right, "\n")), "\n")
}

// scrolled cuts lines to a height and says that there are more.
func scrolled[T any](s *Screen, lines []T, more T, height int) []T {
	s.scroll = min(s.scroll, max(0, len(lines)-height))
	rest := lines[s.scroll:]
	if len(rest) <= height {
		return rest
	}
	return cut(rest, more, height)
}

// cut leaves room for a word that tells of more lines.
func cut[T any](lines []T, more T, height int) []T {
	lines = slices.Clone(lines[:height])
	lines[height-1] = more
	return lines
}

// messageRows is what the last line led to, and whether it is cut since it would
// leave no room for the step.
func (s *Screen) messageRows() (rows []row, long bool) {
	for _, line := range s.message {
		r := row{text: line}
		if strings.HasPrefix(line, "!") {
			r.style = s.look.warning
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		return nil, false
	}
	most := max(2, s.height*2/3-2)
	if long = len(rows) > most; long {
		rows = scrolled(s, rows, row{"-- PgDn: more --", s.look.quiet}, most)
	}
	return append([]row{{strings.Repeat("─", s.width-1), s.look.quiet}}, rows...), long
}

func (s *Screen) stepRows(width int) []row {
	o := &page{width: width - 1}
	s.d.writeStep(o)
	rows := make([]row, len(o.lines))
	for i, line := range o.lines {
		rows[i].text = line
		switch {
		case strings.HasPrefix(line, "  caution") || strings.HasPrefix(line, "  !") || strings.HasPrefix(line, "!"):
			rows[i].style = s.look.warning
		case i == 0:
			rows[i].style = s.look.strong
		case i > 1 && strings.HasPrefix(line, "    "):
			rows[i].style = rows[i-1].style // the same sentence goes on
		}
	}
	return rows
}

// suspectRows draws the shares as bars.
func (s *Screen) suspectRows(width, most int) []row {
	r := s.d.now.report
	rows := []row{{"Suspects", s.look.strong}}
	switch {
	case s.d.noneSuspected():
		o := &page{width: width}
		o.line(s.d.lead())
		for _, line := range o.lines {
			rows = append(rows, row{text: line})
		}
		return rows
	case len(r.Readings) == 0:
		rows[0].text = "Suspects, as a bench meets them"
	}
	add := func(p float64, name string) {
		if len(rows) <= most {
			const full = 8
			filled := int(full*p + 0.5)
			bar := strings.Repeat("█", filled) + strings.Repeat("·", full-filled)
			rows = append(rows, row{clip(say.Share(p)+" "+bar+" "+name, width), s.look.bar})
		}
	}
	if r.Two > 0 {
		add(r.Two, "two faults at once")
	}
	for _, x := range r.Suspects {
		if x.P >= 0.005 {
			add(x.P, suspects.Short(x.Names))
		}
	}
	add(r.Other, "not in the board file")
	return rows
}

// readingRows is the log, the last reading first, since that is what may have to
// be taken back.
func (s *Screen) readingRows(width int) []row {
	readings := s.d.now.readings
	if len(readings) == 0 {
		return nil
	}
	rows := []row{{"Readings, the last one first", s.look.strong}}
	for k, r := range slices.Backward(readings) {
		style := s.look.odd
		if s.d.now.report.Healthy[k] {
			style = s.look.good
		}
		rows = append(rows, row{clip(fmt.Sprintf("  %s  %s", r.Text, s.d.now.report.Standing(k)), width-1), style})
	}
	return rows
}

// clip cuts text to a width in cells.
func clip(text string, width int) string { return displaywidth.TruncateString(text, width, "…") }

// clipLeft keeps the end of text that is wider than some cells.
func clipLeft(text string, width int) string {
	over := displaywidth.String(text) - width
	for g := displaywidth.StringGraphemes(text); over > 0 && g.Next(); {
		over -= g.Width()
		text = text[len(g.Value()):]
	}
	return text
}
