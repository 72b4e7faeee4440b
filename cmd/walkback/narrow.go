package main

import (
	"errors"
	"fmt"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/suspects"
	"github.com/spf13/cobra"
)

type narrowOpts struct {
	states  []string
	from    string
	history []string
	looks   string
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

A reading is POINT=VALUE, such as VBL=12.2V, TP7=0V, VBL=ohms:40k, F3=80mohm,
VBL=diode:0.62, BL_PWM=swing:3.3V, A.0=quiet or EDID=unread; walkback readings lists
all forms.
Behind @ stands the state in which it was read: LIGHT=no@lid=shut, VBL=ohms:40k@panel=in.
The name of a symptom of the board file stands for its readings. --looks takes what full
fields of colour look like on an LVDS panel: the lane that explains it becomes LANE=quiet,
and several become LANE=quiet or LANE=quiet, of which one holds.`,
		Example: `  walkback narrow larkspur13 dark VBL=12.2V
  walkback narrow larkspur13 dark VBL=12.2V BL_EN=3.3V L4=OL
  walkback narrow larkspur13 VBL=0V VBL_F=0V --history liquid
  walkback narrow larkspur13 --looks white=cyan,black=black
  walkback narrow siskin15 --from readings.txt`,
		Args:              needArg("a board is missing"),
		ValidArgsFunction: completeBoard,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runNarrow(cmd, args, o)
		},
	}
	panelFlag(cmd)
	weightsFlag(cmd)
	looksFlag(cmd, &o.looks)
	f := cmd.Flags()
	f.StringSliceVar(&o.states, "state", nil, "the state, STATE=VALUE, of all readings that name none; repeat for several")
	f.StringVar(&o.from, "from", "", "a file with a reading a line, # for comments; - for standard input")
	f.StringSliceVar(&o.history, "history", nil, "what happened to the machine: "+strings.Join(netlist.HistoryNames(), ", "))
	f.BoolVar(&o.json, "json", false, "print JSON")
	completeFlag(cmd, "state", completeState)
	completeWords(cmd, "history", netlist.HistoryNames()...)
	return cmd
}

func runNarrow(cmd *cobra.Command, args []string, o narrowOpts) error {
	for _, h := range o.history {
		if _, err := netlist.FindHistory(h); err != nil {
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
	words := args[1:]
	if o.looks != "" {
		seen, err := looksReadings(cmd, args[0], o.looks)
		if err != nil {
			return err
		}
		words = append(seen, words...)
	}
	readings, err := readings(cmd, b, c.state.Setting, words, o.from)
	if err != nil {
		return err
	}
	if len(readings) == 0 {
		return missing(b, "a reading is missing")
	}
	r, err := suspects.Narrow(c.p.Simulator, readings, o.history)
	if err != nil {
		return err
	}
	if o.json {
		return suspects.WriteJSON(cmd.OutOrStdout(), r)
	}
	if err := suspects.WriteText(cmd.OutOrStdout(), r); err != nil {
		return err
	}
	return writeCaution(cmd.OutOrStdout(), r.History)
}

// readings reads the file first, then the arguments.
func readings(cmd *cobra.Command, b *netlist.Board, s netlist.Setting, args []string, from string) ([]netlist.Reading, error) {
	var list []netlist.Reading
	if from != "" {
		name, text, err := readingsFile(cmd, from)
		if err != nil {
			return nil, err
		}
		found, problems := b.ParseReadings(name, text, s)
		if err := fileErrors(cmd, name, problems); err != nil {
			return nil, err
		}
		if len(found) == 0 {
			return nil, fileErrors(cmd, name, []mistake.Mistake{{File: name, Code: "reading", Msg: "the file holds no reading",
				Want: "a reading or the name of a symptom a line, such as VBL=12.2V"}})
		}
		list = found
	}
	more, err := parsedReadings(b, s, args)
	if err == nil && len(list)+len(more) > netlist.MaxReadings {
		return nil, *netlist.TooManyReadings("")
	}
	return append(list, more...), err
}

func readingsFile(cmd *cobra.Command, from string) (name, text string, err error) {
	if from == "-" {
		data, err := readInput(cmd, netlist.MaxListBytes)
		return "standard input", string(data), err
	}
	data, err := readAtMost(from, netlist.MaxListBytes)
	if err != nil {
		return "", "", fmt.Errorf("read %s: %w", from, cause(err))
	}
	return from, string(data), nil
}
