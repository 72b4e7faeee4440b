// Command walkback walks a laptop board's display path from a symptom back to
// its sources, and tells where to probe on the way.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"sync"
	"time"

	_ "example.org/walkback/cmd/walkback/start" // first of all
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"github.com/spf13/cobra"
)

// The exit statuses, documented in README.md.
const (
	exitOK          = 0
	exitBoard       = 1   // what stands in a file is wrong, or fmt -d found a difference
	exitUsage       = 2   // the command line is wrong, or a file cannot be read or written
	exitInterrupted = 130 // by Ctrl-C: as shells have it, 128 and the number of the signal
)

// exitError carries an exit status with an error. A nil err has been reported.
type exitError struct {
	status int
	err    error
}

func (e *exitError) Error() string {
	if e.err == nil {
		return ""
	}
	return e.err.Error()
}

func (e *exitError) Unwrap() error { return e.err }

// errReported ends a command whose problems are already on stderr.
var errReported = &exitError{status: exitBoard}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	// The first interrupt asks, the second kills.
	context.AfterFunc(ctx, stop)
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}

// run executes one command line and returns its exit status.
func run(ctx context.Context, args []string, in io.Reader, out, diag io.Writer) int {
	cmd := newRootCmd()
	cmd.SetArgs(args)
	cmd.SetIn(in)
	cmd.SetOut(asTerminal(out))
	diag = forMessages(diag)
	cmd.SetErr(diag)
	err := untilInterrupt(ctx, cmd.ExecuteContext)
	if err == nil {
		return exitOK
	}
	tell(diag, err)
	return statusOf(err)
}

// unfinished is held for reading by what must not be left halfway: a file being put
// in its place, a terminal that is not as it was.
var unfinished sync.RWMutex

// patience is how long a command that was interrupted may take to end by itself.
const patience = 100 * time.Millisecond

// errInterrupted ends a command that was interrupted.
var errInterrupted = &exitError{exitInterrupted, errors.New("interrupted")}

// untilInterrupt runs a command. One that has not ended soon after the context has is
// left to the end of the process, wherever it is but in something unfinished: a
// simulation, the layout engine, or a write that nobody reads hear no context.
func untilInterrupt(ctx context.Context, command func(context.Context) error) error {
	ended := make(chan error, 1)
	go func() { ended <- command(ctx) }()
	var err error
	select {
	case err = <-ended:
	case <-ctx.Done():
		select {
		case err = <-ended:
		case <-time.After(patience):
			unfinished.Lock() // nothing can be begun any more
			return errInterrupted
		}
	}
	if errors.Is(err, context.Canceled) {
		return errInterrupted
	}
	return err
}

// statusOf returns the exit status of a command that failed.
func statusOf(err error) int {
	var ee *exitError
	if errors.As(err, &ee) {
		return ee.status
	}
	var m mistake.Mistake
	if errors.As(err, &m) && m.File != "" {
		return exitBoard
	}
	return exitUsage
}

// tell prints an error for people, in lines that fit. An error that has been told
// already has no text.
func tell(diag io.Writer, err error) {
	o := say.NewWriter(diag)
	defer o.Flush()
	msg := say.PlainLines(groupMessage(strings.TrimSpace(err.Error())))
	var m mistake.Mistake
	switch {
	case errors.As(err, &m) && m.File != "":
		_, _ = o.WriteString(m.ReportIn(o.Width))
		return
	case errors.As(err, &m):
		// What stands round the mistake says where it was met.
		m.Msg = strings.TrimSuffix(msg, m.Error()) + m.Msg
		m.Msg = "walkback: " + m.Msg
		_, _ = o.WriteString(m.ReportIn(o.Width))
		return
	case msg == "":
		return
	}
	first, more, _ := strings.Cut(msg, "\n")
	o.Hang("walkback: ", "  ", first)
	for line := range strings.Lines(more) {
		line = strings.TrimRight(line, "\n")
		if say.Columns(line) > o.Width {
			o.Beside("  ", line)
			continue
		}
		fmt.Fprintln(o, line)
	}
}

// note says on stderr what a command goes on in spite of.
func note(cmd *cobra.Command, format string, args ...any) {
	fmt.Fprintln(cmd.ErrOrStderr(), "walkback: "+say.PlainLines(fmt.Sprintf(format, args...)))
}

// fileErrors prints what is wrong in a file, and returns an error that counts it;
// nil where there are no errors. Warnings are left to check.
func fileErrors(cmd *cobra.Command, name string, problems []mistake.Mistake) error {
	errs := slices.DeleteFunc(slices.Clone(problems), func(m mistake.Mistake) bool { return m.Severity != mistake.Error })
	if len(errs) == 0 {
		return nil
	}
	if err := show(cmd.ErrOrStderr(), errs...); err != nil {
		return err
	}
	return &exitError{exitBoard, fmt.Errorf("%s has %s", name, say.Count(len(errs), "error"))}
}

// show prints mistakes in lines that fit.
func show(out io.Writer, list ...mistake.Mistake) error {
	o := say.NewWriter(out)
	for _, m := range list {
		_, _ = o.WriteString(m.ReportIn(o.Width))
	}
	return o.Flush()
}

// groupMessage rewords what cobra says of flags that exclude each other.
func groupMessage(msg string) string {
	rest, ok := strings.CutPrefix(msg, "if any flags in the group [")
	group, _, ok2 := strings.Cut(rest, "]")
	if !ok || !ok2 {
		return msg
	}
	return "use only one of --" + strings.Join(strings.Fields(group), ", --")
}
