package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"image/png"
	"path/filepath"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/link"
	"example.org/walkback/trace/panel/view"
	"github.com/spf13/cobra"
)

type viewOpts struct {
	channels int
	bits     int
	order    string
	board    string
	looks    string
	out      string
	json     bool
}

func newPanelViewCmd() *cobra.Command {
	var o viewOpts
	cmd := &cobra.Command{
		Use:   "view [FAULT…]",
		Short: "The picture with a pair missing, stuck or swapped, and back",
		Long: `View sends a test picture over an LVDS link with a fault, bit for bit, and says in words
what the panel makes of it; -o writes the picture. The way back: --looks takes what is
seen on full fields of colour, and the lanes to suspect come out.

A FAULT is one of: missing A.0, missing B.2=low, missing B (a whole channel),
stuck A.1=high, leg A.1 (one conductor open), inverted A.1, swapped A.0/A.1,
clock gone A.CLK, exchanged A/B, wrong map, wrong depth, one channel.
Lanes are A.0 to A.3 and A.CLK, and B.0 to B.3 and B.CLK of a panel with two channels.
With --board the link is that of the board's panel. On eDP no lane has a colour of its own.`,
		Example: `  walkback panel view missing A.0 -o red.png
  walkback panel view missing B.2, swapped A.0/A.1 --map jeida
  walkback panel view --looks "white=cyan black=black" --board larkspur13`,
		ValidArgsFunction: completeFaults,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runPanelView(cmd, args, o)
		},
	}
	f := cmd.Flags()
	f.IntVar(&o.channels, "channels", 0, "channels of the link, 1 or 2; 2 when a fault names channel B")
	f.IntVar(&o.bits, "bits", 0, "bits a pixel, 18 or 24; 24 with --map or a fourth pair, else 18")
	f.StringVar(&o.order, "map", "", "bit order of 24 bits, vesa or jeida")
	f.StringVar(&o.board, "board", "", "take the link of this board's panel, and name its lanes")
	f.StringVar(&o.looks, "looks", "", `what is seen: "white=cyan black=black columns=second"`)
	f.StringVarP(&o.out, "output", "o", "", "the PNG file to write")
	f.BoolVar(&o.json, "json", false, "print as JSON")
	cmd.MarkFlagsMutuallyExclusive("looks", "output")
	completeFlag(cmd, "board", completeBoards)
	completeWords(cmd, "map", "vesa", "jeida")
	completeWords(cmd, "bits", "18", "24")
	completeWords(cmd, "channels", "1", "2")
	return cmd
}

// completeFaults offers the kinds of faults, and behind one the lanes.
func completeFaults(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	kinds, lanes := view.Words()
	if len(args) > 0 && lanes[args[len(args)-1]] {
		kinds = strings.Fields("A.0 A.1 A.2 A.3 A.CLK B.0 B.1 B.2 B.3 B.CLK")
	}
	return kinds, cobra.ShellCompDirectiveNoFileComp
}

// viewing is what a run of panel view works on.
type viewing struct {
	viewOpts
	faults []view.Fault
	board  *netlist.Board
	link   view.Link
	known  bool // the link was told, or follows from what was
	notes  []string
}

func runPanelView(cmd *cobra.Command, args []string, o viewOpts) (err error) {
	v := &viewing{viewOpts: o}
	if len(args) > 0 {
		if v.faults, err = view.ParseFaults(strings.Join(args, " ")); err != nil {
			return err
		}
	}
	if err := v.settle(cmd); err != nil {
		return err
	}
	switch {
	case o.looks == "":
		return v.paint(cmd)
	case len(args) > 0:
		return errors.New("--looks goes back from a picture: leave the fault out")
	}
	return v.back(cmd)
}

// settle finds out which link is meant.
func (v *viewing) settle(cmd *cobra.Command) error {
	if v.out != "" && !strings.EqualFold(filepath.Ext(v.out), ".png") {
		return fmt.Errorf("%s: the picture is a PNG, so its name must end in .png", v.out)
	}
	if v.viewOpts.board != "" {
		if err := v.ofBoard(cmd); err != nil {
			return err
		}
	}
	channels, bits := 1, 18
	if slices.ContainsFunc(v.faults, needsTwo) {
		channels = 2
	}
	fourth := func(f view.Fault) bool { return f.Lane.Pair == 3 || f.Other.Pair == 3 || f.Kind == view.WrongMap }
	if v.order != "" || slices.ContainsFunc(v.faults, fourth) {
		bits = 24
	}
	v.link.Channels = cmp.Or(v.channels, v.link.Channels, channels)
	v.link.Bits = cmp.Or(v.bits, v.link.Bits, bits)
	if v.order != "" {
		m, err := view.ParseMap(v.order)
		if err != nil {
			return err
		}
		if v.link.Bits == 18 {
			return errors.New("18 bits have one order only: leave --map out")
		}
		v.link.Map = m
		v.notes = append(v.notes, view.WhoseMap)
	}
	v.known = v.board != nil || v.channels != 0 || v.bits != 0 || v.order != ""
	return v.link.Check()
}

