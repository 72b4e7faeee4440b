// Package boardtest reads boards for tests.
package boardtest

import (
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// Demo returns one of the boards that the program carries.
func Demo(t testing.TB, name string) *netlist.Board {
	t.Helper()
	return With(t, name, "")
}

// With returns a demo board with statements added at the end of its file.
func With(t testing.TB, name, statements string) *netlist.Board {
	t.Helper()
	src, ok := boards.Source(name)
	if !ok {
		t.Fatalf("no demo board %s", name)
	}
	return Build(t, src+"\n"+statements)
}

// Bridged returns larkspur13 with 1 Ω from the backlight rail to the pin beside it, as a
// part of the board file.
func Bridged(t testing.TB) *netlist.Board {
	t.Helper()
	return With(t, "larkspur13", "resistor R99 VBL -> BL_K4 1ohm\n")
}

// Build reads a board file in which warnings are allowed.
func Build(t testing.TB, src string) *netlist.Board {
	t.Helper()
	b, problems := netlist.Read("test.board", src)
	if mistake.HasErrors(problems) {
		t.Fatalf("%v\n%s", problems, src)
	}
	return b
}
