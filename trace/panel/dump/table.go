package dump

import (
	"fmt"
	"strconv"
	"strings"
)

// row is one row of a table with an offset column.
type row struct {
	line  line
	off   string // the offset as written
	a     int    // where it stands
	bytes reading
	star  bool // the * of hexdump: rows like the one before
}

// findTable reads the tables of xxd, hexdump -C and od -t x1: an offset, the
// bytes, perhaps the characters.
func findTable(name string, lines []line) (reading, bool, error) {
	at := -1
	for i, l := range lines {
		if _, ok := rowHead(l); ok {
			at = i
			break
		}
		if looksLoose(l) {
			return reading{}, false, nil // digits without an offset: no table
		}
	}
	if at < 0 {
		return reading{}, false, nil
	}
	if err := refuseWords(name, lines[at]); err != nil {
		return reading{}, false, err
	}
	r := reading{form: tableForm(lines[at])}
	if n := inked(lines[:at]); n > 0 {
		r.notes = append(r.notes, passedOver(n, "before the table"))
	}
	read := tableRow
	if bitTable(lines[at:]) {
		read = bitRow
		r.notes = append(r.notes, "the bytes are written as bits")
	}
	var rows []row
	for _, l := range lines[at:] {
		if l.blank() {
			continue
		}
		w, err := read(name, l, r.form)
		if err != nil {
			return reading{}, false, err
		}
		rows = append(rows, w)
	}
	if len(rows[0].off) == 2 && r.form == Xxd {
		r.form = I2CDump // rows of i2cdump without their header line
	}
	return r, true, r.fill(name, rows)
}

// looksLoose tells whether a line is made of hex bytes alone.
func looksLoose(l line) bool {
	if l.blank() {
		return false
	}
	for _, f := range strings.FieldsFunc(l.text, func(c rune) bool { return strings.ContainsRune(" \t,:;-", c) }) {
		if digits, _ := bare(f); !isHex(digits) {
			return false
		}
	}
	return true
}

// rowHead finds the offset at the start of a row: long and zero, or with a
// colon and a space after it, and a byte following. Rest is where it ends.
func rowHead(l line) (rest int, ok bool) {
	a := len(l.text) - len(strings.TrimLeft(l.text, " \t"))
	b := a
	if strings.HasPrefix(l.text[a:], "0x") {
		a, b = a+2, a+2
	}
	for b < len(l.text) && !notHex(rune(l.text[b])) {
		b++
	}
	off := l.text[a:b]
	rest = b
	colon := rest < len(l.text) && l.text[rest] == ':'
	if colon {
		rest++
	}
	if rest >= len(l.text) || l.text[rest] != ' ' && l.text[rest] != '\t' {
		return 0, false
	}
	first := strings.Fields(l.text[rest:] + " .")[0]
	switch {
	case len(off) < 2 || len(off) > 16:
		return 0, false
	case colon:
		ok = len(first)%2 == 0 && (isHex(first) || first == "XX" || first == "??")
	default:
		zero := len(off) >= 4 && strings.Trim(off, "0") == ""
		ok = zero && (len(first) == 2 && isHex(first) || len(off) == 7 && len(first) >= 3 && len(first) <= 6 && isHex(first))
	}
	return rest, ok
}

// refuseWords tells the tables of two-byte words from those of bytes: in words
// the machine has swapped the bytes.
func refuseWords(name string, l line) error {
	rest, _ := rowHead(l)
	first := strings.Fields(l.text[rest:])[0]
	if l.text[rest-1] == ':' || len(first) == 2 {
		return nil
	}
	a := rest + strings.Index(l.text[rest:], first)
	return l.problem(name, "word-mode", a, a+len(first), "a table of words, whose bytes stand in the order of the machine that printed it",
		"a table of single bytes: hexdump -C, od -A x -t x1 or xxd")
}

func tableForm(l line) Form {
	rest, _ := rowHead(l)
	switch {
	case l.text[rest-1] == ':':
		return Xxd
	case strings.IndexByte(l.text, '|') >= 0:
		return Hexdump
	}
	return Od
}

// tableRow reads one row. What follows the bytes is cut away first: |…| of
// hexdump, >…< of od, and what stands after two spaces in xxd.
func tableRow(name string, l line, form Form) (row, error) {
	trimmed := strings.TrimSpace(l.text)
	if trimmed == "*" {
		return row{line: l, star: true}, nil
	}
	a := strings.Index(l.text, trimmed)
	if strings.HasPrefix(trimmed, "0x") {
		a += 2
	}
	b := a
	for b < len(l.text) && !notHex(rune(l.text[b])) {
		b++
	}
	w := row{line: l, off: l.text[a:b], a: a}
	rest := b
	if form == Xxd && rest < len(l.text) && l.text[rest] == ':' {
		rest++
	} else if form == Xxd {
		b = a
	}
	if b == a || b-a > 16 || rest < len(l.text) && l.text[rest] != ' ' && l.text[rest] != '\t' {
		end := a + strings.IndexAny(l.text[a:]+" ", " \t")
		return row{}, l.problem(name, "bad-row", a, end, fmt.Sprintf("%q is no offset", short(l.text[a:end])),
			"a row that starts with its offset, such as "+offsetExample(form))
	}
	if err := w.bytes.looseLine(name, l, rest, bytesEnd(l.text, rest, form), false); err != nil {
		return row{}, err
	}
	return w, nil
}

