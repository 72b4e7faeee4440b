package netlist

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
)

// Limits of a board file. They are wide: a board of a million parts fits.
const (
	MaxFileBytes = 256 << 20 // bytes in a file
	MaxLineBytes = 64 << 10  // bytes in a line
	MaxNesting   = 64        // parentheses inside each other in a condition
	MaxRange     = 4096      // names in one range A1..A4096
	maxProblems  = 200       // problems reported for one file
)

// Limits of a list that a person keeps at the bench, such as readings or costs. No bench
// comes near them.
const (
	MaxListBytes  = 1 << 20 // bytes in a file
	maxListLine   = 4 << 10 // bytes in a line
	maxListErrors = 20      // mistakes reported for one file
	MaxReadings   = 2000    // readings weighed together
)

// ListLines calls f with the number, from 1, and the text of every line of a list. F
// returns what is wrong with it, or nil. What is longer than a list may be is refused,
// and after some mistakes the rest is left out.
func ListLines(name, text string, f func(number int, line string) *mistake.Mistake) []mistake.Mistake {
	if len(text) > MaxListBytes {
		return []mistake.Mistake{{File: name, Code: "too-big", Msg: fmt.Sprintf("the file has more than %d MiB", MaxListBytes>>20),
			Want: "a line each of what was read or set"}}
	}
	var problems []mistake.Mistake
	number := 0
	for line := range strings.Lines(text) {
		number++
		if len(problems) == maxListErrors {
			return append(problems, mistake.Mistake{File: name, Line: number, Column: 1, Code: "too-big",
				Msg: fmt.Sprintf("%d lines are wrong, and the rest is not read", maxListErrors)})
		}
		line = strings.TrimSuffix(strings.TrimSuffix(line, "\n"), "\r")
		if len(line) > maxListLine {
			problems = append(problems, mistake.Mistake{File: name, Line: number, Column: 1, Code: "long-line",
				Msg: fmt.Sprintf("the line has more than %d bytes", maxListLine)})
			continue
		}
		if m := f(number, line); m != nil {
			problems = append(problems, *m)
		}
	}
	return problems
}

// Point puts a mistake of a list at its word in a line, which is the mistake's text.
func Point(m mistake.Mistake, code, name string, number int, line string) *mistake.Mistake {
	at := max(strings.Index(line, m.Text), 0)
	m.Column, m.Width = utf8.RuneCountInString(line[:at])+1, max(utf8.RuneCountInString(m.Text), 1)
	m.File, m.Line, m.Text, m.Code = name, number, line, code
	return &m
}

// TooManyReadings is what is wrong with more than MaxReadings readings.
func TooManyReadings(name string) *mistake.Mistake {
	return &mistake.Mistake{File: name, Code: "too-big", Msg: fmt.Sprintf("there are more than %d readings", MaxReadings),
		Want: "each probe once"}
}
