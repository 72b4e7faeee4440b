package dump

import (
	"fmt"
	"strings"
)

const wantHex = "two hex digits for each byte (00 to ff), such as 00 ff ff ff ff ff ff 00"

// formsRead names the forms that are taken.
const formsRead = "hex (00 ff, 0x00, \\x00, 00h, $00), decimal numbers, Intel HEX, or what xxd, hexdump -C, " +
	"od -t x1, i2cdump, reg query print"

// looseLines reads hex digits in any layout: with 0x or \x or without, parted
// by spaces, commas, colons, hyphens or nothing.
func (r *reading) looseLines(name string, lines []line) error {
	for _, l := range lines {
		if err := r.looseLine(name, l, 0, len(l.text), false); err != nil {
			return err
		}
		if len(r.bytes) > MaxBytes {
			return tooLong(name, len(r.bytes))
		}
	}
	return nil
}

// looseLine reads the bytes a to b of a line. In strict C a byte needs 0x.
func (r *reading) looseLine(name string, l line, a, b int, strict bool) error {
	text := l.text[:b]
	if t := strings.TrimLeft(text[a:], " \t"); strings.HasPrefix(t, "#") || strings.HasPrefix(t, "//") || strings.HasPrefix(t, ";") {
		return nil // a comment
	}
	for i := afterDirective(text, a); i < b; {
		switch {
		case strings.IndexByte(" \t\f,:;-\"'[](){}", text[i]) >= 0:
			i++
			continue
		case text[i] == '\\' && strings.TrimSpace(text[i+1:]) == "":
			return nil // the line goes on in the next one
		case strings.HasPrefix(text[i:], "\u00a0"):
			i += len("\u00a0") // the hard space of copied web pages
			continue
		}
		end := wordEnd(text, i)
		if err := r.word(name, l, i, end, strict); err != nil {
			return err
		}
		i = end
	}
	return nil
}

// afterDirective passes over the word of an assembler that puts bytes there; db
// is hex too, so it counts only before a word with a mark.
func afterDirective(text string, a int) int {
	f := strings.Fields(text[a:])
	if len(f) < 2 {
		return a
	}
	first, _, _ := strings.Cut(f[1], ",")
	_, marked := bare(first)
	switch strings.ToLower(f[0]) {
	case "db", "dc.b", "defb", "byte", ".byte":
		if marked {
			return a + strings.Index(text[a:], f[0]) + len(f[0])
		}
	}
	return a
}

// wordEnd is where the word that starts at i ends; \x starts a new word.
func wordEnd(text string, i int) int {
	j := i + 1
	for j < len(text) && strings.IndexByte(" \t\f,:;-\"'[](){}\\", text[j]) < 0 && !strings.HasPrefix(text[j:], "\u00a0") {
		j++
	}
	return j
}

// word reads one run of digits.
func (r *reading) word(name string, l line, a, b int, strict bool) error {
	w := l.text[a:b]
	if w == "XX" || w == "xx" || w == "??" {
		r.skip(1)
		return nil
	}
	digits, prefixed := bare(w)
	at := a + strings.Index(w, digits)
	if i := strings.IndexFunc(digits, notHex); i >= 0 || digits == "" {
		return badWord(name, l, a, b, at+max(i, 0))
	}
	if strict && !prefixed && w != "0" {
		return l.problem(name, "not-hex", a, b, fmt.Sprintf("%q in a C array is no hex number", w), "0x before each byte, such as 0x00, 0xff")
	}
	if len(digits) == 1 && (prefixed || strict) {
		digits = "0" + digits
	}
	if len(digits)%2 != 0 {
		p := l.problem(name, "odd-digits", a, b, fmt.Sprintf("%q has %d hex digits: half a byte is left over", short(w), len(digits)), wantHex)
		return p
	}
	r.addDigits(digits)
	return nil
}

// addDigits adds the bytes of an even number of hex digits.
func (r *reading) addDigits(digits string) {
	for i := 0; i < len(digits); i += 2 {
		r.add(hexValue(digits[i])<<4 | hexValue(digits[i+1]))
	}
}

// bare takes away what marks a word as hex: 0x, \x or $ before it, h behind it.
func bare(w string) (digits string, marked bool) {
	for _, p := range []string{"0x", "0X", "\\x", "\\X", "$"} {
		if rest, ok := strings.CutPrefix(w, p); ok {
			return rest, true
		}
	}
	rest := strings.TrimRight(w, "hH")
	if len(rest) != len(w)-1 || !isHex(rest) {
		return w, false
	}
	if len(rest) == 3 { // assemblers want a digit first: 0FFh
		rest = strings.TrimPrefix(rest, "0")
	}
	return rest, true
}

// badWord explains a word that is not hex; bad is where it goes wrong.
func badWord(name string, l line, a, b, bad int) error {
	w := l.text[a:b]
	fixed := strings.NewReplacer("O", "0", "o", "0", "l", "1", "I", "1", "i", "1", "S", "5", "s", "5", "Z", "2", "z", "2").Replace(w)
	if rest := strings.TrimPrefix(fixed, "0x"); rest != "" && strings.IndexFunc(rest, notHex) < 0 && len(rest)%2 == 0 {
		p := l.problem(name, "not-hex", bad, bad+1, fmt.Sprintf("the letter %q in %q is no hex digit", l.text[bad], short(w)), wantHex)
		p.Near = short(fixed)
		return p
	}
	return l.problem(name, "not-hex", a, b, fmt.Sprintf("%q is not hex; what is read: %s", short(w), formsRead), wantHex)
}

// short keeps a message on one line.
func short(w string) string {
	const most = 24
	if len(w) <= most {
		return w
	}
	return strings.ToValidUTF8(w[:most], "") + "…"
}

func notHex(c rune) bool {
	return (c < '0' || c > '9') && (c < 'a' || c > 'f') && (c < 'A' || c > 'F')
}

func isHex(s string) bool { return s != "" && strings.IndexFunc(s, notHex) < 0 }

func hexValue(c byte) byte {
	switch {
	case c >= 'a':
		return c - 'a' + 10
	case c >= 'A':
		return c - 'A' + 10
	}
	return c - '0'
}
