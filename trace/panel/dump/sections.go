package dump

import (
	"fmt"
	"slices"
	"strings"
)

// section is where the bytes of a marked form start: a line and a column in it.
type section struct {
	form Form
	at   int // index into the lines
	col  int // byte in that line from which the digits run
	name string
}

// findSections reads the forms that announce their bytes with a mark.
func findSections(name string, lines []line) (reading, bool, error) {
	marks := sectionMarks(lines)
	if len(marks) == 0 {
		return reading{}, false, nil
	}
	m := marks[0]
	if len(marks) > 1 {
		l := lines[marks[1].at]
		return reading{}, false, l.problem(name, "several-memories", 0, len(l.text),
			fmt.Sprintf("a second memory starts here, the first one on line %d", lines[m.at].no), "one memory in a file: cut the others away")
	}
	r := reading{form: m.form}
	var err error
	switch m.form {
	case Registry:
		err = r.registry(name, lines, m)
	case Property:
		err = r.property(name, lines, m)
	default:
		err = r.described(name, lines, m)
	}
	return r, true, err
}

func sectionMarks(lines []line) []section {
	var marks []section
	for i, l := range lines {
		low := strings.ToLower(strings.TrimSpace(l.text))
		switch {
		case strings.HasPrefix(low, "edid-decode") && strings.HasSuffix(low, "(hex):"):
			marks = append(marks, section{form: Described, at: i})
		case low == "edid:" || low == "edid_data:":
			marks = append(marks, section{form: Property, at: i})
		case strings.Contains(low, " reg_binary "): // reg query prints name, type, digits
			k := strings.Index(strings.ToLower(l.text), " reg_binary ")
			marks = append(marks, section{form: Registry, at: i, col: k + len(" reg_binary "), name: strings.TrimSpace(strings.ToLower(l.text[:k]))})
		case strings.HasPrefix(low, `"`) && strings.Contains(low, `"=hex`):
			if k := strings.Index(l.text, ":"); k >= 0 {
				marks = append(marks, section{form: Registry, at: i, col: k + 1, name: low[1:strings.Index(low, `"=hex`)]})
			}
		}
	}
	// A registry key has other values beside the memory: the named one counts.
	isEDID := func(m section) bool { return m.form != Registry || strings.Contains(m.name, "edid") }
	if slices.ContainsFunc(marks, isEDID) {
		marks = slices.DeleteFunc(marks, func(m section) bool { return !isEDID(m) })
	}
	return marks
}

// described reads up to the rule of hyphens that edid-decode prints after the
// bytes. It parts blocks by blank lines.
func (r *reading) described(name string, lines []line, m section) error {
	for _, l := range lines[m.at+1:] {
		if strings.HasPrefix(strings.TrimSpace(l.text), "----") {
			break
		}
		if err := r.looseLine(name, l, 0, len(l.text), false); err != nil {
			return err
		}
	}
	return nil
}

// property reads the lines that stand further in than the word EDID.
func (r *reading) property(name string, lines []line, m section) error {
	depth := indent(lines[m.at].text)
	for _, l := range lines[m.at+1:] {
		if l.blank() || indent(l.text) <= depth {
			break
		}
		if err := r.looseLine(name, l, 0, len(l.text), false); err != nil {
			return err
		}
	}
	return nil
}

// indent counts a tab as eight columns, as terminals do.
func indent(s string) int {
	n := 0
	for _, c := range s {
		switch c {
		case ' ':
			n++
		case '\t':
			n += 8 - n%8
		default:
			return n
		}
	}
	return n
}

// registry reads the value of one name: each line but the last ends in \.
func (r *reading) registry(name string, lines []line, m section) error {
	for i := m.at; i < len(lines); i++ {
		l, from := lines[i], 0
		if i == m.at {
			from = m.col
		}
		if err := r.looseLine(name, l, from, len(l.text), false); err != nil {
			return err
		}
		if !strings.HasSuffix(strings.TrimSpace(l.text), `\`) {
			break
		}
	}
	return nil
}

// findArray reads what stands between the braces of a C array.
func findArray(name string, lines []line) (reading, bool, error) {
	lines = withoutComments(lines)
	at, col := -1, 0
	for i, l := range lines {
		if k := strings.IndexByte(l.text, '{'); k >= 0 {
			at, col = i, k+1
			break
		}
	}
	if at < 0 || !assigned(lines[:at+1], col-1) {
		return reading{}, false, nil
	}
	r := reading{form: Array}
	for i := at; i < len(lines); i++ {
		l, from := lines[i], 0
		if i == at {
			from = col
		}
		to := len(l.text)
		k := strings.IndexByte(l.text[from:], '}')
		if k >= 0 {
			to = from + k
		}
		if err := r.looseLine(name, l, from, to, true); err != nil {
			return reading{}, false, err
		}
		if k >= 0 {
			return r, true, secondArray(name, lines[i+1:])
		}
	}
	l := lines[at]
	return reading{}, false, l.problem(name, "open-array", col-1, col, "the array that starts here has no end", "a } after the last byte")
}

// assigned tells whether the brace is the start of a value: = stands before it.
func assigned(lines []line, brace int) bool {
	last := len(lines) - 1
	before := strings.TrimSpace(lines[last].text[:brace])
	for before == "" && last > 0 {
		last--
		before = strings.TrimSpace(lines[last].text)
	}
	return strings.HasSuffix(before, "=")
}

func secondArray(name string, rest []line) error {
	for _, l := range rest {
		if k := strings.IndexByte(l.text, '{'); k >= 0 {
			return l.problem(name, "several-memories", k, k+1, "a second array starts here", "one memory in a file: cut the others away")
		}
	}
	return nil
}

// withoutComments puts spaces in the place of C comments, so that columns stay.
func withoutComments(lines []line) []line {
	out := make([]line, len(lines))
	inside := false
	for i, l := range lines {
		b := []byte(l.text)
		for k := 0; k < len(b); k++ {
			pair := string(b[k:min(k+2, len(b))])
			switch {
			case inside && pair == "*/":
				inside = false
				b[k], b[k+1] = ' ', ' '
			case inside:
				b[k] = ' '
			case pair == "/*":
				inside = true
				b[k], b[k+1] = ' ', ' '
				k++
			case pair == "//":
				copy(b[k:], strings.Repeat(" ", len(b)-k))
			}
		}
		out[i] = line{no: l.no, text: string(b)}
	}
	return out
}
