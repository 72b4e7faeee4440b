package dump

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"example.org/walkback/netlist/say"
)

var (
	// offset is how a row starts: the offset, a colon behind it with xxd and i2cdump.
	offset = regexp.MustCompile(`^[ \t]*(?:0x)?([0-9a-fA-F]{2,16})(:?)(?:[ \t]|$)`)
	// firstRow is one that can be nothing else: a colon and bytes, or the long offset 0.
	firstRow = regexp.MustCompile(`^[ \t]*(?:0x)?` +
		`(?:[0-9a-fA-F]{2,16}:[ \t]+(?:(?:[0-9a-fA-F]{2})+|XX|\?\?)|0{4,16}[ \t]+[0-9a-fA-F]{2})(?:[ \t]|$)`)
	// The heads of the tables of i2cdump with bytes and with words, tools/i2cdump.c of
	// i2c-tools 4.2, and how rows of words start: seven digits are those of hexdump
	// without -C and of od, which counts to base 8.
	byteHead = regexp.MustCompile(`(?i)^ +0 +1 +2 +3 +4 +5 +6 +7 +8 +9 +a +b +c +d +e +f`)
	words    = regexp.MustCompile(`(?i)^( +0,8 +1,9|0{7} +[0-9a-f]{2,6}( |$))`)
)

// findTable reads rows of bytes behind an offset.
func findTable(lines []line) (Dump, bool, error) {
	d := Dump{Form: Table}
	before := 0
	for i, l := range lines {
		switch {
		case words.MatchString(l.text):
			return d, true, l.problem("word-mode", 0, len(l.text), "a table of words, whose bytes stand in the order of the machine "+
				"that printed it, or of offsets to base 8", "a table of single bytes: hexdump -C, xxd, or i2cdump -y BUS 0x50 b")
		case firstRow.MatchString(l.text):
			if before > 0 {
				d.note("%s before the table passed over", say.Count(before, "line"))
			}
			return d, true, d.rows(lines[i:])
		case strings.TrimSpace(l.text) != "" && !byteHead.MatchString(l.text):
			before++
		}
	}
	return d, false, nil
}

// rows reads the rows of a table, the first of which is sure.
func (d *Dump) rows(lines []line) error {
	first := offset.FindStringSubmatch(lines[0].text)
	colon, bus := first[2] == ":", len(first[1]) == 2 // of i2cdump
	var star *line                                    // the * of hexdump: rows like the last one
	var last []byte
	width := 0
	for _, l := range lines {
		trimmed := strings.TrimSpace(l.text)
		m := offset.FindStringSubmatchIndex(l.text)
		switch {
		case trimmed == "" && bus: // behind it stands what the shell says
			return nil
		case trimmed == "":
			continue
		case byteHead.MatchString(l.text):
			return several(l, 0, lines[0])
		case trimmed == "*" && len(last) > 0 && star == nil:
			star = &l
			continue
		case m == nil || (m[5] > m[4]) != colon:
			a, word := strings.Index(l.text, trimmed), strings.Fields(trimmed)[0]
			return l.problem("bad-row", a, a+len(word), fmt.Sprintf("%q is no offset", short(word)), "a row that starts with its "+
				"offset, such as "+first[1]+first[2])
		}
		rest := l.text[m[5]:]
		from := m[5] + len(rest) - len(strings.TrimLeft(rest, " \t"))
		skip := 0 // cells that are blank: i2cdump was not asked for them
		if bus {
			skip = max(0, from-m[5]-1) / 3
		}
		row := place{l, m[2], m[3]}
		if err := d.reach(row, skip, last, star != nil); err != nil {
			return err
		}
		star = nil
		start := len(d.Bytes)
		if err := d.hexLine(l, from, cells(l.text, from, colon), false); err != nil {
			return err
		}
		last = d.Bytes[start:]
		if width == 0 {
			width = len(last) + skip
		}
		if len(last) > width {
			return l.problem("row-too-long", m[2], len(l.text), fmt.Sprintf("%d bytes in a row, %d in the first one: characters may "+
				"have been taken for bytes", len(last), width), fmt.Sprintf("at most %d bytes, two spaces before the characters", width))
		}
	}
	if star != nil {
		return star.problem("bad-repeat", 0, len(star.text), "the * stands for rows, but how many cannot be told", "an offset after it")
	}
	return nil
}

// cells is where the bytes of a row end, of which the first stands at from: what
// follows are their characters, in |…| of hexdump or behind a wide gap.
func cells(text string, from int, colon bool) int {
	mark := "|"
	if colon {
		mark = "  "
	}
	before, _, _ := strings.Cut(text[from:], mark)
	return from + len(before)
}

// place is where an offset stands in its line.
type place struct {
	line
	a, b int
}

// reach brings the bytes up to the offset of a row and the cells that it leaves
// blank: with rows like the last one where a * stands before it, else as not read.
func (d *Dump) reach(w place, skip int, last []byte, repeat bool) error {
	text := w.text[w.a:w.b]
	wrong := func(code, msg, want string) error { return w.problem(code, w.a, w.b, msg, want) }
	off, err := strconv.ParseUint(text, 16, 63)
	if err != nil || off > maxBytes {
		return wrong("offset-too-large", fmt.Sprintf("the offset %s is beyond an identity memory", text),
			fmt.Sprintf("offsets up to %x hex", maxBytes))
	}
	gap := int(off) + skip - len(d.Bytes)
	switch {
	case gap < 0:
		return wrong("offset-back", fmt.Sprintf("the offset says byte %d, but %d bytes stand before it", off, len(d.Bytes)),
			fmt.Sprintf("the offset %x hex: a row is too long or stands twice", len(d.Bytes)))
	case repeat && gap%len(last) != 0:
		return wrong("bad-repeat", fmt.Sprintf("the * before it would fill %d bytes, no whole number of rows of %d", gap, len(last)),
			"an offset that ends a whole row")
	case repeat:
		d.Bytes = append(d.Bytes, bytes.Repeat(last, gap/len(last))...)
	case gap > 0:
		if skip == 0 {
			d.note("line %d: bytes %d to %d are missing before this row", w.no, len(d.Bytes), off-1)
		}
		d.skip(gap)
	}
	return nil
}
