package main

import (
	"io"
	"os"

	"golang.org/x/term"
)

// tty is an output on a terminal, which knows how wide it is.
type tty struct{ *os.File }

// Width is how wide the terminal is now, in columns; 0 when it does not say.
func (t tty) Width() int {
	width, _, err := term.GetSize(int(t.Fd()))
	if err != nil {
		return 0
	}
	return width
}

// asTerminal returns an output with its width where it is a terminal, and as it
// is elsewhere.
func asTerminal(out io.Writer) io.Writer {
	if f, ok := out.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return tty{f}
	}
	return out
}

// searchable is an output for messages that is no terminal.
type searchable struct{ io.Writer }

// Width is so large that no message is broken: programs search them.
func (searchable) Width() int { return 1 << 20 }

// forMessages returns an output as one for messages.
func forMessages(diag io.Writer) io.Writer {
	if out, ok := asTerminal(diag).(tty); ok {
		return out
	}
	return searchable{diag}
}

// terminalOf returns the terminal behind an input or output, if it is one.
func terminalOf(stream any) (*os.File, bool) {
	f, ok := stream.(*os.File)
	if t, is := stream.(tty); is {
		f, ok = t.File, true
	}
	return f, ok && term.IsTerminal(int(f.Fd()))
}
