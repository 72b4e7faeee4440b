package main

import (
	"bufio"
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"os"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/link"
	"example.org/walkback/trace/panel/view"
	"github.com/spf13/cobra"
)

type viewOpts struct {
	faults   []view.Fault // in the order of the flags
	channels int
	bits     int
	order    string
	board    string
	sheet    bool
	looks    string
	like     int
	out      string
	json     bool
}

// viewFaults are the flags that name a fault, with the words of view.ParseFaults
// before and the use.
var viewFaults = []struct{ flag, words, use string }{
	{"missing", "missing", "an open pair: A.0, B.2=low, or B for a whole channel"},
	{"stuck", "stuck", "a pair that reads one level for ever: A.1=high"},
	{"leg", "leg", "a pair with one conductor open: A.1"},
	{"inverted", "inverted", "a pair with its conductors exchanged: A.1"},
	{"swapped", "swapped", "two pairs exchanged: A.0/A.1"},
	{"clock-gone", "clock gone", "an open clock pair: A.CLK"},
	{"fault", "", "any of them in words, also: exchanged A/B, wrong map, wrong depth, one channel"},
}

// faultFlag collects faults of one kind into a list that all kinds share, so that
// their order is kept.
type faultFlag struct {
	words string
	list  *[]view.Fault
}

func (f faultFlag) String() string { return "" }
func (f faultFlag) Type() string   { return "LANE" }
func (f faultFlag) Set(s string) error {
	faults, err := view.ParseFaults(f.words, s)
	var m mistake.Mistake
	switch {
	case err == nil:
	case errors.As(err, &m): // on the one line that a flag has
		return fmt.Errorf("%w; expected %s", err, m.Want)
	default:
		return err
	}
	*f.list = view.Merge(*f.list, faults)
	return nil
}

func newPanelViewCmd() *cobra.Command {
	var o viewOpts
	cmd := &cobra.Command{
		Use:   "view [IMAGE]",
		Short: "The picture with a pair missing, stuck or swapped, and back",
		Long: `View sends a picture over an LVDS link with a fault, bit for bit, and paints what the
panel makes of it: a test picture, or IMAGE (PNG, JPEG or GIF). It says in words what is
seen; -o writes the picture. --sheet paints all faults of single lanes side by side, with
numbers. The way back: --looks takes what is seen on full fields of colour, --like the
number of a picture on the sheet, and the lanes to suspect come out.

Lanes are A.0 to A.3 and A.CLK, and B.0 to B.3 and B.CLK of a panel with two channels.
With --board the link is that of the board's panel. On eDP no lane has a colour of its own.`,
		Example: `  walkback panel view --missing A.0 -o red.png
  walkback panel view --missing B.2 --map jeida photo.jpg -o out.png
  walkback panel view --sheet --bits 24 --map vesa -o sheet.png
  walkback panel view --looks "white=cyan black=black" --board larkspur13
  walkback panel view --like 3`,
		Args: oneArg,
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) == 0 {
				return []string{"png", "jpg", "jpeg", "gif"}, cobra.ShellCompDirectiveFilterFileExt
			}
			return nil, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			file := ""
			if len(args) > 0 {
				file = args[0]
			}
			return runPanelView(cmd, file, o)
		},
	}
	f := cmd.Flags()
	for _, v := range viewFaults {
		f.Var(faultFlag{v.words, &o.faults}, v.flag, v.use)
	}
	f.IntVar(&o.channels, "channels", 0, "channels of the link, 1 or 2; 2 when a fault names channel B")
	f.IntVar(&o.bits, "bits", 0, "bits a pixel, 18 or 24; 24 with --map or a fourth pair, else 18")
	f.StringVar(&o.order, "map", "", "bit order of 24 bits, vesa or jeida")
	f.StringVar(&o.board, "board", "", "take the link of this board's panel, and name its lanes")
	f.BoolVar(&o.sheet, "sheet", false, "all faults of single lanes side by side")
	f.StringVar(&o.looks, "looks", "", `what is seen: "white=cyan black=black columns=second"`)
	f.IntVar(&o.like, "like", 0, "it looks like this number of the sheet")
	f.StringVarP(&o.out, "output", "o", "", "the PNG file to write")
	f.BoolVar(&o.json, "json", false, "print as JSON")
	cmd.MarkFlagsMutuallyExclusive("sheet", "looks", "like")
	completeFlag(cmd, "board", completeBoards)
	completeWords(cmd, "map", "vesa", "jeida")
	completeWords(cmd, "bits", "18", "24")
	completeWords(cmd, "channels", "1", "2")
	completeLanes(cmd)
	return cmd
}

// completeLanes offers the lanes of both channels for each flag that takes a fault.
func completeLanes(cmd *cobra.Command) {
	var pairs, stuck []string
	for _, pair := range strings.Fields("A.0 A.1 A.2 A.3 B.0 B.1 B.2 B.3") {
		pairs, stuck = append(pairs, pair), append(stuck, pair+"=low", pair+"=high")
	}
	completeWords(cmd, "missing", append(pairs[:8:8], "A", "B")...)
	completeWords(cmd, "leg", pairs...)
	completeWords(cmd, "inverted", pairs...)
	completeWords(cmd, "stuck", stuck...)
	completeWords(cmd, "clock-gone", "A.CLK", "B.CLK")
	completeWords(cmd, "swapped", "A.0/A.1", "A.0/A.2", "A.1/A.2", "B.0/B.1", "B.0/B.2", "B.1/B.2")
	completeWords(cmd, "fault", "exchanged A/B", "wrong map", "wrong depth", "one channel")
}

