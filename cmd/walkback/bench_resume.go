package main

import (
	"errors"
	"fmt"
	"os"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/bench"
	"github.com/spf13/cobra"
)

// resumeCase goes on with a case file.
func resumeCase(cmd *cobra.Command, args []string, o *benchOpts) (*bench.Session, *bench.File, error) {
	if err := oneArg(cmd, args); err != nil {
		return nil, nil, err
	}
	// What is read now must not grow before it is gone on with.
	hold, err := bench.Take(o.resume)
	if err != nil {
		return nil, nil, err
	}
	s, c, err := readCase(cmd, args, o)
	if err != nil {
		return nil, nil, errors.Join(err, hold.Release())
	}
	file, err := bench.Resume(o.resume, c.Good, hold)
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("write %s: %w", o.resume, cause(err)), hold.Release())
	}
	if c.Dropped != "" {
		note(cmd, "the last line of %s was not written to its end and is left out: %q", o.resume, c.Dropped)
	}
	o.file = o.resume
	return s, file, nil
}

// lookOn shows where a case stands, which somebody else may be writing.
func lookOn(cmd *cobra.Command, args []string, o *benchOpts) error {
	if err := oneArg(cmd, args); err != nil {
		return err
	}
	s, _, err := readCase(cmd, args, o)
	if err != nil {
		return err
	}
	d := &bench.Dialogue{Session: s, Saved: say.Plain(o.resume)}
	return d.Show(cmd.OutOrStdout())
}

// readCase reads a case file and the board that it is of.
func readCase(cmd *cobra.Command, args []string, o *benchOpts) (*bench.Session, *bench.Case, error) {
	if err := hasContents(o.resume); err != nil {
		return nil, nil, err
	}
	data, err := readFile(o.resume)
	if err != nil {
		return nil, nil, fmt.Errorf("read %s: %w", o.resume, cause(err))
	}
	if len(data) > netlist.MaxFileBytes {
		return nil, nil, mistake.Mistake{File: o.resume, Code: "too-large", Msg: fmt.Sprintf("a case file has at most %d MiB",
			netlist.MaxFileBytes>>20)}
	}
	c, problems := bench.ParseCase(o.resume, string(data))
	if !o.rescue || c.Board == "" {
		if err := caseErrors(cmd, &c, problems); err != nil {
			return nil, nil, err
		}
	}
	from := c.Board
	switch {
	case len(args) > 0:
		from = args[0]
	case c.Source != "":
		from = c.Source
		if err := hasContents(from); err != nil {
			return nil, nil, err
		}
	}
	if err := cmd.Flag("panel").Value.Set(c.Panel); err != nil {
		return nil, nil, err
	}
	b, err := loadBoard(cmd, from)
	if err != nil {
		return nil, nil, err
	}
	if p, ok := c.Of(b.Name); !ok {
		return nil, nil, fileErrors(cmd, o.resume, []mistake.Mistake{p})
	}
	s, err := newSession(cmd, b, c.History)
	if err != nil {
		return nil, nil, err
	}
	wrong := append(problems, s.Replay(&c)...)
	if o.rescue && (len(wrong) > 0 || c.Dropped != "") {
		if c, err = rescue(cmd, o.resume, string(data), wrong); err != nil {
			return nil, nil, err
		}
		wrong = s.Replay(&c)
	}
	if err := caseErrors(cmd, &c, wrong); err != nil {
		return nil, nil, err
	}
	return s, &c, nil
}

// hasContents refuses what is there and no regular file: a pipe would keep who reads it
// waiting, and a device need not end.
func hasContents(name string) error {
	if st, err := os.Stat(name); err == nil && !st.Mode().IsRegular() {
		return fmt.Errorf("read %s: %w", name, errNoFile)
	}
	return nil
}

// caseErrors is fileErrors for a case, and says what can be done.
func caseErrors(cmd *cobra.Command, c *bench.Case, problems []mistake.Mistake) error {
	err := fileErrors(cmd, c.Name, problems)
	if err != nil && c.Board != "" {
		err = &exitError{exitBoard, fmt.Errorf("%w\n  walkback bench --resume %s --rescue makes comments of such lines and goes on", err, c.Name)}
	}
	return err
}

// rescue makes comments of lines of a case file, says which, and reads it again.
func rescue(cmd *cobra.Command, name, text string, wrong []mistake.Mistake) (bench.Case, error) {
	saved, told := bench.Rescue(text, wrong)
	if err := writeFile(name, []byte(saved)); err != nil {
		return bench.Case{}, err
	}
	c, more := bench.ParseCase(name, saved)
	note(cmd, "what is not understood in %s is a comment now", name)
	return c, errors.Join(show(cmd.ErrOrStderr(), told...), fileErrors(cmd, name, more))
}
