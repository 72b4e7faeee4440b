// Package say lays out what people and programs read: lines that fit the terminal,
// counts, shares, Markdown and JSON.
//
//	w := say.NewWriter(out)
//	w.Wrap("  ", text)
//	return w.Flush()
package say

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
)

// Count writes a number with its noun: "1 pin", "2 pins".
func Count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// Percent writes a share of one: "97 %".
func Percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// Share writes a share of one for a column: " 97 %", " <1 %".
func Share(share float64) string {
	switch {
	case share > 0.995 && share < 1:
		return ">99 %"
	case share < 0.005 && share > 0:
		return " <1 %"
	}
	return fmt.Sprintf("%3.0f %%", 100*share)
}

// Markdown keeps text from being taken for Markdown.
func Markdown(text string) string { return markdown.Replace(text) }

var markdown = strings.NewReplacer(`\`, `\\`, "|", `\|`, "*", `\*`, "_", `\_`, "<", "&lt;", "`", "\\`", "[", `\[`, "]", `\]`)

// JSON writes a value for programs, indented.
func JSON(out io.Writer, v any) error {
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// Round rounds to a number of decimals, for JSON.
func Round(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Round(v*k) / k
}
