package say

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Hidden reports whether a character is not seen where it stands, or changes how others
// are seen: controls, marks of writing direction, what has no width, breaks of lines.
func Hidden(r rune) bool {
	if r < utf8.RuneSelf {
		return r < ' ' || r == 0x7f
	}
	return unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Other_Default_Ignorable_Code_Point,
		unicode.Variation_Selector, unicode.Noncharacter_Code_Point)
}

// Plain writes a text so that it is seen as it is: hidden characters, and bytes that are
// no text, as in a string of Go.
func Plain(text string) string { return plain(text, Hidden) }

// PlainLines is Plain for a text of several lines.
func PlainLines(text string) string {
	return plain(text, func(r rune) bool { return r != '\n' && Hidden(r) })
}

func plain(text string, hidden func(rune) bool) string {
	if utf8.ValidString(text) && !strings.ContainsFunc(text, hidden) {
		return text
	}
	var b strings.Builder
	for len(text) > 0 {
		r, n := utf8.DecodeRuneInString(text)
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, `\x%02x`, text[0])
		case !hidden(r):
			b.WriteRune(r)
		case r < utf8.RuneSelf:
			fmt.Fprintf(&b, `\x%02x`, r)
		case r > 0xffff:
			fmt.Fprintf(&b, `\U%08x`, r)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
		text = text[n:]
	}
	return b.String()
}
