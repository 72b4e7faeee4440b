package dump

import (
	"bytes"
	"fmt"
	"unicode/utf16"
	"unicode/utf8"
)

// header starts every identity memory (VESA E-EDID, base block, bytes 0 to 7).
const header = "\x00\xFF\xFF\xFF\xFF\xFF\xFF\x00"

// asText decides between text and binary. Text has no control bytes but those
// of layout; an identity memory has, from its first byte on. How says in words
// what encoding was undone, "" for plain ASCII or UTF-8.
func asText(data []byte) (text, how string, ok bool) {
	if wide, order := wideText(data); wide != "" {
		return wide, "the text is UTF-16 " + order + ", as Windows writes it when output is redirected", true
	}
	plain := bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))
	if len(plain) == 0 || !isPlain(plain) {
		return "", "", false
	}
	return string(plain), "", true
}

// isPlain tells whether all of data is printable UTF-8 and layout.
func isPlain(data []byte) bool {
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if !plainRune(r) || r == utf8.RuneError && n == 1 {
			return false
		}
		i += n
	}
	return true
}

func plainRune(r rune) bool {
	switch r {
	case '\t', '\n', '\r', '\f':
		return true
	}
	return r >= ' ' && r < 0x7F || r >= 0xA0
}

// wideText reads UTF-16 with a byte order mark, or without one when every
// second byte is zero. It returns "" for what is not such text.
func wideText(data []byte) (text, order string) {
	if len(data) < 4 || len(data)%2 != 0 {
		return "", ""
	}
	big, marked := false, true
	switch {
	case data[0] == 0xFF && data[1] == 0xFE:
	case data[0] == 0xFE && data[1] == 0xFF:
		big = true
	case data[0] == 0 && data[1] != 0:
		big, marked = true, false
	case data[0] != 0 && data[1] == 0:
		marked = false
	default:
		return "", ""
	}
	units := make([]uint16, 0, len(data)/2)
	for i := 0; i < len(data); i += 2 {
		u := uint16(data[i]) | uint16(data[i+1])<<8
		if big {
			u = u<<8 | u>>8
		}
		if !marked && u > 0x7E {
			return "", ""
		}
		units = append(units, u)
	}
	if marked {
		units = units[1:]
	}
	s := string(utf16.Decode(units))
	if len(units) == 0 || !isPlain([]byte(s)) {
		return "", ""
	}
	if big {
		return s, "big end first"
	}
	return s, "little end first"
}

// magics are the first bytes of files that people name by mistake. Each is from
// the specification of its format, from memory.
func magics() []struct{ start, what string } {
	return []struct{ start, what string }{
		{"\x89PNG\r\n\x1a\n", "a PNG picture"},
		{"\xFF\xD8\xFF", "a JPEG picture"},
		{"GIF8", "a GIF picture"},
		{"BM", "a BMP picture"},
		{"RIFF", "a RIFF file, such as a WebP picture"},
		{"%PDF-", "a PDF document"},
		{"PK\x03\x04", "a ZIP archive"},
		{"\x1f\x8b", "a gzip archive"},
		{"7z\xBC\xAF\x27\x1C", "a 7z archive"},
		{"\xFD7zXZ\x00", "an xz archive"},
		{"Rar!\x1a\x07", "a RAR archive"},
		{"\x7fELF", "a Linux program"},
		{"MZ", "a Windows program"},
		{"\xD0\xCF\x11\xE0", "an old office document"},
	}
}

// readBinary takes the bytes as they are, where they can be an identity memory.
func readBinary(name string, data []byte) (Dump, error) {
	at := bytes.Index(data, []byte(header))
	if at < 0 {
		for _, m := range magics() {
			if bytes.HasPrefix(data, []byte(m.start)) {
				return Dump{}, whole(name, "wrong-file", "this looks like "+m.what, wantForms)
			}
		}
	}
	if line := mostlyText(data); line > 0 && at < 0 {
		return Dump{}, controlByte(name, data)
	}
	d := Dump{Form: Binary}
	if at > 0 && data[at-1] == '\n' && isPlain(data[:at]) {
		d.Notes = append(d.Notes, fmt.Sprintf("%d bytes of text before the header 00 ff ff ff ff ff ff 00 are passed over", at))
		data, at = data[at:], 0
	}
	if len(data) > MaxBytes {
		return Dump{}, tooLong(name, len(data))
	}
	if at < 0 && len(data) > 2*blockSize && len(data)%blockSize != 0 {
		return Dump{}, whole(name, "wrong-file", fmt.Sprintf(
			"a binary file of %d bytes without the header 00 ff ff ff ff ff ff 00: this is no identity memory", len(data)), wantForms)
	}
	d.Bytes = bytes.Clone(data)
	if len(data)%blockSize != 0 {
		d.Notes = append(d.Notes, notWholeBlocks(len(data)))
	}
	return d, nil
}

func tooLong(name string, n int) error {
	return whole(name, "dump-too-long", fmt.Sprintf("%d bytes of memory, more than the %d that an identity memory can have", n, MaxBytes),
		"at most 256 blocks of 128 bytes")
}

// mostlyText returns how many lines of text a file has that is text but for a
// few bytes, 0 for binary.
func mostlyText(data []byte) int {
	odd := 0
	for _, b := range data {
		if b >= 0x7F || b < ' ' && b != '\n' && b != '\r' && b != '\t' && b != '\f' {
			odd++
		}
	}
	if len(data) < 16 || odd*16 > len(data) {
		return 0
	}
	return 1 + bytes.Count(data, []byte("\n"))
}

// controlByte points at the byte that keeps a text from being text.
func controlByte(name string, data []byte) error {
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if plainRune(r) && (r != utf8.RuneError || n > 1) {
			i += n
			continue
		}
		from := bytes.LastIndexByte(data[:i], '\n') + 1
		to := len(data)
		if k := bytes.IndexByte(data[i:], '\n'); k >= 0 {
			to = i + k
		}
		ln := line{no: 1 + bytes.Count(data[:i], []byte("\n")), text: string(data[from:to])}
		return ln.problem(name, "control-byte", i-from, i-from+1,
			fmt.Sprintf("the byte 0x%02x in the middle of text", data[i]), "text of printable characters, or a binary file")
	}
	return whole(name, "wrong-file", "neither text nor an identity memory", wantForms)
}
