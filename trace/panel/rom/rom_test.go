package rom

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/dump"
	"example.org/walkback/trace/panel/edid"
	"example.org/walkback/trace/probe"
)

// memory is the base block of a dump in a chip of 128 bytes, or all of it in one
// of 256, FF where nothing was written.
func memory(b []byte, size int) []byte {
	cells := bytes.Repeat([]byte{0xFF}, size)
	copy(cells, b)
	return cells
}

func first(t testing.TB, read []byte) Finding {
	t.Helper()
	list := Diagnose(read, nil)
	if len(list) == 0 {
		t.Fatalf("nothing found in % x", read)
	}
	return list[0]
}

// each runs a check over all dumps in chips of both sizes.
func each(t *testing.T, check func(t *testing.T, cells []byte)) {
	t.Helper()
	for name, b := range usuals(t) {
		for _, size := range []int{128, 256} {
			t.Run(fmt.Sprintf("%s/%d", name, size), func(t *testing.T) { check(t, memory(b, size)) })
		}
	}
}

func TestSimulatedChipReadsRight(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		c := newChip(cells)
		c.start()
		if got := c.read(len(cells)); !bytes.Equal(got, cells) {
			t.Errorf("% x", got)
		}
	})
}

func TestLineHeld(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		c := newChip(cells)
		c.held = func() int { return 0 }
		if f := first(t, c.read(128)); f.Pattern != AllZeros || !f.Certain {
			t.Error(f)
		}
		c = newChip(cells)
		c.dead = 1
		if f := first(t, c.read(128)); f.Pattern != AllOnes || !f.Certain {
			t.Error(f)
		}
	})
}

func TestReadStartsWhereTheLastOneEnded(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for _, before := range []int{1, 8, 37, 100, 121, 127} {
			c := newChip(cells)
			c.deaf = true
			c.read(before)
			got := first(t, c.read(len(cells)))
			if got.Pattern != Shifted || !got.Certain || !bytes.Equal(got.Repaired, cells) {
				t.Errorf("%d: %s %s", before, got.Pattern, got.Where)
			}
		}
	})
}

func TestLostBytes(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for k := 1; k <= 7; k++ {
			read := append(bytes.Clone(cells[k:]), bytes.Repeat([]byte{0xA5}, k)...)
			got := first(t, read)
			if got.Pattern != Shifted || !bytes.HasPrefix(got.Repaired, cells[:128]) {
				t.Errorf("%d: %s %s", k, got.Pattern, got.Where)
			}
		}
	})
}

func TestStuckAddressLine(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for k := range bits.Len(uint(len(cells))) - 1 {
			for value := range 2 {
				c := newChip(cells)
				c.addrAnd &^= 1 << k
				c.addrOr = value << k
				c.start()
				read := c.read(len(cells))
				if alike(cells, k, value) {
					continue
				}
				want := fmt.Sprintf("blocks of %s", say.Count(1<<k, "byte"))
				if got := first(t, read); got.Pattern != RepeatedPage || got.Where != want || !got.Certain {
					t.Errorf("A%d: %s", k, names(Diagnose(read, nil)))
				}
			}
		}
	})
}

// alike tells the cases that the package comment names: with a second half that is
// empty or a copy, a stuck A7 shows what an erased, a held or a small memory shows,
// and A6 what a page of 64 bytes shows.
func alike(cells []byte, k, value int) bool {
	if k < 6 || len(cells) == 128 {
		return false
	}
	half := cells[128:]
	same := bytes.Equal(cells[:128], half)
	if k == 6 {
		return same
	}
	empty := len(bytes.Trim(half, string(half[:1]))) == 0
	return value == 0 && cells[126] == 0 || value == 1 && (empty || same)
}

func names(list []Finding) string {
	var s []string
	for _, f := range list {
		s = append(s, fmt.Sprintf("%s (%s) %v", f.Pattern, f.Where, f.Certain))
	}
	return strings.Join(s, ", ")
}

func TestPageReadAgainAndAgain(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for _, size := range []int{8, 16, 32} {
			c := newChip(cells)
			var read []byte
			for range len(cells) / size {
				c.counter = 0
				read = append(read, c.read(size)...)
			}
			if got := first(t, read); got.Pattern != RepeatedPage || !strings.Contains(got.Where, fmt.Sprintf("blocks of %d bytes", size)) {
				t.Errorf("%d: %s %s", size, got.Pattern, got.Where)
			}
		}
	})
}

