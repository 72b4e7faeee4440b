// Package boardtest reads boards for tests.
package boardtest

import (
	"strings"
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

// Guarded returns larkspur13 with a ground pin where its connector and its cable have an
// empty place beside the backlight rail.
func Guarded(t testing.TB) *netlist.Board {
	t.Helper()
	src, _ := boards.Source("larkspur13")
	for _, pin := range []string{"    pin 25 VBL -> C_VBL\n", "    pin 25 C_VBL -> P_VBL\n"} {
		guard := strings.ReplaceAll(strings.ReplaceAll(pin, "25 VBL", "24 GND"), "25 C", "24 C")
		guarded := strings.Replace(src, pin, strings.ReplaceAll(guard, "_VBL", "_GND")+pin, 1)
		if guarded == src {
			t.Fatalf("larkspur13 has no line %q", pin)
		}
		src = guarded
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
