package mode

import (
	"fmt"
	"math"
	"regexp"
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
//	1920x1080@60 rb       words for the standard: rb, rb2, full, cvt, dmt, also two of them
//	72.3MHz 1366+48+32+114 768+3+6+15
//	                      a data sheet: clock, then active+front+sync+back of both directions,
//	                      then +hsync and -vsync where given
//
// Without a word the mode has reduced blanking, as notebook panels do (common
// practice, no source): the DMT mode of this size and rate if there is one, else
// CVT-RB. Mode.Origin says which it is.
//
// Every error is a mistake.Mistake.
func Parse(s string) (Mode, error) {
	p := &parser{text: s, tokens: lex(s)}
	m := p.mode()
	if p.err != nil {
		return Mode{}, p.err
	}
	return m, nil
}

const example = "such as 1366x768@60"

// parser keeps its first error; what is read after one is zero.
type parser struct {
	text   string
	tokens []token
	at     int
	err    error
}

// token is a number, a word or a sign; the last one has no text.
type token struct {
	text   string
	column int
}

func (t token) isNumber() bool { return t.text != "" && isDigit(t.text[0]) }

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

var tokenForm = regexp.MustCompile(`\d[\d.]*|\pL[\pL\d]*|[^\s,;]`)

// lex cuts a typed mode into tokens. Commas and semicolons count as white space.
func lex(s string) []token {
	var ts []token
	at := 0
	for found := tokenForm.FindStringIndex(s); found != nil; found = tokenForm.FindStringIndex(s[at:]) {
		from, to := at+found[0], at+found[1]
		// The letter between or behind two numbers is a word alone: 1366x768, 768p60.
		if to > from+1 && strings.IndexByte("xXiIpP", s[from]) >= 0 && isDigit(s[from+1]) {
			to = from + 1
		}
		ts = append(ts, token{s[from:to], utf8.RuneCountInString(s[:from]) + 1})
		at = to
	}
	return append(ts, token{"", utf8.RuneCountInString(s) + 1})
}

func (p *parser) peek() token { return p.tokens[p.at] }

// more reports whether something is left to read.
func (p *parser) more() bool { return p.err == nil && p.peek().text != "" }

// next moves on, except over the end.
func (p *parser) next() token {
	t := p.tokens[p.at]
	p.at = min(p.at+1, len(p.tokens)-1)
	return t
}

// accept moves over one of these words or signs, in small letters.
func (p *parser) accept(texts ...string) bool {
	if !p.more() || !slices.Contains(texts, strings.ToLower(p.peek().text)) {
		return false
	}
	p.at++
	return true
}

// unexpected says what was read, what should have stood there, and what may be meant.
func (p *parser) unexpected(t token, want, near string) {
	read := "read the end"
	if t.text != "" {
		read = "read " + strconv.Quote(t.text)
	}
	p.wrong(t, read, want, near)
}

func (p *parser) wrong(t token, msg, want, near string) {
	if p.err == nil {
		p.err = mistake.Mistake{Text: p.text, Column: t.column, Width: utf8.RuneCountInString(t.text), Code: "mode", Msg: msg,
			Want: want, Near: near}
	}
}

// check keeps an error about a token, or about all of the text.
func (p *parser) check(t token, err error) {
	if err != nil {
		p.wrong(t, err.Error(), "", "")
	}
}

func (p *parser) mode() Mode {
	switch t := p.peek(); {
	case sizeOf(p.text) != "":
		p.unexpected(t, "width and height", sizeOf(p.text))
	case !t.isNumber():
		p.unexpected(t, "a size or a clock, "+example, "")
	case clockUnit(p.tokens[1]) > 0:
		return p.sheet()
	default:
		return p.sized()
	}
	return Mode{}
}

var sizeName = regexp.MustCompile(`^\s*(\d+\s*[kip]|[a-z]+\+?)`)

// sizeOf is the size that a mode means by name, such as 1920x1080 for 1080p or FHD; ""
// for anything else. Such a name is refused, since makers do not all mean the same by
// it, but the size helps to write what is meant. Common practice, no source.
func sizeOf(text string) string {
	names := map[string]string{
		"xga": "1024x768", "sxga": "1280x1024", "sxga+": "1400x1050", "uxga": "1600x1200", "720p": "1280x720", "wxga": "1280x800",
		"800p": "1280x800", "hd": "1366x768", "768p": "1366x768", "wxga+": "1440x900", "hd+": "1600x900", "900p": "1600x900",
		"wsxga+": "1680x1050", "1050p": "1680x1050", "fhd": "1920x1080", "1080p": "1920x1080", "wuxga": "1920x1200",
		"fhd+": "1920x1200", "1200p": "1920x1200", "qhd": "2560x1440", "wqhd": "2560x1440", "1440p": "2560x1440",
		"wqxga": "2560x1600", "1600p": "2560x1600", "qhd+": "3200x1800", "uhd": "3840x2160", "4k": "3840x2160", "2160p": "3840x2160",
	}
	name := strings.Join(strings.Fields(sizeName.FindString(strings.ToLower(text))), "")
	if number, ok := strings.CutSuffix(name, "i"); ok {
		name = number + "p" // 1080i has the size of 1080p
	}
	return names[name]
}

// whole reads a whole number from low to MaxSize.
func (p *parser) whole(what string, low int) int {
	t := p.next()
	n, err := strconv.Atoi(t.text)
	switch {
	case !t.isNumber():
		p.unexpected(t, what, "")
	case strings.Contains(t.text, "."):
		p.unexpected(t, what+" as a whole number", "")
	case err != nil || n < low || n > MaxSize:
		p.check(t, fmt.Errorf("%s %s is out of range, %d to %d", what, t.text, low, MaxSize))
	default:
		return n
	}
	return 0
}

// decimal reads a number that may have a point; what is too large is infinite.
func (p *parser) decimal(what string) (float64, token) {
	t := p.next()
	v, err := strconv.ParseFloat(t.text, 64)
	switch {
	case !t.isNumber():
		p.unexpected(t, what, "")
	case err != nil && !math.IsInf(v, 1):
		p.unexpected(t, what+" with one point at most", "")
	}
	return v, t
}

// clockUnit is the worth in Hz of the unit of a pixel clock, 0 for another word.
func clockUnit(t token) float64 {
	return map[string]float64{"khz": 1e3, "mhz": 1e6, "ghz": 1e9}[strings.ToLower(t.text)]
}

// clock reads a pixel clock with its unit, to the Hz.
func (p *parser) clock() float64 {
	v, t := p.decimal("a pixel clock")
	hz := math.Round(v * clockUnit(p.next()))
	p.check(t, checkClock(hz))
	return hz
}

// sheet reads the numbers of a data sheet, the polarities behind them, and checks the
// whole.
func (p *parser) sheet() Mode {
	m := Mode{Clock: p.clock(), H: p.axis("pixels"), V: p.axis("lines"), Origin: "timings as typed"}
	m.Note = "no sync polarity is given: taken as negative"
	for p.more() {
		t := p.next()
		if t.text != "+" && t.text != "-" {
			p.unexpected(t, "+hsync, -hsync, +vsync, -vsync or the end", "")
			break
		}
		positive := t.text == "+"
		m.Note = ""
		switch t = p.peek(); {
		case p.accept("hsync"):
			m.HPos = positive
		case p.accept("vsync"):
			m.VPos = positive
		default:
			p.unexpected(t, "hsync or vsync, such as +hsync", mistake.Nearest(t.text, []string{"hsync", "vsync"}))
		}
	}
	if err := checkRate(m.Rate()); err != nil {
		p.check(token{}, fmt.Errorf("%s MHz over %d pixels and %d lines: %w", megahertz(m.Clock), m.H.Total(), m.V.Total(), err))
	}
	return m
}

func (p *parser) axis(unit string) (a Axis) {
	a.Active = p.whole("active "+unit, 1)
	part := func(name string) int {
		if t := p.peek(); !p.accept("+") {
			p.unexpected(t, `"+" and the `+name+" in "+unit+", such as 1366+48+32+114", "")
		}
		return p.whole(name+" "+unit, 0)
	}
	a.Front, a.Sync, a.Back = part("front porch"), part("sync"), part("back porch")
	return a
}

// sized reads a size, a rate and words for the standard.
func (p *parser) sized() Mode {
	w := p.whole("width", 1)
	if t := p.peek(); t.text == "" {
		p.wrong(p.tokens[0], "a number alone is no mode", "width and height, "+example+", or a clock with its unit", "")
	} else if !p.accept("x", "×", "*", "by") {
		p.unexpected(t, `"x" between width and height, or a unit of a clock, `+example, "")
	}
	h := p.whole("height", 1)
	p.accept("p")
	rate := 60.0 // Hz
	if p.accept("@", "at") || p.peek().isNumber() {
		var t token
		rate, t = p.decimal("a rate in Hz")
		p.accept("hz")
		p.check(t, checkRate(rate))
	}
	var c choice
	for p.more() {
		t := p.next()
		if t.text == "-" && p.more() && !p.peek().isNumber() {
			continue // cvt-rb
		}
		c.take(p, t)
	}
	if p.err != nil {
		return Mode{}
	}
	m, err := choose(w, h, rate, c)
	p.check(token{}, err)
	return m
}
