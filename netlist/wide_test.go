package netlist_test

import (
	"testing"

	"example.org/walkback/netlist"
)

// TestFormatAlignsWideNames aligns by what is seen on a terminal, where such letters
// take two columns.
func TestFormatAlignsWideNames(t *testing.T) {
	f, problems := netlist.Parse("f", "board b1 \"基板\"\nnet GND ground\nnet 基板電源 5V\nsupply PS1 -> 基板電源\nresistor R1 基板電源 -> GND 1k\n")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	want := "board    b1       \"基板\"\nnet      GND      ground\nnet      基板電源 5V\nsupply   PS1      -> 基板電源\nresistor R1       基板電源 -> GND " +
		"1k\n"
	if got := string(netlist.Format(f)); got != want {
		t.Errorf("got\n%s, want\n%s", got, want)
	}
}
