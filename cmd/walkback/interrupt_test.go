//go:build unix

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"syscall"
	"testing"
	"time"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/trace"
	"example.org/walkback/trace/bench"
	"github.com/creack/pty"
	"golang.org/x/term"
)

// largeBoard writes a board of many parts on one rail, which takes long to simulate
// and to walk.
func largeBoard(t *testing.T, parts int) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("board b1 \"Large\"\nnet GND ground\nnet V0 3.3V\nsupply X1 -> V0 limit=2A\n")
	for i := range parts / 2 {
		fmt.Fprintf(&b, "resistor R%d V0 -> N%d 10k\nresistor R%d N%d -> GND 10k\n", 2*i+1, i, 2*i+2, i)
	}
	name := filepath.Join(t.TempDir(), "large.board")
	if err := os.WriteFile(name, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestInterruptEndsEveryCommand interrupts commands that wait for standard input, that
// compute for long, and that write to a pipe which nobody reads.
func TestInterruptEndsEveryCommand(t *testing.T) {
	large := largeBoard(t, 400_000)
	for _, line := range []string{
		"fmt", "check -", "trace - dark", "panel edid -", "narrow larkspur13 --from -", "fmt " + large, "check " + large + " --json",
		"trace " + large + " N7=0V", "predict " + large, "probe " + large + " N7=0V", "export " + large + " --spice",
	} {
		t.Run(strings.ReplaceAll(line, large, "LARGE"), func(t *testing.T) {
			t.Parallel()
			// One that comes before the program listens kills it.
			for wait := 300 * time.Millisecond; ; wait *= 3 {
				after, diag, err := interrupted(t, wait, strings.Fields(line)...)
				var ee *exec.ExitError
				if errors.As(err, &ee) && ee.Sys().(syscall.WaitStatus).Signaled() && wait < 8*time.Second {
					continue
				}
				if !errors.As(err, &ee) || ee.ExitCode() != exitInterrupted || diag != "walkback: interrupted\n" || after > 2*time.Second {
					t.Errorf("%v after it ends in %v and says %q", after, err, diag)
				}
				return
			}
		})
	}
}

// interrupted starts a command, interrupts it once after a while, and returns when it
// ended then, what it said, and how.
func interrupted(t *testing.T, wait time.Duration, args ...string) (time.Duration, string, error) {
	t.Helper()
	cmd := exec.Command("walkback", args...)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	unread, out, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer unread.Close()
	var diag bytes.Buffer
	cmd.Stdout, cmd.Stderr = out, &diag
	if err := errors.Join(cmd.Start(), out.Close()); err != nil {
		t.Fatal(err)
	}
	defer time.AfterFunc(wait+20*time.Second, func() { _ = cmd.Process.Kill() }).Stop()
	time.Sleep(wait)
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	from := time.Now()
	err = cmd.Wait()
	return time.Since(from), diag.String(), err
}

// TestInterruptWaitsForWhatIsUnfinished interrupts while a file is put in its place.
func TestInterruptWaitsForWhatIsUnfinished(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	begun, goOn := make(chan bool), make(chan bool)
	go func() {
		ended <- untilInterrupt(ctx, func(context.Context) error {
			unfinished.RLock()
			begun <- true
			<-goOn
			unfinished.RUnlock()
			select {}
		})
	}()
	<-begun
	cancel()
	select {
	case err := <-ended:
		t.Fatalf("it ends with %v", err)
	case <-time.After(3 * patience):
	}
	goOn <- true
	if err := <-ended; !errors.Is(err, errInterrupted) {
		t.Errorf("it ends with %v", err)
	}
	unfinished.Unlock() // for the tests that follow
}

// TestInterruptInTheMiddleOfAStep interrupts the full screen while it cannot hear.
func TestInterruptInTheMiddleOfAStep(t *testing.T) {
	ptmx, tty, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminal here: %v", err)
	}
	defer ptmx.Close()
	defer tty.Close()
	go func() { _, _ = io.Copy(io.Discard, ptmx) }()
	before, err := term.GetState(int(tty.Fd()))
	if err != nil {
		t.Fatal(err)
	}
	s, err := newSession(newBenchCmd(), boardtest.Demo(t, "larkspur13"), nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Symptom("dark"); err != nil {
		t.Fatal(err)
	}
	drawing := make(chan bool)
	d := &bench.Dialogue{Session: s, Saved: "a.case", Draw: func(*trace.Walk) (string, error) {
		drawing <- true
		select {}
	}}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- terminal{tty, tty}.run(ctx, d) }()
	if _, err := io.WriteString(ptmx, "d\r"); err != nil {
		t.Fatal(err)
	}
	<-drawing
	cancel()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(10 * time.Second):
		t.Fatal("it does not end")
	}
	if after, err := term.GetState(int(tty.Fd())); err != nil || !reflect.DeepEqual(after, before) {
		t.Errorf("the terminal was %+v, and is %+v, %v", before, after, err)
	}
}
