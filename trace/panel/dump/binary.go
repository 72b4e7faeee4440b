package dump

import (
	"bytes"
	"encoding/binary"
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
	return string(plain), "", len(plain) > 0 && isPlain(plain)
}

// isPlain reports whether all of data is printable UTF-8 and layout.
func isPlain(data []byte) bool {
	return utf8.Valid(data) && bytes.IndexFunc(data, func(r rune) bool { return !plainRune(r) }) < 0
}

func plainRune(r rune) bool {
	return strings.ContainsRune("\t\n\r\f", r) || r >= ' ' && r < 0x7F || r >= 0xA0
}

// wideText reads UTF-16 with a byte order mark. It returns "" for what is not such text.
func wideText(data []byte) (text, order string) {
	units := make([]uint16, len(data)/2)
	big := bytes.HasPrefix(data, []byte{0xFE, 0xFF})
	if !big && !bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || len(data)%2 != 0 {
		return "", ""
	}
	for i := range units {
		if units[i] = binary.LittleEndian.Uint16(data[2*i:]); big {
			units[i] = binary.BigEndian.Uint16(data[2*i:])
		}
	}
	text, order = string(utf16.Decode(units[1:])), map[bool]string{true: "big end first", false: "little end first"}[big]
	if !isPlain([]byte(text)) {
		return "", ""
	}
	return text, order
}

// looksLike names a file that people name by mistake by its start, that of a text in
// small letters; "" for none that is known. Each start is from the specification of
// its format, from memory.
func looksLike(start string) string {
	for _, m := range []struct{ start, what string }{
		{"\x89PNG\r\n\x1a\n", "a PNG picture"}, {"\xff\xd8\xff", "a JPEG picture"}, {"%PDF-", "a PDF document"},
		{"PK\x03\x04", "a ZIP archive"}, {"\x7fELF", "a Linux program"}, {"MZ", "a Windows program"},
		{"board ", "a board file"}, {"<?xml", "an XML file"}, {"<svg", "an SVG picture"}, {"<!doctype", "a web page"},
		{"<html", "a web page"}, {"block 0, base edid", "the decoded text of edid-decode without its hex section"},
		{"{\"", "a JSON file"}, {"#!/", "a script"},
	} {
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
	d := Dump{Form: Binary}
	at := bytes.Index(data, edid.Header())
	what := looksLike(string(data[:min(len(data), 16)]))
	switch {
	case at > 0 && data[at-1] == '\n' && isPlain(data[:at]):
		d.Notes = []string{fmt.Sprintf("%d bytes of text before the header 00 ff ff ff ff ff ff 00 are passed over", at)}
		data = data[at:]
	case at >= 0:
	case what != "":
		return d, whole(name, "wrong-file", "this looks like "+what)
	case mostlyText(data):
		odd := bytes.IndexFunc(data, func(r rune) bool { return !plainRune(r) })
		return d, whole(name, "control-byte", fmt.Sprintf("the byte 0x%02x in the middle of text, on line %d", data[odd],
			1+bytes.Count(data[:odd], []byte("\n"))))
	case len(data) > 2*edid.BlockSize && len(data)%edid.BlockSize != 0:
		return d, whole(name, "wrong-file", fmt.Sprintf(
			"a binary file of %d bytes without the header 00 ff ff ff ff ff ff 00: this is no identity memory", len(data)))
	}
	d.Bytes = bytes.Clone(data)
	return finished(name, d)
}

// mostlyText reports whether a file is ASCII text but for a few control bytes.
func mostlyText(data []byte) bool {
	odd := 0
	for _, b := range data {
		if !plainRune(rune(b)) {
			odd++
		}
	}
	return len(data) >= 16 && odd > 0 && odd*16 <= len(data) && bytes.IndexFunc(data, func(r rune) bool { return r >= 0x7F }) < 0
}
