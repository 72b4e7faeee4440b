package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/suspects"
	"github.com/spf13/cobra"
)

type narrowOpts struct {
	states  []string
	from    string
	history []string
	json    bool
}

func newNarrowCmd() *cobra.Command {
	var o narrowOpts
	cmd := &cobra.Command{
		Use:   "narrow BOARD READING…",
		Short: "Narrow what may have failed by what was read",
		Long: `Narrow ranks what may have failed by all that was read and seen so far: each suspect
with its share and the readings for and against it, what no probe tells apart, what
is hardly to be suspected any more, and the next probes with what each outcome means.

A reading is POINT=VALUE. The point is a net, a test point, a lane, a fact, a part
(from end to end) or two nets with a stroke between:
  VBL=12.2V  TP7=0V        DC volts; words such as low, high, ok, wrong, floating too
  VBL=ohms:40k  VBL=40kohm to ground, all power out, panel unplugged; OL for open
  F3=80mohm  A0P_J/A0N_J=100ohm   across a part, between two nets
  VBL=diode:0.62           diode mode, red lead on ground
  BL_PWM=swing:3.3V  A.0=quiet    how far it moves; lanes and nets quiet or alive
  LIGHT=no  EDID=unread    what is seen without a meter
Behind @ stands the state in which it was read: LIGHT=no@lid=shut, VBL=ohms:40k@panel=in.
The name of a symptom of the board file stands for its readings.`,
		Example: `  walkback narrow larkspur13 dark VBL=12.2V
  walkback narrow larkspur13 dark VBL=12.2V BL_EN=3.3V L4=OL
  walkback narrow larkspur13 VBL=0V VBL_F=0V --history liquid
  walkback narrow siskin15 --from readings.txt`,
		Args:              needArg("a board is missing"),
		ValidArgsFunction: completeBoard,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runNarrow(cmd, args, o)
		},
	}
	panelFlag(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&o.states, "state", nil, "the state, STATE=VALUE, of all readings that name none; repeat for several")
	f.StringVar(&o.from, "from", "", "a file with a reading a line, # for comments; - for standard input")
	f.StringSliceVar(&o.history, "history", nil, "what happened to the machine: "+strings.Join(historyNames(), ", "))
	f.BoolVar(&o.json, "json", false, "print JSON")
	completeFlag(cmd, "state", completeState)
	completeWords(cmd, "history", historyNames()...)
	return cmd
}

func historyNames() []string {
	names := make([]string, len(suspects.Histories))
	for i, h := range suspects.Histories {
		names[i] = h.Name
	}
	return names
}

func runNarrow(cmd *cobra.Command, args []string, o narrowOpts) error {
	for _, h := range o.history {
		if err := suspects.CheckHistory(h); err != nil {
			return err
		}
	}
	if args[0] == "-" && o.from == "-" {
		return errors.New("standard input cannot be both the board and the readings")
	}
	b, err := loadBoard(cmd, args[0])
	if err != nil {
		return err
	}
	c, err := (&conditionOpts{states: o.states}).condition(cmd, b)
	if err != nil {
		return err
	}
	if err := c.p.Contradiction(c.state); err != nil {
		return simulationError(cmd, b, err)
	}
	readings, err := readings(cmd, c.p.Simulator, c.state.Setting, args[1:], o.from)
	if err != nil {
		return err
	}
	if len(readings) == 0 {
		return noReading(b)
	}
	r, err := suspects.Narrow(c.p.Simulator, readings, suspects.Options{History: o.history})
	if err != nil {
		return err
	}
	if o.json {
		return suspects.WriteJSON(cmd.OutOrStdout(), r)
	}
	if err := suspects.WriteText(cmd.OutOrStdout(), r); err != nil {
		return err
	}
	return writeCaution(cmd.OutOrStdout())
}

// readings reads the file first, then the arguments.
func readings(cmd *cobra.Command, m *predict.Simulator, s netlist.Setting, args []string, from string) ([]suspects.Reading, error) {
	var list []suspects.Reading
	if from != "" {
		name, text, err := readingsFile(cmd, from)
		if err != nil {
			return nil, err
		}
		found, problems := suspects.ParseFile(m, s, name, text)
		if err := fileErrors(cmd, name, problems); err != nil {
			return nil, err
		}
		list = found
	}
	for _, a := range args {
		named, ok, err := suspects.Symptom(m, s, a)
		if err != nil {
			return nil, err
		}
		if ok {
			list = append(list, named...)
			continue
		}
		if !strings.Contains(a, "=") {
			return nil, noSuchSymptom(m.Board, a)
		}
		r, err := suspects.ParseIn(m, s, a)
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}

func readingsFile(cmd *cobra.Command, from string) (name, text string, err error) {
	if from == "-" {
		data, err := io.ReadAll(io.LimitReader(cmd.InOrStdin(), netlist.MaxFileBytes))
		if err != nil {
			return "", "", fmt.Errorf("read standard input: %w", err)
		}
		return "standard input", string(data), nil
	}
	data, err := readFile(from)
	if err != nil {
		return "", "", fmt.Errorf("read %s: %w", from, cause(err))
	}
	return from, string(data), nil
}

func noSuchSymptom(b *netlist.Board, name string) error {
	_, err := symptom(b, b.Usual(), name)
	return err
}

func noReading(b *netlist.Board) error {
	msg := "a reading is missing: say what was read or seen, as in VBL=0V or EDID=unread"
	for _, sy := range b.Symptoms {
		msg += fmt.Sprintf("\n  %-14s %s", sy.Name, sy.Words)
	}
	return errors.New(msg)
}
