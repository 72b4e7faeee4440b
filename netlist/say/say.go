// Package say lays out what people and programs read: lines that fit the terminal,
// counts, shares, Markdown and JSON.
//
//	w := say.NewWriter(out)
//	w.Wrap("  ", text)
//	return w.Flush()
package say

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf16"
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

// Markdown keeps text from being taken for Markdown, with what GitHub adds to it: links
// without brackets, formulas.
func Markdown(text string) string { return markdown.Replace(Plain(text)) }

var markdown = strings.NewReplacer(`\`, `\\`, "|", `\|`, "*", `\*`, "_", `\_`, "<", "&lt;", "`", "\\`", "[", `\[`, "]", `\]`,
	"&", `\&`, "~", `\~`, "$", `\$`, "://", `\://`, "www.", `www\.`, "@", `\@`)

// JSON writes a value for programs, indented. Hidden characters stand there by their codes.
func JSON(out io.Writer, v any) error {
	var buf bytes.Buffer
	e := json.NewEncoder(&buf)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		return err
	}
	text := buf.String()
	if strings.ContainsFunc(text, hiddenFromJSON) {
		var b strings.Builder
		for _, r := range text {
			if !hiddenFromJSON(r) {
				b.WriteRune(r)
				continue
			}
			for _, u := range utf16.AppendRune(nil, r) {
				fmt.Fprintf(&b, `\u%04x`, u)
			}
		}
		text = b.String()
	}
	_, err := io.WriteString(out, text)
	return err
}

// hiddenFromJSON reports whether the encoder leaves a hidden character as it is.
func hiddenFromJSON(r rune) bool { return r >= 0x7f && Hidden(r) }

// CSV writes rows for a spreadsheet, which takes no cell for a formula: what begins like
// one and is no number stands behind an apostrophe.
func CSV(out io.Writer, rows [][]string) error {
	w := csv.NewWriter(out)
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, cell := range row {
			cells[i] = Plain(cell)
			if _, err := strconv.ParseFloat(cell, 64); err != nil && cell != "" && strings.ContainsRune("=+-@", rune(cell[0])) {
				cells[i] = "'" + cells[i]
			}
		}
		if err := w.Write(cells); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// Round rounds to a number of decimals, for JSON.
func Round(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Round(v*k) / k
}