func needsTwo(f view.Fault) bool {
	return f.Lane.Channel == 1 || f.Other.Channel == 1 || f.Kind == view.Exchanged || f.Kind == view.OneChannel
}

// ofBoard takes the link of a board's panel.
func (v *viewing) ofBoard(cmd *cobra.Command) error {
	s, read, b, err := specOf(cmd, v.viewOpts.board)
	if f := cmd.Flags().Lookup("panel"); err == nil && f != nil && f.Value.String() != "" {
		s, read, _, err = specOf(cmd, f.Value.String())
	}
	if err != nil {
		return err
	}
	if b == nil {
		return fmt.Errorf("%s is no board", v.viewOpts.board)
	}
	asked, err := s.Read(read)
	if err != nil {
		return err
	}
	need, fit, err := asked.On(b)
	if err != nil {
		return err
	}
	if fit.Kind != link.LVDS {
		return fmt.Errorf("the link of %s is no LVDS: %s", b.Name, view.LaneOfEDP)
	}
	v.board = b
	v.notes = append(v.notes, asked.Notes...)
	if need.LVDS.ChannelsFrom == link.Assumed && v.channels == 0 {
		v.notes = append(v.notes, fmt.Sprintf("%s is assumed; --channels tells it", say.Count(need.LVDS.Channels, "channel")))
	}
	if need.LVDS.BitsFrom == link.Assumed && v.bits == 0 {
		v.notes = append(v.notes, fmt.Sprintf("%d bits are assumed; --bits tells them", need.LVDS.Bits))
	}
	v.link.Channels, v.link.Bits = need.LVDS.Channels, need.LVDS.Bits
	if s.Map == "jeida" {
		v.link.Map = view.JEIDA
	}
	if s.Map == "" && v.link.Bits == 24 && v.order == "" {
		v.notes = append(v.notes, "the board file does not tell the bit order (map=); vesa is taken")
	}
	return nil
}

// write paints the test picture under the faults, when that is asked for.
func (v *viewing) write() error {
	if v.out == "" {
		return nil
	}
	img, err := view.Render(view.TestPattern(960, 600), v.link, v.faults)
	if err != nil {
		return err
	}
	var buf bytes.Buffer
	if err := png.Encode(&buf, img); err != nil {
		return err
	}
	return writeFile(v.out, buf.Bytes())
}

// viewJSON is the schema of panel view --json; JSON.md documents it.
type viewJSON struct {
	Format  string           `json:"format"`
	Version int              `json:"version"`
	Link    view.Link        `json:"link"`
	Faults  []view.Fault     `json:"faults,omitempty"`
	Look    *view.Look       `json:"look,omitempty"`
	Low     *view.Look       `json:"look_when_open_reads_low,omitempty"`
	Lost    bool             `json:"no_picture,omitempty"`
	Seen    string           `json:"seen,omitempty"`
	Groups  []view.Suspicion `json:"suspects,omitempty"`
	Next    *view.Question   `json:"next,omitempty"`
	Lanes   []string         `json:"lanes_of_the_board,omitempty"`
	Notes   []string         `json:"notes,omitempty"`
}

func (v *viewing) json() viewJSON {
	return viewJSON{Format: "walkback.view", Version: 4, Link: v.link, Faults: v.faults, Notes: v.notes}
}

// paint shows the picture under the faults.
func (v *viewing) paint(cmd *cobra.Command) error {
	look, err := view.Describe(v.link, v.faults)
	if err != nil {
		return err
	}
	low, err := v.whenLow()
	if err != nil {
		return err
	}
	if err := v.write(); err != nil {
		return err
	}
	lanes := v.lanes(v.faults)
	if v.viewOpts.json {
		j := v.json()
		j.Look, j.Low, j.Lost, j.Lanes = &look, low, look.Picture != view.Stable, lanes
		return say.JSON(cmd.OutOrStdout(), j)
	}
	o := say.NewWriter(cmd.OutOrStdout())
	fmt.Fprintf(o, "link      %s\n", v.link)
	names := make([]string, len(v.faults))
	for i, f := range v.faults {
		names[i] = f.String()
	}
	if len(names) == 0 {
		names = []string{"none; missing A.0 and the like give one"}
	}
	hang(o, "fault     ", strings.Join(names, ", "))
	hang(o, "seen      ", look.Text())
	if low != nil {
		hang(o, "or        ", low.Text()+", when the receiver reads an open pair as low")
	}
	for _, n := range slices.Concat(v.notes, look.Notes) {
		hang(o, "note      ", n)
	}
	v.writeWalk(o, "walk      ", lanes)
	if v.out == "" {
		fmt.Fprintln(o, "picture   -o FILE.png writes it")
	}
	return o.Flush()
}

// whenLow is the look when open pairs read low, nil when that makes no difference
// or was told.
func (v *viewing) whenLow() (*view.Look, error) {
	low := slices.Clone(v.faults)
	open := false
	for i := range low {
		if low[i].Kind == view.Missing && low[i].Level == view.Auto {
			low[i].Level, open = view.Low, true
		}
	}
	if !open {
		return nil, nil
	}
	look, err := view.Describe(v.link, low)
	return &look, err
}
