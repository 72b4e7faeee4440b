package dump

import (
	"fmt"
	"strconv"
	"strings"
)

// bitTable tells the rows of xxd -b from hex in groups of four bytes, which are
// eight digits too: its cells have only 0 and 1, and its offsets count by one a
// cell.
func bitTable(lines []line) bool {
	cells, first, seen := 0, uint64(0), 0
	for _, l := range lines {
		if l.blank() {
			continue
		}
		head, body, ok := strings.Cut(l.text, ":")
		off, err := strconv.ParseUint(strings.TrimSpace(head), 16, 32)
		f := bitCells(body)
		if !ok || err != nil || len(f) == 0 {
			return false
		}
		if seen == 1 && int(off-first) != cells {
			return false
		}
		first, cells, seen = off, len(f), seen+1
	}
	return seen > 1
}

// bitCells returns the words of eight bits before the characters; nil when the
// first is none.
func bitCells(body string) []string {
	body = strings.TrimLeft(body, " \t")
	body = body[:bytesEnd(body, 0, Xxd)]
	f := strings.Fields(body)
	if len(f) == 0 || len(f[0]) != 8 || strings.Trim(f[0], "01") != "" {
		return nil
	}
	return f
}

// bitRow reads one row of xxd -b.
func bitRow(name string, l line, _ Form) (row, error) {
	head, body, _ := strings.Cut(l.text, ":")
	off := strings.TrimSpace(head)
	w := row{line: l, off: off, a: strings.Index(l.text, off)}
	for at, c := range bitCells(body) {
		b, err := strconv.ParseUint(c, 2, 8)
		if err != nil || len(c) != 8 {
			a := strings.Index(l.text, c)
			return row{}, l.problem(name, "not-bits", a, a+len(c), fmt.Sprintf("cell %d, %q, in a table of bits", at+1, short(c)), "eight digits 0 or 1 for each byte, as xxd -b writes them")
		}
		w.bytes.add(byte(b))
	}
	return w, nil
}
