package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/order"
	"example.org/walkback/trace/plan"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
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
from the simulation, how likely each fault is from what a bench meets and the symptom, and
changing the state of the board is paid for too. "half" always makes the most even
cut. "walk" goes from the symptom back to the source, cold checks first; it needs no
simulation, and is taken where a board cannot be simulated. In every order a point has
the same number, which is that of walkback draw. After a reading with all power out that
shows a load or a short, every order lists cold steps alone, and nothing with power on.

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
	weightsFlag(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&o.states, "state", nil, "a state of the board, STATE=VALUE; repeat for several")
	f.StringVar(&o.format, "format", "text", "text, markdown or json")
	f.BoolVar(&o.json, "json", false, "the same as --format json")
	f.StringVar(&o.order, "order", checklist.Best, "best, half or walk")
	f.StringVar(&o.costs, "costs", "", "a file with the costs of a shop")
	f.StringSliceVar(&o.history, "history", nil, "what happened to the machine: "+strings.Join(netlist.HistoryNames(), ", "))
	cmd.MarkFlagsMutuallyExclusive("format", "json")
	completeWords(cmd, "order", checklist.Orders()...)
	completeFlag(cmd, "state", completeState)
	completeWords(cmd, "format", probeFormats...)
	completeWords(cmd, "history", netlist.HistoryNames()...)
	return cmd
}

func runProbe(cmd *cobra.Command, args []string, o probeOpts) error {
	if o.json {
		o.format = "json"
	}
	if !slices.Contains(probeFormats, o.format) {
		return mistake.Unknown("format", o.format, probeFormats)
	}
	if !slices.Contains(checklist.Orders(), o.order) {
		return mistake.Unknown("order", o.order, checklist.Orders())
	}
	for _, h := range o.history {
		if _, err := netlist.FindHistory(h); err != nil {
			return err
		}
	}
	w, readings, err := walk(cmd, args, o.states)
	if err != nil {
		return err
	}
	list, err := checkList(cmd, w, readings, o)
	if err != nil {
		return err
	}
	switch o.format {
	case "markdown":
		return list.WriteMarkdown(cmd.OutOrStdout())
	case "json":
		return list.WriteJSON(cmd.OutOrStdout())
	}
	return list.WriteText(cmd.OutOrStdout())
}

// checkList fills the checklist of a walk in the order that is asked for. Where the
// board cannot be simulated, or nothing is left to tell apart, it says so and takes the
// order of the walk, since that still helps.
func checkList(cmd *cobra.Command, w *trace.Walk, readings []netlist.Reading, o probeOpts) (*checklist.List, error) {
	costs, err := readCosts(cmd, o.costs)
	if err != nil {
		return nil, err
	}
	history := netlist.WithHistory(o.history, readings)
	if (o.order == checklist.Walk || w.PowerOff()) && len(w.Board.Parts) > mostSimulated {
		return plan.Make(w, probe.On(w.Board, nil).After(history), costs), nil
	}
	m := predict.New(w.Board)
	unfit := m.Simulates(netlist.Condition{Setting: w.Setting})
	if unfit == nil {
		unfit = m.Fits()
	}
	bench := probe.On(w.Board, nil)
	if unfit == nil {
		bench = suspects.BenchOf(m)
	}
	inWalk := plan.Make(w, bench.After(history), costs)
	if o.order == checklist.Walk || w.PowerOff() {
		return inWalk, nil
	}
	if unfit != nil {
		note(cmd, tellOrder, unfit)
		return inWalk, nil
	}
	p, err := ordered(m, w, readings, order.Options{Order: o.order, Costs: costs, History: history})
	switch {
	case errors.Is(err, order.ErrNothing):
		note(cmd, tellOrder, err)
		return inWalk, nil
	case err != nil:
		return nil, err
	}
	return p.List(w), nil
}

// tellOrder says why the order is another than asked for.
const tellOrder = "%s; the order is the walk's"

// ordered plans the order of the least cost, or by halves.
func ordered(m *predict.Simulator, w *trace.Walk, readings []netlist.Reading, o order.Options) (*order.Plan, error) {
	for i := range w.Steps {
		if s := &w.Steps[i]; s.Kind == trace.NetStep && s.Again == 0 {
			o.Walk = append(o.Walk, s.Net)
		}
	}
	return order.Make(suspects.New(m), readings, o)
}

// weightsFlag adds the flag that says what fails how often in a shop.
func weightsFlag(cmd *cobra.Command) {
	cmd.Flags().String("weights", "", "a file with what fails more often than usual: a line WHAT FACTOR,\n"+
		"such as capacitor 2 or fuse:open 0.5")
}

// readWeights puts the weights of a shop on a board.
func readWeights(cmd *cobra.Command, b *netlist.Board) error {
	f := cmd.Flag("weights")
	if f == nil || f.Value.String() == "" {
		return nil
	}
	name := f.Value.String()
	text, err := readList(name)
	if err != nil {
		return err
	}
	list, problems := b.ParseWeights(name, text)
	b.Weights = append(b.Weights, list...)
	return fileErrors(cmd, name, problems)
}

// readList reads a list of a shop.
func readList(name string) (string, error) {
	data, err := readAtMost(name, netlist.MaxListBytes)
	if err != nil {
		return "", fmt.Errorf("read %s: %w", name, cause(err))
	}
	return string(data), nil
}

// readCosts reads the costs of a shop.
func readCosts(cmd *cobra.Command, name string) (probe.Costs, error) {
	if name == "" {
		return probe.UsualCosts(), nil
	}
	text, err := readList(name)
	if err != nil {
		return probe.Costs{}, err
	}
	c, problems := probe.ParseCosts(name, text)
	return c, fileErrors(cmd, name, problems)
}

func costTable() string {
	var b strings.Builder
	for _, row := range probe.CostTable() {
		fmt.Fprintf(&b, "  %-10s %-6s %s\n", row[0], row[1], row[2])
	}
	return strings.TrimRight(b.String(), "\n")
}
