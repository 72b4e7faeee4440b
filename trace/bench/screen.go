package bench

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/walkback/trace/suspects"
)

// Screen shows a dialogue on a whole terminal: the step on top, suspects with
// bars, the log of readings, and a line to type in. It is a model only: keys and
// sizes go in, and lines come out.
type Screen struct {
	d             *Dialogue
	color         bool
	width, height int
	input         []rune
	message       []string
	scroll        int
	typed         []string // what was entered before
	recall        int
	end           bool
}

// NewScreen makes the screen of a dialogue, with colours or without.
func NewScreen(d *Dialogue, color bool) *Screen {
	return &Screen{d: d, color: color, width: 80, height: 24}
}

// Resize sets the size of the terminal.
func (s *Screen) Resize(width, height int) {
	s.width, s.height = max(width, 20), max(height, 6)
	s.scroll = 0
}

// End tells whether the dialogue is over.
func (s *Screen) End() bool { return s.end }

// Key takes one key.
func (s *Screen) Key(k Key) {
	switch k {
	case KeyEnter:
		s.enter()
	case KeyBackspace:
		s.input = s.input[:max(0, len(s.input)-1)]
	case KeyClear:
		s.input = nil
	case KeyEscape:
		s.message, s.scroll = nil, 0
	case KeyInterrupt, KeyEOF:
		s.end = true
	case KeyUp, KeyDown:
		if k == KeyUp {
			s.recall++
		} else {
			s.recall--
		}
		s.recall = min(max(s.recall, 0), len(s.typed))
		s.input = nil
		if s.recall > 0 {
			s.input = []rune(s.typed[len(s.typed)-s.recall])
		}
	case KeyPageUp:
		s.scroll = max(0, s.scroll-s.height/2)
	case KeyPageDown:
		s.scroll += s.height / 2
	default:
		if unicode.IsPrint(rune(k)) {
			s.input = append(s.input, rune(k))
		}
	}
}

func (s *Screen) enter() {
	text := string(s.input)
	s.input, s.recall, s.scroll = nil, 0, 0
	if strings.TrimSpace(text) != "" {
		s.typed = append(s.typed, text)
	}
	r := s.d.Do(text, max(20, s.width-1))
	s.message, s.end = r.Lines, r.End
}

// style is how a piece of text looks where there are colours.
type style string

// The styles, as SGR sequences (ECMA-48).
const (
	plain   style = ""
	strong  style = "1"
	quiet   style = "2"
	warning style = "1;31"
	good    style = "32"
	odd     style = "33"
	bar     style = "36"
)

// row is a line with one or two columns.
type row struct {
	text  string
	style style
	right string
	tint  style
}

// sideWidth is the column of suspects at the right, from wide on.
const (
	sideWidth = 42
	wide      = 104
)

// View returns as many lines as the terminal has, none wider than it.
func (s *Screen) View() []string {
	left := s.width
	if s.width >= wide {
		left = s.width - sideWidth - 2
	}
	message, long := s.messageRows()
	room := s.height - 2 - len(message)
	body := s.stepRows(left)
	side := s.suspectRows(sideWidth, 8)
	if s.width < wide {
		side = s.suspectRows(s.width-1, max(3, room/5))
	}
	log := s.readingRows(left)
	if s.width >= wide {
		body = append(append(body, row{}), log...)
		for i, r := range side {
			for len(body) <= i {
				body = append(body, row{})
			}
			body[i].right, body[i].tint = r.text, r.style
		}
	} else {
		body = append(append(append(append(body, row{}), side...), row{}), log...)
	}
	switch {
	case !long:
		body = s.scrolled(body, room)
	case len(body) > room:
		body = cut(body, room, "-- Esc: more --")
	}
	lines := []string{s.paint(row{text: s.d.b.Name + "  " + s.d.Saved, style: strong}, s.width)}
	for i := range room {
		if i < len(body) {
			lines = append(lines, s.paint(body[i], left))
		} else {
			lines = append(lines, "")
		}
	}
	for _, r := range message {
		lines = append(lines, s.paint(r, s.width))
	}
	return append(lines, s.inputLine())
}

// scrolled cuts rows to a height and says that there are more.
func (s *Screen) scrolled(rows []row, height int) []row {
	s.scroll = min(s.scroll, max(0, len(rows)-height))
	rest := rows[s.scroll:]
	if len(rest) <= height {
		return rest
	}
	return cut(rest, height, "-- PgDn: more --")
}

// cut leaves room for a word that tells of more rows.
func cut(rows []row, height int, word string) []row {
	rows = slices.Clone(rows[:height])
	rows[height-1] = row{text: word, style: quiet}
	return rows
}

func (s *Screen) inputLine() string {
	text := []rune("> " + string(s.input))
	if over := len(text) - (s.width - 1); over > 0 {
		text = text[over:]
	}
	return string(text)
}

// messageRows is what the last line led to, and whether it is cut since it would
// leave no room for the step.
func (s *Screen) messageRows() (rows []row, long bool) {
	for _, line := range s.message {
		r := row{text: line}
		if strings.HasPrefix(line, "!") {
			r.style = warning
		}
		rows = append(rows, r)
	}
	if len(rows) == 0 {
		return nil, false
	}
	most := max(2, s.height*2/3-2)
	if long = len(rows) > most; long {
		rows = s.scrolled(rows, most)
	}
	return append([]row{{text: strings.Repeat("─", s.width-1), style: quiet}}, rows...), long
}

func (s *Screen) stepRows(width int) []row {
	o := &page{width: width - 1}
	s.d.writeStep(o)
	rows := make([]row, len(o.lines))
	for i, line := range o.lines {
		rows[i].text = line
		switch {
		case i == 0:
			rows[i].style = strong
		case strings.HasPrefix(line, "  caution") || strings.HasPrefix(line, "  !"):
			rows[i].style = warning
		}
	}
	return rows
}

// suspectRows draws the shares as bars.
func (s *Screen) suspectRows(width, most int) []row {
	r := s.d.now.report
	rows := []row{{text: "Suspects", style: strong}}
	if len(r.Readings) == 0 {
		rows[0].text = "Suspects, by failure rate alone"
	}
	add := func(p float64, name string) {
		if len(rows) <= most {
			const full = 8
			filled := int(full*p + 0.5)
			rows = append(rows, row{text: clip(fmt.Sprintf("%s %s%s %s", percent(p), strings.Repeat("█", filled), strings.Repeat("·", full-filled), name), width), style: bar})
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
	rows := []row{{text: "Readings, the last one first", style: strong}}
	for k := len(readings) - 1; k >= 0; k-- {
		r := row{text: clip("  "+readings[k].Text+"  "+s.d.standingText(k), width-1), style: odd}
		if s.d.now.report.Healthy[k] {
			r.style = good
		}
		rows = append(rows, r)
	}
	return rows
}

func clip(text string, width int) string {
	if utf8.RuneCountInString(text) <= width {
		return text
	}
	return string([]rune(text)[:max(0, width-1)]) + "…"
}

// paint writes a row with its right column from the given width on.
func (s *Screen) paint(r row, width int) string {
	text := s.dye(clip(r.text, width), r.style)
	if r.right == "" {
		return text
	}
	pad := strings.Repeat(" ", max(0, width-utf8.RuneCountInString(r.text))+2)
	return text + pad + s.dye(clip(r.right, s.width-width-2), r.tint)
}

func (s *Screen) dye(text string, look style) string {
	if !s.color || look == plain || text == "" {
		return text
	}
	return "\x1b[" + string(look) + "m" + text + "\x1b[0m"
}
