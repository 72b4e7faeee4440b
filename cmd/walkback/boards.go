package main

import (
	"fmt"
	"io"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
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
			for _, name := range boards.Names() {
				text, _ := boards.Source(name)
				b, _ := netlist.Read(name, text)
				if _, err := fmt.Fprintf(cmd.OutOrStdout(), "%-14s %s, %d parts\n", name, b.Title, len(b.Parts)); err != nil {
					return err
				}
				for _, s := range b.Symptoms {
					if _, err := fmt.Fprintf(cmd.OutOrStdout(), "    %-12s %s\n", s.Name, s.Words); err != nil {
						return err
					}
				}
			}
			return nil
		},
	}
}
