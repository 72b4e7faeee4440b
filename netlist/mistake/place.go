package mistake

import (
	"errors"
	"strings"
	"unicode/utf8"
)

// In returns an error of a word as a mistake of the line of a file in which the
// word stands. Line counts from 1, and text is the line itself.
func In(err error, file string, line int, text, word string) Mistake {
	m := Mistake{Msg: err.Error(), Width: utf8.RuneCountInString(word)}
	var typed Mistake
	if errors.As(err, &typed) {
		m = typed
		m.Width = max(1, m.Width)
	}
	at := max(0, strings.Index(text, word))
	m.Column = utf8.RuneCountInString(text[:at]) + max(1, m.Column)
	m.File, m.Line, m.Text = file, line, text
	return m
}
