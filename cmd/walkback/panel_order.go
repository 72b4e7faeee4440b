package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/edid"
	"example.org/walkback/trace/panel/power"
	"github.com/spf13/cobra"
)

type orderOpts struct {
	edid  string
	board string
	out   string
	json  bool
	show  bool
}

func newPanelOrderCmd() *cobra.Command {
	var o orderOpts
	cmd := &cobra.Command{
		Use:   "order lvds|edp|FILE|--edid=FILE [T3=85ms…] [EVENT=TIME…]",
		Short: "The order of supply, data and light, against measured times",
		Long: fmt.Sprintf(`Order shows in which order a panel wants its supply, its data and its light, with the
window of time for each step, and checks measured times against it: a window's own
time (T3=85ms), or when things happened on one time base (supply=0 hpd=85ms light=60ms;
data=never for what did not come). FILE is a profile of a panel's data sheet, a window
a line, as --profile prints the built-in ones. With -o the chart goes to an SVG or PNG
file. --edid takes the windows from identity data that tell them and stands in place of
the profile's name. --board names the nets of that board to walk back from where a window
is not kept. A time counts as read to its last digit. A window that is not kept makes the
exit status 1.

Events: %s`, strings.Join(power.EventNames(), ", ")),
		Example: `  walkback panel order edp
  walkback panel order edp T3=85ms
  walkback panel order lvds supply-on=0 data-on=40ms light-on=120ms
  walkback panel order lvds supply=0 data=40ms light=never --board larkspur13
  walkback panel order edp T3=250ms -o chart.svg
  walkback panel order --edid panel.bin T2=40ms
  walkback panel order edp --profile > mine.times`,
		Args: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("edid") {
				return nil
			}
			return needArg("say which panel: lvds, edp, or a file with the windows of its data sheet")(cmd, args)
		},
		ValidArgsFunction: completeOrder,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runPanelOrder(cmd, args, o)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.edid, "edid", "", "take the windows that identity data tell (DisplayID, interface power sequencing)\nfrom this file "+
		"or the panel of this board")
	f.StringVar(&o.board, "board", "", "name the nets of this board to walk back from where a window is not kept")
	completeFlag(cmd, "board", completeBoards)
	f.StringVarP(&o.out, "output", "o", "", "the file of the chart; its ending, .svg or .png, sets the format;\n- puts an SVG on "+
		"standard output and the words on standard error")
	f.BoolVar(&o.show, "profile", false, "print the windows as a file that can be changed and given back")
	f.BoolVar(&o.json, "json", false, "print as JSON")
	cmd.MarkFlagsMutuallyExclusive("profile", "json")
	cmd.MarkFlagsMutuallyExclusive("profile", "output")
	return cmd
}

func completeOrder(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return power.Names(), cobra.ShellCompDirectiveDefault
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
	if end := ending(o.out); o.out != "" && o.out != "-" && end != "svg" && end != "png" {
		return fmt.Errorf("the ending of %s does not tell a format: use .svg or .png", o.out)
	}
	p, times, err := o.profile(cmd, args)
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	if o.out == "-" {
		out = cmd.ErrOrStderr() // the words, not among the lines of the chart
	}
	if o.show {
		_, err := fmt.Fprint(out, power.Format(p))
		return err
	}
	m, problems := power.ParseMeasured(p, times)
	if err := reported(cmd, "the measured times", problems); err != nil {
		return err
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
	if o.out != "" {
		if err := orderChart(cmd, r, o); err != nil {
			return err
		}
	}
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

// profile finds the windows, and the arguments that are measured times.
func (o orderOpts) profile(cmd *cobra.Command, args []string) (power.Profile, []string, error) {
	if o.edid != "" {
		if len(args) > 0 && !strings.Contains(args[0], "=") {
			return power.Profile{}, nil, fmt.Errorf("%q and --edid both say which windows are meant: leave one out", args[0])
		}
		p, err := toldProfile(cmd, o.edid)
		return p, args, err
	}
	if sameFile(args[0], o.out) {
		return power.Profile{}, nil, fmt.Errorf("%s is the profile itself: name another file with -o", o.out)
	}
	p, err := profile(cmd, args[0])
	return p, args[1:], err
}

// toldProfile is what a panel says of itself.
func toldProfile(cmd *cobra.Command, arg string) (power.Profile, error) {
	d, err := readDump(cmd, arg)
	if err != nil {
		return power.Profile{}, err
	}
	blocks, _ := edid.Announced(d.Bytes)
	if len(d.Missing) > 0 || !edid.Sound(blocks) {
		return power.Profile{}, fmt.Errorf("the identity data of %s are not sound, so their times are not believed; walkback panel edid %s "+
			"tells why", arg, arg)
	}
	e, err := edid.Decode(blocks)
	if err != nil {
		return power.Profile{}, err
	}
	t, ok := e.Power()
	if !ok {
		return power.Profile{}, fmt.Errorf("the identity data of %s tell no times of a power sequence; most do not: use lvds, edp or the "+
			"data sheet", arg)
	}
	return power.FromDisplayID(t), nil
}

func orderChart(cmd *cobra.Command, r power.Report, o orderOpts) error {
	pic := power.Chart(r)
	if ending(o.out) != "png" {
		return putPicture(cmd, o.out, pic.SVG)
	}
	var buf bytes.Buffer
	if err := pic.PNG(cmd.Context(), &buf, 0); err != nil {
		return err
	}
	return putPicture(cmd, o.out, buf.Bytes())
}

// maxProfile is the longest profile that is read, in bytes.
const maxProfile = 256 << 10

// profile is a built-in one, or that of a file; a file of the same name is reached
// as ./name.
func profile(cmd *cobra.Command, arg string) (power.Profile, error) {
	if p, ok := power.Named(arg); ok {
		return p, nil
	}
	data, err := readAtMost(arg, maxProfile)
	switch {
	case err == nil && len(data) > maxProfile:
		return power.Profile{}, fmt.Errorf("%s is longer than a profile can be (%d KiB)", arg, maxProfile>>10)
	case errors.Is(err, os.ErrNotExist) && !strings.ContainsAny(arg, `/\.`):
		return power.Profile{}, mistake.Unknown("profile or file", arg, power.Names())
	case errors.Is(err, os.ErrNotExist):
		return power.Profile{}, fmt.Errorf("there is no file %s", arg)
	case err != nil:
		return power.Profile{}, fmt.Errorf("read %s: %w", arg, cause(err))
	}
	p, problems := power.ParseProfile(arg, string(data))
	return p, reported(cmd, arg, problems)
}

// reported prints problems and fails when there are errors among them.
func reported(cmd *cobra.Command, what string, problems []mistake.Mistake) error {
	if err := show(cmd.ErrOrStderr(), problems...); err != nil {
		return err
	}
	n := 0
	for _, p := range problems {
		if p.Severity == mistake.Error {
			n++
		}
	}
	if n > 0 {
		return fmt.Errorf("%s: %s", what, say.Count(n, "error"))
	}
	return nil
}
