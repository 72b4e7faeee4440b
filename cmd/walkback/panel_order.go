package main

import (
	"fmt"
	"io"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/power"
	"github.com/spf13/cobra"
)

type orderOpts struct {
	board string
	json  bool
}

func newPanelOrderCmd() *cobra.Command {
	var o orderOpts
	cmd := &cobra.Command{
		Use:   "order lvds|edp [T3=85ms…] [EVENT=TIME…]",
		Short: "The order of supply, data and light, against measured times",
		Long: fmt.Sprintf(`Order shows in which order a panel wants its supply, its data and its light, with the
window of time for each step, and checks measured times against it: a window's own
time (T3=85ms), or when things happened on one time base (supply=0 hpd=85ms light=60ms;
data=never for what did not come). --board names the nets of that board to walk back
from where a window is not kept. A time counts as read to its last digit. A window that
is not kept makes the exit status 1.

Events: %s`, strings.Join(power.EventNames(), ", ")),
		Example: `  walkback panel order edp
  walkback panel order edp T3=85ms
  walkback panel order lvds supply-on=0 data-on=40ms light-on=120ms
  walkback panel order lvds supply=0 data=40ms light=never --board larkspur13`,
		Args:              needArg("say which link: lvds or edp"),
		ValidArgsFunction: completeOrder,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runPanelOrder(cmd, args, o)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.board, "board", "", "name the nets of this board to walk back from where a window is not kept")
	completeFlag(cmd, "board", completeBoards)
	f.BoolVar(&o.json, "json", false, "print as JSON")
	return cmd
}

func completeOrder(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return power.Names(), cobra.ShellCompDirectiveNoFileComp
	}
	var list []string
	if p, ok := power.Named(args[0]); ok {
		for _, w := range p.Windows {
			list = append(list, w.Name+"=")
		}
	}
	for _, e := range power.EventNames() {
		list = append(list, e+"=")
	}
	return list, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}

// orderJSON is the schema of panel order --json; JSON.md documents it.
type orderJSON struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	power.Report
	Walks []orderWalk `json:"walks,omitempty"`
}

// orderWalk is where on a board to go on.
type orderWalk struct {
	Signal  string   `json:"signal"`
	Stage   int      `json:"stage"`
	Words   string   `json:"words"`
	Symptom []string `json:"symptoms"` // for walkback trace, one at a time
}

// orderWalks finds the stages of a board that are about the signals that came at the
// wrong time or never: by the words of the stage.
func orderWalks(b *netlist.Board, r power.Report) []orderWalk {
	var list []orderWalk
	for _, s := range r.Suspects() {
		for _, stage := range b.Stages {
			if !s.Names(stage.Words) {
				continue
			}
			w := orderWalk{s.String(), stage.Number, stage.Words, nil}
			for _, t := range stage.Targets {
				word := "=wrong"
				switch {
				case t.Lane != netlist.None:
					word = "=quiet"
				case t.Fact != netlist.None:
					word = "=no"
				}
				w.Symptom = append(w.Symptom, b.TargetName(t)+word)
			}
			list = append(list, w)
		}
	}
	return list
}

func runPanelOrder(cmd *cobra.Command, args []string, o orderOpts) error {
	p, ok := power.Named(args[0])
	if !ok {
		return mistake.Unknown("link", args[0], power.Names())
	}
	m, problems := power.ParseMeasured(p, args[1:])
	if err := show(cmd.ErrOrStderr(), problems...); err != nil {
		return err
	}
	if len(problems) > 0 {
		return fmt.Errorf("the measured times: %s", say.Count(len(problems), "error"))
	}
	r := power.Check(p, m)
	var walks []orderWalk
	if o.board != "" {
		b, err := loadBoard(cmd, o.board)
		if err != nil {
			return err
		}
		walks = orderWalks(b, r)
	}
	var err error
	out := cmd.OutOrStdout()
	if o.json {
		err = say.JSON(out, orderJSON{"walkback.panel-order", 3, r, walks})
	} else if err = power.Text(out, r); err == nil && o.board != "" {
		err = o.writeWalks(out, r, walks)
	}
	if err == nil && r.Wrong() {
		return errReported
	}
	return err
}

// writeWalks says where on the board to go on.
func (o orderOpts) writeWalks(out io.Writer, r power.Report, walks []orderWalk) error {
	w := say.NewWriter(out)
	for _, x := range walks {
		w.WriteString("\n")
		w.Hang("", "", fmt.Sprintf("On %s, %s: stage %d, %s", o.board, x.Signal, x.Stage, x.Words))
		for _, symptom := range x.Symptom {
			w.WriteString("    walkback trace " + o.board + " " + symptom + "\n")
		}
	}
	if len(walks) == 0 && len(r.Suspects()) > 0 {
		w.Hang("", "", fmt.Sprintf("\nNo stage of %s is called by what came at the wrong time.", o.board))
	}
	return w.Flush()
}
