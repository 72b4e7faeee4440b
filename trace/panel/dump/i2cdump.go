package dump

import (
	"fmt"
	"strings"
)

// findI2CDump reads the byte table of i2cdump. The format is that of
// tools/i2cdump.c of i2c-tools 4.2: a header line with the 16 columns, then
// rows "00: 00 ff …" whose cells stand under the digits of the header; XX where
// the chip gave no answer, blanks outside the range that was asked for.
func findI2CDump(name string, lines []line) (reading, bool, error) {
	at := -1
	for i, l := range lines {
		if f := strings.Fields(l.text); len(f) >= 8 && f[0] == "0,8" && f[7] == "7,f" {
			return reading{}, false, l.problem(name, "word-mode", strings.Index(l.text, "0,8"), len(l.text),
				"a table of words: each cell has two bytes and every second byte is read twice", "i2cdump in byte mode: i2cdump -y BUS 0x50 b")
		}
		if columns(l) == nil {
			continue
		}
		if at >= 0 {
			return reading{}, false, l.problem(name, "several-memories", 0, len(l.text),
				fmt.Sprintf("a second table starts here, the first one on line %d", lines[at].no), "one memory in a file: cut the others away")
		}
		at = i
	}
	if at < 0 {
		return reading{}, false, nil
	}
	r := reading{form: I2CDump}
	if n := inked(lines[:at]); n > 0 {
		r.notes = append(r.notes, passedOver(n, "before the table"))
	}
	cols, i := columns(lines[at]), at+1
	for ; i < len(lines) && !lines[i].blank() && len(r.bytes) < 256; i++ {
		if err := r.i2cRow(name, lines[i], cols); err != nil {
			return reading{}, false, err
		}
	}
	if n := inked(lines[i:]); n > 0 {
		r.notes = append(r.notes, passedOver(n, "after the table"))
	}
	return r, true, nil
}

func passedOver(n int, where string) string {
	if n == 1 {
		return "1 line " + where + " is passed over"
	}
	return fmt.Sprintf("%d lines %s are passed over", n, where)
}

func inked(lines []line) int {
	n := 0
	for _, l := range lines {
		if !l.blank() {
			n++
		}
	}
	return n
}

// columns returns where the digits 0 to f of the header line stand, nil for any
// other line.
func columns(l line) []int {
	var cols []int
	for i := 0; i < len(l.text) && len(cols) < 16; i++ {
		if l.text[i] == ' ' {
			continue
		}
		alone := i > 0 && l.text[i-1] == ' ' && (i+1 == len(l.text) || l.text[i+1] == ' ')
		if !alone || l.text[i]|0x20 != "0123456789abcdef"[len(cols)]|0x20 {
			return nil
		}
		cols = append(cols, i)
	}
	if len(cols) < 16 {
		return nil
	}
	return cols
}

// i2cRow reads one row. Cells that are blank at its end were not asked for and
// count only when a later byte follows.
func (r *reading) i2cRow(name string, l line, cols []int) error {
	head, _, ok := strings.Cut(l.text, ":")
	off := strings.TrimSpace(head)
	if !ok || len(off) != 2 || !isHex(off) || off[1] != '0' {
		return l.problem(name, "bad-row", 0, max(1, len(head)), fmt.Sprintf("%q is no row of the table", short(strings.TrimSpace(head))),
			fmt.Sprintf("a row that starts with its offset and a colon, such as %02x:", len(r.bytes)&0xF0))
	}
	start := int(hexValue(off[0])) << 4
	if start < len(r.bytes) {
		a := strings.Index(l.text, off)
		return l.problem(name, "offset-back", a, a+2, fmt.Sprintf("the offset %s comes again: %d bytes were read before", off, len(r.bytes)),
			"offsets that grow")
	}
	for j, c := range cols {
		if c >= len(l.text) {
			break
		}
		cell := l.text[c-1 : c+1]
		if strings.TrimSpace(cell) == "" {
			continue
		}
		if gap := start + j - len(r.bytes); gap > 0 {
			r.skip(gap)
		}
		if cell == "XX" || cell == "??" {
			r.skip(1)
			continue
		}
		if !isHex(cell) {
			return badWord(name, l, c-1, c+1, c-1+strings.IndexFunc(cell, notHex))
		}
		r.add(hexValue(cell[0])<<4 | hexValue(cell[1]))
	}
	return nil
}
