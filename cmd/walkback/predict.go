package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace"
	"example.org/walkback/trace/predict"
	"github.com/spf13/cobra"
)

type predictOpts struct {
	conditionOpts
	points  []string
	changes bool
	all     bool
	dict    bool
	stages  bool
	json    bool
	csv     bool
}

// conditionOpts are the flags that say in what condition a board is simulated.
type conditionOpts struct {
	states    []string
	unplugged bool
	faults    []string
}

func (o *conditionOpts) add(cmd *cobra.Command) {
	panelFlag(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&o.states, "state", nil, "a state of the board, STATE=VALUE; repeat for several")
	f.BoolVar(&o.unplugged, "unplugged", false, "with the panel unplugged")
	f.StringArrayVar(&o.faults, "fault", nil, "what has failed, PART:FAULT or PART.PIN:FAULT, perhaps =SIZE;\nrepeat for several at once")
	completeFlag(cmd, "state", completeState)
	completeFlag(cmd, "fault", completeFault)
}

func newPredictCmd() *cobra.Command {
	var o predictOpts
	cmd := &cobra.Command{
		Use:   "predict BOARD [READING…]",
		Short: "What probes should show, on a good board and with a fault",
		Long: `Predict simulates the board and prints what a probe shows at every point: DC volts
with their band, activity, ohms to ground and diode mode; ohms across parts; lanes
and facts; and how sources and converters work. With --fault the readings of the
healthy board and of the failed one stand side by side, and << marks what differs.
With --stages it tells how far the power-up gets: with a fault, or as far as
readings such as EDID=unread, or a symptom of the board, allow to say (walkback
readings lists all forms).`,
		Example: `  walkback predict larkspur13
  walkback predict larkspur13 --fault C34:short
  walkback predict larkspur13 --fault C34:short=8
  walkback predict larkspur13 --fault L4:open --point VBL --point U9
  walkback predict larkspur13 --state lid=shut
  walkback predict larkspur13 --all-states
  walkback predict larkspur13 --faults
  walkback predict larkspur13 --stages dark
  walkback predict larkspur13 --stages V3_ID=ok EDID=unread`,
		Args:              needArg("a board is missing"),
		ValidArgsFunction: completeBoard,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runPredict(cmd, args, o)
		},
	}
	o.add(cmd)
	f := cmd.Flags()
	f.StringArrayVar(&o.points, "point", nil, "only this test point, net or part; repeat for several")
	f.BoolVar(&o.changes, "only-changes", false, "leave out what --fault does not change")
	f.BoolVar(&o.all, "all-states", false, "what changes between the states of the board")
	f.BoolVar(&o.dict, "faults", false, "every single fault with what it shows, and what cannot be told apart")
	f.BoolVar(&o.stages, "stages", false, "how far the power-up gets")
	f.BoolVar(&o.json, "json", false, "print JSON")
	f.BoolVar(&o.csv, "csv", false, "print CSV with a header; what a spreadsheet would take for a formula stands\nbehind an apostrophe")
	cmd.MarkFlagsMutuallyExclusive("json", "csv")
	cmd.MarkFlagsMutuallyExclusive("all-states", "faults", "stages")
	cmd.MarkFlagsMutuallyExclusive("all-states", "state")
	for _, other := range []string{"state", "unplugged", "fault", "point", "only-changes"} {
		cmd.MarkFlagsMutuallyExclusive("faults", other)
	}
	cmd.MarkFlagsMutuallyExclusive("stages", "point")
	for _, other := range []string{"stages", "all-states", "json", "csv"} {
		cmd.MarkFlagsMutuallyExclusive("only-changes", other)
	}
	completeFlag(cmd, "point", completePoint)
	return cmd
}

func runPredict(cmd *cobra.Command, args []string, o predictOpts) error {
	switch {
	case len(args) > 1 && !o.stages:
		return fmt.Errorf("%s is a reading, and those are for --stages\n  walkback probe %s tells where to look next", args[1],
			strings.Join(args, " "))
	case len(args) > 1 && len(o.faults) > 0:
		return errors.New("readings ask what has failed, --fault says it: use only one of them")
	case o.changes && len(o.faults) == 0:
		return errors.New("--only-changes needs a --fault that changes something")
	}
	b, err := loadBoard(cmd, args[0])
	if err != nil {
		return err
	}
	c, err := o.condition(cmd, b)
	if err != nil {
		return err
	}
	var pick *predict.Pick
	if len(o.points) > 0 {
		if pick, err = predict.NewPick(b, items(o.points)); err != nil {
			return err
		}
	}
	switch {
	case o.dict:
		err = writeDictionary(cmd.OutOrStdout(), c.p, o)
	case o.stages:
		var list []netlist.Reading
		var seen []netlist.Observation
		if c.state.Setting, list, seen, err = observations(b, args[1:], o.states); err == nil {
			err = writeClimb(cmd.OutOrStdout(), c, list, seen, o)
		}
	case o.all:
		err = writeStates(cmd.OutOrStdout(), c, pick, o)
	default:
		err = writeSheet(cmd.OutOrStdout(), c, pick, o)
	}
	return simulationError(cmd, b, err)
}

// condition is a board made ready for simulation, and what to simulate.
type condition struct {
	p      *predict.Predictor
	state  netlist.Condition
	faults []predict.Fault
}

