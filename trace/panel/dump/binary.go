package dump

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"example.org/walkback/trace/panel/edid"
)

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

// isPlain reports whether all of data is printable UTF-8 and layout.
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

// mistaken are the first bytes of files that people name by mistake, those of
// texts in small letters. Each is from the specification of its format, from memory.
func mistaken() []struct{ start, what string } {
	return []struct{ start, what string }{
		{"\x89PNG\r\n\x1a\n", "a PNG picture"},
		{"\xff\xd8\xff", "a JPEG picture"},
		{"%PDF-", "a PDF document"},
		{"PK\x03\x04", "a ZIP archive"},
		{"\x7fELF", "a Linux program"},
		{"MZ", "a Windows program"},
		{"board ", "a board file"},
		{"<?xml", "an XML file"},
		{"<svg", "an SVG picture"},
		{"<!doctype", "a web page"},
		{"<html", "a web page"},
		{"block 0, base edid", "the decoded text of edid-decode without its hex section"},
		{"{\"", "a JSON file"},
		{"#!/", "a script"},
	}
}

// looksLike names a file by its start, "" for none that is known.
func looksLike(start string) string {
	for _, m := range mistaken() {
		if strings.HasPrefix(start, m.start) || strings.HasPrefix(strings.ToLower(start), m.start) {
			return m.what
		}
	}
	return ""
}

// wrongText names texts that hold no bytes though people pass them.
func wrongText(lines []line) error {
	for _, l := range lines {
		t := strings.TrimSpace(l.text)
		if t == "" || strings.HasPrefix(t, "# ") {
			continue
		}
		if what := looksLike(t); what != "" {
			a := strings.Index(l.text, t)
			return l.problem("wrong-file", a, a+len(t), "this looks like "+what, wantForms)
		}
		return nil
	}
	return nil
}

// readBinary takes the bytes as they are, where they can be an identity memory.
func readBinary(name string, data []byte) (Dump, error) {
	at := bytes.Index(data, edid.Header())
	if at < 0 {
		if what := looksLike(string(data[:min(len(data), 16)])); what != "" {
			return Dump{}, whole(name, "wrong-file", "this looks like "+what)
		}
	}
	if at < 0 && mostlyText(data) {
		return Dump{}, controlByte(name, data)
	}
	d := Dump{Form: Binary}
	if at > 0 && data[at-1] == '\n' && isPlain(data[:at]) {
		d.Notes = append(d.Notes, fmt.Sprintf("%d bytes of text before the header 00 ff ff ff ff ff ff 00 are passed over", at))
		data, at = data[at:], 0
	}
	if at < 0 && len(data) > 2*edid.BlockSize && len(data)%edid.BlockSize != 0 {
		return Dump{}, whole(name, "wrong-file", fmt.Sprintf(
			"a binary file of %d bytes without the header 00 ff ff ff ff ff ff 00: this is no identity memory", len(data)))
	}
	d.Bytes = bytes.Clone(data)
	return finished(name, d)
}

// mostlyText reports whether a file is text but for a few bytes.
func mostlyText(data []byte) bool {
	odd := 0
	for _, b := range data {
		if b >= 0x7F || b < ' ' && b != '\n' && b != '\r' && b != '\t' && b != '\f' {
			odd++
		}
	}
	return len(data) >= 16 && odd*16 <= len(data)
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
		ln := line{name, 1 + bytes.Count(data[:i], []byte("\n")), string(data[from:to])}
		return ln.problem("control-byte", i-from, i-from+1,
			fmt.Sprintf("the byte 0x%02x in the middle of text", data[i]), "text of printable characters, or a binary file")
	}
	return whole(name, "wrong-file", "neither text nor an identity memory")
}
