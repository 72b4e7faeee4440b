package say

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

type narrow struct{ bytes.Buffer }

func (*narrow) Width() int { return 60 }

func TestLinesFitAndLoseNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOf(rapid.StringMatching(`[a-zµΩ]{1,12}|[0-9]{1,4}\.[0-9]|k?Ω|V|ms`)).Draw(t, "words")
		width := rapid.IntRange(40, 120).Draw(t, "width")
		text := strings.Join(list, " ")
		got := Hang("  label ", "    ", text, width)
		if back := strings.Join(strings.Fields(strings.TrimPrefix(strings.TrimRight(got, "\n")+" ", "  label ")),
			" "); back != strings.Join(strings.Fields(text), " ") {
			t.Fatalf("%q came back as %q", text, back)
		}
		for line := range strings.Lines(got) {
			if n := Columns(strings.TrimRight(line, "\n")); n > width {
				t.Fatalf("%d columns in %q", n, line)
			}
		}
	})
}

func TestNumberAndUnitStayTogether(t *testing.T) {
	for _, text := range []string{"it reads 31.5 V.", "at most 40 kΩ, then", "up to 60 MHz)", "waits 120 ms;", "in 97 %", "about 3 min"} {
		var number, unit string
		f := strings.Fields(text)
		for i, w := range f {
			if endsInDigit(w) {
				number, unit = w, f[i+1]
			}
		}
		for width := 1; width < 30; width++ {
			if got := Hang("", "", text, width); !strings.Contains(got, number+" "+unit) {
				t.Errorf("width %d parts %s from %s:\n%s", width, number, unit, got)
			}
		}
	}
}

func TestWriterTakesTheWidthOfATerminal(t *testing.T) {
	var plain bytes.Buffer
	var term narrow
	text := strings.Repeat("word ", 40)
	for _, w := range []*Writer{NewWriter(&plain), NewWriter(&term)} {
		w.Wrap("  ", text)
		if err := w.Flush(); err != nil {
			t.Fatal(err)
		}
	}
	for want, got := range map[int]string{Width: plain.String(), 60: term.String()} {
		longest := 0
		for line := range strings.Lines(got) {
			longest = max(longest, len(strings.TrimRight(line, "\n")))
		}
		if longest > want || longest < want-6 {
			t.Errorf("longest line %d, want up to %d", longest, want)
		}
	}
}

func TestMarkdownEscapes(t *testing.T) {
	if got, want := Markdown("a|b*c_d<e`f[g](h)\\"), "a\\|b\\*c\\_d&lt;e\\`f\\[g\\](h)\\\\"; got != want {
		t.Errorf("Markdown = %q, want %q", got, want)
	}
}

// TestTablesOfWideText checks that columns begin below each other, whatever stands
// in the one before.
func TestTablesOfWideText(t *testing.T) {
	var out bytes.Buffer
	w := NewWriter(&out)
	names := []string{"VBL", "基板電源", "e\u0301a", "ｱｲ", "Ω±", "👍🏽"}
	table := &Table{Indent: "  "}
	for _, n := range names {
		table.Rows = append(table.Rows, []Cell{{Text: n}, {Text: "|5 V"}})
	}
	w.Table(table)
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
	if len(lines) != len(names) {
		t.Fatalf("%d lines:\n%s", len(lines), &out)
	}
	want := len("  ") + 8 + gap // 基板電源 is four letters, two columns each
	for i, line := range lines {
		before, _, ok := strings.Cut(line, "|")
		if got := Columns(before); !ok || !strings.Contains(line, names[i]) || got != want {
			t.Errorf("the second column begins at %d, not %d, in %q", got, want, line)
		}
	}
}

func TestLinesOfWideTextFit(t *testing.T) {
	text := strings.Repeat("基板 ", 40)
	got := Hang("札  ", "    ", text, 40)
	for line := range strings.Lines(got) {
		if n := Columns(strings.TrimSuffix(line, "\n")); n > 40 || n < 36 && !strings.HasSuffix(got, line) {
			t.Errorf("%d columns in %q", n, line)
		}
	}
	if strings.Count(got, "基板") != 40 {
		t.Errorf("words are lost in\n%s", got)
	}
}
