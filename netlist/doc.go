// Package netlist reads a board file, the plain text in which a technician
// describes the display path of one board, and turns it into a checked model.
//
//	file, problems := netlist.Parse("larkspur13.board", src)
//	board, more := netlist.Build(file)
//
// [File] is the text as written: every token keeps its position, comments and
// blank lines survive [Format]. [Board] is the board as understood: dense
// integer ids for nets and parts, and no syntax. What a part kind has for pins,
// what it needs, what it gives and how it fails stands in one table, [Kinds].
package netlist
