package mode

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
)

// Parse reads a mode as a technician types it. Letters may be large or small.
//
//	1366x768              a size, at 60 Hz
//	1920×1080 60Hz        a size and a rate; also 1920x1080@60, 1920x1080p60
//	1920x1080@60 rb       words for the standard: rb, rb2, full, cvt, dmt, gtf, also two of them
//	dmt:52, dmt 0x52      an id of the DMT standard; ids are always hexadecimal
//	72.3MHz 1366+48+32+114 768+3+6+15
//	                      a data sheet: clock, then active+front+sync+back of both directions,
//	                      then +hsync and -vsync where given
//	Modeline "x" 138.50 1920 1968 2000 2080 1080 1083 1088 1111 +hsync -vsync
//	                      a line of an X log, also without its first word or its name
//
// Without a word the mode has reduced blanking, as notebook panels do (common
// practice, no source): the DMT mode of this size and rate if there is one, else
// CVT-RB. Mode.Origin says which it is.
//
// Every error is a mistake.Mistake.
func Parse(s string) (Mode, error) {
	p := &parser{text: s, tokens: lex(s)}
	m, err := p.mode()
	var wrong mistake.Mistake
	switch {
	case err == nil:
		return m, nil
	case errors.As(err, &wrong):
		return Mode{}, wrong
	}
	return Mode{}, mistake.Mistake{Text: s, Code: "mode", Msg: err.Error()}
}

const example = "such as 1366x768@60"

type parser struct {
	text   string
	tokens []token
	at     int
}

func (p *parser) peek() token { return p.tokens[p.at] }

// next moves on, except over the end.
func (p *parser) next() token {
	t := p.tokens[p.at]
	if t.kind != endToken {
		p.at++
	}
	return t
}

// accept moves over one of these words or signs, in small letters.
func (p *parser) accept(texts ...string) bool {
	t := p.peek()
	if t.kind != endToken && slices.Contains(texts, strings.ToLower(t.text)) {
		p.at++
		return true
	}
	return false
}

// unexpected says what was read, what should have stood there, and what may be meant.
func (p *parser) unexpected(t token, want, near string) error {
	read := "the end"
	if t.text != "" {
		read = strconv.Quote(t.text)
	}
	return p.wrong(t, "read "+read, want, near)
}

func (p *parser) wrong(t token, msg, want, near string) error {
	return mistake.Mistake{Text: p.text, Column: t.column, Width: utf8.RuneCountInString(t.text), Code: "mode", Msg: msg,
		Want: want, Near: near}
}

// out turns a value out of range into an error with its column.
func (p *parser) out(t token, err error) error {
	if err == nil {
		return nil
	}
	return p.wrong(t, err.Error(), "", "")
}

func (p *parser) mode() (Mode, error) {
	t := p.peek()
	switch {
	case p.accept("modeline"), p.bareModeline():
		return p.modeline()
	case p.accept("dmt"):
		return p.dmtID()
	case sizeOf(p.tokens) != "":
		return Mode{}, p.unexpected(t, "width and height", sizeOf(p.tokens))
	case t.kind == word:
		return Mode{}, p.unexpected(t, "a size, a clock, dmt or modeline, "+example, mistake.Nearest(t.text, []string{"dmt", "modeline"}))
	case t.kind != number:
		return Mode{}, p.unexpected(t, "a size, a clock, dmt or modeline, "+example, "")
	}
	if _, ok := clockUnit(p.tokens[1]); ok {
		return p.sheet()
	}
	return p.sized()
}

// bareModeline reports whether the numbers of a modeline stand here without the word: a
// clock and eight whole numbers, behind a name in quotes or not. Nothing else that
// Parse takes has two numbers side by side.
func (p *parser) bareModeline() bool {
	ts := p.tokens[p.at:]
	ts = ts[nameLen(ts):]
	if len(ts) < 9 {
		return false
	}
	for i, t := range ts[:9] {
		if t.kind != number || i > 0 && strings.Contains(t.text, ".") {
			return false
		}
	}
	return true
}

