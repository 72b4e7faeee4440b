package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
	"example.org/walkback/trace/order"
	"example.org/walkback/trace/plan"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/suspects"
	"github.com/spf13/cobra"
)

type probeOpts struct {
	states  []string
	format  string
	json    bool
	order   string
	costs   string
	history []string
}

var probeFormats = []string{"text", "markdown", "json"}

func newProbeCmd() *cobra.Command {
	var o probeOpts
	cmd := &cobra.Command{
		Use:   "probe BOARD SYMPTOM…",
		Short: "The checklist for the bench, in the order that costs least",
		Long: `Probe prints where to put the probe, step by step: the point with its side, the meter
setting, the state of the board, what each reading means and which step is next.

The order "best" costs least on average: what every fault shows at every point comes
from the simulation, how likely each fault is from failure rates and the symptom, and
changing the state of the board is paid for too. "half" always makes the most even
cut. "walk" goes from the symptom back to the source and explains every point; it
needs no simulation, and is taken where a board cannot be simulated.

Costs are in seconds, with usual values; --costs FILE sets those of a shop, a line
each, such as: powerup 90s

` + costTable(),
		Example: `  walkback probe larkspur13 dark
  walkback probe larkspur13 VBL=0V > list.txt
  walkback probe larkspur13 dark --order walk
  walkback probe larkspur13 dark --history liquid
  walkback probe larkspur13 EDID=unread --format markdown
  walkback probe larkspur13 dark --json`,
		Args:              needArg("a board is missing"),
		ValidArgsFunction: completeBoard,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runProbe(cmd, args, o)
		},
	}
	panelFlag(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&o.states, "state", nil, "a state of the board, STATE=VALUE; repeat for several")
	f.StringVar(&o.format, "format", "text", "text, markdown or json")
	f.BoolVar(&o.json, "json", false, "the same as --format json")
	f.StringVar(&o.order, "order", order.Best, "best, half or walk")
	f.StringVar(&o.costs, "costs", "", "a file with the costs of a shop")
	f.StringSliceVar(&o.history, "history", nil, "what happened to the machine: "+strings.Join(historyNames(), ", "))
	cmd.MarkFlagsMutuallyExclusive("format", "json")
	completeWords(cmd, "order", order.Names()...)
	completeFlag(cmd, "state", completeState)
	completeWords(cmd, "format", probeFormats...)
	completeWords(cmd, "history", historyNames()...)
	return cmd
}

func runProbe(cmd *cobra.Command, args []string, o probeOpts) error {
	if o.json {
		o.format = "json"
	}
	if !slices.Contains(probeFormats, o.format) {
		return mistake.Unknown("format", o.format, probeFormats)
	}
	if !slices.Contains(order.Names(), o.order) {
		return mistake.Unknown("order", o.order, order.Names())
	}
	for _, h := range o.history {
		if err := suspects.CheckHistory(h); err != nil {
			return err
		}
	}
	w, readings, err := walk(cmd, args, o.states)
	if err != nil {
		return err
	}
	noteNotValid(cmd, w.Board, readings)
	if o.order != order.Walk {
		done, err := orderedProbes(cmd, w, readings, o)
		if done || err != nil {
			return err
		}
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

// orderedProbes prints the plan of the least cost, or by halves. It reports false
// where the board cannot be simulated or nothing is left to tell apart, and says
// so, since the walk still helps.
func orderedProbes(cmd *cobra.Command, w *trace.Walk, readings []netlist.Reading, o probeOpts) (bool, error) {
	costs, err := readCosts(cmd, o.costs)
	if err != nil {
		return false, err
	}
	m := predict.New(w.Board)
	err = m.Simulates(netlist.Condition{Setting: w.Setting})
	if err == nil {
		err = m.Fits()
	}
	if err != nil {
		fmt.Fprintf(cmd.ErrOrStderr(), "walkback: %s; the order is the walk's\n", err)
		return false, nil
	}
	var nets []netlist.NetID
	for i := range w.Steps {
		if s := &w.Steps[i]; s.Kind == trace.NetStep && s.Again == 0 {
			nets = append(nets, s.Net)
		}
	}
	p, err := order.Make(suspects.New(m), readings, order.Options{Order: o.order, Costs: costs, History: o.history, Walk: nets})
	if errors.Is(err, order.ErrNothing) {
		fmt.Fprintf(cmd.ErrOrStderr(), "walkback: %s; the order is the walk's\n", err)
		return false, nil
	}
	if err != nil {
		return false, err
	}
	out := cmd.OutOrStdout()
	switch o.format {
	case "markdown":
		return true, order.WriteMarkdown(out, p)
	case "json":
		return true, order.WriteJSON(out, p)
	}
	return true, order.WriteText(out, p)
}

// readCosts reads the costs of a shop.
func readCosts(cmd *cobra.Command, name string) (order.Costs, error) {
	if name == "" {
		return order.UsualCosts(), nil
	}
	data, err := readFile(name)
	if err != nil {
		return order.Costs{}, fmt.Errorf("read %s: %w", name, cause(err))
	}
	c, problems := order.ParseCosts(name, string(data))
	return c, fileErrors(cmd, name, problems)
}

func costTable() string {
	var b strings.Builder
	for _, row := range order.CostTable() {
		fmt.Fprintf(&b, "  %-10s %-6s %s\n", row[0], row[1], row[2])
	}
	return strings.TrimRight(b.String(), "\n")
}
