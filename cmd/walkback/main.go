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
	"strings"

	_ "example.org/walkback/cmd/walkback/start" // first of all
	"example.org/walkback/netlist/mistake"
)

// The exit statuses, documented in README.md.
const (
	exitOK    = 0
	exitBoard = 1 // a board file has errors, or fmt -d found a difference
	exitUsage = 2 // the command line is wrong, or a file cannot be read or written
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
	// The first interrupt asks, the second kills: the layout engine does not hear the first.
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
	cmd.SetOut(out)
	cmd.SetErr(diag)
	err := cmd.ExecuteContext(ctx)
	if err == nil {
		return exitOK
	}
	status := exitUsage
	var ee *exitError
	if errors.As(err, &ee) {
		status = ee.status
	}
	var p mistake.Mistake
	if errors.As(err, &p) {
		fmt.Fprint(diag, p.Report())
		return status
	}
	if msg := groupMessage(strings.TrimSpace(err.Error())); msg != "" {
		fmt.Fprintf(diag, "walkback: %s\n", msg)
	}
	return status
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
