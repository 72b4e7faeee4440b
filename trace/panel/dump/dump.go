// Package dump reads the bytes of an identity memory from the forms in which
// people have them: a binary file, hex text in any layout, the output of xxd,
// hexdump, od, i2cdump or edid-decode, a Windows registry export, a C array,
// Intel HEX, rows of a kernel log, a list of decimal numbers.
//
//	d, err := dump.Read("panel.txt", data)
//
// A wrong file never panics: the error is a netlist.Problem with line, column
// and what was expected; its Report shows the line with a caret.
package dump

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"example.org/walkback/netlist"
)

// The limits of Read, in bytes.
const (
	// MaxInput is the largest file that is looked at.
	MaxInput = 1 << 20
	// MaxBytes is the largest memory: 256 blocks of 128 bytes (VESA E-EDID: the
	// count of extensions is one byte) are 32 KiB; twice that leaves room for a
	// chip that holds more than the blocks.
	MaxBytes = 64 << 10
)

// Filler stands in Dump.Bytes where nothing was read: what an open-drain line
// with its pull-up shows when nobody drives it. Dump.Missing tells the places.
const Filler = 0xFF

// blockSize is one block of the identity data, in bytes (VESA E-EDID).
const blockSize = 128

// Form is the form in which the bytes were written down.
type Form uint8

// The forms.
const (
	Binary    Form = iota // the bytes themselves
	Hex                   // hex digits without offsets, in any layout
	Array                 // a C array, such as of xxd -i
	Registry              // "EDID"=hex:… of a Windows registry export
	Property              // the EDID property of an xrandr listing
	Described             // the hex section of edid-decode, decoded text after it
	Xxd                   // offset, colon, hex, two spaces, characters
	Hexdump               // hexdump -C: offset, hex, |characters|
	Od                    // od -t x1: offset, hex
	I2CDump               // i2cdump, byte mode: header line, then rows
	IntelHex              // records :10000000…
	Log                   // rows of 16 bytes in a kernel log
	Numbers               // decimal numbers, such as a JSON list
	Column                // offset, hex, without a colon between them
)

// String names the form in words.
func (f Form) String() string {
	switch f {
	case Binary:
		return "binary"
	case Hex:
		return "hex text"
	case Array:
		return "bytes of a C array"
	case Registry:
		return "Windows registry export"
	case Property:
		return "EDID property of xrandr"
	case Described:
		return "hex section of edid-decode"
	case Xxd:
		return "xxd table"
	case Hexdump:
		return "hexdump -C table"
	case Od:
		return "od table"
	case I2CDump:
		return "i2cdump table"
	case IntelHex:
		return "Intel HEX records"
	case Log:
		return "rows of a kernel log"
	case Numbers:
		return "list of decimal numbers"
	case Column:
		return "table with offsets"
	}
	return fmt.Sprintf("form %d", uint8(f))
}

// MarshalText writes the words of String.
func (f Form) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// Range is a run of bytes; To is the first byte after it.
type Range struct {
	From int `json:"from"`
	To   int `json:"to"`
}

// Dump is what was read.
type Dump struct {
	Bytes   []byte   `json:"-"`
	Form    Form     `json:"form"`
	Missing []Range  `json:"missing,omitempty"` // not read by the tool that printed them; Filler in Bytes; in order, apart
	Notes   []string `json:"notes,omitempty"`   // what was passed over or is unusual, in words
}

// Read reads the bytes from data; name is only for messages. Every error is a
// netlist.Problem.
func Read(name string, data []byte) (Dump, error) {
	if len(data) == 0 {
		return Dump{}, whole(name, "empty-dump", "the file is empty: no byte was written into it", wantForms)
	}
	if len(data) > MaxInput {
		return Dump{}, whole(name, "input-too-large",
			fmt.Sprintf("the file has %d bytes, more than the %d that are read", len(data), MaxInput), wantForms)
	}
	if b := data[0]; len(data)%blockSize == 0 && b < 0x7F && notHex(rune(b)) && len(bytes.Trim(data, string(rune(b)))) == 0 {
		return Dump{Form: Binary, Bytes: bytes.Clone(data), Notes: []string{
			fmt.Sprintf("all %d bytes are 0x%02x (%q): taken for the bytes of a memory, not for text", len(data), b, b)}}, nil
	}
	text, how, isText := asText(data)
	if !isText {
		return readBinary(name, data)
	}
	d, err := readText(name, text)
	if p := (netlist.Problem{}); errors.As(err, &p) && p.Code == "not-hex" && how == "" && len(data)%blockSize == 0 && !strings.ContainsAny(text, "\r\n") {
		return Dump{}, whole(name, "wrong-file", fmt.Sprintf("%d bytes, all of them printable and no hex: text, or another memory; it starts with %q", len(data), short(text)), wantForms)
	}
	if err != nil {
		return Dump{}, err
	}
	if how != "" {
		d.Notes = append([]string{how}, d.Notes...)
	}
	if len(d.Bytes)%blockSize != 0 {
		d.Notes = append(d.Notes, notWholeBlocks(len(d.Bytes)))
	}
	return d, nil
}

// wantForms is what a file should have been.
const wantForms = "the bytes of an identity memory: binary, hex text, or the output of xxd, hexdump -C, od -t x1 or i2cdump"

func notWholeBlocks(n int) string {
	if n < blockSize {
		return fmt.Sprintf("%d bytes: less than one block of %d bytes", n, blockSize)
	}
	return fmt.Sprintf("%d bytes: no whole number of blocks of %d bytes", n, blockSize)
}

// whole is a problem of the file as a whole, without a place in it.
func whole(name, code, msg, want string) error {
	return netlist.Problem{File: name, Code: code, Msg: msg, Want: want}
}
