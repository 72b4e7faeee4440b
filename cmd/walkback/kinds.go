package main

import (
	"example.org/walkback/netlist"
	"github.com/spf13/cobra"
)

func newKindsCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "kinds [KIND]",
		Short: "The format of board files: statements, kinds of part, rules",
		Example: `  walkback kinds           everything, in short
  walkback kinds boost     one kind with its pins, attributes and faults`,
		Args: maxArgs(1),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return netlist.KindNames(), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return netlist.WriteReference(cmd.OutOrStdout())
			}
			k := netlist.KindByName(args[0])
			if k == nil {
				return unknown("kind", args[0], netlist.KindNames())
			}
			return netlist.WriteKind(cmd.OutOrStdout(), k)
		},
	}
}
