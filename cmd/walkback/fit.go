package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/trace/panel"
	"github.com/spf13/cobra"
)

// panelFlag adds the flag that puts another panel on a board.
func panelFlag(cmd *cobra.Command) {
	cmd.Flags().String("panel", "", "the panel that is fitted, instead of the board file's: an EDID file or a mode,\nthen KEY=VALUE as in 1366x768@60,bits=18,channels=1")
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
			return readFile(name)
		}
		return readFile(filepath.Join(filepath.Dir(arg), name))
	}
}

// isFile tells whether a name is that of a file, so that it is no mode.
func isFile(name string) bool {
	st, err := os.Stat(name)
	return err == nil && !st.IsDir()
}

// fitPanel lays the panel of the flag, or else the one that the board file names,
// on a board. A panel of the flag must be understood; one of the board file that
// is not leaves every lane needed, with a word about it.
func fitPanel(cmd *cobra.Command, b *netlist.Board, arg string) (*netlist.Board, error) {
	flag := cmd.Flags().Lookup("panel")
	if flag == nil {
		return b, nil
	}
	if text := flag.Value.String(); text != "" {
		s, err := panel.Parse(text, isFile)
		if err != nil {
			return nil, err
		}
		f, err := panel.Fit(b, s, readFile)
		if err != nil {
			return nil, fmt.Errorf("panel %s: %w", text, err)
		}
		if !f.Fit.OK() {
			return nil, fmt.Errorf("%s\n  walkback panel link %s --board %s tells more", strings.Join(f.Fit.Problems, "\n  "), text, arg)
		}
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
		fmt.Fprintf(cmd.ErrOrStderr(), "walkback: the panel of the board file does not fit: %s Every lane is taken to be needed.\n", strings.Join(f.Fit.Problems, " "))
	}
	return f.Board, nil
}
