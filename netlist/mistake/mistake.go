// Package mistake says what is wrong with what a person wrote, in a board file or
// as a word on the command line or at the bench, and how to put it right.
//
//	return mistake.Unknown("symptom", word, names)
package mistake

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/clipperhouse/displaywidth"

	"example.org/walkback/netlist/say"
)

// Severity tells how bad a mistake is.
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

// Mistake is one thing wrong with what was written, with all that its writer needs
// to put it right. In a file it has a place; of a word that was typed, Text is
// what was typed and Column where in it.
type Mistake struct {
	File     string // empty for what was typed
	Line     int    // from 1; 0 when there is no single place, or no file
	Column   int    // from 1, in characters of Text; 0 when all of it is meant
	Width    int    // characters to underline
	Text     string // the line itself, or the words as typed
	Severity Severity
	Code     string // short and stable, such as "unknown-kind"
	Msg      string // what is wrong
	Want     string // what was expected, may be empty
	Near     string // the nearest correct word, may be empty
}

// Error returns the mistake on one line.
func (m Mistake) Error() string {
	m = m.plain()
	return m.head() + join("; ", DidYouMean(m.Near))
}

// At marks a part of what was typed, from one offset in Text to another, in bytes;
// all of it needs no mark.
func (m Mistake) At(from, to int) Mistake {
	m.Column, m.Width = 0, 0
	if from > 0 || to < len(m.Text) {
		m.Column, m.Width = utf8.RuneCountInString(m.Text[:from])+1, utf8.RuneCountInString(m.Text[from:to])
	}
	return m
}

// head says where the mistake is and what.
func (m Mistake) head() string {
	switch {
	case m.File == "" && m.blank(), m.File == "" && strings.Contains(m.Msg, m.Text):
		return m.Msg
	case m.File == "":
		return say.Plain(m.Text) + ": " + m.Msg
	case m.Line == 0:
		return fmt.Sprintf("%s: %s: %s", m.File, m.Severity, m.Msg)
	}
	return fmt.Sprintf("%s:%d:%d: %s: %s", m.File, m.Line, m.Column, m.Severity, m.Msg)
}

// plain is the mistake with nothing hidden in what is said of it; names of files and words
// that were typed may hold anything.
func (m Mistake) plain() Mistake {
	m.File, m.Msg, m.Want, m.Near = say.Plain(m.File), say.PlainLines(m.Msg), say.Plain(m.Want), say.Plain(m.Near)
	return m
}

// blank reports whether nothing was written that a caret could stand under.
func (m Mistake) blank() bool { return strings.TrimSpace(m.Text) == "" }

// join puts a text behind a mark, and nothing where there is no text.
func join(mark, text string) string {
	if text == "" {
		return ""
	}
	return mark + text
}

func isEmpty(s string) bool { return s == "" }

// DidYouMean asks for the nearest right word; empty when there is none.
func DidYouMean(near string) string {
	if near == "" {
		return ""
	}
	return fmt.Sprintf("did you mean %q?", near)
}

// Report returns the mistake as text for people, in lines of the usual width: the
// place, the message, what was written with carets under the words in question,
// what was expected.
func (m Mistake) Report() string { return m.ReportIn(say.Width) }

// ReportIn is Report in lines of at most width columns. The first line of a mistake
// in a file is never broken, since editors read it.
func (m Mistake) ReportIn(width int) string {
	m = m.plain()
	var b strings.Builder
	shown := m.Text != "" && (m.Line > 0 || m.Column > 0 && !m.blank())
	switch {
	case m.File != "":
		fmt.Fprintf(&b, "%s [%s]\n", m.head(), m.Code)
	case shown:
		b.WriteString(say.Hang("", "  ", m.Msg, width))
	default:
		b.WriteString(say.Hang("", "  ", m.head(), width))
	}
	if shown {
		m.underline(&b, min(maxShown, width-len(margin)))
	}
	tail := slices.DeleteFunc([]string{join("expected ", m.Want), DidYouMean(m.Near)}, isEmpty)
	if line := strings.Join(tail, "; "); say.Columns(margin+line) <= width {
		tail = []string{line}
	}
	for _, line := range tail {
		if line != "" {
			b.WriteString(say.Hang(margin, margin+"  ", line, width))
		}
	}
	return b.String()
}

// maxShown is how much of a long line is shown, in columns.
const maxShown = 96

// margin stands before what was written and what was expected.
const margin = "    "

// underline shows what was written with carets under the words in question.
func (m Mistake) underline(b *strings.Builder, room int) {
	all := letters(m.Text)
	first := m.Column - 1
	last := first + max(1, m.Width)
	// Of a long line as much is shown as fits, with some of what stands before.
	shown := all
	for columns := width(all); columns > room && len(shown) > 0; {
		if shown[0].end <= first-before {
			columns -= shown[0].columns
			shown = shown[1:]
		} else {
			columns -= shown[len(shown)-1].columns
			shown = shown[:len(shown)-1]
		}
	}
	var text strings.Builder
	indent, carets := 0, 0
	for _, l := range shown {
		text.WriteString(l.text)
		switch {
		case l.end <= first:
			indent += l.columns
		case l.end-l.characters < last:
			carets += l.columns
		}
	}
	fmt.Fprintf(b, "%s%s\n%s%s%s\n", margin, strings.TrimRight(text.String(), " "), margin, strings.Repeat(" ", indent),
		strings.Repeat("^", max(1, carets)))
}

// before is how much is shown before the words in question where a line is long, in
// characters.
const before = 20

// letter is what stands as one on a terminal: a character with the marks on it.
type letter struct {
	text       string
	characters int
	end        int // of it in the line, in characters
	columns    int
}

// letters parts a line, with a space for what cannot be printed and a mark for each
// byte that is no text and each character that is not seen.
func letters(line string) []letter {
	line = strings.Map(func(r rune) rune {
		switch {
		case r < ' ' || r == 0x7f:
			return ' '
		case say.Hidden(r):
			return utf8.RuneError
		}
		return r
	}, line)
	var list []letter
	end := 0
	for g := displaywidth.StringGraphemes(line); g.Next(); {
		n := utf8.RuneCountInString(g.Value())
		end += n
		list = append(list, letter{g.Value(), n, end, g.Width()})
	}
	return list
}

// width is how wide letters stand, in columns.
func width(list []letter) int {
	n := 0
	for _, l := range list {
		n += l.columns
	}
	return n
}

// mostWords bounds a list of what was expected.
const mostWords = 40

// Unknown says that a word is none of a list of words, and which is nearest. Of a
// long list it shows the beginning, where none is near.
func Unknown(what, word string, words []string) Mistake {
	m := Mistake{Text: word, Code: "unknown", Msg: fmt.Sprintf("no %s is called %q", what, word), Near: Nearest(word, words)}
	if n := len(words) - mostWords; n <= 0 {
		m.Want = OneOf(words)
	} else if m.Near == "" {
		m.Want = fmt.Sprintf("%s and %d more", OneOf(words[:mostWords]), n)
	}
	return m
}

// OneOf says that one of a list of words was expected.
func OneOf(words []string) string {
	if len(words) == 0 {
		return ""
	}
	return "one of " + strings.Join(words, ", ")
}

// HasErrors reports whether any of the mistakes is an error.
func HasErrors(ps []Mistake) bool {
	return slices.ContainsFunc(ps, func(m Mistake) bool { return m.Severity == Error })
}

// Sort puts mistakes in the order of the file.
func Sort(ps []Mistake) {
	slices.SortStableFunc(ps, func(a, b Mistake) int {
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
