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
	src, ok := boards.Source(name)
	if !ok {
		t.Fatalf("no demo board %s", name)
	}
	return Build(t, src)
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
