package main

import (
	"fmt"
	"io"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace"
	"example.org/walkback/trace/panel"
	"example.org/walkback/trace/predict"
	"github.com/spf13/cobra"
)

func newCheckCmd() *cobra.Command {
	var asJSON, codes bool
	cmd := &cobra.Command{
		Use:   "check BOARD…",
		Short: "Find every mistake in board files at once",
		Long: `Check reads board files and prints every problem with its place, the line, and
what was expected. Errors make the exit status 1; warnings alone leave it 0.`,
		Example: `  walkback check mine.board
  walkback check larkspur13
  walkback boards larkspur13 | walkback check -
  walkback check --codes`,
		Args: func(cmd *cobra.Command, args []string) error {
			if codes {
				return noArgs(cmd, args)
			}
			return needArg("a board file is missing")(cmd, args)
		},
		ValidArgsFunction: completeBoards,
		RunE: func(cmd *cobra.Command, args []string) error {
			if codes {
				return printCodes(cmd.OutOrStdout())
			}
			return runCheck(cmd, args, asJSON)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the problems as JSON")
	cmd.Flags().BoolVar(&codes, "codes", false, "list what is checked, by the name in brackets behind each message")
	cmd.MarkFlagsMutuallyExclusive("json", "codes")
	return cmd
}

// printCodes lists every check with what it finds.
func printCodes(out io.Writer) error {
	w := say.NewWriter(out)
	for _, c := range netlist.Codes {
		w.Hang(fmt.Sprintf("%-18s ", c.Name), strings.Repeat(" ", 19), c.Doc)
	}
	return w.Flush()
}

func runCheck(cmd *cobra.Command, args []string, asJSON bool) error {
	failed := false
	all := []mistake.Mistake{}
	var unread error
	for _, arg := range args {
		name, text, err := source(cmd, arg)
		if gone := cmd.Context().Err(); gone != nil {
			return gone
		}
		if err != nil {
			tell(cmd.ErrOrStderr(), err)
			unread = &exitError{status: exitUsage}
			continue
		}
		b, problems := netlist.Read(name, text)
		if !mistake.HasErrors(problems) {
			problems = append(problems, trace.Check(b)...)
			problems = append(problems, panel.Check(b, beside(arg))...)
			if len(b.Parts) <= mostSimulated {
				problems = append(problems, predict.Check(b)...)
			}
			mistake.Sort(problems)
		}
		all = append(all, problems...)
		failed = failed || mistake.HasErrors(problems)
		if asJSON {
			continue
		}
		if err := printProblems(cmd, b, name, problems); err != nil {
			return err
		}
	}
	if asJSON {
		if err := problemsJSON(cmd.OutOrStdout(), all); err != nil {
			return err
		}
	}
	switch {
	case unread != nil:
		return unread
	case failed:
		return errReported
	}
	return nil
}

func printProblems(cmd *cobra.Command, b *netlist.Board, name string, problems []mistake.Mistake) error {
	errors := 0
	for _, p := range problems {
		if p.Severity == mistake.Error {
			errors++
		}
	}
	if err := show(cmd.OutOrStdout(), problems...); err != nil {
		return err
	}
	summary := fmt.Sprintf("%s: %s, %s", name, say.Count(errors, "error"), say.Count(len(problems)-errors, "warning"))
	if errors == 0 {
		summary += fmt.Sprintf("; %s, %s", say.Count(len(b.Parts), "part"), say.Count(len(b.Nets), "net"))
	}
	o := say.NewWriter(cmd.OutOrStdout())
	o.Beside("", summary)
	return o.Flush()
}
