package dump

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/walkback/trace/panel/edid"
)

// spell writes bytes with a verb and something between them, rows of 16.
func spell(b []byte, verb, between string) string {
	var s strings.Builder
	for i, x := range b {
		if i > 0 {
			s.WriteString(between)
			if i%16 == 0 {
				s.WriteString("\n")
			}
		}
		fmt.Fprintf(&s, verb, x)
	}
	return s.String()
}

func table(b []byte, off string, cells func([]byte) string, tail string) string {
	var s strings.Builder
	for i := 0; i < len(b); i += 16 {
		s.WriteString(fmt.Sprintf(off, i) + cells(b[i:min(i+16, len(b))]) + "\n")
	}
	return s.String() + tail
}

func characters(b []byte) string {
	return string(bytes.Map(func(r rune) rune { return max(' ', r&0x7e) }, append([]byte(nil), b...)))
}

// forms writes the same bytes in every form.
func forms(b []byte) map[string]string {
	plain := func(row []byte) string { return spell(row, "%02x", " ") }
	hash := func(row []byte) string { return fmt.Sprintf("%-47s  %s", plain(row), characters(row)) }
	return map[string]string{
		"spaces":    spell(b, "%02x", " "),
		"capitals":  spell(b, "%02X", " "),
		"0x":        spell(b, "0x%02x", ", "),
		"escapes":   "\"" + spell(b, "\\x%02x", "") + "\"",
		"colons":    spell(b, "%02x", ":"),
		"hyphens":   spell(b, "%02X", "-"),
		"one word":  hex.EncodeToString(b),
		"array":     "static const u8 edid[] = { /* 1 block */\n" + spell(b, "0x%02x", ",") + "\n};\n",
		"property":  "eDP-1 connected\n\tEDID: \n\t\t" + strings.ReplaceAll(spell(b, "%02x", ""), "\n", "\n\t\t") + "\n\tscaling mode: Full\n",
		"described": "edid-decode (hex):\n\n" + spell(b, "%02x", " ") + "\n\n----------------\n\nBlock 0, Base EDID:\n",
		"xxd":       table(b, "%08x: ", hash, ""),
		"hexdump":   table(b, "%08x  ", func(r []byte) string { return plain(r) + "  |" + characters(r) + "|" }, fmt.Sprintf("%08x\n", len(b))),
		"od":        table(b, "%06x ", plain, fmt.Sprintf("%06x\n", len(b))),
	}
}

func TestEveryFormReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := append(edid.Header(), rapid.SliceOfN(rapid.Byte(), 0, 300).Draw(t, "bytes")...)
		for name, text := range forms(b) {
			for enc, data := range encodings(text) {
				got, err := Read(name, data)
				if err != nil {
					t.Fatalf("%s, %s: %v\n%s", name, enc, err, text)
				}
				if diff := cmp.Diff(b, got.Bytes); diff != "" {
					t.Fatalf("%s, %s: %s\n%s", name, enc, diff, text)
				}
			}
		}
	})
}

func encodings(text string) map[string][]byte {
	wide := func(order binary.AppendByteOrder) []byte {
		var b []byte
		for _, u := range utf16.Encode([]rune("\uFEFF" + text)) {
			b = order.AppendUint16(b, u)
		}
		return b
	}
	return map[string][]byte{
		"plain": []byte(text), "CRLF": []byte(strings.ReplaceAll(text, "\n", "\r\n")),
		"UTF-8 with mark": []byte("\uFEFF" + text), "UTF-16 LE": wide(binary.LittleEndian), "UTF-16 BE": wide(binary.BigEndian),
	}
}

func TestBinary(t *testing.T) {
	long := append(edid.Header(), make([]byte, maxBytes)...)
	for name, b := range map[string][]byte{
		"all ones": bytes.Repeat([]byte{0xFF}, 128), "all zeros": make([]byte, 256),
		"short": edid.Header(), "one block": long[:128], "longest": long[:maxBytes],
		"ones and FE": append([]byte{0xFF, 0xFE}, bytes.Repeat([]byte{0}, 126)...),
	} {
		got, err := Read(name, b)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !bytes.Equal(b, got.Bytes) || got.Form != Binary {
			t.Errorf("%s: %v, %d bytes", name, got.Form, len(got.Bytes))
		}
	}
}

func TestGapInTable(t *testing.T) {
	b := bytes.Repeat([]byte{1, 2, 3, 4}, 16)
	rows := strings.SplitAfter(forms(b)["xxd"], "\n")
	got, err := Read("x", []byte(rows[0]+rows[2]+rows[3]))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]Range{{16, 32}}, got.Missing); diff != "" {
		t.Error(diff)
	}
	if !strings.Contains(got.Notes[0], "bytes 16 to 31 are missing") {
		t.Error(got.Notes)
	}
}

