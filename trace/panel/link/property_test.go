package link

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/mode"
)

// ask draws an Ask that is right.
func ask(t *rapid.T) Ask {
	a := Ask{
		Mode: at(rapid.Float64Range(1e6, 4e9).Draw(t, "clock")),
		Bits: rapid.SampledFrom([]int{0, 18, 24, 30}).Draw(t, "bits"),
		Kind: rapid.SampledFrom([]Kind{Unknown, LVDS, EDP}).Draw(t, "kind"),
	}
	some := rapid.SampledFrom([]int{0, 0, 1, 2, 4})
	switch a.Kind {
	case LVDS:
		a.Channels = some.Draw(t, "channels")
	case EDP:
		a.Lanes = some.Draw(t, "lanes")
		a.Rate = rapid.SampledFrom(append(Rates(), 0, 0, 0)).Draw(t, "rate")
	}
	return a
}

// board draws a board whose lanes have names of all sorts.
func board(t *rapid.T) *netlist.Board {
	names := rapid.SliceOfNDistinct(rapid.OneOf(
		rapid.StringMatching(`[AB]\.(CLK|[0-4])`), rapid.StringMatching(`[AB](CLK|_CK|[0-4])`),
		rapid.StringMatching(`L[0-3]`), rapid.StringMatching(`[a-zA-Z0-9_.+-]{1,6}`),
	), 0, 14, rapid.ID[string]).Draw(t, "names")
	b := &netlist.Board{}
	for _, name := range names {
		clock := clockWord.MatchString(name[strings.LastIndexByte(name, '.')+1:])
		if rapid.IntRange(0, 9).Draw(t, "turn") == 0 {
			clock = !clock
		}
		b.Lanes = append(b.Lanes, netlist.Lane{Name: name, Clock: clock, Nets: make([]netlist.NetID, rapid.SampledFrom([]int{2, 2, 2,
			1}).Draw(t, "nets"))})
	}
	return b
}

func TestEveryLaneIsInOneChannel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := board(t)
		var all []int
		for _, c := range Channels(b) {
			all = append(all, c.all()...)
			if (c.Clock >= 0) != (c.Kind == LVDS) || c.Clock >= 0 && !b.Lanes[c.Clock].Clock {
				t.Fatalf("%+v", c)
			}
		}
		sameLanes(t, b, all)
	})
}

// sameLanes tests that a list holds each lane once.
func sameLanes(t *rapid.T, b *netlist.Board, all []int) {
	slices.Sort(all)
	if len(all) != len(b.Lanes) {
		t.Fatalf("lanes %v of %d", all, len(b.Lanes))
	}
	for i := range all {
		if all[i] != i {
			t.Fatalf("lanes %v of %d", all, len(b.Lanes))
		}
	}
}

func TestAliveAndIdleAreAllLanes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := ask(t), board(t)
		n, err := Needs(a)
		if err != nil {
			t.Fatal(err)
		}
		f := n.On(b)
		sameLanes(t, b, slices.Concat(f.Alive, f.Idle))
		for _, i := range f.Unsure {
			if !slices.Contains(f.Alive, i) {
				t.Fatalf("unsure %v is not in alive %v", f.Unsure, f.Alive)
			}
		}
		if !slices.IsSorted(f.Alive) || !slices.IsSorted(f.Idle) || !slices.IsSorted(f.Unsure) {
			t.Fatalf("not in the order of the file: %+v", f)
		}
		for _, c := range f.Channels {
			for _, i := range c.all() {
				if c.Doubt != "" && !slices.Contains(f.Unsure, i) {
					t.Fatalf("lane %d is doubtful and sure", i)
				}
			}
		}
		var out bytes.Buffer
		o := say.NewWriter(&out)
		FitText(o, b, f)
		if err := o.Flush(); err != nil || len(b.Lanes) > 0 && out.Len() == 0 {
			t.Fatalf("%v %q", err, &out)
		}
		if told := strings.Contains(out.String(), "must be alive") || strings.Contains(out.String(), "quiet  "); told && !f.OK() {
			t.Fatalf("lanes of a panel that does not fit:\n%s", &out)
		}
		if len(f.Unsure) > 0 && len(f.Notes)+len(f.Problems) == 0 {
			t.Fatalf("nothing says why %v are unsure", f.Unsure)
		}
		narrow(t, out.String())
		narrow(t, told(n))
	})
}

// narrow tests that no line is wider than the text, but for a single word.
func narrow(t *rapid.T, text string) {
	for l := range strings.Lines(text) {
		l = strings.TrimSuffix(l, "\n")
		if utf8.RuneCountInString(l) > say.Width && strings.Contains(strings.TrimSpace(l[labelWidth:]), " ") {
			t.Fatalf("%d columns: %s", utf8.RuneCountInString(l), l)
		}
	}
}

// Modes with numbers as large as they can be typed stay in the width.
func TestHugeModesAreNarrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		axis := func(name string) mode.Axis {
			part := rapid.SampledFrom([]int{0, 1, 1366, mode.MaxSize, 1 << 30})
			return mode.Axis{Active: part.Draw(t, name), Front: part.Draw(t, name), Sync: part.Draw(t, name), Back: part.Draw(t, name)}
		}
		a := ask(t)
		a.Mode = mode.Mode{Clock: mode.MaxClock, H: axis("h"), V: axis("v")}
		n, err := Needs(a)
		if err != nil {
			t.Fatal(err)
		}
		narrow(t, told(n))
	})
}

func TestTwiceTheClockNeverAsksForLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := ask(t)
		twice := a
		twice.Mode.Clock *= 2
		n, err := Needs(a)
		if err != nil {
			t.Fatal(err)
		}
		m, err := Needs(twice)
		if err != nil {
			t.Fatal(err)
		}
		if n.LVDS != nil {
			x, y := n.LVDS, m.LVDS
			if y.Channels < x.Channels || y.Pairs < x.Pairs || !near(y.Clock*float64(y.Channels), 2*x.Clock*float64(x.Channels)) {
				t.Fatalf("%+v then %+v", x, y)
			}
		}
		if n.EDP != nil {
			x, y := n.EDP, m.EDP
			if y.Lanes < x.Lanes || y.Capacity < x.Capacity || y.Fits && !x.Fits {
				t.Fatalf("%+v then %+v", x.Carry, y.Carry)
			}
		}
	})
}

// A board without doubt that has more channels or lanes never fits worse.
func TestMoreLanesNeverFitWorse(t *testing.T) {
	boards := []string{"A.CLK* A.0 A.1 A.2", "A.CLK* A.0 A.1 A.2 A.3", "A.CLK* A.0 A.1 A.2 A.3 A.4",
		"A.CLK* A.0 A.1 A.2 A.3 A.4 B.CLK* B.0 B.1 B.2 B.3 B.4"}
	lanes := []string{"L0", "L0 L1", "L0 L1 L2", "L0 L1 L2 L3"}
	rapid.Check(t, func(t *rapid.T) {
		a := ask(t)
		n, err := Needs(a)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range [][]string{boards, lanes} {
			last := math.MaxInt
			for _, names := range row {
				f := n.On(lanesOf(names))
				if len(f.Problems) > last {
					t.Fatalf("%s: %q, fewer before", names, f.Problems)
				}
				last = len(f.Problems)
			}
		}
	})
}
