package netlist

import (
	"strings"
	"unicode/utf8"
)

// Hang lays text out in lines of at most width characters where its words allow:
// label before the first line, as many spaces before the others. The last line
// ends in a line break too.
func Hang(label, text string, width int) string {
	indent := utf8.RuneCountInString(label)
	var b strings.Builder
	b.WriteString(label)
	at := indent
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > width:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	return strings.TrimRight(b.String(), " ") + "\n"
}
