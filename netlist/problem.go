package netlist

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// Severity tells how bad a problem is.
type Severity uint8

// An error makes the board unusable; a warning does not.
const (
	Error Severity = iota
	Warning
)

// String returns "error" or "warning".
func (s Severity) String() string {
	if s == Warning {
		return "warning"
	}
	return "error"
}

// Problem is one thing wrong with a board file, with all that its writer needs
// to put it right.
type Problem struct {
	File     string
	Line     int    // from 1; 0 when the problem has no single place
	Column   int    // from 1, in characters
	Width    int    // characters to underline
	Text     string // the line itself
	Severity Severity
	Code     string // short and stable, such as "unknown-kind"
	Msg      string // what is wrong
	Want     string // what was expected, may be empty
	Near     string // the nearest correct word, may be empty
}

// Error returns the problem on one line.
func (p Problem) Error() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
	}
	fmt.Fprintf(&b, ": %s: %s", p.Severity, p.Msg)
	if p.Near != "" {
		fmt.Fprintf(&b, "; did you mean %q?", p.Near)
	}
	return b.String()
}

// maxShown is how much of a long line a problem shows, in characters.
const maxShown = 110

// Report returns the problem as text for people: the place, the message, the
// line with carets under the words in question, what was expected.
func (p Problem) Report() string {
	var b strings.Builder
	place := p.File
	if p.Line > 0 {
		place = fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
	}
	fmt.Fprintf(&b, "%s: %s: %s [%s]\n", place, p.Severity, p.Msg, p.Code)
	if p.Line > 0 && p.Text != "" {
		text, col := []rune(strings.ToValidUTF8(p.Text, "\uFFFD")), p.Column-1
		for i, r := range text {
			if r < ' ' || r == 0x7f {
				text[i] = ' '
			}
		}
		if len(text) > maxShown {
			from := max(0, min(col-20, len(text)-maxShown))
			text, col = text[from:from+maxShown], col-from
		}
		width := max(1, min(p.Width, len(text)-col))
		fmt.Fprintf(&b, "    %s\n    %s%s\n", strings.TrimRight(string(text), " "), strings.Repeat(" ", max(0, col)), strings.Repeat("^", width))
	}
	var tail []string
	if p.Want != "" {
		tail = append(tail, "expected "+p.Want)
	}
	if p.Near != "" {
		tail = append(tail, fmt.Sprintf("did you mean %q?", p.Near))
	}
	if len(tail) > 0 {
		fmt.Fprintf(&b, "    %s\n", strings.Join(tail, "; "))
	}
	return b.String()
}

// HasErrors tells whether any of the problems is an error.
func HasErrors(ps []Problem) bool {
	return slices.ContainsFunc(ps, func(p Problem) bool { return p.Severity == Error })
}

// SortProblems puts problems in the order of the file.
func SortProblems(ps []Problem) {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column), cmp.Compare(a.Code, b.Code))
	})
}

// Nearest returns the word of words that is most likely meant by word, or ""
// when none is close: at most a third of its letters wrong, where a swap of two
// neighbours counts once (optimal string alignment distance).
func Nearest(word string, words []string) string {
	best, bestCost := "", max(1, (utf8.RuneCountInString(word)+1)/3)+1
	low := strings.ToLower(word)
	for _, w := range words {
		cost := editDistance(low, strings.ToLower(w), bestCost+1)
		if len(word) >= 3 && cost > 1 && strings.HasPrefix(strings.ToLower(w), low) {
			cost = 1
		}
		if cost < bestCost || cost == bestCost && best != "" && w < best {
			best, bestCost = w, cost
		}
	}
	return best
}

// editDistance stops early and returns limit once the distance must reach it.
func editDistance(a, b string, limit int) int {
	ra, rb := []rune(a), []rune(b)
	if d := len(ra) - len(rb); d >= limit || -d >= limit {
		return limit
	}
	prev2, prev, cur := make([]int, len(rb)+1), make([]int, len(rb)+1), make([]int, len(rb)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(ra); i++ {
		cur[0] = i
		for j := 1; j <= len(rb); j++ {
			change := 1
			if ra[i-1] == rb[j-1] {
				change = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+change)
			if i > 1 && j > 1 && ra[i-1] == rb[j-2] && ra[i-2] == rb[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return min(prev[len(rb)], limit)
}
