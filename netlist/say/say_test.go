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
		if back := strings.Join(strings.Fields(strings.TrimPrefix(strings.TrimRight(got, "\n")+" ", "  label ")), " "); back != strings.Join(strings.Fields(text), " ") {
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
