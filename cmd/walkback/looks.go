package main

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/view"
	"github.com/spf13/cobra"
)

// looksFlag adds the flag that takes what the picture looks like for a reading.
func looksFlag(cmd *cobra.Command, looks *string) {
	cmd.Flags().StringVar(looks, "looks", "", "what full fields of colour look like, as in panel view: white=cyan,black=black;\nthe "+
		"lanes that explain it become a reading")
}

// looksReadings are what a look says of the lanes of a board: LANE=quiet where one explains
// it, "LANE=quiet or LANE=quiet" where several do, and that the lanes are alive without
// which there would be no picture. It says so on the standard error.
func looksReadings(cmd *cobra.Command, board, looks string) ([]string, error) {
	v := &viewing{viewOpts: viewOpts{board: board}}
	if err := v.settle(cmd); err != nil {
		return nil, err
	}
	seen, err := view.ParseSeen(looks)
	if err != nil {
		return nil, err
	}
	groups, err := view.Suspect([]view.Link{v.link}, seen)
	if err != nil {
		return nil, err
	}
	dead, others := view.Dead(groups)
	names := v.names(dead)
	none := view.Candidate{}
	switch dark := func(g view.Suspicion) bool { return g.Look.Picture != view.Stable }; {
	case !view.Fits(groups):
		return nil, fmt.Errorf("--looks: no fault of the link of %s looks like %s\n  walkback panel view --looks %q --board %s tells the "+
			"nearest", v.board.Name, seen, looks, board)
	case slices.ContainsFunc(groups, dark):
		return nil, fmt.Errorf("--looks: without a picture no lane can be told; %s", view.Next(groups, seen).Show)
	case slices.Contains(others, none.String()):
		return nil, fmt.Errorf("--looks: %s is what a link without a fault looks like, so it says nothing of a lane", seen)
	case len(names) == 0:
		return nil, fmt.Errorf("--looks: %s comes of no dead lane of %s, but of: %s", seen, v.board.Name, strings.Join(others, ", "))
	}
	readings := []string{strings.Join(names, "=quiet or ") + "=quiet"}
	for _, name := range v.names(view.Alive()) {
		if !slices.Contains(names, name) {
			readings = append(readings, name+"=alive")
		}
	}
	note := fmt.Sprintf("walkback: %s on a link of %s: %s", seen, v.link, strings.Join(readings, ", "))
	if len(others) > 0 {
		note += "; it could also be " + strings.Join(others[:min(len(others), 3)], ", ") +
			", which is a matter of wiring or setting and not looked for here"
	}
	fmt.Fprint(cmd.ErrOrStderr(), say.Hang("", "  ", strings.Join(append([]string{note}, v.notes...), "; "), say.Width))
	return readings, nil
}
