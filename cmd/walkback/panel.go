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
	"example.org/walkback/trace/panel/link"
	"example.org/walkback/trace/panel/mode"
	"github.com/spf13/cobra"
)

func newPanelCmd() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "panel",
		Short: "What the panel asks for, and what the eye sees when a lane is gone",
		Long: `Panel is the arithmetic of the panel's side.

  walkback panel edid FILE         the identity data of a panel, what is wrong with them, and
                                   what that points to on the board
  walkback panel link FILE|MODE    the link that a panel needs, and which lanes must be alive
  walkback panel view FAULT        the picture with a pair missing, stuck or swapped, and back
  walkback panel order             the order of supply, data and light, against measured times`,
		Args: subcommand("panel command"),
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newPanelEDIDCmd(), newPanelLinkCmd(), newPanelViewCmd(), newPanelOrderCmd())
	return cmd
}

// boardArg reads a board that an argument means: the name of a demo board or a
// file whose name ends in .board.
func boardArg(cmd *cobra.Command, arg string) (*netlist.Board, bool, error) {
	if _, demo := boards.Source(arg); !demo && filepath.Ext(arg) != ".board" {
		return nil, false, nil
	}
	b, err := readBoard(cmd, arg)
	return b, true, err
}

// boardPanel is the panel that a board file names.
func boardPanel(b *netlist.Board) (panel.Spec, error) {
	s, err := panel.Of(b)
	if err == nil && !s.Told() {
		err = fmt.Errorf("the board file of %s names no panel: give the part of kind panel edid=FILE or mode=1366x768@60", b.Name)
	}
	return s, err
}

// identity reads the bytes of an identity memory: from a file, standard input, or
// the file that a board names. The name is for messages.
func identity(cmd *cobra.Command, arg string) (name string, data []byte, err error) {
	if arg == "-" {
		data, err := readInput(cmd, dump.MaxInput)
		return "standard input", data, err
	}
	read := readDumpFile
	b, isBoard, err := boardArg(cmd, arg)
	switch {
	case err != nil:
		return "", nil, err
	case isBoard:
		s, err := boardPanel(b)
		if err != nil {
			return "", nil, err
		}
		if s.EDID == "" {
			return "", nil, fmt.Errorf("the panel of %s has a mode and no file of identity data; walkback panel link %s tells of it", b.Name, arg)
		}
		read, arg = beside(arg), s.EDID
	}
	data, err = read(arg)
	switch {
	case err == nil:
		return arg, data, nil
	case errors.Is(err, os.ErrNotExist):
		return "", nil, noIdentity(arg)
	}
	return "", nil, err
}

// wantIdentity is what an argument should have been.
func wantIdentity() string {
	return "a file of identity data, or a board: one of " + strings.Join(boards.Names(), ", ")
}

// noIdentity says that there is no file, and what may have been meant.
func noIdentity(arg string) error {
	x := mistake.Mistake{Text: arg, Code: "no-file", Msg: "there is no file " + arg, Want: wantIdentity(),
		Near: mistake.Nearest(arg, boards.Names())}
	if _, err := mode.Parse(arg); err == nil {
		x.Msg += fmt.Sprintf("; for a mode use walkback panel link %q", arg)
	}
	return x
}

// specOf reads FILE, MODE or BOARD, each perhaps with KEY=VALUE, or - as a panel.
func specOf(cmd *cobra.Command, arg string) (s panel.Spec, read func(string) ([]byte, error), b *netlist.Board, err error) {
	b, isBoard, err := boardArg(cmd, arg)
	switch {
	case err != nil:
		return s, nil, nil, err
	case isBoard:
		if s, err = boardPanel(b); err != nil {
			return s, nil, nil, err
		}
		// What the file does not tell of the link is that of its own board.
		read = beside(arg)
		if asked, err := s.Read(read); err == nil && s.Link == link.Unknown {
			if _, fit, err := asked.On(b); err == nil {
				s.Link = fit.Kind
			}
		}
		return s, read, b, nil
	case arg == "-":
		name, data, err := identity(cmd, arg)
		return panel.Spec{EDID: name}, func(string) ([]byte, error) { return data, nil }, nil, err
	}
	s, err = panel.Parse(arg, isFile)
	return s, readDumpFile, nil, err
}

// completePanel offers demo boards, whose panels are known, and files.
func completePanel(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return boards.Names(), cobra.ShellCompDirectiveDefault
	}
	return nil, cobra.ShellCompDirectiveNoFileComp
}
