package trace

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// view is what a walk tells, without its order.
type view struct {
	Steps, Loads, Common, Redundant, Loops, Held []string
	Err                                          bool
}

func viewOf(t *rapid.T, src, line string) view {
	b, problems := netlist.Read("test.board", src)
	if mistake.HasErrors(problems) {
		t.Fatalf("%v\n%s", problems, src)
	}
	setting, seen, err := observe(b, line)
	if err != nil {
		t.Fatalf("%s: %v", line, err)
	}
	w, err := Run(b, setting, seen)
	if err != nil {
		return view{Err: true}
	}
	v := view{Loads: w.loadNames(), Common: w.partList(w.Common), Redundant: w.redundancies(), Loops: w.loopText(),
		Held: strings.Fields(w.heldText())}
	for i := range w.Steps {
		s := &w.Steps[i]
		v.Steps = append(v.Steps, fmt.Sprintf("%s %s %s single=%t", w.kindWord(s), s.Name, s.Reason, s.Single))
	}
	for _, list := range []*[]string{&v.Steps, &v.Common, &v.Loops, &v.Held} {
		slices.Sort(*list)
		*list = slices.Compact(*list)
	}
	return v
}

// statements splits a board file, without its comments, into the lines that
// belong together.
func statements(src string) []string {
	var list []string
	for line := range strings.Lines(src) {
		text := strings.TrimRight(line, "\n")
		switch {
		case strings.TrimSpace(text) == "" || strings.HasPrefix(strings.TrimSpace(text), "#"):
		case strings.HasPrefix(text, " ") || strings.HasPrefix(text, "\t"):
			list[len(list)-1] += "\n" + text
		default:
			list = append(list, text)
		}
	}
	return list
}

// shuffled writes the statements of a board in another order. Board and states
// stay in front.
func shuffled(t *rapid.T, src string) string {
	var head, rest []string
	for _, s := range statements(src) {
		if word := strings.Fields(s)[0]; word == "board" || word == "state" {
			head = append(head, s)
		} else {
			rest = append(rest, s)
		}
	}
	return strings.Join(append(head, rapid.Permutation(rest).Draw(t, "order")...), "\n") + "\n"
}

// turned writes some of the arrows of a board the other way round, where the
// direction of the arrow has no meaning of its own.
func turned(t *rapid.T, src string) string {
	list := statements(src)
	swap := func(line string) string {
		left, right, ok := strings.Cut(line, " -> ")
		if !ok || !rapid.Bool().Draw(t, "turn") {
			return line
		}
		cut := strings.LastIndexByte(left, ' ') + 1
		end := strings.IndexByte(right+" ", ' ')
		return left[:cut] + right[:end] + " -> " + left[cut:] + right[end:]
	}
	for i, s := range list {
		switch strings.Fields(s)[0] {
		case "fuse", "resistor", "ferrite", "filter", "choke", "coil", "connector", "cable":
			lines := strings.Split(s, "\n")
			for k := range lines {
				lines[k] = swap(lines[k])
			}
			list[i] = strings.Join(lines, "\n")
		}
	}
	return strings.Join(list, "\n") + "\n"
}

// complaint draws up to two things that are wrong and up to two that are right,
// in a state of the board.
func complaint(t *rapid.T, b *netlist.Board) string {
	var names []string
	for i := range b.Nets {
		if !b.Nets[i].Ground {
			names = append(names, b.Nets[i].Name)
		}
	}
	names = append(append(names, b.LaneNames()...), b.FactNames()...)
	names = rapid.Permutation(names).Draw(t, "names")
	wrong, right := rapid.IntRange(1, 2).Draw(t, "wrong"), rapid.IntRange(0, 2).Draw(t, "right")
	var words []string
	for i, n := range names[:min(len(names), wrong+right)] {
		if i < wrong {
			words = append(words, n+"=missing")
		} else {
			words = append(words, n+"=ok")
		}
	}
	line := strings.Join(words, " ")
	if len(b.States) > 0 {
		line += " --state"
		for _, s := range b.States {
			line += " " + s.Name + "=" + rapid.SampledFrom(s.Values).Draw(t, s.Name)
		}
	}
	return line
}