func (o *conditionOpts) condition(cmd *cobra.Command, b *netlist.Board) (*condition, error) {
	s, err := setting(b, o.states)
	if err != nil {
		return nil, err
	}
	c := &condition{p: predict.NewPredictor(b), state: netlist.Condition{Setting: s, Unplugged: o.unplugged}}
	for _, text := range items(o.faults) {
		list, err := c.p.ParseFault(text)
		if err != nil {
			return nil, err
		}
		if c.faults, err = joinFaults(c.p, c.faults, list); err != nil {
			return nil, err
		}
	}
	var problems []mistake.Mistake
	for _, id := range c.p.Unknown {
		part := &b.Parts[id]
		problems = append(problems, b.File().Problem(part.Span, mistake.Error, "no-level",
			fmt.Sprintf("nothing tells what %s gives, so nothing behind it can be computed", part.Name), "a net line for its output, or gives=12V",
			""))
	}
	if n := len(problems); n > 0 {
		err := show(cmd.ErrOrStderr(), problems...)
		return nil, errors.Join(err, &exitError{exitBoard, fmt.Errorf("%s cannot be simulated: %s without a level", b.Name,
			say.Count(n, "source"))})
	}
	return c, nil
}

// items splits the values of a flag at commas. An empty one is kept, to be refused.
func items(values []string) []string {
	var list []string
	for _, v := range values {
		list = append(list, strings.Split(v, ",")...)
	}
	return list
}

// joinFaults adds faults, each once; a part cannot fail in two ways at one place.
func joinFaults(p *predict.Predictor, have, more []predict.Fault) ([]predict.Fault, error) {
	for _, f := range more {
		i := slices.IndexFunc(have, func(h predict.Fault) bool { return h.Part == f.Part && h.Unit == f.Unit })
		switch {
		case i < 0:
			have = append(have, f)
		case have[i].Mode != f.Mode:
			return nil, fmt.Errorf("%s and %s cannot both be: give one fault of each part or pin", p.Name(have[i]), p.Name(f))
		}
	}
	return have, nil
}

// simulationError turns what keeps a board from being simulated into an error
// of its file, shown where it stands.
func simulationError(cmd *cobra.Command, b *netlist.Board, err error) error {
	var c *predict.ContradictionError
	switch {
	case errors.As(err, &c):
		if id, ok := b.Part(c.Parts[0]); ok {
			if err := show(cmd.ErrOrStderr(), b.File().Problem(b.Parts[id].Span, mistake.Error, "contradiction", c.Error(), "", "")); err != nil {
				return err
			}
		}
		return &exitError{exitBoard, fmt.Errorf("%s cannot be simulated: its values contradict each other", b.Name)}
	case errors.Is(err, predict.ErrUnsolved), errors.Is(err, predict.ErrUnsteady):
		return &exitError{exitBoard, fmt.Errorf("%s: %w", b.Name, err)}
	}
	return err
}

func writeSheet(out io.Writer, c *condition, pick *predict.Pick, o predictOpts) error {
	s, err := c.p.Sheet(c.state, c.faults...)
	if err != nil {
		return err
	}
	list := []*predict.Report{s.Healthy}
	if s.Faulty != nil {
		list = append(list, s.Faulty)
	}
	switch {
	case o.json:
		return predict.WriteJSON(out, list, pick)
	case o.csv:
		return predict.WriteCSV(out, list, pick)
	}
	s.Pick, s.Changes, s.Color = pick, o.changes, wantsColor(out, os.Getenv)
	if err := s.WriteText(out); err != nil {
		return err
	}
	return writeCaution(out, nil)
}

func writeStates(out io.Writer, c *condition, pick *predict.Pick, o predictOpts) error {
	list, err := c.p.Reports(c.state.Unplugged, c.faults...)
	if err != nil {
		return err
	}
	switch {
	case o.json:
		return predict.WriteJSON(out, list, pick)
	case o.csv:
		return predict.WriteCSV(out, list, pick)
	}
	return predict.WriteStates(out, list, pick)
}

func writeDictionary(out io.Writer, p *predict.Predictor, o predictOpts) error {
	if err := p.Contradiction(netlist.Condition{Setting: p.Board.Usual()}); err != nil {
		return err
	}
	if err := p.Fits(); err != nil {
		return err
	}
	d := p.Dictionary()
	switch {
	case o.json:
		return d.WriteJSON(out, p.Simulator)
	case o.csv:
		return d.WriteCSV(out, p.Simulator)
	}
	if err := d.WriteText(out, p.Simulator); err != nil {
		return err
	}
	return writeCaution(out, nil)
}

func writeClimb(out io.Writer, c *condition, list []netlist.Reading, seen []netlist.Observation, o predictOpts) error {
	climb, err := c.p.Climb(c.state, seen, c.faults...)
	if err != nil {
		return err
	}
	climb.Notes = trace.NotValid(c.p.Board, list)
	switch {
	case o.json:
		return climb.WriteJSON(out)
	case o.csv:
		return climb.WriteCSV(out)
	}
	climb.Color = wantsColor(out, os.Getenv)
	return climb.WriteText(out)
}

// wantsColor reports whether to mark by colour: on a terminal that has it, unless
// NO_COLOR is set.
func wantsColor(out io.Writer, env func(string) string) bool {
	_, ok := terminalOf(out)
	return ok && env("NO_COLOR") == "" && env("TERM") != "dumb"
}