// A clock that the chip misses ends the read: it takes the next bit for a missing
// acknowledge (NXP UM10204: after no acknowledge the sender lets go).
func TestLostClockBreaksOff(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for _, at := range []int{9*30 + 3, 9*60 + 1, 9*100 + 5} {
			c := newChip(cells)
			c.lostClock = at
			c.start()
			read := c.read(len(cells))
			if tail(read[:128]) > 120 {
				t.Fatalf("the simulated read goes on: % x", read)
			}
			if got := first(t, read); got.Pattern != HalfRead || !got.Certain {
				t.Errorf("%d: %s", at, names(Diagnose(read, nil)))
			}
		}
	})
}

func TestSupplyGone(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for _, at := range []int{3, 20, 64, 119} {
			c := newChip(cells)
			c.dead = at + 1
			c.start()
			read := c.read(len(cells))
			got := first(t, read)
			if at < 7 { // of the header only 00 and FF came
				if got.Pattern != HalfRead {
					t.Errorf("%d: %s", at, got.Pattern)
				}
				continue
			}
			if got.Pattern != HalfRead || !got.Certain {
				t.Errorf("%d: %s", at, names(Diagnose(read, nil)))
			}
		}
	})
}

// Slow edges and sampling a clock early look the same in the header: both say
// that the line was sampled before it had risen.
func TestEdges(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for name, c := range map[string]*chip{"slow": {slow: true}, "early": {early: true}} {
			c.cells, c.addrAnd, c.held = cells, len(cells)-1, func() int { return 1 }
			c.start()
			got := Diagnose(c.read(len(cells)), nil)
			if got[0].Pattern != SlowRise {
				t.Errorf("%s: %s", name, names(got))
			}
			if got[0].Certain {
				t.Errorf("%s: certain", name)
			}
		}
	})
}

// A single wrong bit behind the header looks like no wire.
func TestOneWrongBit(t *testing.T) {
	dumps := usuals(t)
	var keys []string
	for k := range dumps {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	rapid.Check(t, func(t *rapid.T) {
		b := bytes.Clone(dumps[rapid.SampledFrom(keys).Draw(t, "dump")][:128])
		at, bit := rapid.IntRange(0, 127).Draw(t, "byte"), rapid.IntRange(0, 7).Draw(t, "bit")
		orig := bytes.Clone(b)
		b[at] ^= 1 << bit
		list := Diagnose(b, nil)
		switch {
		case at < 8:
			if list[0].Pattern != HeaderHurt || !bytes.Equal(list[0].Repaired, orig) {
				t.Fatalf("byte %d: %s", at, names(list))
			}
		case len(list) > 0 && (list[0].Pattern != HalfRead || list[0].Certain):
			t.Fatalf("byte %d: %s", at, names(list))
		}
	})
}

func TestNotAnswered(t *testing.T) {
	b := bytes.Repeat([]byte{dump.Filler}, 128)
	for _, tc := range []struct {
		missing []dump.Range
		pattern string
		says    string
	}{
		{[]dump.Range{{From: 0, To: 128}}, NotAnswered, "none of the 128 bytes"},
		{[]dump.Range{{From: 64, To: 128}}, PartAnswered, "64 of 128 bytes are not in the read, in 1 place:"},
		{[]dump.Range{{From: -2, To: 5}}, PartAnswered, "5 of 128"},
		{[]dump.Range{{From: 3, To: 4}, {From: 9, To: 11}}, PartAnswered, "3 of 128 bytes are not in the read, in 2 places"},
	} {
		f := Diagnose(b, tc.missing)[0]
		if f.Pattern != tc.pattern || !strings.Contains(f.Says, tc.says) {
			t.Errorf("%s: %s", f.Pattern, f.Says)
		}
	}
	if f := Diagnose(nil, nil); len(f) != 1 || f[0].Pattern != NothingRead {
		t.Error(f)
	}
}

func TestCopiesBehindAnExtension(t *testing.T) {
	for name, b := range usuals(t) {
		base := bytes.Clone(b[:128])
		base[127] -= 1 - base[126] // the sum stays 0
		base[126] = 1
		if f := first(t, slices.Concat(base, base)); f.Pattern != RepeatedPage || f.Where != "blocks of 128 bytes" || !f.Certain {
			t.Errorf("%s: %s", name, f.Pattern)
		}
		if f := first(t, append(bytes.Clone(base), bytes.Repeat([]byte{0xFF}, 128)...)); f.Pattern != HalfRead {
			t.Errorf("%s: %s", name, f.Pattern)
		}
		padded := append(bytes.Clone(base), 0x02, 0x03, 0x04)
		if f := first(t, append(padded, make([]byte, 125)...)); f.Pattern != HalfRead || f.Certain {
			t.Errorf("%s: %s, certain %v", name, f.Pattern, f.Certain)
		}
		if list := Diagnose(base, nil); len(list) > 0 {
			t.Errorf("%s: %s", name, names(list))
		}
	}
}

func TestNoDiagnosisPanics(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOfN(rapid.Byte(), 0, 400).Draw(t, "bytes")
		for _, f := range Diagnose(b, []dump.Range{{From: rapid.IntRange(-3, 9).Draw(t, "from"), To: rapid.IntRange(-3, 500).Draw(t, "to")}}) {
			if f.Says == "" || len(f.Points) == 0 || len(f.Next) == 0 {
				t.Fatalf("no words: %+v", f)
			}
		}
		if list := Diagnose(b, nil); len(b) > 128 && len(list) == 0 {
			t.Fatal("random bytes pass for a memory")
		}
	})
}