// viewing is what a run of panel view works on.
type viewing struct {
	viewOpts
	file  string
	board *netlist.Board
	link  view.Link
	known bool // the link was told, or follows from what was
	notes []string
}

func runPanelView(cmd *cobra.Command, file string, o viewOpts) error {
	v := &viewing{viewOpts: o, file: file}
	if err := v.settle(cmd); err != nil {
		return err
	}
	switch {
	case o.looks != "" || cmd.Flags().Changed("like"):
		return v.back(cmd)
	case cmd.Flags().Changed("looks"):
		return errors.New(`--looks is empty: say what is seen, such as "white=cyan black=black"`)
	case o.sheet:
		return v.paintSheet(cmd)
	}
	return v.paint(cmd)
}

// settle finds out which link is meant, and reads the faults.
func (v *viewing) settle(cmd *cobra.Command) error {
	if v.out != "" && v.out != "-" && ending(v.out) != "png" {
		return fmt.Errorf("%s: the picture is a PNG, so its name must end in .png", v.out)
	}
	if sameFile(v.file, v.out) {
		return fmt.Errorf("%s is the picture itself: name another file with -o", v.out)
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

// picture is the user's, or the test picture.
func (v *viewing) picture() (image.Image, error) {
	if v.file == "" {
		return view.TestPattern(960, 600), nil
	}
	if st, err := os.Stat(v.file); err == nil && st.IsDir() {
		return nil, fmt.Errorf("%s is a folder: expected a PNG, JPEG or GIF", v.file)
	}
	f, err := os.Open(v.file)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil, fmt.Errorf("there is no file %s", v.file)
	case err != nil:
		return nil, fmt.Errorf("read %s: %w", v.file, cause(err))
	}
	defer f.Close()
	img, err := view.Decode(bufio.NewReader(f))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", v.file, err)
	}
	return img, nil
}

// put writes a picture, when one is asked for.
func (v *viewing) put(cmd *cobra.Command, img image.Image) error {
	if v.out == "" {
		return nil
	}
	var buf bytes.Buffer
	if err := png.Encode(&buf, img); err != nil {
		return err
	}
	return putPicture(cmd, v.out, buf.Bytes())
}

// words is where text goes: not among the bytes of a picture on standard output.
func (v *viewing) words(cmd *cobra.Command) io.Writer {
	if v.out == "-" {
		return cmd.ErrOrStderr()
	}
	return cmd.OutOrStdout()
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
	Sheet   []view.Numbered  `json:"sheet,omitempty"`
	Seen    string           `json:"seen,omitempty"`
	Groups  []view.Suspicion `json:"suspects,omitempty"`
	Next    *view.Question   `json:"next,omitempty"`
	Lanes   []string         `json:"lanes_of_the_board,omitempty"`
	Notes   []string         `json:"notes,omitempty"`
}

func (v *viewing) json() viewJSON {
	return viewJSON{Format: "walkback.view", Version: 3, Link: v.link, Faults: v.faults, Notes: v.notes}
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
	img, err := v.picture()
	if err != nil {
		return err
	}
	pic, err := view.Render(img, v.link, v.faults)
	if err != nil {
		return err
	}
	if err := v.put(cmd, pic.Image); err != nil {
		return err
	}
	lanes := v.lanes(v.faults)
	if v.viewOpts.json {
		j := v.json()
		j.Look, j.Low, j.Lost, j.Lanes = &look, low, pic.Lost, lanes
		return say.JSON(v.words(cmd), j)
	}
	o := say.NewWriter(v.words(cmd))
	fmt.Fprintf(o, "link      %s\n", v.link)
	names := make([]string, len(v.faults))
	for i, f := range v.faults {
		names[i] = f.String()
	}
	if len(names) == 0 {
		names = []string{"none; --missing A.0 and the like give one"}
	}
	hang(o, "fault     ", strings.Join(names, ", "))
	hang(o, "seen      ", look.Text())
	if low != nil {
		hang(o, "or        ", low.Text()+", when the receiver reads an open pair as low")
	}
	for _, n := range merge(v.notes, look.Notes, pic.Notes) {
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

func merge(lists ...[]string) []string {
	var all []string
	for _, list := range lists {
		for _, s := range list {
			if !slices.Contains(all, s) {
				all = append(all, s)
			}
		}
	}
	return all
}

// paintSheet shows all faults of single lanes.
func (v *viewing) paintSheet(cmd *cobra.Command) error {
	if len(v.faults) > 0 || v.file != "" {
		return errors.New("--sheet shows the test picture under all faults of single lanes: leave the fault and the image out")
	}
	list, err := view.NumberedLooks(v.link)
	if err != nil {
		return err
	}
	if v.out != "" {
		sheet, err := view.Sheet(v.link)
		if err != nil {
			return err
		}
		if err := v.put(cmd, sheet); err != nil {
			return err
		}
	}
	if v.viewOpts.json {
		j := v.json()
		j.Sheet = list
		return say.JSON(v.words(cmd), j)
	}
	o := say.NewWriter(v.words(cmd))
	fmt.Fprintf(o, "link      %s\n\n", v.link)
	for _, n := range list {
		hang(o, fmt.Sprintf("%3d  ", n.Number), n.Name()+": "+n.Look.Text())
	}
	if v.out == "" {
		fmt.Fprintln(o, "\n-o FILE.png paints them side by side; --like NUMBER tells what to suspect")
	}
	return o.Flush()
}
