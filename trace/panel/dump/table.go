package dump

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/trace/panel/edid"
)

// row is one row of a table: an offset, bytes, and perhaps their characters.
type row struct {
	line  line
	off   string // the offset as written, in digits
	a     int    // where it stands
	skip  int    // cells before the first byte that are blank
	bytes reading
	star  bool // the * of hexdump: rows like the one before
}

// offsetAt points at the offset.
func (w row) offsetAt(code, msg, want string) error {
	return w.line.problem(code, w.a, w.a+len(w.off), msg, want)
}

var (
	offset = regexp.MustCompile(`^[ \t]*(?:0x)?([0-9a-fA-F]{1,16})(:?)(?:[ \t,]|$)`)
	cell   = regexp.MustCompile(`^(?:(?:[0-9a-fA-F]{2})+|XX|\?\?)$`)
	// The heads of the tables of i2cdump with bytes and with words, tools/i2cdump.c of
	// i2c-tools 4.2.
	byteHead = regexp.MustCompile(`(?i)^ +0 +1 +2 +3 +4 +5 +6 +7 +8 +9 +a +b +c +d +e +f`)
	wordHead = regexp.MustCompile(`(?i)^ +0,8 +1,9`)
)

// findTable reads rows of bytes behind an offset. A colon behind the offset, or one
// that is long and zero in the first row, makes a table; without either the offsets of
// all rows must count up by the bytes in them, for an offset may be a byte as well.
func findTable(lines []line) (reading, bool, error) {
	r := reading{Dump{Form: Table}}
	before := 0
	for i, l := range lines {
		if wordHead.MatchString(l.text) {
			return r, false, wordMode(l, 0, len(l.text))
		}
		sure, colon, err := startsTable(l)
		switch {
		case err != nil:
			return r, false, err
		case sure:
			r.passedOver(before, "before the table")
			rows, err := r.rows(lines[i:], colon)
			if err == nil {
				err = r.fill(rows, radix(rows, colon))
			}
			return r, true, err
		case l.blank() || byteHead.MatchString(l.text):
		case bytesAlone(l):
			return findColumn(lines[i:]) // bytes without a sure offset
		default:
			before++
		}
	}
	return r, false, nil
}

// bytesAlone reports whether a line is made of hex digits alone.
func bytesAlone(l line) bool {
	fields := strings.FieldsFunc(l.text, func(c rune) bool { return strings.ContainsRune(" \t,:;-", c) })
	return len(fields) > 0 && !slices.ContainsFunc(fields, func(f string) bool {
		digits, _ := bare(f)
		return !isHex(digits)
	})
}

// startsTable reports whether a line is surely the first row of a table. Words of two
// bytes, which the machine has swapped, are refused.
func startsTable(l line) (sure, colon bool, err error) {
	m := offset.FindStringSubmatchIndex(l.text)
	if m == nil {
		return false, false, nil
	}
	off := l.text[m[2]:m[3]]
	first, _, _ := strings.Cut(strings.TrimLeft(l.text[m[1]:], " \t"), " ")
	if colon = m[5] > m[4]; colon {
		return len(off) >= 2 && cell.MatchString(first), true, nil
	}
	if len(off) < 4 || strings.Trim(off, "0") != "" {
		return false, false, nil
	}
	if len(off) == 7 && len(first) >= 3 && isHex(first) {
		a := m[1] + strings.Index(l.text[m[1]:], first)
		return false, false, wordMode(l, a, a+len(first))
	}
	return len(first) == 2 && cell.MatchString(first), false, nil
}

func wordMode(l line, a, b int) error {
	return l.problem("word-mode", a, b, "a table of words, whose bytes stand in the order of the machine that printed it",
		"a table of single bytes: hexdump -C, od -A x -t x1, xxd, or i2cdump -y BUS 0x50 b")
}

// rows reads the rows of a table.
func (r *reading) rows(lines []line, colon bool) (rows []row, err error) {
	for _, l := range lines {
		if byteHead.MatchString(l.text) {
			return nil, several(l, 0, lines[0])
		}
		if l.blank() {
			if len(rows[len(rows)-1].off) == 2 { // i2cdump, and what the shell says after it
				break
			}
			continue
		}
		w, err := tableRow(l, colon, colon)
		if err != nil {
			return nil, err
		}
		rows = append(rows, w)
	}
	return rows, nil
}

// tableRow reads one row, whose offset has a colon or not. What follows the bytes is
// cut away first: |…| of hexdump, >…< of od, and what stands after a wide gap.
func tableRow(l line, colon, gaps bool) (row, error) {
	trimmed := strings.TrimSpace(l.text)
	if trimmed == "*" {
		return row{line: l, star: true}, nil
	}
	m := offset.FindStringSubmatchIndex(l.text)
	if m == nil || (m[5] > m[4]) != colon {
		a := strings.Index(l.text, trimmed)
		first, _, _ := strings.Cut(trimmed, " ")
		want := map[bool]string{true: "00000010:", false: "00000010"}[colon]
		return row{}, l.problem("bad-row", a, a+len(first), fmt.Sprintf("%q is no offset", short(first)),
			"a row that starts with its offset, such as "+want)
	}
	w := row{line: l, off: l.text[m[2]:m[3]], a: m[2]}
	rest := l.text[m[5]:]
	gap := len(rest) - len(strings.TrimLeft(rest, " \t,"))
	from, end := m[5]+gap, len(l.text)
	marks := []string{"|", "  >"}
	if gaps {
		marks = append(marks, "  ", "\t")
	}
	if colon && len(w.off) == 2 {
		w.skip = max(0, gap-1) / 3 // i2cdump leaves blank what it was not asked for
	}
	for _, mark := range marks {
		if k := strings.Index(l.text[from:], mark); k >= 0 {
			end = min(end, from+k)
		}
	}
	return w, w.bytes.hexLine(l, from, end, false)
}

