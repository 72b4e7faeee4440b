package mistake

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/walkback/netlist/say"
)

// TestCaretsUnderWideText counts columns by hand: a letter of Chinese, Japanese or
// Korean and most emoji take two, a mark on a letter none (Unicode, UAX #11 and #29).
func TestCaretsUnderWideText(t *testing.T) {
	for _, c := range []struct {
		name          string
		text          string
		column, width int // in characters
		shown, carets string
	}{
		{"plain", "net VBL 12x", 9, 3, "net VBL 12x", "        ^^^"},
		{"behind wide letters", "net 基板 12x", 8, 3, "net 基板 12x", "         ^^^"},
		{"under wide letters", "net 基板 12x", 5, 2, "net 基板 12x", "    ^^^^"},
		{"behind a mark", "net e\u0301a 12x", 9, 3, "net e\u0301a 12x", "       ^^^"},
		{"under a letter and its mark", "net e\u0301a 12x", 5, 2, "net e\u0301a 12x", "    ^"},
		{"under the mark alone", "net e\u0301a 12x", 6, 1, "net e\u0301a 12x", "    ^"},
		{"behind half-wide letters", "net ｱｲ 12x", 8, 3, "net ｱｲ 12x", "       ^^^"},
		{"behind letters of two widths that look alike", "net ＡA 12x", 8, 3, "net ＡA 12x", "        ^^^"},
		{"behind an emoji of several characters", "\"👍🏽\" 12x", 6, 3, "\"👍🏽\" 12x", "     ^^^"},
		{"behind the sign for ohms", "4 kΩ±5 12x", 8, 3, "4 kΩ±5 12x", "       ^^^"},
		{"behind bytes that are no text", "\xff\xfe\xfd 12x", 5, 3, "\uFFFD\uFFFD\uFFFD 12x", "    ^^^"},
		{"behind a tab", "net\tVBL 12x", 9, 3, "net VBL 12x", "        ^^^"},
		{"at the end", "基板", 3, 0, "基板", "    ^"},
		{"a long wide line", strings.Repeat("基", 200) + "12x" + strings.Repeat("板", 200), 201, 3,
			strings.Repeat("基", 20) + "12x" + strings.Repeat("板", 26), strings.Repeat(" ", 40) + "^^^"},
		{"the end of a long wide line", strings.Repeat("基", 200) + "12x", 201, 3, strings.Repeat("基", 46) + "12x",
			strings.Repeat(" ", 92) + "^^^"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := Mistake{File: "f", Line: 1, Column: c.column, Width: c.width, Text: c.text, Code: "c", Msg: "no"}
			lines := strings.Split(m.Report(), "\n")
			if got, want := lines[1], margin+c.shown; got != want {
				t.Errorf("shown\n%s, not\n%s", got, want)
			}
			if got, want := lines[2], margin+c.carets; got != want {
				t.Errorf("under %s stands\n%s, not\n%s", lines[1], got, want)
			}
		})
	}
}

// TestCaretsStandInTheLine takes any text and any place in it, and any width.
func TestCaretsStandInTheLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("ab 基板Ω\u0301\u200d👍🏽ｱ\t\x00\xff"))).Draw(t, "text")
		text = strings.Repeat(text, rapid.SampledFrom([]int{1, 1, 30}).Draw(t, "times"))
		m := Mistake{File: "f", Line: 1, Code: "c", Msg: "no", Text: text,
			Column: rapid.IntRange(1, len(text)+2).Draw(t, "column"), Width: rapid.IntRange(0, 20).Draw(t, "width")}
		width := rapid.IntRange(0, 120).Draw(t, "columns")
		lines := strings.Split(m.ReportIn(width), "\n")
		if text == "" {
			return
		}
		room := max(min(maxShown, width-len(margin)), 0)
		if n := say.Columns(lines[1]) - len(margin); n > room {
			t.Fatalf("%d columns of %d: %q", n, room, lines[1])
		}
		at := strings.TrimLeft(lines[2], " ")
		if strings.Trim(at, "^") != "" || at == "" || len(lines[2]) > len(margin)+room+1 {
			t.Fatalf("under %q stands %q", lines[1], lines[2])
		}
	})
}
