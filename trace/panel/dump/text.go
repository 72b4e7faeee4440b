package dump

import (
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist"
)

// line is one line of the text, without its end.
type line struct {
	no   int // from 1
	text string
}

// problem points at the bytes from a to b of the line.
func (l line) problem(name, code string, a, b int, msg, want string) netlist.Problem {
	a, b = min(a, len(l.text)), min(b, len(l.text))
	return netlist.Problem{
		File: name, Line: l.no, Column: utf8.RuneCountInString(l.text[:a]) + 1,
		Width: max(1, utf8.RuneCountInString(l.text[a:b])), Text: l.text,
		Code: code, Msg: msg, Want: want,
	}
}

func (l line) blank() bool { return strings.TrimSpace(l.text) == "" }

func splitLines(text string) []line {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	text = strings.ReplaceAll(text, "\r", "\n")
	var lines []line
	for i, s := range strings.Split(text, "\n") {
		lines = append(lines, line{no: i + 1, text: s})
	}
	return lines
}

// readText finds out the form and reads it. The forms with a mark of their own
// come first, plain hex last: it has none.
func readText(name, text string) (Dump, error) {
	lines := splitLines(text)
	if !hasInk(lines) {
		return Dump{}, whole(name, "empty-dump", "the file has only blank lines: no byte was written into it", wantForms)
	}
	for _, try := range []func(string, []line) (reading, bool, error){
		findSections, findI2CDump, findArray, findIntelHex, findLog, findNumbers, findTable, findColumn,
	} {
		r, found, err := try(name, lines)
		if err != nil {
			return Dump{}, err
		}
		if found {
			return r.dump(name)
		}
	}
	if err := wrongText(name, lines); err != nil {
		return Dump{}, err
	}
	r := reading{form: Hex}
	if err := r.looseLines(name, lines); err != nil {
		return Dump{}, err
	}
	return r.dump(name)
}

func hasInk(lines []line) bool {
	for _, l := range lines {
		if !l.blank() {
			return true
		}
	}
	return false
}

// reading gathers bytes in order.
type reading struct {
	form    Form
	bytes   []byte
	missing []Range
	notes   []string
}

func (r *reading) add(b byte) { r.bytes = append(r.bytes, b) }

// skip adds n bytes that were not read.
func (r *reading) skip(n int) {
	from := len(r.bytes)
	for range n {
		r.add(Filler)
	}
	if last := len(r.missing) - 1; last >= 0 && r.missing[last].To == from {
		r.missing[last].To = len(r.bytes)
		return
	}
	r.missing = append(r.missing, Range{from, len(r.bytes)})
}

func (r *reading) dump(name string) (Dump, error) {
	if len(r.bytes) == 0 {
		return Dump{}, whole(name, "no-bytes", "no bytes where the "+r.form.String()+" should have them", wantForms)
	}
	if len(r.bytes) > MaxBytes {
		return Dump{}, tooLong(name, len(r.bytes))
	}
	return Dump{Bytes: r.bytes, Form: r.form, Missing: r.missing, Notes: r.notes}, nil
}

// wrongText names texts that hold no bytes though people pass them.
func wrongText(name string, lines []line) error {
	for _, l := range lines {
		t := strings.TrimSpace(l.text)
		if t == "" || strings.HasPrefix(t, "# ") {
			continue
		}
		low := strings.ToLower(t)
		for _, w := range []struct{ start, what string }{
			{"board ", "a board file"},
			{"<?xml", "an XML file"},
			{"<svg", "an SVG picture"},
			{"<!doctype", "a web page"},
			{"<html", "a web page"},
			{"%pdf-", "a PDF document"},
			{"section \"", "an Xorg configuration, as parse-edid writes it: decoded, without the bytes"},
			{"identifier \"", "an Xorg configuration, as parse-edid writes it: decoded, without the bytes"},
			{"block 0, base edid", "the decoded text of edid-decode without its hex section"},
			{"edid version", "decoded text without the bytes"},
			{"{\"", "a JSON file"},
			{"#!/", "a script"},
		} {
			if strings.HasPrefix(low, w.start) {
				a := strings.Index(l.text, t)
				return l.problem(name, "wrong-file", a, a+len(t), "this looks like "+w.what, wantForms)
			}
		}
		return nil
	}
	return nil
}
