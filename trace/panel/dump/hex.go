package dump

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/panel/edid"
)

const wantHex = "two hex digits for each byte (00 to ff), such as 00 ff ff ff ff ff ff 00"

// line is one line of the text, without its end.
type line struct {
	file string
	no   int // from 1
	text string
}

// problem points at the bytes from a to b of the line.
func (l line) problem(code string, a, b int, msg, want string) mistake.Mistake {
	a, b = min(a, len(l.text)), min(b, len(l.text))
	return mistake.Mistake{
		File: l.file, Line: l.no, Column: utf8.RuneCountInString(l.text[:a]) + 1,
		Width: max(1, utf8.RuneCountInString(l.text[a:b])), Text: l.text, Code: code, Msg: msg, Want: want,
	}
}

// readText finds out the form and reads it. The forms with a mark of their own
// come first, plain hex last: it has none.
func readText(name, text string) (Dump, error) {
	if strings.TrimSpace(text) == "" {
		return Dump{}, whole(name, "empty-dump", "the file has only blank lines: no byte was written into it")
	}
	var lines []line
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	for s := range strings.SplitSeq(text, "\n") {
		lines = append(lines, line{name, len(lines) + 1, s})
	}
	for _, try := range []func([]line) (Dump, bool, error){findSection, findArray, findTable} {
		if d, found, err := try(lines); found || err != nil {
			return d, err
		}
	}
	d := Dump{Form: Hex}
	if err := wrongText(lines); err != nil {
		return d, err
	}
	for _, l := range lines {
		if err := d.hexLine(l, 0, len(l.text), false); err != nil {
			return d, err
		}
	}
	if bytes.HasPrefix(d.Bytes, edid.Header()) {
		return d, nil
	}
	return d, offsetColumn(lines)
}

// wrongText names texts that hold no bytes though people pass them.
func wrongText(lines []line) error {
	for _, l := range lines {
		t := strings.TrimSpace(l.text)
		if t == "" || strings.HasPrefix(t, "# ") {
			continue
		}
		if what := looksLike(t); what != "" {
			a := strings.Index(l.text, t)
			return l.problem("wrong-file", a, a+len(t), "this looks like "+what, wantForms)
		}
		return nil
	}
	return nil
}

// offsetColumn refuses rows whose first word is the number of bytes before them: it
// would be read as a byte.
func offsetColumn(lines []line) error {
	at, rows, first := 0, 0, line{}
	for _, l := range lines {
		f := strings.Fields(l.text)
		if len(f) == 0 {
			continue
		}
		if off, err := strconv.ParseUint(strings.TrimPrefix(f[0], "0x"), 16, 16); err != nil || int(off) != at {
			return nil
		}
		if rows++; rows == 1 {
			first = l
		}
		at += len(f) - 1
	}
	if rows < 2 || at < 2*rows {
		return nil
	}
	a := len(first.text) - len(strings.TrimLeft(first.text, " \t"))
	return first.problem("offset-column", a, a+len(strings.Fields(first.text)[0]), "this looks like offsets: put a colon behind them",
		"bytes alone, or a colon behind the offset of each row")
}

// hexWord is a run of signs that do not stand between bytes; \x starts a new one. The
// last sign between them is the hard space of copied web pages.
var hexWord = regexp.MustCompile("\\\\?[^\\\\ \\t\\f,:;\"'\\[\\](){}\u00a0-]+|\\\\")

// comment is a line that holds no bytes.
var comment = regexp.MustCompile(`^\s*(#|//|;)`)

