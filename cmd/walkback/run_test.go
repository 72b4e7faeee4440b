package main

import (
	"bytes"
	"errors"
	"strings"
	"testing"
)

func TestDiffLinesShowsEveryChange(t *testing.T) {
	for _, c := range []struct{ name, before, after, want string }{
		{"nothing", "a\n", "a\n", ""},
		{"a line", "a\nb  c\n", "a\nb c\n", "2: -b  c\n2: +b c\n"},
		{"a blank line less", "a\n\n\nb\n", "a\n\nb\n", "3: -\n"},
		{"a blank line more", "a\nb\n", "a\n\nb\n", "2: +\n"},
		{"no newline at the end", "a", "a\n", "the end of the last line\n"},
		{"everything", "", "a\n", "1: +a\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := diffLines("x", c.before, c.after)
			got = strings.TrimPrefix(got, "--- x\n+++ x (formatted)\n")
			if got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// A reader that fails is not an empty board.
func TestBrokenStandardInputIsReported(t *testing.T) {
	var out, diag bytes.Buffer
	status := run(t.Context(), []string{"check", "-"}, brokenReader{}, &out, &diag)
	if status != exitUsage || !strings.Contains(diag.String(), "standard input: the wire is cut") {
		t.Errorf("status %d, %q", status, diag.String())
	}
}

// A writer that fails, such as a full disk, is not a success.
func TestBrokenStandardOutputIsReported(t *testing.T) {
	for _, line := range []string{
		"boards", "boards larkspur13", "check larkspur13", "check --json larkspur13", "fmt larkspur13", "kinds", "kinds boost",
		"trace larkspur13 dark", "trace larkspur13 dark --json", "trace larkspur13 dark --only parts", "trace larkspur13 dark --versus lid=shut",
		"probe larkspur13 dark", "probe larkspur13 dark --format markdown", "probe larkspur13 dark --json", "draw larkspur13 dark --format dot",
	} {
		var diag bytes.Buffer
		status := run(t.Context(), strings.Fields(line), strings.NewReader(""), brokenWriter{}, &diag)
		if status != exitUsage || !strings.Contains(diag.String(), "the disk is full") {
			t.Errorf("%s: status %d, %q", line, status, diag.String())
		}
	}
}

type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) { return 0, errors.New("the wire is cut") }

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errors.New("the disk is full") }