func TestOrderOfTheFileChangesNoWalk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { sameWalk(t, demoSource(t), shuffled) })
}

func TestDirectionOfAnArrowChangesNoWalk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { sameWalk(t, demoSource(t), turned) })
}

func TestOrderOfARandomBoardChangesNoWalk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { sameWalk(t, randomBoard(t), shuffled) })
}

func TestDirectionOnARandomBoardChangesNoWalk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { sameWalk(t, randomBoard(t), turned) })
}

func demoSource(t *rapid.T) string {
	src, _ := boards.Source(rapid.SampledFrom(boards.Names()).Draw(t, "board"))
	return src
}

func sameWalk(t *rapid.T, src string, change func(*rapid.T, string) string) {
	b, problems := netlist.Read("test.board", src)
	if mistake.HasErrors(problems) {
		t.Fatalf("%v\n%s", problems, src)
	}
	line := complaint(t, b)
	other := change(t, src)
	if diff := cmp.Diff(viewOf(t, src, line), viewOf(t, other, line)); diff != "" {
		t.Fatalf("%s: the walk from %s changes (-as written +changed):\n%s\n%s\n---\n%s", b.Name, line, diff, src, other)
	}
}

// randomBoard draws a board with parts that conduct both ways, one way and when
// enabled, regulators, a chip with rules and loads, with resistances from
// milliohms to kilohms.
func randomBoard(t *rapid.T) string {
	n := rapid.IntRange(4, 9).Draw(t, "nets")
	net := func(label string) string { return fmt.Sprintf("N%d", rapid.IntRange(0, n-1).Draw(t, label)) }
	two := func() (string, string) {
		a := rapid.IntRange(0, n-1).Draw(t, "a")
		z := (a + rapid.IntRange(1, n-1).Draw(t, "z")) % n
		return fmt.Sprintf("N%d", a), fmt.Sprintf("N%d", z)
	}
	list := []string{"board random", "net GND ground", "supply PS1 -> N0"}
	driven := map[string]bool{"N0": true}
	for i := range rapid.IntRange(4, 16).Draw(t, "parts") {
		a, z := two()
		switch rapid.IntRange(0, 9).Draw(t, "kind") {
		case 0, 1, 2:
			list = append(list, fmt.Sprintf("resistor R%d %s -> %s %s", i, a, z,
				rapid.SampledFrom([]string{"10m", "50m", "1", "10", "33", "1k", "10k"}).Draw(t, "ohms")))
		case 3:
			list = append(list, fmt.Sprintf("fuse F%d %s -> %s r=25m", i, a, z))
		case 4:
			list = append(list, fmt.Sprintf("connector J%d\n    pin 1 %s -> %s\n    pin 2 %s -> %s", i, a, z, a, z))
		case 5:
			list = append(list, fmt.Sprintf("diode D%d %s -> %s", i, a, z))
		case 6:
			list = append(list, fmt.Sprintf("loadswitch U%d %s -> %s en=%s gnd=GND", i, a, z, net("enable")))
		case 7:
			list = append(list, fmt.Sprintf("capacitor C%d %s -> GND 1u", i, a))
		case 8:
			list = append(list, fmt.Sprintf("coil L%d %s -> %s r=100m", i, a, z))
		case 9:
			if !driven[z] {
				driven[z] = true
				list = append(list, fmt.Sprintf("regulator U%d in=%s out=%s gnd=GND", i, a, z))
			}
		}
	}
	a, _ := two()
	list = append(list, fmt.Sprintf("controller U99 vdd=N0 gnd=GND io=%s\n    makes READY when %s | N0", a, a))
	return strings.Join(list, "\n") + "\n"
}