func offsetExample(form Form) string {
	if form == Xxd {
		return "00000010:"
	}
	return "00000010"
}

// bytesEnd is where the characters after the bytes start.
func bytesEnd(s string, from int, form Form) int {
	end := len(s)
	switch form {
	case Hexdump:
		if k := strings.IndexByte(s[from:], '|'); k >= 0 {
			end = from + k
		}
	case Od:
		if k := strings.Index(s[from:], "  >"); k >= 0 {
			end = from + k
		}
	default:
		for from < len(s) && (s[from] == ' ' || s[from] == '\t') {
			from++
		}
		if k := strings.Index(s[from:], "  "); k >= 0 {
			end = from + k
		}
		if k := strings.IndexByte(s[from:], '\t'); k >= 0 {
			end = min(end, from+k)
		}
	}
	return end
}

// fill puts the rows one after the other, by their offsets.
func (r *reading) fill(name string, rows []row) error {
	base := radix(rows, r.form)
	if base != 16 {
		r.notes = append(r.notes, fmt.Sprintf("the offsets are to base %d", base))
	}
	width := 0
	var last []byte
	for i, w := range rows {
		if w.star {
			if len(last) == 0 || i+1 == len(rows) || rows[i+1].star {
				return w.line.problem(name, "bad-repeat", 0, len(w.line.text), "the * stands for rows, but how many cannot be told", "a row before it and an offset after it")
			}
			continue
		}
		off, err := strconv.ParseUint(w.off, base, 63)
		if err != nil || off > MaxBytes {
			return w.line.problem(name, "offset-too-large", w.a, w.a+len(w.off), fmt.Sprintf("the offset %s is beyond an identity memory", w.off), fmt.Sprintf("offsets up to %x hex", MaxBytes))
		}
		if err := r.reach(name, w, int(off), last, i > 0 && rows[i-1].star); err != nil {
			return err
		}
		if n := len(w.bytes.bytes); width == 0 {
			width = n
		} else if n > width && r.form != IntelHex {
			return w.line.problem(name, "row-too-long", w.a, len(w.line.text), fmt.Sprintf("%d bytes in a row, %d in the first one: characters may have been taken for bytes", n, width), fmt.Sprintf("at most %d bytes, two spaces before the characters", width))
		}
		for _, m := range w.bytes.missing {
			r.missing = append(r.missing, Range{m.From + len(r.bytes), m.To + len(r.bytes)})
		}
		r.bytes = append(r.bytes, w.bytes.bytes...)
		last = w.bytes.bytes
	}
	r.missing = joined(r.missing)
	return nil
}

// reach brings the bytes up to the offset of the row w.
func (r *reading) reach(name string, w row, off int, last []byte, repeat bool) error {
	gap := off - len(r.bytes)
	switch {
	case gap < 0:
		return w.line.problem(name, "offset-back", w.a, w.a+len(w.off), fmt.Sprintf("the offset says byte %d, but %d bytes stand before it", off, len(r.bytes)),
			fmt.Sprintf("the offset %x hex: a row is too long or stands twice", len(r.bytes)))
	case repeat && gap%len(last) != 0:
		return w.line.problem(name, "bad-repeat", w.a, w.a+len(w.off), fmt.Sprintf("the * before it would fill %d bytes, no whole number of rows of %d", gap, len(last)), "an offset that ends a whole row")
	case repeat:
		for range gap / len(last) {
			r.bytes = append(r.bytes, last...)
		}
	case gap > 0:
		r.notes = append(r.notes, fmt.Sprintf("line %d: bytes %d to %d are missing before this row", w.line.no, len(r.bytes), off-1))
		r.skip(gap)
	}
	return nil
}

// joined puts ranges that touch into one; they are in order.
func joined(list []Range) []Range {
	var out []Range
	for _, m := range list {
		if n := len(out); n > 0 && out[n-1].To >= m.From {
			out[n-1].To = m.To
			continue
		}
		out = append(out, m)
	}
	return out
}

// radix finds the base of the offsets: od prints octal ones when not told
// otherwise. The base with which most rows follow on wins, 16 before the others.
func radix(rows []row, form Form) int {
	if form == Xxd || form == I2CDump || form == IntelHex {
		return 16
	}
	best, fewest := 16, len(rows)+1
	for _, base := range []int{16, 8, 10} {
		if n := jumps(rows, base); n < fewest {
			best, fewest = base, n
		}
	}
	return best
}

// jumps counts the rows whose offset is not the number of bytes before them.
func jumps(rows []row, base int) int {
	n, at, star := 0, 0, false
	for _, w := range rows {
		if w.star {
			star = true
			continue
		}
		off, err := strconv.ParseUint(w.off, base, 63)
		if err != nil || off > MaxBytes {
			return len(rows)
		}
		if int(off) != at && (!star || int(off) < at) {
			n++
		}
		at, star = int(off)+len(w.bytes.bytes), false
	}
	return n
}
