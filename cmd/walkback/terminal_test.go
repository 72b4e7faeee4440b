package main

import (
	"bytes"
	"os"
	"os/exec"
	"strings"
	"testing"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
)

// openTerminal opens a terminal of its own, of 60 columns.
func openTerminal(t *testing.T) *os.File {
	t.Helper()
	f, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skip("no terminals can be opened here: ", err)
	}
	t.Cleanup(func() { _ = f.Close() })
	stty := exec.Command("stty", "cols", "60", "rows", "24")
	stty.Stdin = f
	if out, err := stty.CombinedOutput(); err != nil {
		t.Skipf("stty: %v %s", err, out)
	}
	return f
}

func TestTextKnowsHowWideTheTerminalIs(t *testing.T) {
	f := openTerminal(t)
	if w := say.NewWriter(asTerminal(f)).Width; w != 60 {
		t.Errorf("lines of %d columns on a terminal of 60", w)
	}
	if w := say.NewWriter(forMessages(f)).Width; w != 60 {
		t.Errorf("messages of %d columns on a terminal of 60", w)
	}
	var pipe bytes.Buffer
	if w := say.NewWriter(asTerminal(&pipe)).Width; w != say.Width {
		t.Errorf("lines of %d columns in a pipe", w)
	}
}

// A message in a pipe is one line, so that programs find it; what was met round a
// mistake stays with it.
func TestMessagesInAPipeAreNotBroken(t *testing.T) {
	var pipe bytes.Buffer
	long := strings.Repeat("word ", 60) + "end"
	tell(forMessages(&pipe), &exitError{exitUsage, mistake.Mistake{Text: "x", Msg: long, Want: long}})
	if n := strings.Count(pipe.String(), "\n"); n != 2 {
		t.Errorf("%d lines:\n%s", n, pipe.String())
	}
}
