package main

import (
	"fmt"
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
rate=2.7. A mode is such as 1366x768, 1920x1080@60, "1920x1080@60 cvt", or a data
sheet's "72.3MHz 1366+48+32+114 768+3+6+15". Without a word it has reduced blanking, as
panels of laptops usually have.`,
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
	// Problems are why it does not fit, Remarks what else to know of the fit.
	Problems []string `json:"problems,omitempty"`
	Remarks  []string `json:"remarks,omitempty"`
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
	j := linkJSON{Format: "walkback.link", Version: 4, Notes: asked.Notes}
	var fit link.Fit
	if b != nil {
		j.Need, fit, err = asked.On(b)
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
	if b != nil {
		ok := fit.OK()
		j.Board, j.Fits, j.Problems, j.Remarks = b.Name, &ok, fit.Problems, fit.Notes
		j.Alive, j.Idle, j.Unsure = laneNames(b, fit.Sure()), laneNames(b, fit.Idle), laneNames(b, fit.Unsure)
	}
	if o.json {
		err = say.JSON(cmd.OutOrStdout(), j)
	} else {
		w := say.NewWriter(cmd.OutOrStdout())
		j.text(w)
		if b != nil {
			fmt.Fprintln(w)
			b.WriteHead(w)
			link.FitText(w, b, fit)
		}
		err = w.Flush()
	}
	if err == nil && !fit.OK() {
		return errReported
	}
	return err
}

func (j linkJSON) text(w *say.Writer) {
	m := j.Need.Mode
	if m.Origin != "" {
		link.Row(w, "mode", m.Origin+", "+m.Timings())
	}
	link.Row(w, "note", m.Note)
	for _, m := range j.Others {
		link.Row(w, "  it may be", strings.TrimSuffix(fmt.Sprintf("%.3f MHz, %s; %s", m.Clock/1e6, m.Origin, m.Note), "; "))
	}
	for _, n := range j.Notes {
		link.Row(w, "note", n)
	}
	link.Text(w, j.Need)
}

func laneNames(b *netlist.Board, list []int) []string {
	names := make([]string, len(list))
	for i, l := range list {
		names[i] = b.Lanes[l].Name
	}
	return names
}