// FF, A5 and 80 are alike only to a reader of UTF-8.
func TestHighBytesAreNotAllOnes(t *testing.T) {
	b := bytes.Repeat([]byte{0xFF, 0xA5, 0x80}, 43)[:128]
	for _, f := range Diagnose(b, nil) {
		if f.Pattern == AllOnes {
			t.Error(f.Says)
		}
	}
	good := corpus(t)["4524225C4E1F.txt"]
	if f := Compare(good, b); f.Pattern == AllOnes || f.Pattern == HalfRead {
		t.Error(f.Says)
	}
}

func FuzzDiagnose(f *testing.F) {
	for _, b := range usuals(f) {
		f.Add(b[:128], 3, 5)
	}
	f.Fuzz(func(t *testing.T, b []byte, from, to int) {
		list := Diagnose(b, nil)
		for _, x := range list {
			if n := len(x.Repaired); n > 0 && (n%128 != 0 || !bytes.HasPrefix(x.Repaired, edid.Header()) || edid.Sum(x.Repaired[:128]) != 0) {
				t.Fatalf("%s: repaired to % x", x.Pattern, x.Repaired)
			}
		}
		for _, x := range Diagnose(b, []dump.Range{{From: from, To: to}}) {
			if x.Says == "" || x.Pattern == AllOnes && x.Certain && from < to && from >= 0 && from < len(b) {
				t.Fatalf("%+v", x)
			}
		}
		other := bytes.Clone(b)
		slices.Reverse(other)
		if x := Compare(b, other, b); x.Says == "" {
			t.Fatal("no words")
		}
	})
}

func TestTextFits(t *testing.T) {
	b := bytes.Repeat([]byte{0xFF}, 128)
	var all []Finding
	for _, p := range []string{AllOnes, AllZeros, OneValue, Shifted, SlowRise, RepeatedPage, HalfRead, ShortRead,
		HeaderHurt, NoHeader} {
		all = append(all, described(Finding{Pattern: p, Where: "somewhere", Says: strings.Repeat("word ", 40), Repaired: b}))
	}
	var out bytes.Buffer
	o := say.NewWriter(&out)
	Text(o, all)
	if err := o.Flush(); err != nil {
		t.Fatal(err)
	}
	for row := range strings.Lines(out.String()) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(row, "\n")); n > 100 {
			t.Errorf("%d columns: %s", n, row)
		}
	}
	for _, f := range all {
		for _, step := range f.Next {
			low := strings.ToLower(step)
			if strings.Contains(low, "ohms: ") && !strings.Contains(low, "all power and battery out") {
				t.Errorf("ohms without the caution: %s", step)
			}
			if strings.Contains(low, "reseat") && !strings.Contains(low, probe.Cable) {
				t.Errorf("the cable without the caution: %s", step)
			}
		}
	}
}

func TestJSON(t *testing.T) {
	got, err := json.Marshal(Finding{Pattern: Shifted, Says: "s", Points: []string{"p"}, Repaired: Image{0, 255}})
	if err != nil {
		t.Fatal(err)
	}
	want := `{"pattern":"shifted","certain":false,"says":"s","points_to":["p"],"repaired":"00ff"}`
	if diff := cmp.Diff(want, string(got)); diff != "" {
		t.Error(diff)
	}
}
