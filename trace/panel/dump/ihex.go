package dump

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// findIntelHex reads the records of Intel HEX: a colon, then as hex digits the
// number of data bytes, the address (two bytes), the type, the data, and a byte
// that makes the sum of all 0 modulo 256 (Intel, Hexadecimal Object File Format
// Specification, revision A, 1988, from memory).
func findIntelHex(name string, lines []line) (reading, bool, error) {
	at := slices.IndexFunc(lines, isRecord)
	if at < 0 || slices.ContainsFunc(lines[:at], looksLoose) {
		return reading{}, false, nil
	}
	r := reading{form: IntelHex}
	if n := inked(lines[:at]); n > 0 {
		r.notes = append(r.notes, passedOver(n, "before the records"))
	}
	rows, rest, err := records(name, lines[at:])
	if err != nil {
		return reading{}, false, err
	}
	if rest < 0 {
		r.notes = append(r.notes, "the end record (:00000001FF) is missing: the file may be cut")
	} else if n := inked(lines[at+rest:]); n > 0 {
		r.notes = append(r.notes, passedOver(n, "after the end record"))
	}
	// The records may stand in any order.
	slices.SortStableFunc(rows, func(a, b row) int { return cmp.Compare(offsetOf(a), offsetOf(b)) })
	return r, true, r.fill(name, rows)
}

// offsetOf cannot fail: the digits are those of records.
func offsetOf(w row) uint64 {
	n, _ := strconv.ParseUint(w.off, 16, 64)
	return n
}

// isRecord tells a record from hex bytes parted by colons: its head alone is
// eight digits in one word.
func isRecord(l line) bool {
	digits, ok := strings.CutPrefix(strings.TrimSpace(l.text), ":")
	return ok && len(digits) >= 10 && isHex(digits[:8])
}

// records reads the data records; rest is the line after the end record, -1
// without one.
func records(name string, lines []line) (rows []row, rest int, err error) {
	high := uint64(0)
	for i, l := range lines {
		if l.blank() {
			continue
		}
		a, bytes, err := record(name, l)
		if err != nil {
			return nil, 0, err
		}
		data, off := bytes[4:len(bytes)-1], uint64(bytes[1])<<8|uint64(bytes[2])
		switch kind := bytes[3]; {
		case kind == 0 && len(data) > 0:
			rows = append(rows, row{line: l, off: fmt.Sprintf("%04x", high+off), a: a + 3, bytes: reading{bytes: data}})
		case kind == 1:
			return rows, i + 1, nil
		case kind == 2 && len(data) == 2: // the address, divided by 16
			high = (uint64(data[0])<<8 | uint64(data[1])) << 4
		case kind == 4 && len(data) == 2: // the upper half of the address
			high = (uint64(data[0])<<8 | uint64(data[1])) << 16
		case kind == 0, kind == 3, kind == 5: // no data; where a program starts
		default:
			return nil, 0, l.problem(name, "bad-record", a+7, a+9, fmt.Sprintf("a record of type %02X with %d bytes", kind, len(data)),
				"type 00 (data) or 01 (end)")
		}
	}
	return rows, -1, nil
}

// record reads one record and checks its length and sum; a is where its colon is.
func record(name string, l line) (a int, out []byte, err error) {
	text := strings.TrimSpace(l.text)
	a = strings.Index(l.text, text)
	digits, ok := strings.CutPrefix(text, ":")
	if !ok {
		return 0, nil, l.problem(name, "bad-record", a, a+len(text), fmt.Sprintf("%q is no record", short(text)), "a record that starts with a colon, such as :00000001FF")
	}
	if i := strings.IndexFunc(digits, notHex); i >= 0 {
		return 0, nil, badWord(name, l, a+1, a+len(text), a+1+i)
	}
	if len(digits) < 10 || len(digits)%2 != 0 {
		return 0, nil, l.problem(name, "bad-record", a, a+len(text), fmt.Sprintf("a record of %d hex digits", len(digits)), "an even number of digits, at least 10")
	}
	var r reading
	r.addDigits(digits)
	if want := int(r.bytes[0]); want != len(r.bytes)-5 {
		return 0, nil, l.problem(name, "record-length", a+1, a+3, fmt.Sprintf("the record says %d data bytes, %d are there", want, len(r.bytes)-5),
			fmt.Sprintf("%02X there, or the missing digits", len(r.bytes)-5))
	}
	var total byte
	for _, b := range r.bytes {
		total += b
	}
	if sum := r.bytes[len(r.bytes)-1]; total != 0 {
		return 0, nil, l.problem(name, "record-sum", a+len(text)-2, a+len(text), fmt.Sprintf("the sum of the record is %02X, its other bytes give %02X: a digit of the line is wrong", sum, sum-total),
			"records as the tool wrote them: read the memory again, or write the file again")
	}
	return a, r.bytes, nil
}
