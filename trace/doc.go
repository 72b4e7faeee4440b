// Package trace walks a board from an observation that differs from healthy
// back to the sources: every net, part, pin and test point that the observed
// point needs, in order, each with the reason why it is there.
//
//	walk, err := trace.Run(board, board.Usual(), observations)
//
// The question "what must hold for this point to be right?" is an AND/OR graph
// ([Graph]), made from the table of part kinds. A walk is that graph told in
// order ([Walk]). Directions come from need: a part written backwards in the
// file is walked the same way.
package trace
