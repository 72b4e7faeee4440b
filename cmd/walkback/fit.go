package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/panel"
	"example.org/walkback/trace/panel/dump"
	"github.com/spf13/cobra"
)

// panelFlag adds the flag that puts another panel on a board.
func panelFlag(cmd *cobra.Command) {
	cmd.Flags().String("panel", "",
		"the panel that is fitted, instead of the board file's: an EDID file, a mode\nor the board whose panel it is, then KEY=VALUE as in "+
			"1366x768@60,bits=18,channels=1")
}

// beside returns how to read files that a board file names: a demo board's from
// the program, another's from its own folder.
func beside(arg string) func(string) ([]byte, error) {
	_, demo := boards.Source(arg)
	return func(name string) ([]byte, error) {
		switch {
		case demo:
			return boards.Beside(name)
		case arg == "-" || filepath.IsAbs(name):
			return readDumpFile(name)
		}
		return readDumpFile(filepath.Join(filepath.Dir(arg), name))
	}
}

// readDumpFile reads a file of identity data, and no more of it than is looked at.
func readDumpFile(name string) ([]byte, error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return nil, mistake.Mistake{Text: name, Code: "folder", Msg: name + " is a folder", Want: wantIdentity()}
	}
	return readAtMost(name, dump.MaxInput)
}

// isFile reports whether something has that name, so that it is no mode.
func isFile(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}

// fitPanel lays the panel of the flag, or else the one that the board file names,
// on a board. A panel of the flag must be understood; one of the board file that
// is not leaves every lane needed, with a word about it.
func fitPanel(cmd *cobra.Command, b *netlist.Board, arg string) (*netlist.Board, error) {
	flag := cmd.Flags().Lookup("panel")
	if flag == nil {
		return b, nil
	}
	if text := flag.Value.String(); text != "" || flag.Changed {
		if text == "-" {
			return nil, errors.New("--panel reads no standard input: name a file, a mode or a board")
		}
		s, read, _, err := specOf(cmd, text)
		if err != nil {
			return nil, err
		}
		s.Shown = true
		f, err := panel.Fit(b, s, read)
		if err != nil {
			return nil, fmt.Errorf("panel %s: %w", text, err)
		}
		if !f.Fit.OK() {
			return nil, &exitError{exitBoard, fmt.Errorf("%s\n  walkback panel link %s --board %s tells more", strings.Join(f.Fit.Problems, "\n  "),
				text, arg)}
		}
		fitNotes(cmd, b, f)
		return f.Board, nil
	}
	s, err := panel.Of(b)
	if err != nil || !s.Told() {
		return b, nil
	}
	f, err := panel.Fit(b, s, beside(arg))
	switch {
	case err != nil:
		fmt.Fprintf(cmd.ErrOrStderr(), "walkback: the panel of the board file: %s; every lane is taken to be needed\n", err)
	case !f.Fit.OK():
		fmt.Fprintf(cmd.ErrOrStderr(), "walkback: the panel of the board file does not fit: %s Every lane is taken to be needed.\n",
			strings.Join(f.Fit.Problems, " "))
	default:
		fitNotes(cmd, b, f)
	}
	return f.Board, nil
}

// fitNotes says what keeps lanes needed that the panel may not use.
func fitNotes(cmd *cobra.Command, b *netlist.Board, f panel.Fitted) {
	if f.Asked.Doubt != "" {
		fmt.Fprintf(cmd.ErrOrStderr(), "walkback: %s; every lane is taken to be needed\n", f.Asked.Doubt)
		return
	}
	if names := laneNames(b, f.Fit.Unsure); len(names) > 0 {
		fmt.Fprintf(cmd.ErrOrStderr(),
			"walkback: it is not known whether the panel uses %s: they are taken to be needed, though quiet may be right; lanes=, channels= or "+
				"bits= settle it\n", strings.Join(names, ", "))
	}
}
