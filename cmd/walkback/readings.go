package main

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
	"example.org/walkback/trace/predict"
	"github.com/spf13/cobra"
)

func newReadingsCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "readings",
		Short: "How a reading is typed, for every command and in board files",
		Long:  netlist.ReadingsText(),
		Example: `  walkback readings
  walkback trace larkspur13 TP7=0V VBL=ohms:0.1`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(cmd.OutOrStdout(), netlist.ReadingsText())
			return err
		},
	}
}

// parsedReadings reads the arguments of a command: readings and names of symptoms.
func parsedReadings(b *netlist.Board, s netlist.Setting, args []string) ([]netlist.Reading, error) {
	var list []netlist.Reading
	for _, a := range joined(args) {
		found, err := b.Readings(a, s)
		if err != nil {
			return nil, err
		}
		list = append(list, found...)
	}
	return list, nil
}

// bareUnit is a unit or a prefix that stands alone.
var bareUnit = regexp.MustCompile(`^([pnuµμmkKMG]?((?i:v|ohms?)|[ΩΩ])|(?i:meg)((?i:ohms?)|[ΩΩ])?|[kKM])$`)

// joined puts together what a shell has parted at blanks: VBL = 0V, VBL=40 kΩ.
func joined(args []string) []string {
	var list []string
	for _, a := range args {
		if n := len(list) - 1; n >= 0 {
			last := list[n]
			pair := strings.Contains(last, "=")
			if strings.HasSuffix(last, "=") || strings.HasPrefix(a, "=") && !pair || pair && bareUnit.MatchString(a) {
				list[n] += " " + a
				continue
			}
		}
		list = append(list, a)
	}
	return list
}

// inOneState returns the state of a walk. A walk is of one state: that of --state or
// the usual one, or that which every reading with power on names.
func inOneState(b *netlist.Board, s netlist.Setting, given bool, list []netlist.Reading) (netlist.Setting, error) {
	hot := slices.DeleteFunc(slices.Clone(list), func(r netlist.Reading) bool { return r.Probe.Cold() })
	if len(hot) == 0 {
		return s, nil
	}
	first := hot[0].Probe.State.Setting
	same := !slices.ContainsFunc(hot, func(r netlist.Reading) bool { return r.Probe.State.Setting.Distance(first) > 0 })
	if same && !given {
		s = first
	}
	for _, r := range hot {
		wrong := func(msg, want string) error {
			return mistake.Mistake{Text: r.Text, Column: 1, Width: utf8.RuneCountInString(r.Text), Code: "observation", Msg: msg, Want: want}
		}
		switch st := r.Probe.State; {
		case st.Unplugged:
			return nil, wrong("this is read with the panel unplugged, and a walk is of a board with its panel",
				"a reading with the panel plugged; narrow takes this one")
		case st.Setting.Distance(s) > 0:
			return nil, wrong(fmt.Sprintf("this is read while %s, and the walk is of %s", b.SettingText(st.Setting), b.SettingText(s)),
				"--state with one state for all readings; narrow takes readings of several states")
		}
	}
	return s, nil
}

// judged compares readings with a healthy board; what is said twice is left out, and
// two that differ are refused.
func judged(b *netlist.Board, list []netlist.Reading, healthy netlist.Healthy) ([]netlist.Observation, error) {
	var kept []netlist.Observation
	var words []bool // of kept: told in a word
	for _, r := range list {
		if len(r.Or) > 0 {
			return nil, mistake.Mistake{Text: r.Text, Column: 1, Width: utf8.RuneCountInString(r.Text), Code: "observation",
				Msg: "one of several is read, and a walk begins at one point", Want: "one of them; narrow and bench take several"}
		}
		o, err := b.Judge(r, healthy)
		if err != nil {
			return nil, err
		}
		i := slices.IndexFunc(kept, func(k netlist.Observation) bool { return trace.SamePoint(k, o) })
		switch {
		case i < 0:
			kept, words = append(kept, o), append(words, r.Seen != nil)
		case kept[i].Word != o.Word && (kept[i].Wrong != o.Wrong || kept[i].Above != o.Above || !words[i] && r.Seen == nil):
			return nil, fmt.Errorf("%s and %s cannot both be: give one reading of each point", b.ObservationText(kept[i]), b.ObservationText(o))
		}
	}
	return kept, nil
}

// healthyReadings returns what a simulation of the healthy board shows at a probe. It
// simulates when it is first asked, and knows nothing of a board that is too large or
// that cannot be simulated.
func healthyReadings(b *netlist.Board) netlist.Healthy {
	var m *predict.Simulator
	return func(p netlist.Probe) (low, high float64, known bool) {
		if len(b.Parts) > mostSimulated {
			return 0, 0, false
		}
		if m == nil {
			m = predict.New(b)
		}
		return m.HealthyBand(p)
	}
}

// noSymptom explains a question that has nothing wrong in it.
func noSymptom(b *netlist.Board, s netlist.Setting, seen []netlist.Observation) error {
	if len(seen) == 0 {
		return missing(b, "a symptom is missing")
	}
	o := seen[0]
	msg := fmt.Sprintf("nothing here differs from a healthy board: %s is right", b.ObservationText(o))
	if o.Target.Lane != netlist.None && b.Lanes[o.Target.Lane].Idle {
		return fmt.Errorf("%s with this panel\n  panel: %s", msg, b.PanelText())
	}
	if len(s) > 0 && o.Cold == nil {
		msg += " while " + b.SettingText(s)
	}
	if o.Target.Net != netlist.None && o.Cold == nil {
		if e, ok := b.ExpectIn(o.Target.Net, s); ok {
			msg += fmt.Sprintf(" (a healthy board reads %s)", e.String())
		}
	}
	return errors.New(msg)
}

// missing asks for a reading and lists the symptoms of the board.
func missing(b *netlist.Board, msg string) error {
	msg += ": say what was read or seen, as in VBL=0V or EDID=unread"
	for _, sy := range b.Symptoms {
		msg += fmt.Sprintf("\n  %-14s %s", sy.Name, sy.Words)
	}
	return errors.New(msg)
}
