package dump

import "strings"

// findColumn reads rows of 16 or 8 bytes behind an offset without a colon, when
// the offsets of all rows count up. An offset may be a byte as well, so rows that
// count up only in part are refused.
func findColumn(name string, lines []line) (reading, bool, error) {
	rows := columnRows(lines, 16)
	if rows == nil {
		rows = columnRows(lines, 8)
	}
	if rows == nil || strings.HasPrefix("\x00"+string(rows[0].bytes.bytes), header) {
		return reading{}, false, nil
	}
	r := reading{form: Column}
	breaks := jumps(rows, radix(rows, Column))
	headed := strings.HasPrefix(string(rows[0].bytes.bytes), header)
	switch {
	case breaks == 0 && len(rows) > 1:
		r.notes = append(r.notes, "the first cell of each row is taken for its offset: it counts up by the bytes in a row")
		return r, true, r.fill(name, rows)
	case breaks*2 <= len(rows) && (len(rows) > 2 || headed):
		w := rows[0]
		return reading{}, false, w.line.problem(name, "offset-column", w.a, w.a+len(w.off),
			"this looks like offsets: put a colon behind them", "bytes alone, or a colon behind the offset of each row, such as "+w.off+":")
	}
	return reading{}, false, nil
}

// columnRows takes each line for an offset and width bytes, the last line for
// fewer; nil where a line is neither that nor a comment.
func columnRows(lines []line, width int) []row {
	var rows []row
	for _, l := range lines {
		t := strings.TrimSpace(l.text)
		if t == "" || strings.HasPrefix(t, "#") || strings.HasPrefix(t, "//") {
			continue
		}
		if n := len(rows); n > 0 && len(rows[n-1].bytes.bytes) < width {
			return nil // only the last row may be short
		}
		w, ok := columnRow(l, width)
		if !ok {
			return nil
		}
		rows = append(rows, w)
	}
	return rows
}

// columnRow reads an offset and up to width bytes of two digits. Behind a full
// row the characters may stand, after two spaces or a tab.
func columnRow(l line, width int) (row, bool) {
	const gaps = " \t,"
	w := row{line: l}
	rest := strings.TrimLeft(l.text, gaps)
	for cell := 0; rest != "" && cell <= width; cell++ {
		end := strings.IndexAny(rest+" ", gaps)
		digits, _ := bare(rest[:end])
		switch {
		case cell > 0 && (digits == "XX" || digits == "??"):
			w.bytes.skip(1)
		case !isHex(digits) || cell > 0 && len(digits) != 2 || len(digits) > 8:
			return row{}, false
		case cell == 0:
			w.off, w.a = digits, len(l.text)-len(rest)+strings.Index(rest, digits)
		default:
			w.bytes.addDigits(digits)
		}
		tail := rest[end:]
		rest = strings.TrimLeft(tail, gaps)
		if cell == width && rest != "" && tail[:len(tail)-len(rest)] == " " {
			return row{}, false // one more cell
		}
	}
	return w, len(w.bytes.bytes) > 0
}
