package main

import (
	"fmt"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"github.com/spf13/cobra"
)

func newKindsCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "kinds [KIND]",
		Short: "The format of board files: statements, kinds of part, rules",
		Example: `  walkback kinds           everything, in short
  walkback kinds boost     one kind with its pins, attributes and faults`,
		Args: oneArg,
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return netlist.KindNames(), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return netlist.WriteReference(cmd.OutOrStdout())
			}
			if k := netlist.KindByName(args[0]); k != nil {
				return netlist.WriteKind(cmd.OutOrStdout(), k)
			}
			for _, w := range netlist.StatementWords {
				if w.Name == args[0] {
					o := say.NewWriter(cmd.OutOrStdout())
					o.Beside(w.Name+": ", w.Doc)
					fmt.Fprintf(o, "\n  %s\n", w.Form)
					return o.Flush()
				}
			}
			return mistake.Unknown("kind", args[0], netlist.KindNames())
		},
	}
}
