package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist/say"
)

// TestNothingHiddenIsPrinted gives commands names of files, and words, that hold what a
// terminal obeys, what turns the direction of writing and what is not seen.
func TestNothingHiddenIsPrinted(t *testing.T) {
	t.Chdir(t.TempDir())
	const evil = "e\x1b[31mv\u202ei\u200bl\u009b31m\u2028x"
	text, _ := boards.Source("larkspur13")
	rom, err := boards.Beside("larkspur13.edid")
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string]string{
		".board": text + "\n\n\n", ".edid": string(rom), ".list": "VBL=0V\nVB\u202eL=0V\n\x1b[31m=2\n", ".costs": "probe\x1b \u202e\n",
		".case": "board larkspur13\nreading V\x1b[31mBL=1V\n\u202ex\n", "3.edid": "zz\u202e\x1b",
		"2.board": "board b \"\u009b31m\"\nnet \u202e\nfuse F\x1b\n",
	} {
		if err := os.WriteFile(evil+name, []byte(data), 0o644); err != nil {
			t.Skipf("no such names here: %v", err)
		}
	}
	if err := errors.Join(os.Mkdir("d", 0o755), os.WriteFile(filepath.Join("d", "panel.edid"), rom, 0o644)); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"check", evil + ".board"}, {"check", evil + ".board", "--json"}, {"check", evil + "2.board"}, {"check", evil + "2.board", "--json"},
		{"check", evil}, {"fmt", "-d", evil + ".board"}, {"fmt", evil + "2.board"}, {"trace", evil + ".board", "dark"},
		{"trace", "larkspur13", evil}, {"trace", "larkspur13", evil + "=0V"}, {"trace", "larkspur13", "VBL=" + evil},
		{"trace", "larkspur13", "dark", "--state", evil}, {"trace", "larkspur13", "dark", "--only", evil}, {evil}, {"trace", "--" + evil},
		{"predict", evil + ".board", "--point", evil}, {"predict", "larkspur13", "--fault", evil}, {"kinds", evil}, {"boards", evil},
		{"narrow", "larkspur13", "--from", evil + ".list"}, {"narrow", "larkspur13", "--from", evil}, {"narrow", "larkspur13", evil},
		{"narrow", "larkspur13", "--from", evil + ".list", "--json"}, {"probe", "larkspur13", "dark", "--costs", evil + ".costs"},
		{"probe", "larkspur13", "dark", "--panel", evil + ".edid", "--format", "markdown"},
		{"bench", "larkspur13", "dark", "--file", evil + "n.case"}, {"bench", "--resume", evil + "n.case"}, {"bench", "--resume", evil + ".case"},
		{"bench", "--resume", evil + ".case", "--rescue"}, {"bench", evil + ".board", "dark", "--file", "b.case"}, {"bench", "--resume", evil},
		{"panel", "edid", evil + ".edid"}, {"panel", "edid", evil + "3.edid"}, {"panel", "edid", evil}, {"panel", "link", evil + ".edid"},
		{"panel", "link", evil + ".edid", "--json"}, {"panel", "link", evil + ".edid", "--board", evil + ".board"}, {"panel", "link", evil},
		{"panel", "edid", evil + ".edid", "--json"}, {"panel", "edid", evil + ".edid", "--compare", evil + ".edid"}, {"panel", "view", evil},
		{"panel", "order", evil}, {"panel", "order", "--measured", evil + ".list"}, {"draw", "larkspur13", "dark", "-o", evil},
		{"draw", "larkspur13", "dark", "-o", filepath.Join(evil, "x.svg")}, {"export", "larkspur13", "--spice", "-o", filepath.Join(evil, "x")},
		{"man", evil}, {"completion", evil},
	} {
		var out, diag bytes.Buffer
		run(t.Context(), args, strings.NewReader("?\nd\n"+evil+"\nx\n"), &out, &diag)
		if out.Len()+diag.Len() == 0 && args[0] != "draw" && args[0] != "export" {
			t.Errorf("%q: nothing is said", args)
		}
		for name, text := range map[string]string{"output": out.String(), "messages": diag.String()} {
			for line := range strings.Lines(text) {
				if line = strings.TrimRight(line, "\n"); strings.ContainsFunc(line, func(r rune) bool { return r != '\t' && say.Hidden(r) }) {
					t.Errorf("%q: in the %s: %q", args, name, line)
				}
			}
		}
	}
}
