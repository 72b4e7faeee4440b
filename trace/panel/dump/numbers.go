package dump

import (
	"fmt"
	"strconv"
	"strings"
)

// findNumbers reads a list of decimal numbers: in brackets, as JSON and Python
// write it, or bare. A number of three digits tells it from hex, whose words
// have an even number of digits.
func findNumbers(name string, lines []line) (reading, bool, error) {
	r := reading{form: Numbers}
	inside, bracket := insideBrackets(lines)
	three, large, comma := false, 0, false
	var at line
	var from, to int
	for k, l := range inside {
		comma = comma || strings.Contains(l.text, ",")
		for i := 0; i < len(l.text); {
			if strings.IndexByte(" \t,", l.text[i]) >= 0 {
				i++
				continue
			}
			end := i + 1
			for end < len(l.text) && strings.IndexByte(" \t,", l.text[end]) < 0 {
				end++
			}
			w := l.text[i:end]
			n, err := strconv.ParseUint(w, 10, 31)
			if err != nil || len(w) > 1 && w[0] == '0' {
				return reading{}, false, nil
			}
			if n > 0xFF && large == 0 {
				at, from, to, large = lines[k], i, end, int(n)
			}
			three = three || len(w) == 3
			r.add(byte(n))
			i = end
		}
	}
	switch {
	case len(r.bytes) < 8 || !three || !bracket && !comma && large > 0:
		return reading{}, false, nil
	case large > 0:
		return reading{}, false, at.problem(name, "number-too-large", from, to, fmt.Sprintf("%d in a list of decimal numbers is no byte", large), "numbers from 0 to 255")
	}
	return r, true, nil
}

// insideBrackets blanks all but what stands in the one pair of brackets of the
// text; lines without brackets stay as they are.
func insideBrackets(lines []line) (inside []line, bracket bool) {
	open, shut := 0, 0
	for _, l := range lines {
		open += strings.Count(l.text, "[")
		shut += strings.Count(l.text, "]")
	}
	if open != 1 || shut != 1 {
		return lines, false
	}
	on := false
	for _, l := range lines {
		b := []byte(l.text)
		for i, c := range b {
			if c == ']' {
				on = false
			}
			if !on {
				b[i] = ' '
			}
			if c == '[' {
				on = true
			}
		}
		inside = append(inside, line{no: l.no, text: string(b)})
	}
	return inside, true
}
