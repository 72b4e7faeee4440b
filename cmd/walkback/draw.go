package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/draw"
	"github.com/spf13/cobra"
)

type drawOpts struct {
	states []string
	out    string
	format string
	page   string
	blank  bool
	focus  bool
	dpi    int
}

var (
	drawFormats = []string{"svg", "pdf", "png", "dot"}
	drawPages   = map[string]draw.Page{"free": draw.Free, "a4": draw.A4, "letter": draw.Letter}
	pageWords   = []string{"free", "a4", "letter"}
)

func newDrawCmd() *cobra.Command {
	var o drawOpts
	cmd := &cobra.Command{
		Use:   "draw BOARD [SYMPTOM…]",
		Short: "Draw the path as a picture",
		Long: `Draw shows the display path from the sources on the left to the symptom on the right.
With a symptom the walked part stands out and the rest is faded; the numbers are
those that probe gives the points of its checklist. The format follows the name given
to -o: .svg, .pdf, .png or .dot; without -o an SVG goes to standard output.`,
		Example: `  walkback draw larkspur13 -o larkspur.svg
  walkback draw larkspur13 dark --page a4 -o dark.pdf
  walkback draw larkspur13 dark --focus --page a4 --blank -o handout.svg
  walkback draw larkspur13 EDID=unread --format dot`,
		Args:              needArg("a board is missing"),
		ValidArgsFunction: completeBoard,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runDraw(cmd, args, o)
		},
	}
	panelFlag(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&o.states, "state", nil, "a state of the board, STATE=VALUE; repeat for several")
	f.StringVarP(&o.out, "output", "o", "", "the file to write; its ending sets the format")
	f.StringVar(&o.format, "format", "", "svg, pdf, png or dot; the default follows -o, or is svg")
	f.StringVar(&o.page, "page", "free", "free, a4 or letter, the last two across")
	f.BoolVar(&o.blank, "blank", false, "a blank version for teaching: no readings, no marks")
	f.BoolVar(&o.focus, "focus", false, "leave out what is not on the walked path")
	f.IntVar(&o.dpi, "dpi", 150, "dots per inch of a PNG, 36 to 600")
	completeFlag(cmd, "state", completeState)
	completeFlag(cmd, "output", cobra.FixedCompletions(drawFormats, cobra.ShellCompDirectiveFilterFileExt))
	completeWords(cmd, "format", drawFormats...)
	completeWords(cmd, "page", pageWords...)
	return cmd
}

// outputFormat settles the format from the flag and the ending of the file.
func outputFormat(o drawOpts) (string, error) {
	ending := strings.TrimPrefix(strings.ToLower(filepath.Ext(o.out)), ".")
	switch {
	case o.format != "" && !slices.Contains(drawFormats, o.format):
		return "", mistake.Unknown("format", o.format, drawFormats)
	case o.format != "" && o.format != ending && slices.Contains(drawFormats, ending):
		return "", fmt.Errorf("--format %s and -o %s contradict each other: leave --format out, or name a file that ends in .%s", o.format, o.out,
			o.format)
	case o.format != "":
		return o.format, nil
	case o.out == "" || o.out == "-":
		return "svg", nil
	case slices.Contains(drawFormats, ending):
		return ending, nil
	case ending == "gv":
		return "dot", nil
	}
	return "", fmt.Errorf("the ending of %s does not tell a format: use .svg, .pdf, .png or .dot, or --format", o.out)
}

func runDraw(cmd *cobra.Command, args []string, o drawOpts) error {
	format, err := outputFormat(o)
	if err != nil {
		return err
	}
	page, ok := drawPages[strings.ToLower(o.page)]
	if !ok {
		return mistake.Unknown("page", o.page, pageWords)
	}
	if format == "dot" && page != draw.Free {
		return fmt.Errorf("--page %s is for pictures, and a dot file has no page: leave one of both out", o.page)
	}
	if o.dpi < 36 || o.dpi > 600 {
		return fmt.Errorf("--dpi is %d, and must be from 36 to 600", o.dpi)
	}
	if _, ok := terminalOf(cmd.OutOrStdout()); ok && (format == "png" || format == "pdf") && (o.out == "" || o.out == "-") {
		return fmt.Errorf("a %s is not text for a terminal: use -o FILE.%s", strings.ToUpper(format), format)
	}
	if sameFile(args[0], o.out) {
		return fmt.Errorf("%s is the board file itself: name another file with -o", o.out)
	}
	d, err := diagram(cmd, args, o)
	if err != nil {
		return err
	}
	if o.focus {
		if d = draw.Focus(d); len(d.Edges) == 0 {
			return errors.New("the walked path is empty: a healthy board does not have the symptom's point in this state, or an observation shows " +
				"all of it right; leave --focus out")
		}
	}
	var buf bytes.Buffer
	opts := draw.Options{Page: page, Blank: o.blank}
	switch format {
	case "svg":
		err = draw.SVG(cmd.Context(), &buf, d, opts)
	case "pdf":
		err = draw.PDF(cmd.Context(), &buf, d, opts)
	case "png":
		err = draw.PNG(cmd.Context(), &buf, d, opts, o.dpi)
	case "dot":
		err = draw.DOT(&buf, d)
	}
	if err != nil {
		return err
	}
	if o.out == "" || o.out == "-" {
		_, err = cmd.OutOrStdout().Write(buf.Bytes())
		return err
	}
	return writeFile(o.out, buf.Bytes())
}

// diagram makes the picture of a board, walked from a symptom when one is given.
func diagram(cmd *cobra.Command, args []string, o drawOpts) (draw.Diagram, error) {
	if len(args) > 1 {
		w, _, err := walk(cmd, args, o.states)
		if err != nil {
			return draw.Diagram{}, err
		}
		return draw.Path(w.Board, w, w.Setting, checklist.Number(w)), nil
	}
	b, err := loadBoard(cmd, args[0])
	if err != nil {
		return draw.Diagram{}, err
	}
	s, err := setting(b, o.states)
	if err != nil {
		return draw.Diagram{}, err
	}
	return draw.Path(b, nil, s, nil), nil
}

// sameFile reports whether two names lead to one file that is there.
func sameFile(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}
