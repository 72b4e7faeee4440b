package main

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"example.org/walkback/trace/probe"
	"github.com/google/go-cmp/cmp"
)

var updateReadme = flag.Bool("update-readme", false, "write what README.md shows anew")

// documents are those that show what the program prints.
var documents = []string{"README.md", "netlist/FORMAT.md", "trace/panel/README.md"}

// mostREADME is how long README.md may get, in bytes: it is for a first read.
const mostREADME = 14 << 10

// walkbackOutput runs a command line of README.md in this process, in the folder
// of README.md. A command may find something wrong in what it was given, when it
// says so on standard output alone.
func walkbackOutput(t *testing.T, line string) string {
	t.Helper()
	var out, diag bytes.Buffer
	args := strings.Fields(line)
	status := run(context.Background(), args[1:], strings.NewReader(""), &out, &diag)
	if status != exitOK && (status != exitBoard || out.Len() == 0 || diag.Len() != 0) {
		t.Fatalf("%s: exit status %d\n%s", line, status, diag.String())
	}
	return out.String()
}

// shown cuts an output down to what a block shows: the lines before and after
// the mark [...], of which there are as many as the block has.
func shown(block []string, output string) []string {
	lines := strings.Split(strings.TrimRight(output, "\n"), "\n")
	for i, l := range block {
		if l != "[...]" {
			continue
		}
		before, after := i, len(block)-i-1
		if before+after >= len(lines) {
			return lines
		}
		return append(append(append([]string{}, lines[:before]...), l), lines[len(lines)-after:]...)
	}
	return lines
}

// renew returns a document with every output as the program prints it now.
func renew(t *testing.T, readme string) string {
	t.Helper()
	var out []string
	lines := strings.Split(readme, "\n")
	for i := 0; i < len(lines); i++ {
		out = append(out, lines[i])
		switch {
		case lines[i] == "```console":
			command, ok := strings.CutPrefix(lines[i+1], "$ ")
			if !ok {
				t.Fatalf("line %d: a console block begins with $", i+2)
			}
			end := i + 2
			for lines[end] != "```" {
				end++
			}
			out = append(out, lines[i+1])
			out = append(out, shown(lines[i+2:end], walkbackOutput(t, command))...)
			i = end - 1
		case strings.HasPrefix(lines[i], "<!-- made by "):
			command := strings.TrimSuffix(strings.TrimPrefix(lines[i], "<!-- made by "), " -->")
			for lines[i+1] != "<!-- end -->" {
				i++
			}
			out = append(out, "```text", strings.TrimRight(walkbackOutput(t, command), "\n"), "```")
		}
	}
	return strings.Join(out, "\n")
}

func TestREADMEShowsWhatTheProgramPrints(t *testing.T) {
	t.Chdir("../..")
	commands := 0
	for _, file := range documents {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		want := renew(t, string(data))
		if *updateReadme {
			if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if diff := cmp.Diff(strings.Split(want, "\n"), strings.Split(string(data), "\n")); diff != "" {
			t.Errorf("%s differs from what the program prints (-now +shown):\n%s\ngo test ./cmd/walkback -run README -update-readme renews it", file,
				diff)
		}
		commands += strings.Count(string(data), "```console")
	}
	if commands < 8 && !*updateReadme {
		t.Errorf("the documents show %d commands, want 8 or more", commands)
	}
}

func TestREADMEIsShortEnoughForAFirstRead(t *testing.T) {
	st, err := os.Stat("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	if st.Size() > mostREADME {
		t.Errorf("README.md has %d bytes, and may have %d", st.Size(), mostREADME)
	}
}

// Every link and every picture of the documents leads to a file.
func TestREADMELinksLeadSomewhere(t *testing.T) {
	link := regexp.MustCompile(`\]\(([^)#]+)\)`)
	found := 0
	for _, file := range append([]string{"DEVELOPERS.md", "cmd/walkback/JSON.md"}, documents...) {
		data, err := os.ReadFile(filepath.Join("../..", file))
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range link.FindAllSubmatch(data, -1) {
			found++
			if _, err := os.Stat(filepath.Join("../..", filepath.Dir(file), string(m[1]))); err != nil {
				t.Errorf("%s: %s", file, err)
			}
		}
	}
	if found < 6 {
		t.Errorf("found %d links", found)
	}
}

// The board file that the format is explained by must be one that check accepts.
func TestREADMEBoardIsAccepted(t *testing.T) {
	t.Chdir("../..")
	data, err := os.ReadFile("netlist/FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut(string(data), "```text\nboard ")
	text, _, ok2 := strings.Cut(rest, "```")
	if !ok || !ok2 {
		t.Fatal("FORMAT.md has no example of a board file")
	}
	var out, diag bytes.Buffer
	if status := run(context.Background(), []string{"check", "-"}, strings.NewReader("board "+text), &out, &diag); status != exitOK {
		t.Errorf("exit status %d\n%s%s", status, out.String(), diag.String())
	}
	if !strings.Contains(out.String(), ": 0 errors, 0 warnings;") {
		t.Errorf("want no error and no warning:\n%s", out.String())
	}
}

// The pictures in README.md are those that the commands beside them draw.
func TestREADMEPicturesAreCurrent(t *testing.T) {
	t.Chdir("../..")
	for file, command := range map[string][]string{
		"testdata/readme/dark.svg": {"draw", "larkspur13", "dark", "--focus", "--page", "a4"},
	} {
		var out, diag bytes.Buffer
		if status := run(context.Background(), command, strings.NewReader(""), &out, &diag); status == exitUsage {
			t.Fatalf("%v: %s", command, diag.String())
		}
		if *updateReadme {
			if err := os.WriteFile(file, out.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(out.Bytes(), want) {
			t.Errorf("%s is not what the command draws now; -update-readme renews it, then look at it", file)
		}
	}
}

// The words of safety stand in README.md as the program prints them.
func TestReadmeHoldsTheWordsOfSafety(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	flat := strings.Join(strings.Fields(string(text)), " ")
	for _, sentence := range probe.General() {
		if !strings.Contains(flat, sentence) {
			t.Errorf("README.md does not say %q", sentence)
		}
	}
}
