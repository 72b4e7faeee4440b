package main

import (
	"slices"
	"strings"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/predict"
	"github.com/spf13/cobra"
)

// completeFlag registers a completion; it fails only for flags that do not exist.
func completeFlag(cmd *cobra.Command, flag string, f cobra.CompletionFunc) {
	if err := cmd.RegisterFlagCompletionFunc(flag, f); err != nil {
		panic(err)
	}
}

// completeWords offers a closed set of words for a flag.
func completeWords(cmd *cobra.Command, flag string, words ...string) {
	completeFlag(cmd, flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp))
}

// ofBoard completes with what a list says of the board that was given, if it can be read.
func ofBoard(list func(*netlist.Board) []string) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		if len(args) == 0 || args[0] == "-" {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		name, text, err := source(cmd, args[0])
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		b, problems := netlist.Read(name, text)
		if mistake.HasErrors(problems) {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return list(b), cobra.ShellCompDirectiveNoFileComp
	}
}

// completeBoards offers the boards of the program, and files.
func completeBoards(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return boards.Names(), cobra.ShellCompDirectiveDefault
}

// completeBoard offers boards, then the symptoms and names of the board that was given.
func completeBoard(cmd *cobra.Command, args []string, word string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return completeBoards(cmd, args, word)
	}
	if strings.Contains(word, "=") {
		return ofBoard(func(b *netlist.Board) []string { return completeReading(b, word) })(cmd, args, word)
	}
	list, how := ofBoard(symptomsAndPoints)(cmd, args, word)
	if len(list) > 0 {
		how |= cobra.ShellCompDirectiveNoSpace
	}
	return list, how
}

// symptomsAndPoints lists the symptoms of a board, and what can be read without naming
// how; ground is what readings are taken against.
func symptomsAndPoints(b *netlist.Board) []string {
	var list []string
	for _, s := range b.Symptoms {
		list = append(list, s.Name+"\t"+s.Words)
	}
	for _, n := range slices.Concat(b.FactNames(), b.LaneNames(), b.NetNames()) {
		if id, ok := b.Net(n); !ok || !b.Nets[id].Ground {
			list = append(list, n+"=")
		}
	}
	return list
}

// completeReading offers what may stand behind the equals sign of a point, and behind @.
func completeReading(b *netlist.Board, word string) []string {
	if reading, state, ok := strings.Cut(word, "@"); ok {
		first := state[:strings.LastIndex(state, ",")+1]
		var list []string
		for _, s := range append(stateValues(b), "panel=in", "panel=out") {
			list = append(list, reading+"@"+first+s)
		}
		return list
	}
	target, _, _ := strings.Cut(word, "=")
	p, err := b.ParsePoint(target)
	if err != nil {
		return nil
	}
	var words []string
	switch {
	case p.Part != netlist.None || p.Other != netlist.None:
		words = []string{"OL", "0.1ohm", "40kohm"}
	case p.Net != netlist.None:
		words = []string{"0V", "low", "high", "quiet", "ok", "wrong", "OL", "ohms:", "diode:", "swing:"}
	case p.Fact != netlist.None:
		words = []string{"no", "yes", "unread", "read", "seen"}
	default:
		words = []string{"quiet", "toggling"}
	}
	for i, w := range words {
		words[i] = target + "=" + w
	}
	return words
}

// completeState offers STATE=VALUE.
var completeState = ofBoard(stateValues)

func stateValues(b *netlist.Board) []string {
	var list []string
	for _, s := range b.States {
		for _, v := range s.Values {
			list = append(list, s.Name+"="+v)
		}
	}
	return list
}

// completeFault offers every single fault.
var completeFault = ofBoard(func(b *netlist.Board) []string {
	m := predict.New(b)
	var list []string
	for _, f := range m.AllFaults() {
		list = append(list, m.Name(f))
	}
	return list
})

// completePoint offers test points first, then nets and parts.
var completePoint = ofBoard(func(b *netlist.Board) []string {
	var points, parts []string
	for i := range b.Parts {
		if p := &b.Parts[i]; p.Kind.Form == netlist.SingleForm {
			points = append(points, p.Name)
		} else {
			parts = append(parts, p.Name)
		}
	}
	return slices.Concat(points, b.NetNames(), parts)
})