// nameLen is the number of tokens that name a modeline: none, "1366x768", or
// "1366x768"x60.0 with a rate as logs of X have it.
func nameLen(ts []token) int {
	switch {
	case ts[0].kind != quoted:
		return 0
	case len(ts) > 3 && strings.EqualFold(ts[1].text, "x") && !ts[1].spaced && ts[2].kind == number && !ts[2].spaced:
		return 3
	}
	return 1
}

// whole reads a whole number from low to high.
func (p *parser) whole(what string, low, high int) (int, error) {
	t := p.next()
	if t.kind != number {
		return 0, p.unexpected(t, what, "")
	}
	if strings.Contains(t.text, ".") {
		return 0, p.unexpected(t, what+" as a whole number", "")
	}
	n, err := strconv.Atoi(t.text)
	if err != nil || n < low || n > high {
		return 0, p.out(t, fmt.Errorf("%s %s is out of range, %d to %d", what, t.text, low, high))
	}
	return n, nil
}

// decimal reads a number that may have a point.
func (p *parser) decimal(what string) (float64, token, error) {
	t := p.next()
	if t.kind != number {
		return 0, t, p.unexpected(t, what, "")
	}
	v, err := strconv.ParseFloat(t.text, 64)
	if err != nil && !errors.Is(err, strconv.ErrRange) {
		return 0, t, p.unexpected(t, what+" with one point at most", "")
	}
	return v, t, nil
}

// dmtID reads the id behind dmt: 52, 0x52, 52h, with a colon or not.
func (p *parser) dmtID() (Mode, error) {
	p.accept(":")
	p.accept("id")
	first := p.peek()
	var text strings.Builder
	for t := p.next(); t.kind != endToken; t = p.next() {
		text.WriteString(t.text)
	}
	digits := strings.TrimPrefix(strings.TrimSuffix(strings.ToLower(text.String()), "h"), "0x")
	id, err := strconv.ParseUint(digits, 16, 8)
	if err != nil {
		first.text = text.String()
		return Mode{}, p.unexpected(first, "an id of a DMT mode, hexadecimal, such as dmt:52", "")
	}
	m, ok := dmtByID(byte(id))
	if !ok {
		return Mode{}, p.out(first, fmt.Errorf("DMT 1.13 has no progressive mode %02Xh, only %02Xh to %02Xh",
			id, dmtRows[0].id, dmtRows[len(dmtRows)-1].id))
	}
	return m, nil
}

// clockUnit is the worth in Hz of the unit of a pixel clock.
func clockUnit(t token) (float64, bool) {
	switch strings.ToLower(t.text) {
	case "khz":
		return 1e3, true
	case "mhz":
		return 1e6, true
	case "ghz":
		return 1e9, true
	}
	return 0, false
}

// clock reads a pixel clock, to the Hz, in the unit that stands behind it or in
// MHz.
func (p *parser) clock() (float64, error) {
	v, t, err := p.decimal("a pixel clock in MHz")
	if err != nil {
		return 0, err
	}
	unit, ok := clockUnit(p.peek())
	if ok {
		p.next()
	} else {
		unit = 1e6
	}
	hz := math.Round(v * unit)
	return hz, p.out(t, checkClock(hz))
}

// sheet reads the numbers of a data sheet.
func (p *parser) sheet() (m Mode, err error) {
	if m.Clock, err = p.clock(); err != nil {
		return Mode{}, err
	}
	if m.H, err = p.axis("pixels"); err != nil {
		return Mode{}, err
	}
	if m.V, err = p.axis("lines"); err != nil {
		return Mode{}, err
	}
	m.Origin = "timings as typed"
	return p.finish(m)
}

func (p *parser) axis(unit string) (a Axis, err error) {
	for i, part := range []struct {
		to   *int
		name string
		low  int
	}{{&a.Active, "active", 1}, {&a.Front, "front porch", 0}, {&a.Sync, "sync", 0}, {&a.Back, "back porch", 0}} {
		if t := p.peek(); i > 0 && !p.accept("+") {
			return a, p.unexpected(t, `"+" and the `+part.name+" in "+unit+", such as 1366+48+32+114", "")
		}
		if *part.to, err = p.whole(part.name+" "+unit, part.low, MaxSize); err != nil {
			return a, err
		}
	}
	return a, nil
}

