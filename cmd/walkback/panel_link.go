package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel"
	"example.org/walkback/trace/panel/link"
	"example.org/walkback/trace/panel/mode"
	"github.com/spf13/cobra"
)

type linkOpts struct {
	board string
	json  bool
}

func newPanelLinkCmd() *cobra.Command {
	var o linkOpts
	cmd := &cobra.Command{
		Use:   "link FILE|MODE|BOARD",
		Short: "The link that a panel needs, and which lanes must be alive",
		Long: `Link computes what a panel asks of the link: pixel clock, depth, LVDS channels and the
rate of their pairs (seven bits a clock), or eDP lanes and the rate that carries the
picture. With --board it says which lanes of that board must be alive, which are
right to be quiet, and whether the panel fits at all.

A panel is a file with identity data, a mode, or a board whose file names one; behind
it stand, between commas, what is known besides: bits=18 link=lvds channels=2 lanes=2
rate=2.7. A mode is such as 1366x768, 1920x1080@60, "1920x1080@60 cvt", dmt:52, a data
sheet's "72.3MHz 1366+48+32+114 768+3+6+15", or a modeline of a log. Without a word it
has reduced blanking, as panels of laptops usually have.`,
		Example: `  walkback panel link siskin15
  walkback panel link 1366x768@60,bits=18
  walkback panel link 1366x768@60,bits=18,channels=1 --board siskin15
  walkback panel link panel.edid --board mine.board
  walkback panel link "72.3MHz 1366+48+32+114 768+3+6+15",bits=18`,
		Args: func(cmd *cobra.Command, args []string) error {
			if err := needArg("a file, a mode or a board is missing")(cmd, args); err != nil {
				return err
			}
			return oneArg(cmd, args)
		},
		ValidArgsFunction: completePanel,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runPanelLink(cmd, args[0], o)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.board, "board", "", "the board that the panel is to work on")
	f.BoolVar(&o.json, "json", false, "print as JSON")
	completeFlag(cmd, "board", completeBoards)
	return cmd
}

// linkJSON is the schema of panel link --json; JSON.md documents it.
type linkJSON struct {
	Format  string      `json:"format"`
	Version int         `json:"version"`
	Need    link.Need   `json:"need"`
	Others  []mode.Mode `json:"other_modes,omitempty"` // of the same size and rate, by other standards
	Notes   []string    `json:"notes,omitempty"`
	Board   string      `json:"board,omitempty"`
	Fits    *bool       `json:"fits,omitempty"`
	Alive   []string    `json:"must_be_alive,omitempty"`
	Idle    []string    `json:"right_to_be_quiet,omitempty"`
	Unsure  []string    `json:"perhaps_alive,omitempty"`
	Fit     *link.Fit   `json:"fit,omitempty"`
}

func runPanelLink(cmd *cobra.Command, arg string, o linkOpts) error {
	s, read, b, err := specOf(cmd, arg)
	if err != nil {
		return err
	}
	if o.board != "" {
		if b, err = loadBoard(cmd, o.board); err != nil {
			return err
		}
	}
	asked, err := s.Read(read)
	if err != nil {
		return err
	}
	var fit *link.Fit
	need, err := link.Needs(asked.Ask)
	if err == nil && b != nil {
		fit = new(link.Fit)
		need, *fit, err = asked.On(b)
	}
	if err != nil {
		return err
	}
	j := jsonOfLink(need, otherModes(s, asked), asked.Notes, b, fit)
	if o.json {
		err = say.JSON(cmd.OutOrStdout(), j)
	} else {
		err = j.text(cmd.OutOrStdout(), b)
	}
	if err == nil && fit != nil && !fit.OK() {
		return errReported
	}
	return err
}

// otherModes lists the modes of the same size and rate that other standards give,
// when the panel was told as a mode: a panel may have any of them.
func otherModes(s panel.Spec, a panel.Asked) []mode.Mode {
	if s.Mode == "" {
		return nil
	}
	var list []mode.Mode
	for _, m := range mode.Alternatives(a.Mode.H.Active, a.Mode.V.Active, a.Mode.Rate()) {
		if m.Clock != a.Mode.Clock || m.H != a.Mode.H || m.V != a.Mode.V {
			list = append(list, m)
		}
	}
	return list
}

func (j linkJSON) text(out io.Writer, b *netlist.Board) error {
	w := say.NewWriter(out)
	row := func(label, text string) { w.Hang(fmt.Sprintf("%-14s", label), strings.Repeat(" ", 14), text) }
	m := j.Need.Mode
	if m.Origin != "" {
		row("mode", m.Origin+", "+m.Timings())
	}
	if m.Note != "" {
		row("note", m.Note)
	}
	for _, m := range j.Others {
		text := fmt.Sprintf("%.3f MHz, %s", m.Clock/1e6, m.Origin)
		if m.Note != "" {
			text += "; " + m.Note
		}
		row("  it may be", text)
	}
	for _, n := range j.Notes {
		row("note", n)
	}
	if err := errors.Join(w.Flush(), link.Text(out, j.Need)); err != nil || j.Fit == nil {
		return err
	}
	fmt.Fprintln(w)
	b.WriteHead(w)
	return errors.Join(w.Flush(), link.FitText(out, b, *j.Fit))
}

func jsonOfLink(need link.Need, others []mode.Mode, notes []string, b *netlist.Board, fit *link.Fit) linkJSON {
	j := linkJSON{Format: "walkback.link", Version: 3, Need: need, Others: others, Notes: notes}
	if fit == nil {
		return j
	}
	ok := fit.OK()
	j.Board, j.Fits, j.Fit = b.Name, &ok, fit
	sure := slices.DeleteFunc(slices.Clone(fit.Alive), func(i int) bool { return slices.Contains(fit.Unsure, i) })
	j.Alive, j.Idle, j.Unsure = laneNames(b, sure), laneNames(b, fit.Idle), laneNames(b, fit.Unsure)
	return j
}

func laneNames(b *netlist.Board, list []int) []string {
	names := make([]string, len(list))
	for i, l := range list {
		names[i] = b.Lanes[l].Name
	}
	return names
}
