package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace"
	"example.org/walkback/trace/bench"
	"example.org/walkback/trace/draw"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/suspects"
	"github.com/spf13/cobra"

	tea "charm.land/bubbletea/v2"
)

type benchOpts struct {
	file    string
	resume  string
	rescue  bool
	look    bool
	history []string
	looks   string
	plain   bool
}

func newBenchCmd() *cobra.Command {
	var o benchOpts
	cmd := &cobra.Command{
		Use:   "bench BOARD [SYMPTOM…]",
		Short: "A dialogue at the bench: one probe after the other, to the repair",
		Long: `Bench asks for one probe after the other: where it lands, how the meter is set, in
what state the board must be, what a healthy board shows. Answer with what the meter
shows: 12.2, 40k, 0.1, OL, q (quiet), t (toggles), f (floats), y or n, or give any
reading in full as for narrow. ? lists the commands.

No probe with power on is asked for before the cold check of a high rail has passed.
When one suspect is left, bench names it with its reasons and the second proof that
it needs; r PART notes the repair, and bench confirms it.

Every answer is on disk in the case file before the next question. The file is plain
text, an entry a line; --resume goes on with it, and with --rescue it does so with what
is left of a damaged one. One bench at a time writes a case.`,
		Example: `  walkback bench larkspur13 dark
  walkback bench larkspur13 dark VBL=12.2V --file shelf4.case
  walkback bench --resume shelf4.case`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 && o.resume == "" {
				return mistake.Mistake{Code: "missing", Msg: "a board is missing",
					Want: "walkback bench BOARD [SYMPTOM…], or walkback bench --resume FILE"}
			}
			if (o.rescue || o.look) && o.resume == "" {
				return errors.New("--rescue and --look need --resume and a case file")
			}
			return nil
		},
		ValidArgsFunction: completeBoard,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runBench(cmd, args, o)
		},
	}
	panelFlag(cmd)
	weightsFlag(cmd)
	looksFlag(cmd, &o.looks)
	f := cmd.Flags()
	f.StringVar(&o.file, "file", "", "the case file; BOARD-DATE-TIME.case when not given")
	f.StringVar(&o.resume, "resume", "", "a case file to go on with")
	f.BoolVar(&o.rescue, "rescue", false, "of a damaged case file, make comments of the lines that are not understood")
	f.BoolVar(&o.look, "look", false, "show where a case stands and end, also while another bench writes it")
	f.StringSliceVar(&o.history, "history", nil, "what happened to the machine: "+strings.Join(netlist.HistoryNames(), ", "))
	f.BoolVar(&o.plain, "plain", false, "lines also on a terminal, no full screen")
	cmd.MarkFlagsMutuallyExclusive("file", "resume")
	cmd.MarkFlagsMutuallyExclusive("look", "rescue")
	cmd.MarkFlagsMutuallyExclusive("history", "resume")
	cmd.MarkFlagsMutuallyExclusive("panel", "resume")
	cmd.MarkFlagsMutuallyExclusive("looks", "resume")
	completeWords(cmd, "history", netlist.HistoryNames()...)
	return cmd
}

func runBench(cmd *cobra.Command, args []string, o benchOpts) error {
	if len(args) > 0 && args[0] == "-" {
		return errors.New("the answers come from standard input, so the board must be a file or one that comes with walkback")
	}
	for _, h := range o.history {
		if _, err := netlist.FindHistory(h); err != nil {
			return err
		}
	}
	if o.look {
		return lookOn(cmd, args, &o)
	}
	start := newCase
	if o.resume != "" {
		start = resumeCase
	}
	s, file, err := start(cmd, args, &o)
	if err != nil {
		return err
	}
	if err := file.Hold.Err; err != nil {
		note(cmd, "%s", notHeld(o.file, err))
	}
	s.Save = file.Append
	picture := ""
	d := &bench.Dialogue{Session: s, Saved: say.Plain(o.file), Draw: func(w *trace.Walk) (string, error) {
		if picture == "" {
			picture = unused(o.file, ".svg")
		}
		return say.Plain(picture), drawCase(cmd.Context(), w, picture)
	}}
	in, out := cmd.InOrStdin(), cmd.OutOrStdout()
	if screen, ok := terminals(in, out); ok && !o.plain && os.Getenv("TERM") != "dumb" {
		err = screen.run(cmd.Context(), d)
	} else {
		err = d.Run(cmd.Context(), in, out)
	}
	return errors.Join(err, file.Close())
}

// notHeld says what follows from why a case file could not be held.
func notHeld(file string, err error) string {
	if errors.Is(err, syscall.ENOSPC) {
		return fmt.Sprintf("the disk is full, so that no answer can be saved in %s: make room on it before you go on", file)
	}
	return fmt.Sprintf("nothing keeps a second bench from writing %s too: %v", file, cause(err))
}