func TestCellsNotRead(t *testing.T) {
	got, err := Read("x", []byte("00 ff XX XX ff ??"))
	if err != nil {
		t.Fatal(err)
	}
	want := Dump{Bytes: []byte{0, 0xFF, Filler, Filler, 0xFF, Filler}, Form: Hex, Missing: []Range{{2, 4}, {5, 6}},
		Notes: []string{"6 bytes: less than one block of 128 bytes"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestProblems(t *testing.T) {
	row := "00000000: 00ff ffff ffff ff00 09e5 f405 0000 0000  ................\n"
	board := "# A board\nboard siskin15 \"Siskin 15\"\n"
	tooLong := append(edid.Header(), make([]byte, maxBytes)...)
	for _, tc := range []struct {
		name, text, code string
		line, col        int
		msg, near        string
	}{
		{"empty", "", "empty-dump", 0, 0, "the file is empty", ""},
		{"blank", " \n\n", "empty-dump", 0, 0, "only blank lines", ""},
		{"odd digits", "00 ff\nff fff 00\n", "odd-digits", 2, 4, `"fff" has 3 hex digits`, ""},
		{"stray word", "00 ff ff\nff hello\n", "not-hex", 2, 4, `"hello" is not hex`, ""},
		{"letter O", "00 ff O0 ff", "not-hex", 1, 7, `the letter 'O' in "O0" is no hex digit`, "00"},
		{"letter l", "00 ff 0l ff", "not-hex", 1, 8, `the letter 'l' in "0l"`, "01"},
		{"PNG", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "wrong-file", 0, 0, "a PNG picture", ""},
		{"board file", board, "wrong-file", 2, 1, "a board file", ""},
		{"decoded only", "Block 0, Base EDID:\n", "wrong-file", 1, 1, "without its hex section", ""},
		{"section without bytes", "edid-decode (hex):\n\n----\n", "no-bytes", 0, 0, "no bytes", ""},
		{"offset back", row + row, "offset-back", 2, 1, "but 16 bytes stand before it", ""},
		{"offset damaged", row + "0000O010: 0118\n", "bad-row", 2, 1, `"0000O010:" is no offset`, ""},
		{"star without end", "00000000  00 ff |..|\n*\n", "bad-repeat", 2, 1, "how many cannot be told", ""},
		{"two sections", "EDID:\n  00ff\nEDID:\n  00ff\n", "several-memories", 3, 1, "a second memory", ""},
		{"decimal array", "u8 a[] = { 0, 255 };", "not-hex", 1, 15, `"255" in a C array`, ""},
		{"open array", "u8 a[] = { 0x00,\n", "open-array", 1, 10, "no end", ""},
		{"too much text", strings.Repeat("00", maxBytes+1), "dump-too-long", 0, 0, "65537 bytes of memory", ""},
		{"too much binary", string(tooLong), "dump-too-long", 0, 0, "65544 bytes of memory", ""},
		{"too large", strings.Repeat(" ", MaxInput+1), "input-too-large", 0, 0, "more than the 512 KiB that are read", ""},
		{"far offset", "00000000: 00ff\n00100000: 00ff\n", "offset-too-large", 2, 1, "beyond an identity memory", ""},
		{"control byte", "00 ff ff ff ff ff ff 00\n09 e5\x07 00 00\n", "control-byte", 0, 0, "0x07 in the middle of text, on line 2", ""},
		{"random binary", strings.Repeat("\x01\x90\x33", 101), "wrong-file", 0, 0, "a binary file of 303 bytes", ""},
		{"long row", "00000000: 0001\n00000002: 000102\n", "row-too-long", 2, 1, "3 bytes in a row, 2 in the first", ""},
		{"i2cdump row", strings.Replace(i2cdumpText, "10:", "1O:", 1), "bad-row", 7, 1, `"1O:" is no offset`, ""},
		{"i2cdump cell", strings.Replace(i2cdumpText, "e5", "eS", 1), "not-hex", 6, 33, `the letter 'S' in "eS"`, "e5"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := Read("panel.txt", []byte(tc.text))
			p := problem(t, err)
			if p.Code != tc.code || p.Line != tc.line || p.Column != tc.col || !strings.Contains(p.Msg, tc.msg) || p.Near != tc.near ||
				p.Want == "" {
				t.Errorf("%d:%d %s\n%s", p.Line, p.Column, p.Near, p.Report())
			}
		})
	}
}

// Rows that start with the number of bytes before them are refused, for an offset may be
// a byte as well; rows of 17 bytes are bytes.
func TestOffsetsWithoutColonAreRefused(t *testing.T) {
	b := load(t, "4524225C4E1F.bin")
	rows := func(width int, off string) string {
		var s strings.Builder
		for i := 0; i < len(b); i += width {
			s.WriteString(fmt.Sprintf(off, i) + strings.ReplaceAll(spell(b[i:min(i+width, len(b))], " %02x", ""), "\n", "") + "\n")
		}
		return s.String()
	}
	for _, width := range []int{8, 16} {
		for _, off := range []string{"%02x", " %02X", "0x%02X", "%02x "} {
			_, err := Read("x", []byte(rows(width, off)))
			if p := problem(t, err); p.Code != "offset-column" || p.Line != 1 || !strings.Contains(p.Msg, "put a colon behind them") {
				t.Errorf("%s: %s", off, p.Report())
			}
			got, err := Read("x", []byte(rows(width, strings.TrimSpace(off)+":")))
			if err != nil || !bytes.Equal(b, got.Bytes) || got.Form != Table {
				t.Errorf("%s:, %d in a row: %v", off, width, err)
			}
		}
	}
	var text strings.Builder
	for row := range slices.Chunk(b, 17) {
		fmt.Fprintf(&text, "% x\n", row)
	}
	got, err := Read("17 in a row", []byte(text.String()))
	if err != nil || !bytes.Equal(b, got.Bytes) || got.Form != Hex {
		t.Error(err, got.Form)
	}
}

// A file of one printable byte is what a line shows that gives one value.
func TestPrintableBytes(t *testing.T) {
	for _, b := range []byte("P \n~") {
		got, err := Read("one", bytes.Repeat([]byte{b}, 256))
		if err != nil || got.Form != Binary || len(got.Bytes) != 256 {
			t.Errorf("%q: %v %v", b, err, got.Notes)
		}
	}
	_, err := Read("text", bytes.Repeat([]byte("Hello, world. .."), 8))
	if p := problem(t, err); p.Code != "not-hex" || !strings.Contains(p.Msg, `"Hello" is not hex`) {
		t.Error(p.Report())
	}
	if got, err := Read("hex", bytes.Repeat([]byte("f"), 256)); err != nil || got.Form != Hex {
		t.Error(err, got.Form)
	}
}

func TestReportHasCaret(t *testing.T) {
	_, err := Read("panel.txt", []byte("00 ff ff\nff hello 00\n"))
	want := `panel.txt:2:4: error: "hello" is not hex; what is read: hex (00 ff, 0x00, \x00), or what xxd, ` +
		`hexdump -C, i2cdump print [not-hex]
    ff hello 00
       ^^^^^
    expected two hex digits for each byte (00 to ff), such as 00 ff ff ff ff ff ff 00
`
	if diff := cmp.Diff(want, problem(t, err).Report()); diff != "" {
		t.Error(diff)
	}
}

func FuzzRead(f *testing.F) {
	for _, file := range []string{"4524225C4E1F.txt", "full.xxd-a", "full.hexdump-C", "full.od-o", "full.xxd-i", "full.bin", "full.od-words"} {
		f.Add(load(f, file))
	}
	f.Add([]byte(i2cdumpText))
	f.Add([]byte("[ 1.5] x: 00000000: 00 01 02 03 04 05 06 07 08 09 0a 0b 0c 0d 0e 0f  ....\n"))
	for _, text := range forms([]byte{0, 255, 1, 2}) {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d, err := Read("fuzz", data)
		if err != nil {
			if p := problem(t, err); p.Msg == "" || p.Code == "" || !strings.Contains(p.Report(), p.Code) {
				t.Fatalf("%#v", p)
			}
			return
		}
		if len(d.Bytes) == 0 || len(d.Bytes) > maxBytes {
			t.Fatalf("%d bytes", len(d.Bytes))
		}
		at := 0
		for _, m := range d.Missing {
			if m.From < at || m.To <= m.From || m.To > len(d.Bytes) {
				t.Fatalf("missing %v of %d bytes", d.Missing, len(d.Bytes))
			}
			at = m.To
			for i := m.From; i < m.To; i++ {
				if d.Bytes[i] != Filler {
					t.Fatalf("byte %d is %02x, not the filler", i, d.Bytes[i])
				}
			}
		}
		again, err := Read("again", []byte(hex.EncodeToString(d.Bytes)))
		if err != nil || !bytes.Equal(again.Bytes, d.Bytes) {
			t.Fatalf("bytes do not read back: %v", err)
		}
	})
}
