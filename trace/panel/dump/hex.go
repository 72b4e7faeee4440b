package dump

import (
	"encoding/hex"
	"fmt"
	"regexp"
	"strings"
)

const wantHex = "two hex digits for each byte (00 to ff), such as 00 ff ff ff ff ff ff 00"

// hexWord is a run of signs that do not stand between bytes; \x starts a new one. The
// last sign between them is the hard space of copied web pages.
var hexWord = regexp.MustCompile("\\\\?[^\\\\ \\t\\f,:;\"'\\[\\](){}\u00a0-]+|\\\\")

func isComment(text string) bool {
	t := strings.TrimLeft(text, " \t")
	return strings.HasPrefix(t, "#") || strings.HasPrefix(t, "//") || strings.HasPrefix(t, ";")
}

// hexLine reads the bytes of hex text from a to b of a line: with 0x or \x or
// without, parted by spaces, commas, colons, hyphens or nothing. In strict C a byte
// needs 0x.
func (r *reading) hexLine(l line, a, b int, strict bool) error {
	text := l.text[a:b]
	if isComment(text) {
		return nil
	}
	for _, at := range hexWord.FindAllStringIndex(text, -1) {
		if text[at[0]:at[1]] == `\` && strings.TrimSpace(text[at[1]:]) == "" {
			return nil // the line goes on in the next one
		}
		if err := r.word(l, a+at[0], a+at[1], strict); err != nil {
			return err
		}
	}
	return nil
}

// word reads one run of digits.
func (r *reading) word(l line, a, b int, strict bool) error {
	w := l.text[a:b]
	if w == "XX" || w == "xx" || w == "??" {
		r.skip(1)
		return nil
	}
	digits, prefixed := bare(w)
	switch {
	case !isHex(digits):
		return badWord(l, a, b)
	case strict && !prefixed && w != "0":
		return l.problem("not-hex", a, b, fmt.Sprintf("%q in a C array is no hex number", w), "0x before each byte, such as 0x00, 0xff")
	case len(digits) == 1 && (prefixed || strict):
		digits = "0" + digits
	case len(digits)%2 != 0:
		return l.problem("odd-digits", a, b, fmt.Sprintf("%q has %d hex digits: half a byte is left over", short(w), len(digits)), wantHex)
	}
	list, err := hex.DecodeString(digits)
	r.Bytes = append(r.Bytes, list...)
	return err
}

// bare takes away what marks a word as hex: 0x or \x before it.
func bare(w string) (digits string, marked bool) {
	for _, p := range []string{"0x", "0X", "\\x", "\\X"} {
		if rest, ok := strings.CutPrefix(w, p); ok {
			return rest, true
		}
	}
	return w, false
}

// alike are letters that are taken for digits.
var alike = strings.NewReplacer("O", "0", "o", "0", "l", "1", "I", "1", "i", "1", "S", "5", "s", "5", "Z", "2", "z", "2")

// badWord explains a word that is not hex.
func badWord(l line, a, b int) error {
	w := l.text[a:b]
	fixed := alike.Replace(w)
	digits, _ := bare(w)
	bad := a + len(w) - len(digits) + max(0, strings.IndexFunc(digits, notHex))
	if rest, _ := bare(fixed); isHex(rest) && len(rest)%2 == 0 {
		p := l.problem("not-hex", bad, bad+1, fmt.Sprintf("the letter %q in %q is no hex digit", l.text[bad], short(w)), wantHex)
		p.Near = short(fixed)
		return p
	}
	return l.problem("not-hex", a, b, fmt.Sprintf("%q is not hex; what is read: hex (00 ff, 0x00, \\x00), or what xxd, "+
		"hexdump -C, od -t x1, i2cdump print", short(w)), wantHex)
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

// sectionMark is the line before the bytes in the output of edid-decode and xrandr.
var sectionMark = regexp.MustCompile(`(?i)^\s*(edid-decode.*\(hex\)|edid(_data)?):\s*$`)

// findSection reads the lines of bytes behind a mark, up to the first of other words.
func findSection(lines []line) (reading, bool, error) {
	r := reading{Dump{Form: Described}}
	at := -1
	for i, l := range lines {
		switch {
		case !sectionMark.MatchString(l.text):
		case at >= 0:
			return r, false, several(l, 0, lines[at])
		default:
			at = i
		}
	}
	if at < 0 {
		return r, false, nil
	}
	for _, l := range lines[at+1:] {
		if first, _, _ := strings.Cut(strings.TrimSpace(l.text), " "); first != "" && (!isHex(first) || len(first)%2 != 0) {
			break
		}
		if err := r.hexLine(l, 0, len(l.text), false); err != nil {
			return r, false, err
		}
	}
	return r, true, nil
}

// several refuses a second memory that starts at byte a of a line.
func several(l line, a int, first line) error {
	return l.problem("several-memories", a, len(l.text), fmt.Sprintf("a second memory starts here, the first one on line %d", first.no),
		"one memory in a file: cut the others away")
}

// comment is a comment of C, on one line.
var comment = regexp.MustCompile(`/\*.*?\*/|//.*`)

// findArray reads what stands between the braces of a C array.
func findArray(lines []line) (reading, bool, error) {
	r := reading{Dump{Form: Array}}
	open, start, shut := -1, 0, false
	for i, l := range lines {
		// Spaces in the place of comments, so that columns stay.
		l.text = comment.ReplaceAllStringFunc(l.text, func(c string) string { return strings.Repeat(" ", len(c)) })
		from := 0
		if k := strings.IndexByte(l.text, '{'); k >= 0 {
			switch {
			case open >= 0:
				return r, false, several(l, k, lines[open])
			case !strings.HasSuffix(strings.TrimSpace(l.text[:k]), "="):
				return r, false, nil
			}
			open, start, from = i, k, k+1
		}
		if open < 0 || shut {
			continue
		}
		to := len(l.text)
		if k := strings.IndexByte(l.text[from:], '}'); k >= 0 {
			to, shut = from+k, true
		}
		if err := r.hexLine(l, from, to, true); err != nil {
			return r, false, err
		}
	}
	if open >= 0 && !shut {
		return r, false, lines[open].problem("open-array", start, start+1, "the array that starts here has no end", "a } after the last byte")
	}
	return r, open >= 0, nil
}
