// Package plan turns a walk into a checklist for the bench: where to probe, how
// to set the meter, in which state of the board, what to expect, what a wrong
// reading means and which step comes next.
//
//	list := plan.Make(walk, plan.WalkOrder{})
//
// The order is behind [Orderer]; cold checks come before powered ones whatever
// it says.
package plan
