package netlist

import (
	"strings"
	"testing"
)

// What no person types ends at once, with few and short messages.
func TestListsHaveLimits(t *testing.T) {
	b := larkspur(t)
	for name, c := range map[string]struct {
		text, want string
		mistakes   int
	}{
		"zeros":           {strings.Repeat("\x00", MaxListBytes+1), "more than 1 MiB", 1},
		"one long line":   {strings.Repeat("x", maxListLine+1) + "\nVBL=0V\n", "more than 4096 bytes", 1},
		"wrong lines":     {strings.Repeat("VLB=3V\n", 100_000), "the rest is not read", maxListErrors + 1},
		"many long lines": {strings.Repeat(strings.Repeat("x", maxListLine)+"\n", 200), "the rest is not read", maxListErrors + 1},
		"equal readings":  {strings.Repeat("VBL=0V\n", 100_000), "more than 2000 readings", 1},
	} {
		list, problems := b.ParseReadings("r.txt", c.text, b.Usual())
		if len(problems) != c.mistakes || !strings.Contains(problems[len(problems)-1].Msg, c.want) {
			t.Errorf("%s: %d mistakes, the last %v", name, len(problems), problems[max(0, len(problems)-1):])
		}
		if len(list) > MaxReadings+MaxRange {
			t.Errorf("%s: %d readings", name, len(list))
		}
		size := 0
		for _, m := range problems {
			size += len(m.Report())
		}
		if size > 1<<20 {
			t.Errorf("%s: messages of %d bytes", name, size)
		}
	}
	if list, problems := b.ParseReadings("r.txt", strings.Repeat("VBL=0V\n", MaxReadings), b.Usual()); len(list) != MaxReadings ||
		len(problems) > 0 {
		t.Errorf("%d readings of %d, %v", len(list), MaxReadings, problems)
	}
}
