package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
	"example.org/walkback/trace/predict"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

type flagType = pflag.Flag

// source returns the text of a board argument and the name to use in messages.
// An embedded name comes first, so that a demo works in every folder; a file of
// the same name is reached as ./name.
func source(cmd *cobra.Command, arg string) (name, text string, err error) {
	if arg == "-" {
		data, err := io.ReadAll(io.LimitReader(cmd.InOrStdin(), netlist.MaxFileBytes+1))
		if err != nil {
			return "", "", fmt.Errorf("read standard input: %w", err)
		}
		return "standard input", string(data), nil
	}
	if text, ok := boards.Source(arg); ok {
		return arg + ".board", text, nil
	}
	data, err := readFile(arg)
	switch {
	case err == nil:
		return arg, string(data), nil
	case errors.Is(err, os.ErrNotExist) && !strings.ContainsAny(arg, `/\.`):
		return "", "", mistake.Mistake{Text: arg, Code: "no-file", Msg: fmt.Sprintf("no board or file is called %q", arg),
			Want: "a file, - for standard input, or one of " + strings.Join(boards.Names(), ", "), Near: mistake.Nearest(arg, boards.Names())}
	case errors.Is(err, os.ErrNotExist):
		return "", "", mistake.Mistake{Text: arg, Code: "no-file", Msg: "there is no file " + arg,
			Want: "a file, - for standard input, or one of " + strings.Join(boards.Names(), ", "), Near: mistake.Nearest(arg, boards.Names())}
	default:
		return "", "", fmt.Errorf("read %s: %w", arg, cause(err))
	}
}

// cause strips the operation and the names from an error of a file.
func cause(err error) error {
	var pe *os.PathError
	var le *os.LinkError
	switch {
	case errors.As(err, &pe):
		return pe.Err
	case errors.As(err, &le):
		return le.Err
	}
	return err
}

// readFile reads a file, but no more of it than a board file may have, so that
// a device that never ends does not either.
func readFile(name string) ([]byte, error) { return readAtMost(name, netlist.MaxFileBytes) }

// readAtMost reads a file, and one byte more than most of it, so that its reader
// can tell that it is too long.
func readAtMost(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	return data, errors.Join(err, f.Close())
}

// loadBoard reads a board and puts the panel on it, where the command has to do
// with one.
func loadBoard(cmd *cobra.Command, arg string) (*netlist.Board, error) {
	b, err := readBoard(cmd, arg)
	if err != nil {
		return nil, err
	}
	return fitPanel(cmd, b, arg)
}

// readBoard reads a board, prints its errors, and fails when there are any.
// Warnings are left to check.
func readBoard(cmd *cobra.Command, arg string) (*netlist.Board, error) {
	name, text, err := source(cmd, arg)
	if err != nil {
		return nil, err
	}
	b, problems := netlist.Read(name, text)
	if !mistake.HasErrors(problems) {
		return b, readWeights(cmd, b)
	}
	return nil, fileErrors(cmd, name, problems)
}

// setting applies --state flags to the usual state of a board.
func setting(b *netlist.Board, flags []string) (netlist.Setting, error) {
	return settingOn(b, b.Usual(), flags)
}

// settingOn applies flags to a state; each dimension may be named once.
func settingOn(b *netlist.Board, s netlist.Setting, flags []string) (netlist.Setting, error) {
	s = slices.Clone(s)
	named := map[string]string{}
	for _, f := range flags {
		if err := b.ParseSetting(s, f); err != nil {
			return nil, err
		}
		name, _, _ := strings.Cut(strings.ToLower(f), "=")
		if first, ok := named[name]; ok && !strings.EqualFold(first, f) {
			return nil, fmt.Errorf("%s and %s cannot both be: give one value of each state", first, f)
		}
		named[name] = f
	}
	return s, nil
}

// walk answers BOARD READING… in a state. It also returns the readings.
func walk(cmd *cobra.Command, args, states []string) (*trace.Walk, []netlist.Reading, error) {
	b, err := loadBoard(cmd, args[0])
	if err != nil {
		return nil, nil, err
	}
	s, list, seen, err := observations(b, args[1:], states)
	if err != nil {
		return nil, nil, err
	}
	w, err := trace.Run(b, s, seen)
	if errors.Is(err, trace.ErrNoSymptom) {
		return nil, nil, noSymptom(b, s, seen)
	}
	if err == nil {
		w.Computed = computed(b, s)
	}
	return w, list, err
}

// observations reads the arguments of a command that looks at one state of a board,
// and compares them with a healthy board.
func observations(b *netlist.Board, args, states []string) (netlist.Setting, []netlist.Reading, []netlist.Observation, error) {
	s, err := setting(b, states)
	if err != nil {
		return nil, nil, nil, err
	}
	list, err := parsedReadings(b, s, args)
	if err != nil {
		return nil, nil, nil, err
	}
	if s, err = inOneState(b, s, len(states) > 0, list); err != nil {
		return nil, nil, nil, err
	}
	seen, err := judged(b, list, healthyReadings(b))
	return s, list, seen, err
}

// mostSimulated bounds the size of a board, in parts, whose readings a walk
// brings along.
const mostSimulated = 5000

// computed simulates the healthy board in a setting; nil when its values do not
// allow that, which check tells.
func computed(b *netlist.Board, s netlist.Setting) []trace.Computed {
	if len(b.Parts) > mostSimulated {
		return nil
	}
	p := predict.NewPredictor(b)
	if len(p.Unknown) > 0 {
		return nil
	}
	list, err := p.Healthy(netlist.Condition{Setting: s})
	if err != nil {
		return nil
	}
	out := make([]trace.Computed, len(list))
	for i, x := range list {
		out[i] = trace.Computed{Known: !b.Nets[i].Ground, Volts: x.Volts.Value, Low: x.Volts.Low, High: x.Volts.High,
			Floats: x.Volts.Word == predict.Floating}
		if x.Activity.Word != predict.Quiet {
			out[i].Swing = x.Activity.Value
		}
	}
	return out
}

// writeFile writes a file so that it is there whole or not at all. Links are followed,
// and the mode is kept; what is no regular file is written to as it is.
func writeFile(name string, data []byte) error {
	err := writeWhole(name, data)
	if err != nil {
		// The names that the system tells are those of the temporary file.
		return fmt.Errorf("write %s: %w", name, cause(err))
	}
	return nil
}

func writeWhole(name string, data []byte) error {
	target, err := followed(name)
	if err != nil {
		return err
	}
	mode := os.FileMode(0o644)
	if st, err := os.Stat(target); err == nil {
		if !st.Mode().IsRegular() {
			return writeThrough(target, data)
		}
		mode = st.Mode().Perm()
	}
	dir, _ := filepath.Split(target)
	f, err := os.CreateTemp(cmp.Or(dir, "."), ".walkback-*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	// What is renamed before it is on the disk may be empty after a power cut.
	err = errors.Join(err, f.Chmod(mode), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), target)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}

// mostLinks is how many links are followed, as on Linux.
const mostLinks = 40

// followed returns the name at the end of symbolic links, which may be that of a file
// that is not there yet.
func followed(name string) (string, error) {
	for range mostLinks {
		to, err := os.Readlink(name)
		if err != nil {
			return name, nil //nolint:nilerr // it is no link, or not there
		}
		if !filepath.IsAbs(to) {
			dir, _ := filepath.Split(name)
			to = dir + to
		}
		name = to
	}
	return "", errors.New("too many symbolic links")
}

// writeThrough writes to a device or a pipe, which cannot be renamed over.
func writeThrough(name string, data []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Close())
}