// hexLine reads the bytes of hex text from a to b of a line: with 0x or \x or
// without, parted by spaces, commas, colons, hyphens or nothing. In strict C a byte
// needs 0x.
func (d *Dump) hexLine(l line, a, b int, strict bool) error {
	text := l.text[a:b]
	if comment.MatchString(text) {
		return nil
	}
	for _, at := range hexWord.FindAllStringIndex(text, -1) {
		if text[at[0]:at[1]] == `\` && strings.TrimSpace(text[at[1]:]) == "" {
			return nil // the line goes on in the next one
		}
		if err := d.word(l, a+at[0], a+at[1], strict); err != nil {
			return err
		}
	}
	return nil
}

// word reads one run of digits.
func (d *Dump) word(l line, a, b int, strict bool) error {
	w := l.text[a:b]
	if w == "XX" || w == "xx" || w == "??" {
		d.skip(1)
		return nil
	}
	digits := bare(w)
	prefixed := digits != w
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
	d.Bytes = append(d.Bytes, list...)
	return err
}

// prefix is what marks a word as hex.
var prefix = regexp.MustCompile(`^(0|\\)[xX]`)

func bare(w string) string { return w[len(prefix.FindString(w)):] }

// alike are letters that are taken for digits.
var alike = strings.NewReplacer("O", "0", "o", "0", "l", "1", "I", "1", "i", "1", "S", "5", "s", "5", "Z", "2", "z", "2")

// badWord explains a word that is not hex.
func badWord(l line, a, b int) error {
	w := l.text[a:b]
	fixed := alike.Replace(w)
	digits := bare(w)
	if rest := bare(fixed); isHex(rest) && len(rest)%2 == 0 {
		bad := a + len(w) - len(digits) + max(0, strings.IndexFunc(digits, notHex))
		p := l.problem("not-hex", bad, bad+1, fmt.Sprintf("the letter %q in %q is no hex digit", l.text[bad], short(w)), wantHex)
		p.Near = short(fixed)
		return p
	}
	return l.problem("not-hex", a, b, fmt.Sprintf("%q is not hex; what is read: hex (00 ff, 0x00, \\x00), or what xxd, "+
		"hexdump -C, i2cdump print", short(w)), wantHex)
}

// short keeps a message on one line.
func short(w string) string {
	const most = 24
	if len(w) <= most {
		return w
	}
	return strings.ToValidUTF8(w[:most], "") + "…"
}

func notHex(c rune) bool { return !strings.ContainsRune("0123456789abcdefABCDEF", c) }

func isHex(s string) bool { return s != "" && strings.IndexFunc(s, notHex) < 0 }

// several refuses a second memory that starts at byte a of a line.
func several(l line, a int, first line) error {
	return l.problem("several-memories", a, len(l.text), fmt.Sprintf("a second memory starts here, the first one on line %d", first.no),
		"one memory in a file: cut the others away")
}

// sectionMark is the line before the bytes in the output of edid-decode and xrandr.
var sectionMark = regexp.MustCompile(`(?i)^\s*(edid-decode.*\(hex\)|edid(_data)?):\s*$`)

// findSection reads the lines of hex behind a mark; the section ends at the first line
// of other words.
func findSection(lines []line) (Dump, bool, error) {
	d, mark, inside := Dump{Form: Described}, -1, false
	for i, l := range lines {
		if sectionMark.MatchString(l.text) {
			if mark >= 0 {
				return d, true, several(l, 0, lines[mark])
			}
			mark, inside = i, true
			continue
		}
		first, _, _ := strings.Cut(strings.TrimSpace(l.text), " ")
		if inside = inside && (first == "" || isHex(first) && len(first)%2 == 0); !inside {
			continue
		}
		if err := d.hexLine(l, 0, len(l.text), false); err != nil {
			return d, true, err
		}
	}
	return d, mark >= 0, nil
}

// remark is a comment of C, on one line.
var remark = regexp.MustCompile(`/\*.*?\*/|//.*`)

// findArray reads what stands between the braces of a C array.
func findArray(lines []line) (Dump, bool, error) {
	d := Dump{Form: Array}
	open, start, shut := -1, 0, false
	for i, l := range lines {
		// Spaces in the place of comments, so that columns stay.
		l.text = remark.ReplaceAllStringFunc(l.text, func(c string) string { return strings.Repeat(" ", len(c)) })
		from, to := 0, len(l.text)
		if k := strings.IndexByte(l.text, '{'); k >= 0 {
			switch {
			case open >= 0:
				return d, true, several(l, k, lines[open])
			case !strings.HasSuffix(strings.TrimSpace(l.text[:k]), "="):
				return d, false, nil
			}
			open, start, from = i, k, k+1
		}
		if open < 0 || shut {
			continue
		}
		if k := strings.IndexByte(l.text[from:], '}'); k >= 0 {
			to, shut = from+k, true
		}
		if err := d.hexLine(l, from, to, true); err != nil {
			return d, true, err
		}
	}
	if open >= 0 && !shut {
		return d, true, lines[open].problem("open-array", start, start+1, "the array that starts here has no end", "a } after the last byte")
	}
	return d, open >= 0, nil
}
