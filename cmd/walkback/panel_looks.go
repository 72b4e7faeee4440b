package main

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/link"
	"example.org/walkback/trace/panel/view"
	"github.com/spf13/cobra"
)

// back goes from what is seen to the lanes to suspect.
func (v *viewing) back(cmd *cobra.Command) error {
	links := []view.Link{v.link}
	if !v.known {
		links = view.AllLinks()
	}
	seen, err := view.ParseSeen(v.looks)
	if err != nil {
		return err
	}
	groups, err := view.Suspect(links, seen)
	if err != nil {
		return err
	}
	next := view.Next(groups, seen)
	if v.viewOpts.json {
		j := v.json()
		j.Seen, j.Groups, j.Next = seen.String(), groups, next
		return say.JSON(cmd.OutOrStdout(), j)
	}
	o := say.NewWriter(cmd.OutOrStdout())
	if len(links) == 1 {
		fmt.Fprintf(o, "link      %s\n", v.link)
	} else {
		fmt.Fprintln(o, "link      not told, so all are tried; --channels, --bits, --map or --board tell it")
	}
	hang(o, "seen      ", seen.String())
	for _, n := range slices.Concat(v.notes, view.Remarks(links, seen)) {
		hang(o, "note      ", n)
	}
	if !view.Fits(groups) {
		fmt.Fprintln(o, "\nNothing fits all of it; the nearest:")
	}
	v.writeGroups(o, groups, len(links))
	if next != nil {
		show := next.Show
		if len(next.Answers) > 0 {
			show += " (" + strings.Join(next.Answers, ", ") + ")"
		}
		fmt.Fprintln(o)
		hang(o, "next      ", show)
	}
	if dead, _ := view.Dead(groups); len(v.names(dead)) > 0 {
		fmt.Fprintf(o, "\nparts     walkback narrow %s --looks \"%s\"\n", v.viewOpts.board, seen)
	}
	return o.Flush()
}

// mostGroups is how many groups are printed; the likeliest come first.
const mostGroups = 6

func (v *viewing) writeGroups(o *say.Writer, groups []view.Suspicion, links int) {
	for i, g := range groups[:min(len(groups), mostGroups)] {
		fmt.Fprintln(o)
		var faults []view.Fault
		label := fmt.Sprintf("%3d  ", i+1)
		for _, c := range g.Candidates {
			name := c.String()
			if links > 1 {
				name += " (" + linksText(c.Links) + ")"
			}
			hang(o, label, name)
			label = "     "
			if c.Fault != nil {
				faults = append(faults, *c.Fault)
			}
		}
		hang(o, "     looks    ", g.Looks)
		for _, d := range g.Disagrees {
			hang(o, "     but not  ", d)
		}
		v.writeWalk(o, "     walk     ", v.lanes(faults))
	}
	if more := len(groups) - mostGroups; more > 0 {
		fmt.Fprintf(o, "\n%s more, of less usual faults; --json lists them\n", say.Count(more, "group"))
	}
}

func linksText(links []view.Link) string {
	if len(links) == len(view.AllLinks()) {
		return "any link"
	}
	words := make([]string, len(links))
	for i, l := range links {
		words[i] = l.String()
	}
	return strings.Join(words, "; ")
}

// lanes names the lanes of the board on which faults sit, each once. A pair that is turned
// or in another's place is alive: nothing to walk from.
func (v *viewing) lanes(faults []view.Fault) []string {
	var lanes []view.Lane
	for _, f := range faults {
		switch f.Kind {
		case view.Missing, view.Stuck, view.ClockGone:
			lanes = append(lanes, f.Lane)
		}
	}
	return v.names(lanes)
}

// names are what the board calls the lanes of its panel, each once.
func (v *viewing) names(lanes []view.Lane) []string {
	if v.board == nil {
		return nil
	}
	var channels []link.Channel
	for _, c := range link.Channels(v.board) {
		if c.Kind == link.LVDS && c.Doubt == "" {
			channels = append(channels, c)
		}
	}
	var names []string
	for _, n := range lanes {
		if n.Channel >= len(channels) {
			continue
		}
		lane := channels[n.Channel].Clock
		if n.Pair != view.Clock {
			if n.Pair >= len(channels[n.Channel].Data) {
				continue
			}
			lane = channels[n.Channel].Data[n.Pair]
		}
		if name := v.board.Lanes[lane].Name; !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// writeWalk says how to go on with lanes of the board.
func (v *viewing) writeWalk(o *say.Writer, label string, lanes []string) {
	for _, name := range lanes {
		fmt.Fprintf(o, "%swalkback trace %s %s=quiet\n", label, v.viewOpts.board, name)
	}
}

// hang writes a text behind its label, in lines that fit.
func hang(o *say.Writer, label, text string) { o.Hang(label, strings.Repeat(" ", len(label)), text) }
