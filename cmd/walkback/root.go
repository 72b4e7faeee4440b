package main

import (
	"cmp"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"example.org/walkback/netlist/mistake"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func newRootCmd() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "walkback",
		Short: "From a display symptom on a laptop board back to the failed part",
		Long: `walkback reads a board's display path from a plain text file and walks from a
symptom (no rail, no clock on a lane, no EDID read) back to the sources.

` + brief() + `
Exit status: 0 all is well; 1 what stands in a file is wrong, be it a board, readings,
costs or a case, or the values of a board contradict each other; 2 the command line
is wrong, or a file cannot be read or written; 130 interrupted.`,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          subcommand("command"),
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },

		PersistentPreRunE: noEmptyFlag,
	}
	cmd.SetFlagErrorFunc(flagError)
	cmd.SetHelpCommand(newHelpCmd())
	// Cobra's own templates stay: one of ours would keep every exported method in
	// the binary, 6 MB more.
	cmd.Version = version()
	cobra.EnableCommandSorting = false
	for _, g := range commandGroups() {
		cmd.AddGroup(&cobra.Group{ID: g.id, Title: g.title + ", as in: " + g.example})
		for _, c := range g.commands {
			c.GroupID = g.id
			cmd.AddCommand(c)
		}
	}
	cmd.SetHelpCommandGroupID(groupSelf)
	cmd.SetCompletionCommandGroupID(groupSelf)
	cmd.InitDefaultCompletionCmd()
	for _, c := range cmd.Commands() {
		if c.Name() == "completion" {
			c.Args = subcommand("shell")
			c.RunE = func(cmd *cobra.Command, _ []string) error { return cmd.Help() }
		}
	}
	return cmd
}

// group is a part of the job with the commands that serve it.
type group struct {
	id, title, example string
	commands           []*cobra.Command
}

// groupSelf is the group of what concerns the program alone.
const groupSelf = "self"

// commandGroups returns the commands in the order of the job.
func commandGroups() []group {
	return []group{
		{"describe", "Describe a board", "walkback boards larkspur13 > mine.board",
			[]*cobra.Command{newBoardsCmd(), newKindsCmd(), newCheckCmd(), newFmtCmd()}},
		{"find", "Find the fault", "walkback probe larkspur13 dark", []*cobra.Command{newTraceCmd(), newProbeCmd(), newNarrowCmd(),
			newPredictCmd(), newReadingsCmd()}},
		{"panel", "The panel's side", "walkback panel edid larkspur13", []*cobra.Command{newPanelCmd()}},
		{"teach", "Teach", "walkback draw larkspur13 dark -o dark.svg", []*cobra.Command{newDrawCmd(), newExportCmd()}},
		{"record", "Work and record", "walkback bench larkspur13 dark --file 1207.case", []*cobra.Command{newBenchCmd()}},
		{groupSelf, "The program itself", "walkback man ~/.local/share/man/man1", []*cobra.Command{newManCmd()}},
	}
}

// noEmptyFlag refuses a flag that is given with nothing, as a script does whose
// variable is not set.
func noEmptyFlag(cmd *cobra.Command, _ []string) error {
	var err error
	cmd.Flags().Visit(func(f *flagType) {
		if f.Value.Type() == "string" && f.Value.String() == "" && err == nil {
			err = mistake.Mistake{Text: "--" + f.Name + "=", Code: "empty", Msg: fmt.Sprintf("--%s is given and empty", f.Name), Want: f.Usage}
		}
	})
	return err
}

// subcommand refuses what is the name of no command under this one.
func subcommand(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return nil
		}
		var names []string
		for _, c := range cmd.Commands() {
			names = append(names, c.Name())
		}
		return mistake.Unknown(what, args[0], names)
	}
}

// newHelpCmd is cobra's help, but a wrong name is an error with a suggestion.
func newHelpCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Help about a command",
		ValidArgsFunction: func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			var list []string
			if found, rest, err := cmd.Root().Find(args); err == nil && len(rest) == 0 {
				for _, c := range found.Commands() {
					if c.IsAvailableCommand() {
						list = append(list, c.Name()+"\t"+c.Short)
					}
				}
			}
			return list, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			found, rest, err := cmd.Root().Find(args)
			switch {
			case err != nil:
				return subcommand("command")(cmd.Root(), args)
			case len(rest) > 0 && found.HasSubCommands():
				return subcommand("command")(found, rest)
			case len(rest) > 0:
				return atMost(len(args)-len(rest), cmd, args)
			}
			found.InitDefaultHelpFlag()
			found.InitDefaultVersionFlag()
			return found.Help()
		},
	}
}

// flagError explains a wrong flag and names the nearest right one.
func flagError(cmd *cobra.Command, err error) error {
	msg := err.Error()
	var names []string
	if _, flag, ok := strings.Cut(msg, "unknown flag: "); ok {
		cmd.Flags().VisitAll(func(f *flagType) { names = append(names, "--"+f.Name) })
		return mistake.Unknown("flag", flag, names)
	}
	if _, flag, ok := strings.Cut(msg, "unknown shorthand flag: "); ok {
		letter, typed, _ := strings.Cut(flag, " in ")
		cmd.Flags().VisitAll(func(f *flagType) {
			if f.Shorthand != "" {
				names = append(names, "-"+f.Shorthand)
			}
			names = append(names, "--"+f.Name)
		})
		x := mistake.Unknown("flag", "-"+strings.Trim(letter, "'"), names)
		x.Text = typed
		x.Near = mistake.Nearest("-"+typed, names)
		return x
	}
	var invalid *pflag.InvalidValueError
	var lacking *pflag.ValueRequiredError
	switch {
	case errors.As(err, &invalid):
		f := invalid.GetFlag()
		typed := "--" + f.Name + "=" + invalid.GetValue()
		want := map[string]string{"bool": "--" + f.Name + " alone, or with =true or =false", "int": "a whole number: " + f.Usage}
		msg := fmt.Sprintf("--%s does not take %q", f.Name, invalid.GetValue())
		if why := invalid.Unwrap(); !errors.As(why, new(*strconv.NumError)) {
			msg += ": " + why.Error()
		}
		x := mistake.Mistake{Text: typed, Code: "flag", Msg: msg,
			Want: cmp.Or(want[f.Value.Type()], f.Usage)}
		return x.At(len(f.Name)+3, len(typed))
	case errors.As(err, &lacking):
		f := lacking.GetFlag()
		return mistake.Mistake{Text: "--" + f.Name, Code: "flag", Msg: fmt.Sprintf("nothing stands behind --%s", f.Name), Want: f.Usage}
	}
	return fmt.Errorf("%s\n  %s --help tells more", msg, cmd.CommandPath())
}

// needArg asks for an argument and says what it is.
func needArg(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return mistake.Mistake{Code: "missing", Msg: what, Want: cmd.UseLine()}
		}
		return nil
	}
}

// noArgs refuses arguments.
func noArgs(cmd *cobra.Command, args []string) error { return atMost(0, cmd, args) }

// oneArg refuses surplus arguments.
func oneArg(cmd *cobra.Command, args []string) error { return atMost(1, cmd, args) }

// atMost refuses more than n arguments.
func atMost(n int, cmd *cobra.Command, args []string) error {
	if len(args) <= n {
		return nil
	}
	typed := strings.Join(args, " ")
	from := len(typed) - len(strings.Join(args[n:], " "))
	x := mistake.Mistake{Text: typed, Code: "surplus", Msg: fmt.Sprintf("%q is one argument too many", args[n]), Want: cmd.UseLine()}
	return x.At(from, from+len(args[n]))
}
