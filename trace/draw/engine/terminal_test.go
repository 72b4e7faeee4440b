//go:build unix

package engine

import (
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/creack/pty"
)

// onTerminal runs a child with a terminal and returns what is seen there.
func onTerminal(t *testing.T, p places) string {
	t.Helper()
	exe, err := os.Executable()
	must(t, err)
	cmd := exec.Command(exe)
	cmd.Env = append(os.Environ(), append(p.env(), childVar+"=draw")...)
	f, err := pty.Start(cmd)
	must(t, err)
	defer f.Close()
	out, _ := io.ReadAll(f) // ends in an error of its own when the child has gone
	must(t, cmd.Wait())
	return strings.ReplaceAll(string(out), "\r\n", "\n")
}

func TestFirstStartTellsATerminalWhatItWaitsFor(t *testing.T) {
	p := newPlaces(t)
	if want, got := "walkback: preparing the picture engine; this takes about 2 s, once\n"+p.drawn(), onTerminal(t, p); got != want {
		t.Errorf("the first start says %q, want %q", got, want)
	}
	if got := onTerminal(t, p); got != p.drawn() {
		t.Errorf("the second start says %q", got)
	}
}
