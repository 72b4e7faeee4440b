package say

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestHiddenCharactersAreShown(t *testing.T) {
	for text, want := range map[string]string{
		"VBL, 40 kΩ, été, 背光":   "VBL, 40 kΩ, été, 背光",
		"a\x1b[31mb\x00\x7f":    `a\x1b[31mb\x00\x7f`,
		"a\u009bb\u0085":        `a\u009bb\u0085`,
		"a\u202eb\u2066\u061c":  `a\u202eb\u2066\u061c`,
		"V\u200bL\u200d\ufeff":  `V\u200bL\u200d\ufeff`,
		"a\u2028b\u2029\n\t":    `a\u2028b\u2029\x0a\x09`,
		"a\u00ad\u115f\ufe0f":   `a\u00ad\u115f\ufe0f`,
		"a\U000e0041\U0001d173": `a\U000e0041\U0001d173`,
		"a\ufdd0\ufffe":         `a\ufdd0\ufffe`,
		"a\xffb":                `a\xffb`,
	} {
		if got := Plain(text); got != want {
			t.Errorf("%q is shown as %s, not %s", text, got, want)
		}
	}
	if got := PlainLines("a\nb\r"); got != "a\nb\\x0d" {
		t.Errorf("%q", got)
	}
}

func TestNothingIsHiddenInJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text") +
			rapid.SampledFrom([]string{"", "\x7f", "\u202e", "\u009b", "\U000e0041", "\ufeff"}).Draw(t, "more")
		var out bytes.Buffer
		if err := JSON(&out, text); err != nil {
			t.Fatal(err)
		}
		if line := strings.TrimSuffix(out.String(), "\n"); strings.ContainsFunc(line, Hidden) {
			t.Fatalf("%q", line)
		}
		var back string
		if err := json.Unmarshal(out.Bytes(), &back); err != nil || back != text {
			t.Fatalf("%q came back as %q, %v", text, back, err)
		}
	})
}

func TestNoCellIsAFormula(t *testing.T) {
	var out bytes.Buffer
	row := []string{"=1+1", "+5V", "-12V", "@SUM(A1)", "-0.35", "+3", "1e-3", "3V3", "", "a\u202eb", "-", "VBL"}
	if err := CSV(&out, [][]string{row}); err != nil {
		t.Fatal(err)
	}
	got, err := csv.NewReader(&out).Read()
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"'=1+1", "'+5V", "'-12V", "'@SUM(A1)", "-0.35", "+3", "1e-3", "3V3", "", `a\u202eb`, "'-", "VBL"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	for _, cell := range got {
		if _, err := strconv.ParseFloat(cell, 64); err != nil && cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r") {
			t.Errorf("%q may be a formula", cell)
		}
	}
}

func TestNothingIsTakenForMarkdown(t *testing.T) {
	for text, want := range map[string]string{
		"[a](http://b.example)":   `\[a\](http\://b.example)`,
		"![a](b)":                 `!\[a\](b)`,
		"<http://b.example>":      `&lt;http\://b.example>`,
		"see https://b.example":   `see https\://b.example`,
		"www.b.example":           `www\.b.example`,
		"a@b.example":             `a\@b.example`,
		"*a* _b_ `c` ~~d~~ $e$ |": "\\*a\\* \\_b\\_ \\`c\\` \\~\\~d\\~\\~ \\$e\\$ \\|",
		"&lt;b&gt; A & B":         `\&lt;b\&gt; A \& B`,
		`\`:                       `\\`,
		"a\u202eb":                `a\\u202eb`,
	} {
		if got := Markdown(text); got != want {
			t.Errorf("%q is written %s, not %s", text, got, want)
		}
	}
}