// findColumn reads rows of 16 or 8 bytes behind an offset without a colon, the last row
// perhaps shorter. Rows that count up only in part are refused.
func findColumn(lines []line) (reading, bool, error) {
	r := reading{Dump{Form: Table}}
	var rows []row
	for _, l := range lines {
		if l.blank() || isComment(l.text) {
			continue
		}
		w, err := tableRow(l, false, true)
		if err != nil || len(w.off) > 8 || len(w.bytes.Bytes) == 0 {
			return r, false, nil //nolint:nilerr // no table then, but perhaps plain hex
		}
		rows = append(rows, w)
	}
	width := len(rows[0].bytes.Bytes)
	for i, w := range rows {
		if n := len(w.bytes.Bytes); n > width || n < width && i < len(rows)-1 {
			return r, false, nil
		}
	}
	headed := bytes.HasPrefix(rows[0].bytes.Bytes, edid.Header())
	first := append([]byte{0}, rows[0].bytes.Bytes...) // the first cell may be the first byte
	if width != 8 && width != 16 && !headed || bytes.HasPrefix(first, edid.Header()) {
		return r, false, nil
	}
	base := radix(rows, false)
	breaks, w := jumps(rows, base), rows[0]
	switch {
	case breaks == 0 && len(rows) > 1:
		r.note("the first cell of each row is taken for its offset: it counts up by the bytes in a row")
		return r, true, r.fill(rows, base)
	case breaks*2 <= len(rows) && (len(rows) > 2 || headed):
		return r, false, w.offsetAt("offset-column", "this looks like offsets: put a colon behind them",
			"bytes alone, or a colon behind the offset of each row, such as "+w.off+":")
	}
	return r, false, nil
}

// fill puts the rows one after the other, by their offsets.
func (r *reading) fill(rows []row, base int) error {
	if base != 16 {
		r.note("the offsets are to base %d", base)
	}
	var width int
	var last []byte
	for i, w := range rows {
		if w.star {
			if len(last) == 0 || i+1 == len(rows) || rows[i+1].star {
				return w.line.problem("bad-repeat", 0, len(w.line.text), "the * stands for rows, but how many cannot be told",
					"a row before it and an offset after it")
			}
			continue
		}
		off, err := strconv.ParseUint(w.off, base, 63)
		if err != nil || off > maxBytes {
			return w.offsetAt("offset-too-large", fmt.Sprintf("the offset %s is beyond an identity memory", w.off),
				fmt.Sprintf("offsets up to %x hex", maxBytes))
		}
		if err := r.reach(w, int(off)+w.skip, last, i > 0 && rows[i-1].star); err != nil {
			return err
		}
		n := len(w.bytes.Bytes)
		if width == 0 {
			width = n + w.skip
		}
		if n > width {
			return w.line.problem("row-too-long", w.a, len(w.line.text), fmt.Sprintf("%d bytes in a row, %d in the first one: "+
				"characters may have been taken for bytes", n, width), fmt.Sprintf("at most %d bytes, two spaces before the characters", width))
		}
		start := len(r.Bytes)
		r.Bytes = append(r.Bytes, w.bytes.Bytes...)
		for _, m := range w.bytes.Missing {
			r.gone(m.From+start, m.To+start)
		}
		last = w.bytes.Bytes
	}
	return nil
}

// reach brings the bytes up to the offset of the row w.
func (r *reading) reach(w row, off int, last []byte, repeat bool) error {
	gap := off - len(r.Bytes)
	switch {
	case gap < 0:
		return w.offsetAt("offset-back", fmt.Sprintf("the offset says byte %d, but %d bytes stand before it", off, len(r.Bytes)),
			fmt.Sprintf("the offset %x hex: a row is too long or stands twice", len(r.Bytes)))
	case repeat && gap%len(last) != 0:
		return w.offsetAt("bad-repeat", fmt.Sprintf("the * before it would fill %d bytes, no whole number of rows of %d", gap,
			len(last)), "an offset that ends a whole row")
	case repeat:
		r.Bytes = append(r.Bytes, bytes.Repeat(last, gap/len(last))...)
	case gap > 0:
		if w.skip == 0 {
			r.note("line %d: bytes %d to %d are missing before this row", w.line.no, len(r.Bytes), off-1)
		}
		r.skip(gap)
	}
	return nil
}

// radix finds the base of the offsets: od prints octal ones when not told otherwise.
// The base with which most rows follow on wins, 16 before the others; a colon goes
// with 16.
func radix(rows []row, colon bool) int {
	best := 16
	for _, base := range []int{8, 10} {
		if !colon && jumps(rows, base) < jumps(rows, best) {
			best = base
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
		if err != nil || off > maxBytes {
			return len(rows)
		}
		if int(off) != at && (!star || int(off) < at) {
			n++
		}
		at, star = int(off)+len(w.bytes.Bytes), false
	}
	return n
}
