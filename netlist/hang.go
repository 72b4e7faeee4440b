package netlist

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Hang lays text out in lines of at most width characters where its words allow,
// with label before the first and indent before the others. The last line ends in
// a line break too.
func Hang(label, indent, text string, width int) string {
	var b strings.Builder
	b.WriteString(label)
	at := utf8.RuneCountInString(label)
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > width:
			b.WriteString("\n" + indent)
			at = utf8.RuneCountInString(indent)
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	return strings.TrimRight(b.String(), " ") + "\n"
}

// Count writes a number with its noun: "1 pin", "2 pins".
func Count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
