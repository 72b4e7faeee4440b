package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
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
rate=2.7. A mode is such as 1366x768, 1920x1080@60, "1920x1080@60 cvt", a data sheet's
"72.3MHz 1366+48+32+114 768+3+6+15", or a modeline of cvt. Without a word it has reduced
blanking, as panels of laptops usually have.`,
		Example: `  walkback panel link siskin15
  walkback panel link 1366x768@60,bits=18
  walkback panel link 1366x768@60,bits=18,channels=1 --board siskin15
  walkback panel link panel.edid --board mine.board
  walkback panel link "72.3MHz 1366+48+32+114 768+3+6+15",bits=18`,
		Args:              cobra.MatchAll(needArg("a file, a mode or a board is missing"), oneArg),
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
	if err == nil && o.board != "" {
		b, err = loadBoard(cmd, o.board)
	}
	if err != nil {
		return err
	}
	asked, err := s.Read(read)
	if err != nil {
		return err
	}
	j := linkJSON{Format: "walkback.link", Version: 3, Notes: asked.Notes}
	if b != nil {
		j.Fit = new(link.Fit)
		j.Need, *j.Fit, err = asked.On(b)
	} else {
		j.Need, err = link.Needs(asked.Ask)
	}
	if err != nil {
		return err
	}
	if s.Mode != "" { // of a panel that was told as a mode any standard may be meant
		j.Others = slices.DeleteFunc(mode.Alternatives(asked.Mode.H.Active, asked.Mode.V.Active, asked.Mode.Rate()), func(m mode.Mode) bool {
			return m.Clock == asked.Mode.Clock && m.H == asked.Mode.H && m.V == asked.Mode.V
		})
	}
	if f := j.Fit; f != nil {
		ok := f.OK()
		j.Board, j.Fits = b.Name, &ok
		sure := slices.DeleteFunc(slices.Clone(f.Alive), func(i int) bool { return slices.Contains(f.Unsure, i) })
		j.Alive, j.Idle, j.Unsure = laneNames(b, sure), laneNames(b, f.Idle), laneNames(b, f.Unsure)
	}
	if o.json {
		err = say.JSON(cmd.OutOrStdout(), j)
	} else {
		err = j.text(cmd.OutOrStdout(), b)
	}
	if err == nil && j.Fit != nil && !j.Fit.OK() {
		return errReported
	}
	return err
}

func (j linkJSON) text(out io.Writer, b *netlist.Board) error {
	w := say.NewWriter(out)
	row := func(label, text string) {
		if text != "" {
			w.Hang(fmt.Sprintf("%-14s", label), strings.Repeat(" ", 14), text)
		}
	}
	m := j.Need.Mode
	if m.Origin != "" {
		row("mode", m.Origin+", "+m.Timings())
	}
	row("note", m.Note)
	for _, m := range j.Others {
		row("  it may be", strings.TrimSuffix(fmt.Sprintf("%.3f MHz, %s; %s", m.Clock/1e6, m.Origin, m.Note), "; "))
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

func laneNames(b *netlist.Board, list []int) []string {
	names := make([]string, len(list))
	for i, l := range list {
		names[i] = b.Lanes[l].Name
	}
	return names
}
