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
	colon bool   // behind it
	skip  int    // cells before the first byte that are blank
	bytes reading
	star  bool // the * of hexdump: rows like the one before
}

var (
	offset = regexp.MustCompile(`^[ \t]*(?:0x)?([0-9a-fA-F]{1,16})(:?)([ \t,]|$)`)
	cell   = regexp.MustCompile(`^(?:[0-9a-fA-F]{2})+$`)
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
	at := -1
	for i, l := range lines {
		if wordHead.MatchString(l.text) {
			return r, false, wordMode(l, 0, len(l.text))
		}
		if byteHead.MatchString(l.text) {
			continue
		}
		ok, err := startsTable(l)
		if err != nil {
			return r, false, err
		}
		if ok {
			at = i
			break
		}
		if bytesAlone(l) {
			return findColumn(lines) // bytes without a sure offset
		}
	}
	if at < 0 {
		return r, false, nil
	}
	before := slices.DeleteFunc(slices.Clone(lines[:at]), func(l line) bool { return byteHead.MatchString(l.text) })
	r.passedOver(before, "before the table")
	colon := offset.FindStringSubmatch(lines[at].text)[2] != ""
	var rows []row
	for i := at; i < len(lines); i++ {
		l := lines[i]
		if byteHead.MatchString(l.text) {
			return r, false, several(l, 0, lines[at])
		}
		if l.blank() {
			if len(rows[len(rows)-1].off) == 2 { // i2cdump, and what the shell says after it
				r.passedOver(lines[i:], "after the table")
				break
			}
			continue
		}
		w, err := tableRow(l, colon)
		if err != nil {
			return r, false, err
		}
		rows = append(rows, w)
	}
	return r, true, r.fill(rows)
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
func startsTable(l line) (bool, error) {
	m := offset.FindStringSubmatchIndex(l.text)
	if m == nil {
		return false, nil
	}
	off, colon := l.text[m[2]:m[3]], m[5] > m[4]
	f := strings.Fields(l.text[m[1]:])
	zero := len(off) >= 4 && strings.Trim(off, "0") == ""
	switch {
	case len(off) < 2 || len(f) == 0:
		return false, nil
	case colon:
		return cell.MatchString(f[0]) || f[0] == "XX" || f[0] == "??", nil
	case zero && len(f[0]) == 2 && cell.MatchString(f[0]):
		return true, nil
	case zero && len(off) == 7 && len(f[0]) >= 3 && isHex(f[0]):
		a := m[1] + strings.Index(l.text[m[1]:], f[0])
		return false, wordMode(l, a, a+len(f[0]))
	}
	return false, nil
}

func wordMode(l line, a, b int) error {
	return l.problem("word-mode", a, b, "a table of words, whose bytes stand in the order of the machine that printed it",
		"a table of single bytes: hexdump -C, od -A x -t x1, xxd, or i2cdump -y BUS 0x50 b")
}

// tableRow reads one row. What follows the bytes is cut away first: |…| of
// hexdump, >…< of od, and what stands after two spaces where offsets have a colon.
func tableRow(l line, colon bool) (row, error) {
	trimmed := strings.TrimSpace(l.text)
	if trimmed == "*" {
		return row{line: l, star: true}, nil
	}
	m := offset.FindStringSubmatchIndex(l.text)
	if m == nil || (m[5] > m[4]) != colon {
		a := strings.Index(l.text, trimmed)
		first := strings.Fields(trimmed)[0]
		want := "00000010"
		if colon {
			want += ":"
		}
		return row{}, l.problem("bad-row", a, a+len(first), fmt.Sprintf("%q is no offset", short(first)),
			"a row that starts with its offset, such as "+want)
	}
	w := row{line: l, off: l.text[m[2]:m[3]], a: m[2], colon: colon}
	rest := l.text[m[5]:]
	gap := len(rest) - len(strings.TrimLeft(rest, " \t"))
	if colon && len(w.off) == 2 {
		w.skip = max(0, gap-1) / 3 // i2cdump leaves blank what it was not asked for
	}
	from := m[5] + gap
	end := len(l.text)
	for _, mark := range []string{"|", "  >"} {
		if k := strings.Index(l.text[from:], mark); k >= 0 {
			end = min(end, from+k)
		}
	}
	if colon {
		for _, mark := range []string{"  ", "\t"} {
			if k := strings.Index(l.text[from:], mark); k >= 0 {
				end = min(end, from+k)
			}
		}
	}
	return w, w.bytes.hexLine(l, from, max(from, end), false)
}

// findColumn reads rows of 16 or 8 bytes behind an offset without a colon. Rows that
// count up only in part are refused.
func findColumn(lines []line) (reading, bool, error) {
	r := reading{Dump{Form: Table}}
	for _, width := range []int{16, 8} {
		rows := columnRows(lines, width)
		if rows == nil || strings.HasPrefix("\x00"+string(rows[0].bytes.Bytes), string(edid.Header())) {
			continue // the first cell of a row is the first byte of a memory
		}
		breaks := jumps(rows, radix(rows))
		headed := bytes.HasPrefix(rows[0].bytes.Bytes, edid.Header())
		switch {
		case breaks == 0 && len(rows) > 1:
			r.note("the first cell of each row is taken for its offset: it counts up by the bytes in a row")
			return r, true, r.fill(rows)
		case breaks*2 <= len(rows) && (len(rows) > 2 || headed):
			w := rows[0]
			return r, false, w.line.problem("offset-column", w.a, w.a+len(w.off), "this looks like offsets: put a colon behind them",
				"bytes alone, or a colon behind the offset of each row, such as "+w.off+":")
		}
	}
	return r, false, nil
}

// columnRows takes each line for an offset and width bytes, the last line for fewer,
// perhaps with characters behind two spaces; nil where a line is neither that nor a
// comment.
func columnRows(lines []line, width int) []row {
	var rows []row
	for _, l := range lines {
		t := strings.TrimSpace(l.text)
		if t == "" || strings.HasPrefix(t, "#") || strings.HasPrefix(t, "//") {
			continue
		}
		if n := len(rows); n > 0 && len(rows[n-1].bytes.Bytes) < width {
			return nil // only the last row may be short
		}
		m := offset.FindStringSubmatchIndex(l.text)
		if m == nil || m[3]-m[2] > 8 {
			return nil
		}
		w := row{line: l, off: l.text[m[2]:m[3]], a: m[2]}
		from := m[5] + len(l.text[m[5]:]) - len(strings.TrimLeft(l.text[m[5]:], " \t,"))
		body, _, _ := strings.Cut(l.text[from:], "  ")
		cells := strings.FieldsFunc(body, func(c rune) bool { return strings.ContainsRune(" \t,", c) })
		for _, c := range cells {
			if digits, _ := bare(c); len(digits) != 2 || !isHex(digits) && c != "XX" && c != "??" {
				return nil
			}
		}
		if len(cells) == 0 || len(cells) > width || w.bytes.hexLine(l, from, from+len(body), false) != nil {
			return nil
		}
		rows = append(rows, w)
	}
	return rows
}

// fill puts the rows one after the other, by their offsets.
func (r *reading) fill(rows []row) error {
	base := radix(rows)
	if base != 16 {
		r.note("the offsets are to base %d", base)
	}
	width := 0
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
			return w.line.problem("offset-too-large", w.a, w.a+len(w.off), fmt.Sprintf("the offset %s is beyond an identity memory",
				w.off), fmt.Sprintf("offsets up to %x hex", maxBytes))
		}
		if err := r.reach(w, int(off)+w.skip, last, i > 0 && rows[i-1].star); err != nil {
			return err
		}
		if n := len(w.bytes.Bytes); width == 0 {
			width = n + w.skip
		} else if n > width {
			return w.line.problem("row-too-long", w.a, len(w.line.text), fmt.Sprintf("%d bytes in a row, %d in the first one: "+
				"characters may have been taken for bytes", n, width), fmt.Sprintf("at most %d bytes, two spaces before the characters", width))
		}
		start := len(r.Bytes)
		r.Bytes = append(r.Bytes, w.bytes.Bytes...)
		for _, m := range w.bytes.Missing {
			r.Missing = append(r.Missing, Range{m.From + start, m.To + start})
		}
		last = w.bytes.Bytes
	}
	r.Missing = joined(r.Missing)
	return nil
}

// reach brings the bytes up to the offset of the row w.
func (r *reading) reach(w row, off int, last []byte, repeat bool) error {
	gap := off - len(r.Bytes)
	switch {
	case gap < 0:
		return w.line.problem("offset-back", w.a, w.a+len(w.off), fmt.Sprintf("the offset says byte %d, but %d bytes stand before it",
			off, len(r.Bytes)),
			fmt.Sprintf("the offset %x hex: a row is too long or stands twice", len(r.Bytes)))
	case repeat && gap%len(last) != 0:
		return w.line.problem("bad-repeat", w.a, w.a+len(w.off), fmt.Sprintf("the * before it would fill %d bytes, no whole "+
			"number of rows of %d", gap, len(last)), "an offset that ends a whole row")
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

// radix finds the base of the offsets: od prints octal ones when not told otherwise.
// The base with which most rows follow on wins, 16 before the others; a colon goes
// with 16.
func radix(rows []row) int {
	best, fewest := 16, len(rows)+1
	for _, base := range []int{16, 8, 10} {
		if n := jumps(rows, base); n < fewest && !rows[0].colon {
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
