package main

import (
	"bytes"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

const darkCase = "board larkspur13\nsymptom dark\nreading VBL=ohms:40k\n"

// benchLines starts a bench in lines.
func benchLines(t *testing.T, args ...string) (cmd *exec.Cmd, in io.WriteCloser, out *bytes.Buffer) {
	t.Helper()
	cmd = exec.Command("walkback", append([]string{"bench"}, args...)...)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out = new(bytes.Buffer)
	cmd.Stdout, cmd.Stderr = out, out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, in, out
}

// TestOneBenchOnACase starts a second bench on a case while the first one runs, after
// it was killed, and after it ended.
func TestOneBenchOnACase(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a.case")
	first, in, _ := benchLines(t, "larkspur13", "dark", "--file", name)
	answer := func(in io.Writer, text, want string) {
		t.Helper()
		if _, err := io.WriteString(in, text); err != nil {
			t.Fatal(err)
		}
		for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
			if data, err := os.ReadFile(name); err == nil && strings.HasSuffix(string(data), want) {
				return
			}
		}
		t.Fatalf("%q is not written", want)
	}
	answer(in, "40k\n", "reading VBL=ohms:40k\n")

	// The second one is told who has it, and changes nothing.
	second, _, out := benchLines(t, "--resume", name)
	var ee *exec.ExitError
	if err := second.Wait(); !errors.As(err, &ee) || ee.ExitCode() != exitUsage {
		t.Errorf("the second one ends with %v", err)
	}
	host, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	want := regexp.MustCompile(`^walkback: ` + regexp.QuoteMeta(name) + ` is in use by another bench: process ` +
		regexp.QuoteMeta(strconv.Itoa(first.Process.Pid)+" on "+host) +
		`, since \d{4}-\d\d-\d\d \d\d:\d\d:\d\d\n  end that one, begin a case in another file, or look on with --look\n$`)
	if !want.MatchString(out.String()) {
		t.Errorf("the second one says %q", out)
	}
	// It may look on, which changes nothing either.
	looking, _, out := benchLines(t, "--resume", name, "--look")
	if err := looking.Wait(); err != nil || !strings.Contains(out.String(), "  read  VBL=ohms:40k  as on a healthy board\n") ||
		!strings.Contains(out.String(), "\nProbe 4  ") || strings.Contains(out.String(), "> ") {
		t.Errorf("looking on ends with %v:\n%s", err, out)
	}
	contents(t, name, darkCase)
	answer(in, "VBL=12.2V\n", "reading VBL=12.2V\n")

	// A kill lets it go, though what says who had it stays.
	if err := first.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if err := first.Wait(); err == nil {
		t.Error("it outlives a kill")
	}
	third, in, out := benchLines(t, "--resume", name)
	answer(in, "undo\n", "undo\n")
	if err := errors.Join(in.Close(), third.Wait()); err != nil {
		t.Errorf("the third one ends with %v:\n%s", err, out)
	}
	contents(t, name, darkCase+"reading VBL=12.2V\nundo\n")
	left(t, dir, "a.case")
}
