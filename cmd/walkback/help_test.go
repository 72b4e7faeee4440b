package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// commands yields every command that is ours.
func commands(t *testing.T) []*cobra.Command {
	t.Helper()
	var list []*cobra.Command
	var add func(c *cobra.Command)
	add = func(c *cobra.Command) {
		for _, sub := range c.Commands() {
			if sub.Name() != "help" && sub.Name() != "completion" {
				list = append(list, sub)
				add(sub)
			}
		}
	}
	add(newRootCmd())
	if len(list) < 15 {
		t.Fatalf("found %d commands", len(list))
	}
	return list
}

func TestEveryCommandHasAnExampleOfItsOwn(t *testing.T) {
	seen := map[string]string{}
	for _, c := range commands(t) {
		own := false
		for line := range strings.Lines(c.Example) {
			line = strings.TrimSpace(line)
			own = own || strings.Contains(line, c.CommandPath())
			if other, ok := seen[line]; ok {
				t.Errorf("%s and %s show the same example %q", other, c.CommandPath(), line)
			}
			seen[line] = c.CommandPath()
		}
		if !own && !c.HasSubCommands() {
			t.Errorf("%s has no example that runs it", c.CommandPath())
		}
	}
}

func TestHelpGroupsFollowTheJob(t *testing.T) {
	root := newRootCmd()
	for _, c := range root.Commands() {
		if c.GroupID == "" {
			t.Errorf("%s stands in no group", c.Name())
		}
	}
	var out, diag bytes.Buffer
	if status := run(context.Background(), []string{"--help"}, strings.NewReader(""), &out, &diag); status != exitOK {
		t.Fatalf("exit status %d: %s", status, diag.String())
	}
	at := 0
	for _, want := range []string{"Describe a board, as in: walkback boards", "  boards ", "Find the fault, as in: walkback probe", "  trace ",
		"  probe ", "The panel's side", "  panel ",
		"Teach", "  draw ", "Work and record", "  bench ", "The program itself", "  completion "} {
		i := strings.Index(out.String()[at:], want)
		if i < 0 {
			t.Fatalf("%q does not come next in\n%s", want, out.String()[at:])
		}
		at += i
	}
}

// free are flags whose value is the user's own; every other flag with a value has
// a closed set of words that the shell completes.
var free = []string{"output", "costs", "weights", "file", "resume", "from", "panel", "point", "looks", "repaired", "compare",
	"dpi"}

func TestEveryClosedSetOfWordsIsCompleted(t *testing.T) {
	checked := 0
	for _, c := range commands(t) {
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if f.Value.Type() == "bool" || slices.Contains(free, f.Name) {
				return
			}
			checked++
			if _, ok := c.GetFlagCompletionFunc(f.Name); !ok {
				t.Errorf("%s --%s (%s) completes nothing", c.CommandPath(), f.Name, f.Usage)
			}
		})
	}
	if checked < 15 {
		t.Errorf("checked %d flags", checked)
	}
}

func TestCompletionOffersTheWordsOfAFlag(t *testing.T) {
	for line, want := range map[string]string{
		"probe larkspur13 dark --order ":     "half",
		"probe larkspur13 dark --history ":   "liquid",
		"draw larkspur13 dark --page ":       "letter",
		"trace larkspur13 dark --state lid=": "lid=shut",
		"trace larkspur13 dark --only ":      "points",
		"predict larkspur13 --fault F3:":     "F3:open",
		"panel view --map ":                  "jeida",
		"panel link teasel14 --board ":       "siskin15",
	} {
		var out, diag bytes.Buffer
		args := append([]string{"__complete"}, strings.Split(line, " ")...)
		if status := run(context.Background(), args, strings.NewReader(""), &out, &diag); status != exitOK {
			t.Errorf("%s: exit status %d: %s", line, status, diag.String())
		}
		if !slices.ContainsFunc(strings.Split(out.String(), "\n"), func(l string) bool {
			word, _,
				_ := strings.Cut(l, "\t")
			return word == want
		}) {
			t.Errorf("%s does not offer %s:\n%s", line, want, out.String())
		}
	}
}

func TestManualPages(t *testing.T) {
	dir := t.TempDir()
	var out, diag bytes.Buffer
	if status := run(context.Background(), []string{"man", dir}, strings.NewReader(""), &out, &diag); status != exitOK {
		t.Fatalf("exit status %d: %s", status, diag.String())
	}
	for _, c := range commands(t) {
		data, err := os.ReadFile(filepath.Join(dir, strings.ReplaceAll(c.CommandPath(), " ", "-")+".1"))
		if err != nil {
			t.Error(err)
			continue
		}
		if want := strings.Fields(c.Short)[0]; !bytes.Contains(data, []byte(want)) || !bytes.Contains(data, []byte(".SH NAME")) {
			t.Errorf("the page of %s does not say %q", c.CommandPath(), want)
		}
	}
	for _, wrong := range [][]string{{"man"}, {"man", filepath.Join(dir, "none")}, {"man", dir, dir}} {
		if status := run(context.Background(), wrong, strings.NewReader(""), &out, &diag); status != exitUsage {
			t.Errorf("%v: exit status %d", wrong, status)
		}
	}
}

func TestVersionIsTold(t *testing.T) {
	var out, diag bytes.Buffer
	if status := run(context.Background(), []string{"--version"}, strings.NewReader(""), &out, &diag); status != exitOK {
		t.Fatalf("exit status %d: %s", status, diag.String())
	}
	if got := out.String(); !strings.HasPrefix(got, "walkback version ") || got == "walkback version \n" {
		t.Errorf("got %q", got)
	}
}
