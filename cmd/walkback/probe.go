package main

import (
	"slices"

	"example.org/walkback/trace/plan"
	"github.com/spf13/cobra"
)

type probeOpts struct {
	states []string
	format string
	json   bool
}

var probeFormats = []string{"text", "markdown", "json"}

func newProbeCmd() *cobra.Command {
	var o probeOpts
	cmd := &cobra.Command{
		Use:   "probe BOARD SYMPTOM…",
		Short: "The checklist for the bench, in walking order",
		Long: `Probe prints where to put the probe, step by step: the point with its side, the meter
setting, the state of the board, what to expect, what a wrong reading means and
which step is next. Cold checks, with all power out, come before powered ones.`,
		Example: `  walkback probe larkspur13 dark
  walkback probe larkspur13 VBL=0V > list.txt
  walkback probe larkspur13 EDID=unread --format markdown
  walkback probe larkspur13 dark --json`,
		Args:              needArg("a board is missing"),
		ValidArgsFunction: completeBoard,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runProbe(cmd, args, o)
		},
	}
	f := cmd.Flags()
	f.StringSliceVar(&o.states, "state", nil, "a state of the board, STATE=VALUE; repeat for several")
	f.StringVar(&o.format, "format", "text", "text, markdown or json")
	f.BoolVar(&o.json, "json", false, "the same as --format json")
	cmd.MarkFlagsMutuallyExclusive("format", "json")
	completeFlag(cmd, "state", completeState)
	completeFlag(cmd, "format", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return probeFormats, cobra.ShellCompDirectiveNoFileComp
	})
	return cmd
}

func runProbe(cmd *cobra.Command, args []string, o probeOpts) error {
	if o.json {
		o.format = "json"
	}
	if !slices.Contains(probeFormats, o.format) {
		return unknown("format", o.format, probeFormats)
	}
	w, err := walk(cmd, args, o.states)
	if err != nil {
		return err
	}
	list := plan.Make(w, plan.WalkOrder{})
	switch o.format {
	case "markdown":
		return plan.WriteMarkdown(cmd.OutOrStdout(), list)
	case "json":
		return plan.WriteJSON(cmd.OutOrStdout(), list)
	}
	return plan.WriteText(cmd.OutOrStdout(), list)
}
