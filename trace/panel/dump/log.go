package dump

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// logMarks are what a line of a kernel log is known by: the time in seconds
// since the start, the word that the system log puts before it, or the head that
// Linux gives a block it refuses (drivers/gpu/drm/drm_edid.c, from memory).
const logMarks = `(?:^|\s)(?:\[ *\d+\.\d+\]|kernel:|\[[0-9a-f]{2}\] (?:BAD|GOOD|ZERO))`

// findLog reads rows of 16 bytes that a kernel wrote into its log: anything may
// stand before the bytes, two spaces and characters behind them.
func findLog(name string, lines []line) (reading, bool, error) {
	mark := regexp.MustCompile(logMarks)
	cells := regexp.MustCompile(`(?:^|\s)((?:[0-9a-fA-F]{2} ){15}[0-9a-fA-F]{2})(?:\s*$|  )`)
	r := reading{form: Log}
	last, apart := -1, -1
	for i, l := range lines {
		m := mark.FindAllStringIndex(l.text, -1)
		if m == nil {
			continue
		}
		from := m[len(m)-1][1]
		c := cells.FindStringSubmatchIndex(l.text[from:])
		if c == nil {
			continue
		}
		a, b := from+c[2], from+c[3]
		if last >= 0 && inked(lines[last+1:i]) > 0 {
			apart = i
		}
		if err := r.logRow(name, l, from, a); err != nil {
			return reading{}, false, err
		}
		if last >= 0 && (apart == i || strings.EqualFold(l.text[a:a+23], "00 ff ff ff ff ff ff 00")) {
			return reading{}, false, l.problem(name, "several-memories", a, b, "a second table may start here: other lines stand before it, or it has the header again",
				"one memory, its rows one under the other: cut the others away")
		}
		r.addDigits(strings.ReplaceAll(l.text[a:b], " ", ""))
		last = i
	}
	if last < 0 {
		return reading{}, false, nil
	}
	if n := inked(lines) - len(r.bytes)/16; n > 0 {
		r.notes = append(r.notes, passedOver(n, "of the log without 16 bytes"))
	}
	return r, true, nil
}

// logRow checks what stands between the mark and the bytes: an offset must fit,
// and a byte more makes it unclear where the row starts.
func (r *reading) logRow(name string, l line, from, a int) error {
	f := strings.Fields(l.text[from:a])
	if len(f) == 0 {
		return nil
	}
	before := f[len(f)-1]
	at := from + strings.LastIndex(l.text[from:a], before)
	if len(before) == 2 && isHex(before) {
		return l.problem(name, "bad-row", at, at+2, fmt.Sprintf("%q before the 16 bytes may be a byte or an offset", before), "rows of 16 bytes; a colon behind an offset")
	}
	off, ok := strings.CutSuffix(before, ":")
	if n, err := strconv.ParseUint(off, 16, 32); ok && len(off) >= 4 && err == nil && int(n) != len(r.bytes) {
		return l.problem(name, "offset-jump", at, at+len(off), fmt.Sprintf("the offset says byte %d, but %d bytes stand before it", n, len(r.bytes)),
			fmt.Sprintf("the offset %x hex: a line is missing or stands twice", len(r.bytes)))
	}
	return nil
}
