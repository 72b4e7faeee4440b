package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"

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

// beside returns how to read files of identity data that a board file names: a demo
// board's from the program, another's from its own folder, that of one on standard input
// from the present one. A board file may come from anybody, so that nothing else is read,
// and nothing of what is no identity memory is shown.
func beside(arg string) func(string) ([]byte, error) {
	if _, demo := boards.Source(arg); demo {
		return boards.Beside
	}
	dir := "." // of standard input too
	if arg != "-" {
		dir = filepath.Dir(arg)
	}
	return func(name string) ([]byte, error) {
		if !filepath.IsLocal(name) {
			return nil, mistake.Mistake{Text: name, Code: "folder", Msg: fmt.Sprintf("the board file names %s, which is not looked at", name),
				Want: "a file beside the board file or in a folder below it"}
		}
		data, err := readUnder(dir, name)
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", filepath.Join(dir, name), cause(err))
		}
		if _, err := dump.Read(name, data); err != nil {
			path := filepath.Join(dir, name)
			return nil, fmt.Errorf("%s holds no identity data; walkback panel edid %s tells more", path, path)
		}
		return data, nil
	}
}

// errNoFile refuses a folder, a pipe or a device.
var errNoFile = errors.New("it is no file with contents")

// readUnder reads a regular file in a folder or below it. Links that lead out are refused.
func readUnder(dir, name string) ([]byte, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	// What is no file, such as a pipe, may keep who opens it waiting.
	f, err := root.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if info, err := f.Stat(); err != nil || !info.Mode().IsRegular() {
		return nil, errors.Join(err, errNoFile)
	}
	return io.ReadAll(io.LimitReader(f, dump.MaxInput+1))
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
		note(cmd, "the panel of the board file: %s; every lane is taken to be needed", err)
	case !f.Fit.OK():
		note(cmd, "the panel of the board file does not fit: %s Every lane is taken to be needed.",
			strings.Join(f.Fit.Problems, " "))
	default:
		fitNotes(cmd, b, f)
	}
	return f.Board, nil
}

// fitNotes says what keeps lanes needed that the panel may not use.
func fitNotes(cmd *cobra.Command, b *netlist.Board, f panel.Fitted) {
	if f.Asked.Doubt != "" {
		note(cmd, "%s; every lane is taken to be needed", f.Asked.Doubt)
		return
	}
	if names := laneNames(b, f.Fit.Unsure); len(names) > 0 {
		note(cmd, "it is not known whether the panel uses %s: they are taken to be needed, though quiet may be right; lanes=, channels= or "+
			"bits= settle it", strings.Join(names, ", "))
	}
}
