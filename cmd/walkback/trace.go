package main

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
	"github.com/spf13/cobra"
)

type traceOpts struct {
	states []string
	versus []string
	only   string
	json   bool
}

func newTraceCmd() *cobra.Command {
	var o traceOpts
	cmd := &cobra.Command{
		Use:   "trace BOARD SYMPTOM…",
		Short: "Walk from a symptom back to its sources",
		Long: `Trace lists every net, part, pin and test point between a symptom and its sources,
each with its reason: supply, enable, clock, data, sense, return, permission, or a
load that can pull it down. A symptom is a name from the board file, or a reading:
VBL=0V, TP7=ohms:0.1, F3=OL, A.CLK=quiet, EDID=unread (walkback readings lists all
forms). Readings that agree with a healthy board (EDID=read) cut the walk short. A
walk is of one state of the board: that of --state, or that which every reading
with power on names, as in LIGHT=no@lid=shut.`,
		Example: `  walkback trace larkspur13 dark
  walkback trace larkspur13 VBL=0V
  walkback trace larkspur13 A.CLK=quiet EDID=read
  walkback trace larkspur13 LIGHT=no --state lid=shut
  walkback trace larkspur13 EDID=unread --only points`,
		Args:              needArg("a board is missing"),
		ValidArgsFunction: completeBoard,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runTrace(cmd, args, o)
		},
	}
	panelFlag(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&o.states, "state", nil, "a state of the board, STATE=VALUE; repeat for several")
	f.StringSliceVar(&o.versus, "versus", nil, "show only what differs in this other state, STATE=VALUE")
	f.StringVar(&o.only, "only", "", "a plain list of parts, points or nets, with tabs")
	f.BoolVar(&o.json, "json", false, "print the walk as JSON")
	cmd.MarkFlagsMutuallyExclusive("json", "only", "versus")
	completeFlag(cmd, "state", completeState)
	completeFlag(cmd, "versus", completeState)
	completeWords(cmd, "only", onlyWords...)
	return cmd
}

var onlyWords = []string{trace.Parts, trace.Points, trace.Nets}

func runTrace(cmd *cobra.Command, args []string, o traceOpts) error {
	if o.only != "" && !slices.Contains(onlyWords, o.only) {
		return mistake.Unknown("list for --only", o.only, onlyWords)
	}
	w, readings, err := walk(cmd, args, o.states)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	switch {
	case len(o.versus) > 0:
		other, err := settingOn(w.Board, w.Setting, o.versus)
		if err != nil {
			return err
		}
		if other.Distance(w.Setting) == 0 {
			return fmt.Errorf("--versus %s is the state of the walk itself, %s: name another one", strings.Join(o.versus, ","),
				w.Board.SettingText(other))
		}
		d, err := trace.Compare(w, other)
		if err != nil {
			return err
		}
		return trace.WriteDifference(out, d)
	case o.only != "":
		for _, text := range trace.NotValid(w.Board, readings) { // a plain list has no place for it
			note(cmd, "%s", text)
		}
		return trace.WriteList(out, w, o.only)
	case o.json:
		return trace.WriteJSON(out, w)
	}
	if err := trace.WriteText(out, w); err != nil {
		return err
	}
	return writeCaution(out, w.History)
}
