package main

import (
	"bytes"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

// wideAs is an output as wide as a terminal.
type wideAs struct {
	bytes.Buffer
	columns int
}

func (w *wideAs) Width() int { return w.columns }

// partedUnit is a number at the end of a line whose unit begins the next.
var partedUnit = regexp.MustCompile(`[0-9]\n *(?:[pnuµmkMG]?(?:V|A|Ω|F|H|Hz|s|W)|%|min)(?:[ .,;:)]|\n|$)`)

// Every text for people fits every terminal, unless a single word does not, and
// parts no number from its unit.
func TestTextsFitEveryTerminal(t *testing.T) {
	lists := [][]string{{"boards"}, {"kinds"}, {"kinds", "connector"}, {"check"}, {"check", "--codes"}}
	for _, name := range boards.Names() {
		text, _ := boards.Source(name)
		b, _ := netlist.Read(name, text)
		lists = append(lists, []string{"check", name}, []string{"predict", name}, []string{"predict", name, "--faults"},
			[]string{"predict", name, "--all-states"},
			[]string{"predict", name, "--fault", "F3:open"}, []string{"predict", name, "--stages", "--fault", "F3:open"})
		for _, s := range b.SymptomNames()[:2] {
			lists = append(lists, []string{"trace", name, s}, []string{"narrow", name, s}, []string{"trace", name, s, "--versus", "lid=shut"})
		}
	}
	for _, args := range lists {
		widths := []int{40, 60, 80, 100, 140}
		if len(args) > 1 && args[1] != boards.Names()[0] {
			widths = []int{60, 100} // the others have longer names, and simulating them takes time
		}
		for _, columns := range widths {
			out, diag := &wideAs{columns: columns}, &bytes.Buffer{}
			run(context.Background(), args, strings.NewReader(""), out, diag)
			what := fmt.Sprintf("%s at %d", strings.Join(args, " "), columns)
			if out.Len() == 0 && args[0] != "check" {
				t.Errorf("%s prints nothing: %s", what, diag.String())
			}
			for line := range strings.Lines(out.String()) {
				line = strings.TrimRight(line, "\n")
				if say.Columns(line) > columns && strings.Contains(strings.TrimSpace(line), " ") && !typed(args, line) {
					t.Errorf("%s: %d columns: %q", what, say.Columns(line), line)
				}
			}
			if parted := partedUnit.FindString(out.String()); parted != "" {
				t.Errorf("%s parts a number from its unit: %q", what, parted)
			}
		}
	}
}

// typed reports whether a line is the form or an example of a statement, which is
// typed as it stands.
func typed(args []string, line string) bool {
	if args[0] != "kinds" {
		return false
	}
	bare := strings.TrimSpace(line)
	for i := range netlist.Kinds {
		if netlist.Kinds[i].Example == bare {
			return true
		}
	}
	for _, w := range netlist.StatementWords {
		if w.Form == bare {
			return true
		}
	}
	return slices.ContainsFunc(netlist.RuleWords, func(w netlist.RuleWord) bool { return w.Form == bare })
}
