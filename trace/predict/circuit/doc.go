// Package circuit solves networks of two-terminal elements whose current is a
// monotone piecewise-linear function of their voltage.
//
//	n := circuit.NewNetwork(3, []circuit.Branch{{A: 1, B: 2}, {A: 2, B: 0}})
//	c := circuit.New(n)
//	c.Law[0], c.Law[1] = circuit.Conductor(1000), circuit.Junction(0.6, 10)
//	c.Held[1], c.V[1] = true, 5
//	ok := circuit.NewSolver(n).Solve(c, []int32{2})
//
// A [Network] is the topology and never changes. A [Circuit] puts a [Law] on each
// branch, sources on its nodes, and carries the operating point. A [Solver] is the
// scratch memory of solving, for one goroutine; many solvers may share a network.
// [Solver.Solve] works on the region round the nodes that it is given: held nodes
// and ground cut a network, so that a change far away costs nothing.
//
// [Inverse] is a circuit whose sources are out, solved once for all pairs of nodes:
// resistances in it, and in a circuit that differs from it in some branches, without
// solving anew. [Solver.Changes] is the small-signal solution round an operating
// point.
//
// Resistors, diodes, current sinks, sources at their limit and switches in current
// limit are the same thing here with other numbers, and such a network has one
// solution: the minimum of a convex function. Units are V, A, S and Ω throughout.
// Every node leaks by [Insulation] to ground, so that none is without a level.
package circuit
