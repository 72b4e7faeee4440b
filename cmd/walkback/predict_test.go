package main

import (
	"bytes"
	"encoding/csv"
	"io"
	"os"
	"strings"
	"testing"
)

// Colour is for terminals that have it and people who want it.
func TestColourOnlyOnATerminal(t *testing.T) {
	pty := openTerminal(t)
	null, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	file, err := os.CreateTemp(t.TempDir(), "out")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	for _, c := range []struct {
		name string
		out  io.Writer
		env  map[string]string
		want bool
	}{
		{"a terminal", pty, nil, true},
		{"NO_COLOR", pty, map[string]string{"NO_COLOR": "1"}, false},
		{"NO_COLOR that is empty counts as unset", pty, map[string]string{"NO_COLOR": ""}, true},
		{"a dumb terminal", pty, map[string]string{"TERM": "dumb"}, false},
		{"a terminal with its width", asTerminal(pty), nil, true},
		{"a device that is no terminal", null, nil, false},
		{"a file", file, nil, false},
		{"no file at all", &bytes.Buffer{}, nil, false},
	} {
		if got := wantsColor(c.out, func(name string) string { return c.env[name] }); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// A writer that fails is not a success for these commands either.
func TestBrokenOutputOfPredictIsReported(t *testing.T) {
	for _, line := range []string{
		"predict larkspur13", "predict larkspur13 --json", "predict larkspur13 --csv", "predict larkspur13 --fault C34:short",
		"predict larkspur13 --all-states", "predict larkspur13 --all-states --json", "predict larkspur13 --all-states --csv",
		"predict larkspur13 --faults", "predict larkspur13 --faults --json", "predict larkspur13 --faults --csv",
		"predict larkspur13 --stages", "predict larkspur13 --stages --json", "predict larkspur13 --stages --csv",
		"export larkspur13 --spice",
	} {
		var diag bytes.Buffer
		status := run(t.Context(), strings.Fields(line), strings.NewReader(""), brokenWriter{}, &diag)
		if status != exitUsage || !strings.Contains(diag.String(), "the disk is full") {
			t.Errorf("%s: status %d, %q", line, status, diag.String())
		}
	}
}

// A spreadsheet reads every CSV: each row has the columns of the header.
func TestCSVOfPredictIsATable(t *testing.T) {
	for _, line := range []string{"", "--fault C34:short", "--all-states", "--unplugged --point U9", "--faults", "--stages",
		"--stages EDID=unread"} {
		var out, diag bytes.Buffer
		if status := run(t.Context(), strings.Fields("predict larkspur13 --csv "+line), strings.NewReader(""), &out, &diag); status != exitOK {
			t.Fatalf("%s: status %d, %s", line, status, diag.String())
		}
		rows, err := csv.NewReader(&out).ReadAll()
		if err != nil || len(rows) < 2 {
			t.Errorf("%s: %d rows, %v", line, len(rows), err)
		}
	}
}