// newSession simulates a board.
func newSession(cmd *cobra.Command, b *netlist.Board, history []string) (*bench.Session, error) {
	m := predict.New(b)
	if err := m.Contradiction(netlist.Condition{Setting: b.Usual()}); err != nil {
		return nil, simulationError(cmd, b, err)
	}
	if err := m.Fits(); err != nil {
		return nil, err
	}
	return bench.New(suspects.New(m), history)
}

// newCase begins a case with the symptoms and readings of the command line. The
// file is there only when all of them are right.
func newCase(cmd *cobra.Command, args []string, o *benchOpts) (*bench.Session, *bench.File, error) {
	b, err := loadBoard(cmd, args[0])
	if err != nil {
		return nil, nil, err
	}
	s, err := newSession(cmd, b, o.history)
	if err != nil {
		return nil, nil, err
	}
	words := args[1:]
	if o.looks != "" {
		seen, err := looksReadings(cmd, args[0], o.looks)
		if err != nil {
			return nil, nil, err
		}
		words = append(seen, words...)
	}
	for _, a := range words {
		add := s.Symptom
		if strings.Contains(a, "=") {
			add = s.Read
		}
		if err := add(a); err != nil {
			return nil, nil, err
		}
	}
	from := ""
	if args[0] != b.Name {
		from = args[0]
	}
	if strings.ContainsAny(from+cmd.Flag("panel").Value.String(), "\r\n") {
		return nil, nil, errors.New("the name of the board file or the panel has a line break in it, which a case file cannot hold")
	}
	head := bench.Head(b.Name, from, cmd.Flag("panel").Value.String(), o.history)
	for _, e := range s.Entries() {
		head = append(head, e.String())
	}
	name := o.file
	for n := 2; ; n++ {
		if o.file == "" {
			name = b.Name + "-" + time.Now().Format("20060102-150405") + ".case"
			if n > 2 {
				name = strings.TrimSuffix(name, ".case") + fmt.Sprintf("-%d.case", n-1)
			}
		}
		file, err := bench.Create(name, head)
		switch {
		case err == nil:
			o.file = name
			return s, file, nil
		case !errors.Is(err, os.ErrExist):
			return nil, nil, fmt.Errorf("write %s: %w", name, cause(err))
		case o.file != "":
			return nil, nil, fmt.Errorf("%s is there already, and a case is never written over\n  walkback bench --resume %s goes on with it, if "+
				"it is one", name, name)
		}
	}
}

// drawCase draws a walk into a file.
func drawCase(ctx context.Context, w *trace.Walk, name string) error {
	var buf bytes.Buffer
	if err := draw.SVG(ctx, &buf, draw.Path(w.Board, w, w.Setting, nil), draw.Options{}); err != nil {
		return err
	}
	return writeFile(name, buf.Bytes())
}

// unused returns the first name of a row, such as a.svg, a-2.svg, a-3.svg, that no file has.
func unused(stem, ending string) string {
	name := stem + ending
	for n := 2; ; n++ {
		if _, err := os.Lstat(name); err != nil {
			return name
		}
		name = fmt.Sprintf("%s-%d%s", stem, n, ending)
	}
}

// terminal is where the full screen stands.
type terminal struct{ in, out *os.File }

// terminals reports whether both ends are a terminal.
func terminals(in io.Reader, out io.Writer) (terminal, bool) {
	i, ok1 := terminalOf(in)
	o, ok2 := terminalOf(out)
	if !ok1 || !ok2 {
		return terminal{}, false
	}
	return terminal{i, o}, true
}

// run shows the dialogue until it ends. However it ends, the terminal is as it was.
func (t terminal) run(ctx context.Context, d *bench.Dialogue) error {
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	screen := bench.NewScreen(d, wantsColor(t.out, os.Getenv))
	p := tea.NewProgram(screen, tea.WithInput(t.in), tea.WithOutput(t.out), tea.WithoutSignalHandler())
	unfinished.RLock()
	defer unfinished.RUnlock()
	ended := make(chan error, 1)
	go func() {
		_, err := p.Run()
		ended <- err
	}()
	var err error
	select {
	case err = <-ended:
	case <-ctx.Done():
		// All is saved, so that a signal ends it as x does, and in the middle of a step too.
		go p.Quit()
		select {
		case err = <-ended:
		case <-time.After(patience):
			p.Kill()
		}
	}
	if err != nil {
		return fmt.Errorf("full screen: %w\n  --plain does without", err)
	}
	_, err = fmt.Fprintln(t.out, "saved in "+d.Saved)
	return err
}
