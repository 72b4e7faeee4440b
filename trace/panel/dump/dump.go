// Package dump reads the bytes of an identity memory from the forms in which a bench
// has them: a binary file, hex text in any layout, a C array, the hex section of
// edid-decode or xrandr, and rows behind an offset as xxd, hexdump -C and i2cdump
// print them.
//
//	d, err := dump.Read("panel.txt", data)
//
// A wrong file never panics: the error is a mistake.Mistake with line, column
// and what was expected; its Report shows the line with a caret.
package dump

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/panel/edid"
)

// The limits of Read, in bytes.
const (
	// MaxInput is the largest file that is looked at: eight signs for each byte.
	MaxInput = 8 * maxBytes
	// maxBytes is the largest memory: 256 blocks of 128 bytes (VESA E-EDID: the count of
	// extensions is one byte), and as much behind them.
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
	Table     Form = "rows of bytes with offsets" // of xxd, hexdump -C, i2cdump
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
	switch {
	case len(data) == 0:
		return Dump{}, whole(name, "empty-dump", "the file is empty: no byte was written into it")
	case len(data) > MaxInput:
		return Dump{}, whole(name, "input-too-large", fmt.Sprintf("the file has more than the %d KiB that are read", MaxInput>>10))
	}
	var d Dump
	var err error
	if text, ok := asText(data); ok {
		d, err = readText(name, text)
	} else {
		d, err = readBinary(name, data)
	}
	if err != nil {
		return Dump{}, err
	}
	switch n := len(d.Bytes); {
	case n == 0:
		return Dump{}, whole(name, "no-bytes", "no bytes where the "+string(d.Form)+" should have them")
	case n > maxBytes:
		return Dump{}, mistake.Mistake{File: name, Code: "dump-too-long", Want: "at most 256 blocks of 128 bytes",
			Msg: fmt.Sprintf("%d bytes of memory, more than the %d that an identity memory can have", n, maxBytes)}
	case n < edid.BlockSize:
		d.note("%d bytes: less than one block of %d bytes", n, edid.BlockSize)
	case n%edid.BlockSize != 0:
		d.note("%d bytes: no whole number of blocks of %d bytes", n, edid.BlockSize)
	}
	return d, nil
}

// whole is a mistake of the file as a whole, without a place in it.
func whole(name, code, msg string) error {
	return mistake.Mistake{File: name, Code: code, Msg: msg, Want: wantForms}
}

// wantForms is what a file should have been.
const wantForms = "the bytes of an identity memory: binary, hex text, or the output of xxd, hexdump -C or i2cdump"

// asText decides between text and binary. Text has no control bytes but those of
// layout; an identity memory has, from its first byte on. Windows writes UTF-16 when
// output is redirected. Blocks of one sign that is no hex digit are what a line shows
// that gives one value.
func asText(data []byte) (text string, ok bool) {
	if one := rune(data[0]); len(data)%edid.BlockSize == 0 && notHex(one) && len(bytes.Trim(data, string(one))) == 0 {
		return "", false
	}
	plain := bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))
	for mark, order := range map[string]binary.ByteOrder{"\xFF\xFE": binary.LittleEndian, "\xFE\xFF": binary.BigEndian} {
		if wide, marked := bytes.CutPrefix(data, []byte(mark)); marked && len(wide)%2 == 0 {
			units := make([]uint16, len(wide)/2)
			for i := range units {
				units[i] = order.Uint16(wide[2*i:])
			}
			plain = []byte(string(utf16.Decode(units)))
		}
	}
	ok = len(plain) > 0 && utf8.Valid(plain) && bytes.IndexFunc(plain, isControl) < 0
	return string(plain), ok
}

func isControl(r rune) bool {
	return !strings.ContainsRune("\t\n\r\f", r) && (r < ' ' || r >= 0x7F && r < 0xA0)
}

// looksLike names a file that people name by mistake by its start; "" for none that
// is known. Each start is from the specification of its format, from memory.
func looksLike(start string) string {
	for _, m := range []struct{ start, what string }{
		{"\x89PNG\r\n\x1a\n", "a PNG picture"}, {"\xff\xd8\xff", "a JPEG picture"}, {"%PDF-", "a PDF document"},
		{"PK\x03\x04", "a ZIP archive"}, {"\x7fELF", "a program"}, {"MZ", "a program"}, {"board ", "a board file"},
		{"<", "a web page or another file of XML"}, {"{\"", "a JSON file"},
		{"Block 0, Base EDID", "the decoded text of edid-decode without its hex section"},
	} {
		if strings.HasPrefix(start, m.start) {
			return m.what
		}
	}
	return ""
}

// readBinary takes the bytes as they are, where they can be an identity memory.
func readBinary(name string, data []byte) (Dump, error) {
	headed := bytes.Contains(data, edid.Header())
	odd := bytes.IndexFunc(data, isControl)
	switch what := looksLike(string(data[:min(len(data), 16)])); {
	case headed:
	case what != "":
		return Dump{}, whole(name, "wrong-file", "this looks like "+what)
	case odd >= 16 && !bytes.ContainsFunc(data, func(r rune) bool { return r >= 0x7F }):
		return Dump{}, whole(name, "control-byte", fmt.Sprintf("the byte 0x%02x in the middle of text, on line %d", data[odd],
			1+bytes.Count(data[:odd], []byte("\n"))))
	case len(data) > 2*edid.BlockSize && len(data)%edid.BlockSize != 0:
		return Dump{}, whole(name, "wrong-file", fmt.Sprintf(
			"a binary file of %d bytes without the header 00 ff ff ff ff ff ff 00: this is no identity memory", len(data)))
	}
	return Dump{Form: Binary, Bytes: bytes.Clone(data)}, nil
}

func (d *Dump) note(format string, args ...any) {
	d.Notes = append(d.Notes, fmt.Sprintf(format, args...))
}

// skip adds n bytes that were not read.
func (d *Dump) skip(n int) {
	from := len(d.Bytes)
	d.Bytes = append(d.Bytes, bytes.Repeat([]byte{Filler}, n)...)
	if last := len(d.Missing) - 1; last >= 0 && d.Missing[last].To == from {
		d.Missing[last].To = from + n
		return
	}
	d.Missing = append(d.Missing, Range{from, from + n})
}
