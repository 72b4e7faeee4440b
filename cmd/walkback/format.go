package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"github.com/spf13/cobra"
)

type fmtOpts struct {
	write, diff bool
}

func newFmtCmd() *cobra.Command {
	var o fmtOpts
	cmd := &cobra.Command{
		Use:   "fmt [BOARD…]",
		Short: "Print board files in canonical form",
		Long: `Fmt prints a board file in canonical form: comments kept, columns aligned. It never
changes what the file means. A file with errors in its syntax is left alone.`,
		Example: `  walkback fmt mine.board
  walkback fmt -w mine.board      rewrite the file, whole or not at all
  walkback fmt -d mine.board      show what would change; exit status 1 if anything`,
		ValidArgsFunction: completeBoards,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				args = []string{"-"}
			}
			return runFmt(cmd, args, o)
		},
	}
	cmd.Flags().BoolVarP(&o.write, "write", "w", false, "rewrite the files instead of printing")
	cmd.Flags().BoolVarP(&o.diff, "diff", "d", false, "print the lines that would change")
	cmd.MarkFlagsMutuallyExclusive("write", "diff")
	return cmd
}

func runFmt(cmd *cobra.Command, args []string, o fmtOpts) error {
	status := exitOK
	for _, arg := range args {
		s, err := formatOne(cmd, arg, o)
		if gone := cmd.Context().Err(); gone != nil {
			return gone
		}
		if err != nil {
			tell(cmd.ErrOrStderr(), err)
			if s == exitOK {
				s = exitUsage
			}
		}
		status = max(status, s)
	}
	if status != exitOK {
		return &exitError{status: status}
	}
	return nil
}

// formatOne formats one file and returns its exit status.
func formatOne(cmd *cobra.Command, arg string, o fmtOpts) (int, error) {
	read := source
	if o.write {
		read = fileAlone
	}
	name, text, err := read(cmd, arg)
	if err != nil {
		return exitUsage, err
	}
	f, problems := netlist.Parse(name, text)
	if mistake.HasErrors(problems) {
		err := show(cmd.ErrOrStderr(), problems...)
		return exitBoard, errors.Join(err, fmt.Errorf("%s has errors and is left alone", name))
	}
	formatted := string(netlist.Format(f))
	switch {
	case o.diff:
		if formatted == text {
			return exitOK, nil
		}
		if _, err = fmt.Fprint(cmd.OutOrStdout(), diffLines(name, text, formatted)); err != nil {
			return exitUsage, err
		}
		return exitBoard, nil
	case o.write:
		if formatted == text {
			return exitOK, nil
		}
		if err := writeFile(arg, []byte(formatted)); err != nil {
			return exitUsage, err
		}
		return exitOK, nil
	}
	_, err = fmt.Fprint(cmd.OutOrStdout(), formatted)
	return exitOK, err
}

// fileAlone is source for a file that will be rewritten: no demo and no standard
// input.
func fileAlone(_ *cobra.Command, arg string) (name, text string, err error) {
	if _, err := os.Stat(arg); err != nil {
		return "", "", mistake.Mistake{Text: arg, Code: "no-file", Msg: "fmt -w needs a file: there is no file " + arg}
	}
	data, err := readFile(arg)
	return arg, string(data), err
}

// diffLines lists the lines that differ. Format keeps the order of the lines and
// only adds or drops blank ones, so a walk over both finds the pairs.
func diffLines(name, before, after string) string {
	a, b := lines(before), lines(after)
	var out strings.Builder
	fmt.Fprintf(&out, "--- %s\n+++ %s (formatted)\n", name, name)
	i, j := 0, 0
	for i < len(a) || j < len(b) {
		aBlank, bBlank := i < len(a) && strings.TrimSpace(a[i]) == "", j < len(b) && strings.TrimSpace(b[j]) == ""
		switch {
		case i < len(a) && j < len(b) && a[i] == b[j]:
			i, j = i+1, j+1
		case aBlank && (j >= len(b) || !bBlank):
			fmt.Fprintf(&out, "%d: -%s\n", i+1, a[i])
			i++
		case bBlank && !aBlank:
			fmt.Fprintf(&out, "%d: +%s\n", i+1, b[j])
			j++
		case i < len(a) && j < len(b):
			fmt.Fprintf(&out, "%d: -%s\n%d: +%s\n", i+1, a[i], i+1, b[j])
			i, j = i+1, j+1
		case i < len(a):
			fmt.Fprintf(&out, "%d: -%s\n", i+1, a[i])
			i++
		default:
			fmt.Fprintf(&out, "%d: +%s\n", i+1, b[j])
			j++
		}
	}
	if strings.TrimSuffix(before, "\n") == strings.TrimSuffix(after, "\n") && before != after {
		out.WriteString("the end of the last line\n")
	}
	return out.String()
}

func lines(s string) []string {
	if s == "" {
		return nil
	}
	return strings.Split(strings.TrimSuffix(s, "\n"), "\n")
}
