package say

import (
	"bufio"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/clipperhouse/displaywidth"
)

// Width is how long a line gets where there is no terminal, in columns.
const Width = 100

// Writer writes text for people, in lines that fit.
type Writer struct {
	*bufio.Writer
	Width int // of a line, in columns
}

// NewWriter returns a writer to out; flush it at the end. Where out reports a
// width of its own, as a terminal does, lines fit that.
func NewWriter(out io.Writer) *Writer {
	w := &Writer{bufio.NewWriter(out), Width}
	if wide, ok := out.(interface{ Width() int }); ok {
		if n := wide.Width(); n > 0 {
			w.Width = max(n, leastWidth)
		}
	}
	return w
}

// leastWidth is the narrowest line, in columns: below it nothing can be read.
const leastWidth = 40

// Wrap writes text in lines, each behind indent, all but the first one column
// further in.
func (w *Writer) Wrap(indent, text string) {
	w.Hang(indent, indent+" ", text)
}

// Hang writes text in lines, with label before the first and indent before the
// others.
func (w *Writer) Hang(label, indent, text string) {
	// A bufio.Writer keeps its first error for Flush.
	_, _ = w.WriteString(Hang(label, indent, text, w.Width))
}

// Beside writes text beside a label, in lines that begin below each other.
func (w *Writer) Beside(label, text string) {
	_, _ = w.WriteString(Beside(label, text, w.Width))
}

// Hang lays text out in lines of at most width columns where its words allow,
// with label before the first and indent before the others. The last line ends in
// a line break too. A number and its unit stay together.
func Hang(label, indent, text string, width int) string {
	lines := pack(text, width-Columns(label), width-Columns(indent))
	return strings.TrimRight(label+strings.Join(lines, "\n"+indent), " ") + "\n"
}

// Beside is Hang with lines that begin below each other, behind the label. A label
// that leaves too little room is taken for the beginning of the text.
func Beside(label, text string, width int) string {
	at := Columns(label)
	if at > width/2 || longest(text) > width-at {
		bare := strings.TrimLeft(label, " ")
		indent := label[:len(label)-len(bare)]
		return Hang(indent, indent+"  ", bare+text, width)
	}
	return Hang(label, strings.Repeat(" ", at), text, width)
}

// longest is how wide the widest word of a text is.
func longest(text string) int {
	n := 0
	for _, word := range words(text) {
		n = max(n, Columns(word))
	}
	return n
}

// pack breaks text into lines between its words: the first of at most first
// columns, the others of at most rest. A longer word has a line of its own. There
// is one line at least.
func pack(text string, first, rest int) []string {
	var lines []string
	line, room := "", first
	for i, word := range words(text) {
		if i > 0 && Columns(line)+1+Columns(word) > room {
			lines = append(lines, line)
			line, room = word, rest
			continue
		}
		if i > 0 {
			line += " "
		}
		line += word
	}
	return append(lines, line)
}

// Columns is how wide a text stands on a terminal: a letter of Chinese, Japanese or
// Korean takes two columns, a mark on a letter none (UAX #11 and #29, by the library).
func Columns(text string) int { return displaywidth.String(text) }

// words splits text where a line may break.
func words(text string) []string {
	fields := strings.Fields(text)
	list := fields[:0]
	for i, f := range fields {
		if i > 0 && isUnit(f) && endsInDigit(list[len(list)-1]) {
			list[len(list)-1] += " " + f
			continue
		}
		list = append(list, f)
	}
	return list
}

func endsInDigit(word string) bool {
	r, _ := utf8.DecodeLastRuneInString(word)
	return unicode.IsDigit(r)
}

// isUnit reports whether a word begins with a unit, maybe with a prefix, and goes
// on with marks only.
func isUnit(word string) bool {
	word = strings.TrimRight(word, ".,;:)]!?")
	for _, u := range units {
		if rest, ok := strings.CutSuffix(word, u); ok && (rest == "" || slices.Contains(prefixes, rest)) {
			return true
		}
	}
	return false
}

var prefixes = strings.Split("pnuµmkMG", "")

// units are those that stand behind numbers in what is printed.
var units = []string{"V", "A", "Ω", "F", "H", "Hz", "s", "W", "%", "min", "h", "bit/s", "bit", "bits", "m", "inch", "kB", "MB"}
