//go:build unix

package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/term"
)

// console is a program on a pseudo-terminal.
type console struct {
	t      *testing.T
	pty    *os.File // the user's end
	tty    *os.File // the program's end
	before *term.State
	cmd    *exec.Cmd
	read   chan error

	mu   sync.Mutex
	seen bytes.Buffer
}

// startConsole starts walkback on a terminal of 80 by 24.
func startConsole(t *testing.T, args ...string) *console {
	t.Helper()
	ptmx, tty, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminal here: %v", err)
	}
	t.Cleanup(func() { ptmx.Close(); tty.Close() })
	c := &console{t: t, pty: ptmx, tty: tty, read: make(chan error, 1)}
	c.resize(80, 24)
	if c.before, err = term.GetState(int(tty.Fd())); err != nil {
		t.Fatal(err)
	}
	c.cmd = exec.Command("walkback", args...)
	c.cmd.Env = append(os.Environ(), "TERM=xterm-256color", "NO_COLOR=", "TERM_PROGRAM=", "SSH_TTY=")
	c.cmd.Stdin, c.cmd.Stdout, c.cmd.Stderr = tty, tty, tty
	c.cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		buf := make([]byte, 4096)
		for {
			n, err := ptmx.Read(buf)
			c.mu.Lock()
			c.seen.Write(buf[:n])
			c.mu.Unlock()
			if err != nil {
				c.read <- err
				return
			}
		}
	}()
	return c
}

func (c *console) resize(width, height int) {
	c.t.Helper()
	if err := pty.Setsize(c.tty, &pty.Winsize{Cols: uint16(width), Rows: uint16(height)}); err != nil {
		c.t.Fatal(err)
	}
}

func (c *console) typed(text string) {
	c.t.Helper()
	if _, err := io.WriteString(c.pty, text); err != nil {
		c.t.Fatal(err)
	}
}

// text is what was written to the terminal so far.
func (c *console) text() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.seen.String()
}

// await waits until a text stands behind the first from bytes, and returns where it
// ends.
func (c *console) await(want string, from int) int {
	c.t.Helper()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		if text := c.text(); len(text) > from {
			if at := strings.Index(text[from:], want); at >= 0 {
				return from + at + len(want)
			}
		}
	}
	c.t.Fatalf("no %q behind %q", want, c.text()[from:])
	return 0
}

const (
	secondScreen = "\x1b[?1049h"
	firstScreen  = "\x1b[?1049l"
)

// ended waits for the end, which is one with all well, and checks that the terminal
// is as it was.
func (c *console) ended(saved string) {
	c.t.Helper()
	if err := c.cmd.Wait(); err != nil {
		c.t.Errorf("it ends with %v", err)
	}
	c.await("saved in "+saved+"\r\n", c.await(firstScreen, 0))
	after, err := term.GetState(int(c.tty.Fd()))
	if err != nil || !reflect.DeepEqual(after, c.before) {
		c.t.Errorf("the terminal was %+v, and is %+v, %v", c.before, after, err)
	}
	// Modes that were set are taken back, above all the hidden cursor.
	set := map[string]bool{}
	for _, m := range regexp.MustCompile(`\x1b\[\?([0-9;]+)([hl])`).FindAllStringSubmatch(c.text(), -1) {
		set[m[1]] = m[2] == "h"
	}
	for mode, on := range set {
		if want := mode == "25"; on != want {
			c.t.Errorf("mode %s is left as %v", mode, on)
		}
	}
}

// TestBenchOnATerminal goes through a dialogue on a pseudo-terminal and ends it in
// each way that is not a crash.
func TestBenchOnATerminal(t *testing.T) {
	for _, end := range []struct {
		name string
		do   func(c *console) error
	}{
		{"x", func(c *console) error { _, err := io.WriteString(c.pty, "x\r"); return err }},
		{"interrupt key", func(c *console) error { _, err := io.WriteString(c.pty, "\x03"); return err }},
		{"end key", func(c *console) error { _, err := io.WriteString(c.pty, "\x04"); return err }},
		{"terminated", func(c *console) error { return c.cmd.Process.Signal(syscall.SIGTERM) }},
		{"interrupted", func(c *console) error { return c.cmd.Process.Signal(os.Interrupt) }},
		{"hung up", func(c *console) error { return c.cmd.Process.Signal(syscall.SIGHUP) }},
	} {
		t.Run(end.name, func(t *testing.T) {
			name := filepath.Join(t.TempDir(), "a.case")
			c := startConsole(t, "bench", "larkspur13", "dark", "--file", name)
			at := c.await("Probe 3", c.await(secondScreen, 0))
			c.await("Readings, the last one first", at)
			c.typed("banana\r")
			at = c.await("is no answer here", at)
			c.typed("\x1b[A\x1540l\x7fk\r") // up, ^U, a letter too many
			at = c.await("VBL_F at TP6", at)
			c.resize(120, 40)
			c.await("7 % █······· U7.BL_EN:stuck-low/output-…", at) // fits beside, and so is clipped
			contents(t, name, darkCase)                             // before anything ends
			if err := end.do(c); err != nil {
				t.Fatal(err)
			}
			c.ended(name)
			contents(t, name, darkCase)
			left(t, filepath.Dir(name), "a.case")
		})
	}
}
