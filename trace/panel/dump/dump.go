// Package dump reads the bytes of an identity memory from the forms in which
// people have them: a binary file, hex text in any layout, a C array, the hex
// section of edid-decode or xrandr, and rows behind an offset as xxd, hexdump -C,
// od -t x1 and i2cdump print them.
//
//	d, err := dump.Read("panel.txt", data)
//
// A wrong file never panics: the error is a mistake.Mistake with line, column
// and what was expected; its Report shows the line with a caret.
package dump

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/panel/edid"
)

// The limits of Read, in bytes.
const (
	// MaxInput is the largest file that is looked at.
	MaxInput = 1 << 20
	// maxBytes is the largest memory: 256 blocks of 128 bytes (VESA E-EDID: the
	// count of extensions is one byte) are 32 KiB; twice that leaves room for a
	// chip that holds more than the blocks.
	maxBytes = 64 << 10
)

// Filler stands in Dump.Bytes where nothing was read: what an open-drain line
// with its pull-up shows when nobody drives it. Dump.Missing tells the places.
const Filler = 0xFF

// Form is the form in which the bytes were written down.
type Form string

// The forms.
const (
	Binary    Form = "binary"                     // the bytes themselves
	Hex       Form = "hex text"                   // hex digits without offsets, in any layout
	Array     Form = "bytes of a C array"         // such as of xxd -i
	Described Form = "hex section"                // of edid-decode or xrandr, behind a line that says so
	Table     Form = "rows of bytes with offsets" // of xxd, hexdump -C, od -t x1, i2cdump
)

// Range is a run of bytes; To is the first byte after it.
type Range struct {
	From int `json:"from"`
	To   int `json:"to"`
}

// Dump is what was read.
type Dump struct {
	Bytes   []byte
	Form    Form
	Missing []Range  // not read by the tool that printed them; Filler in Bytes; in order, apart
	Notes   []string // what was passed over or is unusual, in words
}

// Read reads the bytes from data; name is only for messages. Every error is a
// mistake.Mistake.
func Read(name string, data []byte) (Dump, error) {
	if len(data) == 0 {
		return Dump{}, whole(name, "empty-dump", "the file is empty: no byte was written into it")
	}
	if len(data) > MaxInput {
		return Dump{}, whole(name, "input-too-large", fmt.Sprintf("the file has %d bytes, more than the %d that are read", len(data), MaxInput))
	}
	blocks := len(data)%edid.BlockSize == 0
	if b := data[0]; blocks && b < 0x7F && !isHex(string(b)) && len(bytes.Trim(data, string(rune(b)))) == 0 {
		return Dump{Form: Binary, Bytes: bytes.Clone(data), Notes: []string{
			fmt.Sprintf("all %d bytes are 0x%02x (%q): taken for the bytes of a memory, not for text", len(data), b, b)}}, nil
	}
	text, how, isText := asText(data)
	if !isText {
		return readBinary(name, data)
	}
	d, err := readText(name, text)
	if m := (mistake.Mistake{}); errors.As(err, &m) && m.Code == "not-hex" && how == "" && blocks && !strings.ContainsAny(text, "\r\n") {
		return Dump{}, whole(name, "wrong-file", fmt.Sprintf("%d bytes, all of them printable and no hex: text, or another "+
			"memory; it starts with %q", len(data), short(text)))
	}
	if err != nil {
		return Dump{}, err
	}
	if how != "" {
		d.Notes = append([]string{how}, d.Notes...)
	}
	return d, nil
}

// finished is a dump whose bytes were checked as a whole.
func finished(name string, d Dump) (Dump, error) {
	switch n := len(d.Bytes); {
	case n == 0:
		return Dump{}, whole(name, "no-bytes", "no bytes where the "+string(d.Form)+" should have them")
	case n > maxBytes:
		return Dump{}, mistake.Mistake{File: name, Code: "dump-too-long", Want: "at most 256 blocks of 128 bytes",
			Msg: fmt.Sprintf("%d bytes of memory, more than the %d that an identity memory can have", n, maxBytes)}
	case n < edid.BlockSize:
		d.Notes = append(d.Notes, fmt.Sprintf("%d bytes: less than one block of %d bytes", n, edid.BlockSize))
	case n%edid.BlockSize != 0:
		d.Notes = append(d.Notes, fmt.Sprintf("%d bytes: no whole number of blocks of %d bytes", n, edid.BlockSize))
	}
	return d, nil
}

// whole is a mistake of the file as a whole, without a place in it.
func whole(name, code, msg string) error {
	return mistake.Mistake{File: name, Code: code, Msg: msg, Want: wantForms}
}

// wantForms is what a file should have been.
const wantForms = "the bytes of an identity memory: binary, hex text, or the output of xxd, hexdump -C, od -t x1 or i2cdump"

// line is one line of the text, without its end.
type line struct {
	file string
	no   int // from 1
	text string
}

// problem points at the bytes from a to b of the line.
func (l line) problem(code string, a, b int, msg, want string) mistake.Mistake {
	a, b = min(a, len(l.text)), min(b, len(l.text))
	return mistake.Mistake{
		File: l.file, Line: l.no, Column: utf8.RuneCountInString(l.text[:a]) + 1,
		Width: max(1, utf8.RuneCountInString(l.text[a:b])), Text: l.text, Code: code, Msg: msg, Want: want,
	}
}

func (l line) blank() bool { return strings.TrimSpace(l.text) == "" }

func splitLines(name, text string) []line {
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	var lines []line
	for i, s := range strings.Split(text, "\n") {
		lines = append(lines, line{name, i + 1, s})
	}
	return lines
}

// readText finds out the form and reads it. The forms with a mark of their own
// come first, plain hex last: it has none.
func readText(name, text string) (Dump, error) {
	lines := splitLines(name, text)
	if strings.TrimSpace(text) == "" {
		return Dump{}, whole(name, "empty-dump", "the file has only blank lines: no byte was written into it")
	}
	for _, try := range []func([]line) (reading, bool, error){findSection, findArray, findTable} {
		r, found, err := try(lines)
		if err != nil {
			return Dump{}, err
		}
		if found {
			return finished(name, r.Dump)
		}
	}
	if err := wrongText(lines); err != nil {
		return Dump{}, err
	}
	r := reading{Dump{Form: Hex}}
	for _, l := range lines {
		if err := r.hexLine(l, 0, len(l.text), false); err != nil {
			return Dump{}, err
		}
	}
	return finished(name, r.Dump)
}

// reading gathers bytes in order.
type reading struct{ Dump }

func (r *reading) note(format string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(format, args...))
}

// passedOver notes lines without bytes.
func (r *reading) passedOver(n int, where string) {
	switch {
	case n == 1:
		r.note("1 line %s is passed over", where)
	case n > 1:
		r.note("%d lines %s are passed over", n, where)
	}
}

// skip adds n bytes that were not read.
func (r *reading) skip(n int) {
	from := len(r.Bytes)
	r.Bytes = append(r.Bytes, bytes.Repeat([]byte{Filler}, n)...)
	r.gone(from, len(r.Bytes))
}

// gone notes a run of bytes that were not read, behind those noted before.
func (r *reading) gone(from, to int) {
	if last := len(r.Missing) - 1; last >= 0 && r.Missing[last].To == from {
		r.Missing[last].To = to
		return
	}
	r.Missing = append(r.Missing, Range{from, to})
}
