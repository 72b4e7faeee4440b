package main

import (
	"fmt"
	"io"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/probe"
)

// writeCaution ends every text that sends a person to the bench, with what happened to
// the machine.
func writeCaution(out io.Writer, history []string) error {
	o := say.NewWriter(out)
	fmt.Fprintln(o)
	for _, text := range probe.Brief(history...) {
		o.Hang("! ", "  ", text)
	}
	return o.Flush()
}

// brief is the same within a help text.
func brief() string {
	text := ""
	for _, line := range probe.Brief() {
		text += say.Hang("", "", line, helpWidth)
	}
	return text
}

// helpWidth is where lines of a help text are broken, in columns.
const helpWidth = 90
