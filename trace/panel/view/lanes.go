package view

import "slices"

// Dead goes from suspects to what a board may lack: the lanes of which any one, dead,
// gives the look, and in words what else gives it: faults of wiring and setting, and none
// at all. Without a picture, or where nothing fits, there are none.
func Dead(groups []Suspicion) (lanes []Lane, others []string) {
	for _, g := range groups {
		if len(g.Disagrees) > 0 || g.Look.Picture != Stable {
			continue
		}
		for _, c := range g.Candidates {
			dead := c.Fault != nil && slices.Contains([]Kind{Missing, Stuck, ClockGone}, c.Fault.Kind)
			switch {
			case !dead:
				others = append(others, c.String())
			case !slices.Contains(lanes, c.Fault.Lane):
				lanes = append(lanes, c.Fault.Lane)
			}
		}
	}
	return lanes, others
}

// Alive are the lanes without which no picture stands: a panel takes its clock and data
// enable from channel A (see layoutOf), also one with two channels (common practice).
func Alive() []Lane { return []Lane{{0, Clock}, {0, 2}} }