// modeline reads a line of an X log, behind its first word.
func (p *parser) modeline() (m Mode, err error) {
	p.at += nameLen(p.tokens[p.at:])
	if m.Clock, err = p.clock(); err != nil {
		return Mode{}, err
	}
	if m.H, err = p.edges("horizontal"); err != nil {
		return Mode{}, err
	}
	if m.V, err = p.edges("vertical"); err != nil {
		return Mode{}, err
	}
	m.Origin = "modeline as typed"
	return p.finish(m)
}

// edges reads four rising numbers: the ends of picture, front porch, sync and all.
func (p *parser) edges(which string) (Axis, error) {
	var at [4]int
	for i, name := range []string{"active", "start of sync", "end of sync", "total"} {
		t := p.peek()
		low, high := 1, MaxSize
		if i > 0 {
			low, high = at[i-1], at[i-1]+MaxSize
		}
		n, err := p.whole(which+" "+name, 1, 4*MaxSize)
		if err != nil {
			return Axis{}, err
		}
		if n < low || n > high {
			return Axis{}, p.unexpected(t, fmt.Sprintf("%s %s of %d to %d", which, name, low, high), "")
		}
		at[i] = n
	}
	return Axis{at[0], at[1] - at[0], at[2] - at[1], at[3] - at[2]}, nil
}

// finish reads the flags behind full timings and checks the whole.
func (p *parser) finish(m Mode) (Mode, error) {
	const expected = "+hsync, -hsync, +vsync, -vsync or the end"
	frame := m.Origin == "modeline as typed"
	polarities := false
	for p.peek().kind != endToken {
		t := p.peek()
		if frame && t.text == "(" {
			break // logs put the line rate and what else is known of the mode here
		}
		positive := t.text == "+"
		if positive || t.text == "-" {
			p.next()
			switch t = p.peek(); {
			case p.accept("hsync"):
				m.HPos, polarities = positive, true
			case p.accept("vsync"):
				m.VPos, polarities = positive, true
			default:
				return Mode{}, p.unexpected(t, "hsync or vsync, such as +hsync", mistake.Nearest(t.text, []string{"hsync", "vsync"}))
			}
			continue
		}
		return Mode{}, p.unexpected(t, expected, "")
	}
	if !polarities {
		m.Note = "no sync polarity is given: taken as negative"
	}
	if err := checkRate(m.Rate()); err != nil {
		return Mode{}, fmt.Errorf("%s MHz over %d pixels and %d lines: %w", megahertz(m.Clock), m.H.Total(), m.V.Total(), err)
	}
	return m, nil
}

// sized reads a size, a rate and words for the standard.
func (p *parser) sized() (Mode, error) {
	w, err := p.whole("width", 1, MaxSize)
	if err != nil {
		return Mode{}, err
	}
	if t := p.peek(); !p.accept("x", "×", "*", "by") {
		return Mode{}, p.unexpected(t, `"x" between width and height, or a unit of a clock, `+example, "")
	}
	h, err := p.whole("height", 1, MaxSize)
	if err != nil {
		return Mode{}, err
	}
	c := choice{}
	p.accept("p")
	rate, err := p.rate()
	if err != nil {
		return Mode{}, err
	}
	if err := p.words(&c); err != nil {
		return Mode{}, err
	}
	return choose(w, h, rate, c)
}

// rate reads the rate behind a size; 60 Hz when there is none.
func (p *parser) rate() (float64, error) {
	if !p.accept("@", "at") && p.peek().kind != number {
		return 60, nil
	}
	v, t, err := p.decimal("a rate in Hz")
	if err != nil {
		return 0, err
	}
	p.accept("hz")
	return v, p.out(t, checkRate(v))
}

// words reads the words for the standard, up to the end.
func (p *parser) words(c *choice) error {
	for t := p.next(); t.kind != endToken; t = p.next() {
		if t.text == "-" && p.peek().kind == word {
			continue // cvt-rb
		}
		switch known, fits := c.take(t.text); {
		case !known:
			return p.unexpected(t, "one of "+strings.Join(choiceWords(), ", ")+" or the end", mistake.Nearest(t.text, choiceWords()))
		case !fits:
			return p.unexpected(t, "a word that does not contradict the one before", "")
		}
	}
	return nil
}
