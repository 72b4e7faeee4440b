package mode

import (
	"slices"
	"unicode"
)

type tokenKind byte

const (
	endToken tokenKind = iota
	number             // digits, with a point
	word               // letters, then letters and digits
	quoted             // between double quotes
	mark               // any other sign
)

type token struct {
	kind   tokenKind
	text   string
	column int
	spaced bool // white space stands before it
}

// lex cuts a typed mode into tokens; the last one is an endToken. Commas and
// semicolons count as white space.
func lex(s string) []token {
	rs := []rune(s)
	var ts []token
	spaced := false
	for i := 0; i < len(rs); {
		if unicode.IsSpace(rs[i]) || rs[i] == ',' || rs[i] == ';' {
			spaced = true
			i++
			continue
		}
		kind, n := scan(rs[i:])
		ts = append(ts, token{kind, string(rs[i : i+n]), i + 1, spaced})
		spaced = false
		i += n
	}
	return append(ts, token{endToken, "", len(rs) + 1, spaced})
}

// scan gives the kind and length of the token at the start of rs.
func scan(rs []rune) (tokenKind, int) {
	switch {
	case isDigit(rs[0]):
		return number, span(rs, func(r rune) bool { return isDigit(r) || r == '.' })
	case rs[0] == '"':
		if n := span(rs[1:], func(r rune) bool { return r != '"' }); n+1 < len(rs) {
			return quoted, n + 2
		}
		return mark, 1
	case unicode.IsLetter(rs[0]):
		// The letter between or behind two numbers is a word alone: 1366x768, 768p60.
		if len(rs) > 1 && isDigit(rs[1]) && slices.Contains([]rune("xXiIpP"), rs[0]) {
			return word, 1
		}
		return word, span(rs, func(r rune) bool { return unicode.IsLetter(r) || isDigit(r) })
	}
	return mark, 1
}

// span counts the runes at the start that fit.
func span(rs []rune, fits func(rune) bool) int {
	n := 0
	for n < len(rs) && fits(rs[n]) {
		n++
	}
	return n
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }
