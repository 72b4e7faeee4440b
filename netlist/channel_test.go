package netlist

import (
	"testing"

	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
)

func TestChannelNames(t *testing.T) {
	for _, c := range []struct {
		part string
		want []string
	}{
		{"resistor R1 A -> B 1k", []string{""}},
		{"resistor RN1 A,B -> GND,GND 1k", []string{"A", "B"}},
		{"resistor RN1 V,V -> A,B 1k", []string{"A", "B"}},
		{"resistor RN1 V,V,W -> A,B,B 1k", []string{"1", "2", "3"}},
		{"choke FL1 A,B -> C,D r=4", []string{"A", "B"}},
		{"capacitor C1 A,B -> C,D 100n", []string{"A", "B"}},
		{"leds DS1 V -> A,B", []string{"A", "B"}},
		{"clamp D1 A,B -> GND", []string{"A", "B"}},
		{"boost U1 in=V,W lx=C en=D sink=A,B gnd=GND", []string{"A", "B"}},
		{"connector J1\n  pin 3 A -> B\n  pin 7 V -> W\n  pin 9 V", []string{"3", "7", "9"}},
		{"cable W1 A -> B", []string{""}},
		{"supply PS1 -> V", []string{""}},
	} {
		b, problems := Read("x.board", "board x\nnet GND ground\n"+c.part+"\nsupply PS9 -> Z\n")
		if mistake.HasErrors(problems) {
			t.Fatal(problems)
		}
		if diff := cmp.Diff(c.want, b.ChannelNames(0)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.part, diff)
		}
	}
}

func TestChannelByName(t *testing.T) {
	b, problems := Read("x.board", "board x\nnet GND ground\nresistor RN2 V,V -> A,B 2k2\n"+
		"resistor R1 V -> GND 1k\nconnector J1\n  pin 3 A -> C\n  pin 7 B -> D\nsupply PS9 -> Z\n")
	if mistake.HasErrors(problems) {
		t.Fatal(problems)
	}
	for _, c := range []struct {
		part, word string
		channel    int
		several    []string
	}{
		{"RN2", "A", 0, nil}, {"RN2", "B", 1, nil}, {"RN2", "V", None, []string{"A", "B"}},
		{"RN2", "1", None, nil}, {"RN2", "C", None, nil}, {"RN2", "", None, nil},
		{"R1", "V", 0, nil}, {"R1", "", None, nil},
		{"J1", "7", 1, nil}, {"J1", "D", 1, nil}, {"J1", "5", None, nil},
	} {
		id, _ := b.Part(c.part)
		channel, several := b.Channel(id, c.word)
		if diff := cmp.Diff(c.several, several); channel != c.channel || diff != "" {
			t.Errorf("%s.%s: channel %d, want %d; several (-want +got):\n%s", c.part, c.word, channel, c.channel, diff)
		}
	}
}
