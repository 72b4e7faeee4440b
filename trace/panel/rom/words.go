package rom

import (
	"fmt"
	"slices"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/probe"
)

// The cautions that go with a probe.
const (
	ohms  = probe.ColdWay + ", ohms: "
	plug  = probe.Cable + ": "
	live  = "power on, one probe, nothing plugged or unplugged: "
	scope = "power on, short ground lead, set the scope to catch one burst while the memory is read: "
)

// advice is what patterns point to and what to do next. The order of looking, cheapest
// first, is common practice, no source; that lines are open drain with pull-ups, that a
// receiver acknowledges each byte, and the limit of the rise time (1000 ns at 100 kHz,
// 300 ns at 400 kHz) are NXP UM10204, from memory, as is its bus clear.
var advice = []struct{ patterns, points, next words }{
	{words{AllOnes, NotAnswered, NothingRead}, words{
		"the cable: data, clock, ground or supply of the memory not through",
		"the memory has no supply",
		"another address: the address pins of the chip put it at 0x51 to 0x57 and not at 0x50",
		"the read went to another bus than the panel's",
		"every byte acknowledged and all FF: the memory is erased",
	}, words{
		plug + "reseat the cable, look at both plugs",
		live + "supply of the memory at the connector, then the idle level of data and clock: both at the rail",
		"scan the bus for the addresses 0x50 to 0x57, then read again",
		ohms + "data and clock from the board to the connector",
	}},
	{words{AllZeros}, words{
		"a short from the data line to ground: liquid, a pinched cable, a protection diode",
		"the pull-up has no rail, or is open or lifted",
		"a chip that holds the line low after a broken read: it waits for clocks",
		"a level shifter whose one side has no supply",
	}, words{
		live + "idle level of the data line: at the rail, or near 0 V",
		live + "the rail on the far side of the pull-up",
		ohms + "data line to ground, with the panel cable in and then out: the side that is low",
		"nine clocks with data let go, or all power out for a minute, frees a chip that waits (NXP UM10204, bus clear)",
	}},
	{words{OneValue, RepeatedPage}, words{
		"the reader does not send the address of each block, or the memory misses it",
		"a write to the memory is refused while reads work: one direction of a level shifter",
		"a memory that is smaller than what was read",
		"the memory itself: all address bits come in on one wire, so no wire can lose one of them",
	}, words{
		"read again in one go from address 0, and byte by byte with another tool",
		scope + "the address byte and its acknowledge before each block",
	}},
	{words{Shifted}, words{
		"the reader reads on from where the last read stopped: the address byte was not sent",
		"the address byte was sent but not acknowledged: a marginal data line in the write direction",
		"the reader drops or adds bytes at its start",
	}, words{
		"read again, twice: a start that moves from read to read is the address that is not taken",
		scope + "the first byte after the chip address, and its acknowledge",
	}},
	{words{SlowRise}, words{
		"the bus is too fast for its pull-up: a long cable, a weak or wrong resistor, a protection diode that leaks or adds capacitance",
		"a level shifter between board and panel",
		"ringing on the clock: a broken ground in the cable",
	}, words{
		"read again at a tenth of the clock: a wire fault goes away, a reader fault stays",
		scope + "rise of data and clock from 30 % to 70 %: at most 1000 ns at 100 kHz, 300 ns at 400 kHz",
		ohms + "the pull-ups of data and clock: the same value on both lines",
	}},
	{words{HalfRead, PartAnswered}, words{
		"the supply of the memory dips or goes away during the read",
		"a contact of the cable that opens now and then",
		"slow or ringing clock edges: a chip that lost count sees no acknowledge and lets go",
		"another master on the bus that breaks in",
	}, words{
		"read three times: a place that moves is the line, a place that stays is the memory",
		plug + "reseat the cable",
		scope + "supply of the memory and the clock at the place where it breaks off",
	}},
	{words{ShortRead}, words{
		"the reader was told to read less, or the file was cut",
		"the read broke off",
	}, words{"read 128 or 256 bytes from address 0"}},
	{words{HeaderHurt}, words{
		"a bit misread on the line",
		"a memory that lost a bit or was written half",
		"a memory that was written without a new sum",
	}, words{
		"read three times and compare: always the same byte is the memory, another one each time is the line",
		"differences: read at a tenth of the clock, then look at the pull-ups",
	}},
	{words{NoHeader}, words{
		"another chip at this address, on another bus",
		"the file is of another memory: firmware, timing controller, touch",
		"the memory was overwritten",
	}, words{"check bus and address 0x50, read again and compare: noise changes, a memory does not"}},
	{words{OddRead, Noise}, words{
		"slow edges: weak pull-up, long cable, a clock too fast",
		"a contact of the cable",
		"noise from a converter beside the line",
	}, words{
		"read at a tenth of the clock and compare again",
		plug + "reseat the cable",
		scope + "rise of data and clock from 30 % to 70 %: at most 1000 ns at 100 kHz, 300 ns at 400 kHz",
	}},
	{words{SamePlace}, words{"a weak cell of the memory"}, words{"read again, more often: a weak cell stays in its place"}},
	{words{Longer}, nil, words{"read again with the same length"}},
	{words{Same}, words{"the memory, or a fault that is there in every read"}, words{"a third read makes it surer"}},
}

type words = []string

// described adds the advice to a finding.
func described(f Finding) Finding {
	for _, a := range advice {
		if slices.Contains(a.patterns, f.Pattern) {
			f.Points, f.Next = a.points, a.next
		}
	}
	return f
}

// Text writes the findings for people.
func Text(w *say.Writer, findings []Finding) {
	for i, f := range findings {
		if i > 0 {
			fmt.Fprintln(w)
		}
		sure := "likely"
		if f.Certain {
			sure = "certain"
		}
		head := f.Pattern
		if f.Where != "" {
			head += ", " + f.Where
		}
		w.Hang("", "  ", fmt.Sprintf("%s (%s)", head, sure))
		w.Hang("  ", "  ", f.Says)
		section(w, "Bytes that differ, read by read:", listed(f.Differ))
		section(w, "It points to, the cheapest first:", f.Points)
		section(w, "Next:", f.Next)
		if len(f.Repaired) > 0 {
			w.Hang("  ", "  ", fmt.Sprintf("Repaired: %s as they should have been.", say.Count(len(f.Repaired), "byte")))
		}
	}
}

// listed writes the first bytes that differ with their values, one a line.
func listed(diffs []Difference) []string {
	const most = 8
	var list []string
	for _, d := range diffs[:min(len(diffs), most)] {
		list = append(list, fmt.Sprintf("byte %d (0x%02x): % X", d.At, d.At, []byte(d.Values)))
	}
	if more := len(diffs) - most; more > 0 {
		list = append(list, fmt.Sprintf("and %d more", more))
	}
	return list
}

func section(w *say.Writer, title string, items []string) {
	if len(items) == 0 {
		return
	}
	w.Hang("  ", "  ", title)
	for _, it := range items {
		w.Hang("  - ", "    ", it)
	}
}
