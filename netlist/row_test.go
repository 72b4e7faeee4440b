package netlist_test

import (
	"fmt"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
	"github.com/google/go-cmp/cmp"
)

// A bridge reaches the next wired pin over empty places, and beside a rail over guards.
func TestWhatABridgeJoins(t *testing.T) {
	const head = "board b \"B\"\nnet GND ground\nnet C_GND 0V\nnet V5 5V\nnet V8 8.4V\nnet V3 3.3V\nnet V1 1V\nconnector J2\n"
	for _, c := range []struct {
		name, pins string
		want       []string
	}{
		{"side by side", "pin 1 V5 -> A\npin 2 V1 -> B", []string{"1 V5 2 V1"}},
		{"over empty places", "pin 1 V5 -> A\npin 4 V1 -> B", []string{"1 V5 4 V1"}},
		{"over a guard", "pin 1 V5 -> A\npin 2 GND -> G\npin 3 V1 -> B", []string{"1 V5 2 GND", "2 GND 3 V1", "1 V5 3 V1"}},
		{"over guards and empty places, the rail last", "pin 1 V1 -> A\npin 3 GND -> G\npin 4 GND -> H\npin 6 V8 -> B",
			[]string{"1 V1 3 GND", "4 GND 6 V8", "1 V1 6 V8"}},
		{"lines on both sides of a guard", "pin 1 V3 -> A\npin 2 GND -> G\npin 3 V1 -> B", []string{"1 V3 2 GND", "2 GND 3 V1"}},
		{"a net of which the file says nothing", "pin 1 X -> A\npin 2 GND -> G\npin 3 V1 -> B",
			[]string{"1 X 2 GND", "2 GND 3 V1", "1 X 3 V1"}},
		{"the same rail on both sides", "pin 1 V5 -> A\npin 2 GND -> G\npin 3 V5 -> B", []string{"1 V5 2 GND", "2 GND 3 V5"}},
		{"guards at the end", "pin 1 GND -> G\npin 2 V5 -> A\npin 3 GND -> H", []string{"1 GND 2 V5", "2 V5 3 GND"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := boardtest.Build(t, head+"    "+strings.ReplaceAll(c.pins, "\n", "\n    ")+"\nsupply PS1 -> V8\n")
			if diff := cmp.Diff(c.want, beside(b)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func beside(b *netlist.Board) []string {
	var got []string
	for _, pair := range b.Beside(&b.Parts[0]) {
		got = append(got, fmt.Sprint(pair[0].Number, " ", b.Nets[pair[0].Net].Name, " ", pair[1].Number, " ", b.Nets[pair[1].Net].Name))
	}
	return got
}

// A conductor that the fitted panel leaves quiet reads 0 V and is no guard.
func TestAQuietConductorIsNoGuard(t *testing.T) {
	b := boardtest.Build(t, "board b \"B\"\nnet V8 8.4V\nnet V1 1V\nnet AP 1.2V swing=0.3V\nnet AN 1.2V swing=0.3V\nlane A.0 AP AN\n"+
		"connector J2\n    pin 1 V8 -> C8\n    pin 2 AP -> CP\n    pin 3 V1 -> C1\n    pin 4 AN -> CN\nnet GND ground\nsupply PS1 -> V8\n")
	with := b.With(netlist.Panel{Shown: true, Idle: []int{0}})
	if n, _ := with.Net("AP"); !with.Nets[n].Idle {
		t.Fatal("AP is not quiet")
	}
	if diff := cmp.Diff([]string{"1 V8 2 AP", "2 AP 3 V1", "3 V1 4 AN"}, beside(with)); diff != "" {
		t.Error(diff)
	}
}
