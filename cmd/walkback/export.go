package main

import (
	"bytes"
	"errors"
	"fmt"

	"github.com/spf13/cobra"
)

type exportOpts struct {
	conditionOpts
	spice bool
	out   string
}

func newExportCmd() *cobra.Command {
	var o exportOpts
	cmd := &cobra.Command{
		Use:   "export BOARD --spice",
		Short: "Write the simulated circuit for another program",
		Long: `Export writes the circuit that predict solves, in one state and with the faults
given, as a SPICE deck: the operating point that another simulator finds for it is
the one that predict prints.`,
		Example: `  walkback export larkspur13 --spice -o larkspur.cir
  walkback export larkspur13 --spice --fault C34:short -o short.cir
  walkback export larkspur13 --spice --state lid=shut`,
		Args: cobra.MatchAll(needArg("a board is missing"), oneArg),
		ValidArgsFunction: func(cmd *cobra.Command, args []string, word string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return completeBoard(cmd, nil, word)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return runExport(cmd, args[0], o)
		},
	}
	o.add(cmd)
	f := cmd.Flags()
	f.BoolVar(&o.spice, "spice", false, "as a SPICE deck")
	f.StringVarP(&o.out, "output", "o", "", "the file to write; without it the deck goes to standard output")
	completeFlag(cmd, "output", cobra.FixedCompletions([]string{"cir"}, cobra.ShellCompDirectiveFilterFileExt))
	return cmd
}

func runExport(cmd *cobra.Command, board string, o exportOpts) error {
	if !o.spice {
		return errors.New("say what to write: --spice for a SPICE deck is all there is\n  usage: " + cmd.UseLine())
	}
	if sameFile(board, o.out) {
		return fmt.Errorf("%s is the board file itself: name another file with -o", o.out)
	}
	b, err := loadBoard(cmd, board)
	if err != nil {
		return err
	}
	c, err := o.condition(cmd, b)
	if err != nil {
		return err
	}
	if err := c.p.Contradiction(c.state); err != nil {
		return simulationError(cmd, b, err)
	}
	var buf bytes.Buffer
	if err := c.p.Run(c.state, c.p.Suppose(c.faults...)).WriteSPICE(&buf); err != nil {
		return simulationError(cmd, b, err)
	}
	if o.out == "" || o.out == "-" {
		_, err := cmd.OutOrStdout().Write(buf.Bytes())
		return err
	}
	return writeFile(o.out, buf.Bytes())
}
