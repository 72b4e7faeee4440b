package main

import (
	"fmt"
	"io"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"github.com/spf13/cobra"
)

func newBoardsCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "boards [NAME]",
		Short: "List the boards that come with the program, or print one to start from",
		Example: `  walkback boards
  walkback boards larkspur13
  walkback boards larkspur13 > mine.board`,
		Args: oneArg,
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return boards.Names(), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				text, ok := boards.Source(args[0])
				if !ok {
					return mistake.Unknown("board", args[0], boards.Names())
				}
				_, err := io.WriteString(cmd.OutOrStdout(), text)
				return err
			}
			return listBoards(cmd.OutOrStdout())
		},
	}
}

// listBoards lists the boards with the complaints that each has a name for.
func listBoards(out io.Writer) error {
	o := say.NewWriter(out)
	for _, name := range boards.Names() {
		text, _ := boards.Source(name)
		b, _ := netlist.Read(name, text)
		o.Beside(fmt.Sprintf("%-14s ", name), b.Title+", "+say.Count(len(b.Parts), "part"))
		t := &say.Table{Indent: "    ", Words: []int{1}}
		for _, s := range b.Symptoms {
			t.Rows = append(t.Rows, say.Row(s.Name, s.Words))
		}
		o.Table(t)
	}
	return o.Flush()
}
