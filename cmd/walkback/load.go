package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
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
		data, err := readInput(cmd, netlist.MaxFileBytes)
		return "standard input", string(data), err
	}
	if text, ok := boards.Source(arg); ok {
		return arg + ".board", text, nil
	}
	data, err := readFile(arg)
	switch {
	case err == nil:
		return say.Plain(arg), string(data), nil
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

// readInput reads standard input, and one byte more than most of it. When the context
// ends it does not wait for more.
func readInput(cmd *cobra.Command, most int64) ([]byte, error) {
	var data []byte
	read := make(chan error, 1)
	go func() {
		var err error
		data, err = io.ReadAll(io.LimitReader(cmd.InOrStdin(), most+1))
		read <- err
	}()
	select {
	case err := <-read:
		if err != nil {
			return nil, fmt.Errorf("read standard input: %w", err)
		}
		return data, nil
	case <-cmd.Context().Done():
		return nil, cmd.Context().Err()
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

// readBoard reads a board, prints its errors, and fails when there are any: those of its
// lines, and those that only a walk can find. Warnings are left to check.
func readBoard(cmd *cobra.Command, arg string) (*netlist.Board, error) {
	name, text, err := source(cmd, arg)
	if err != nil {
		return nil, err
	}
	b, problems := netlist.Read(name, text)
	if !mistake.HasErrors(problems) {
		problems = trace.Check(b)
	}
	if err := fileErrors(cmd, name, problems); err != nil {
		return nil, err
	}
	return b, readWeights(cmd, b)
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
		w.Computed, w.History = computed(b, s), netlist.WithHistory(nil, list)
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
