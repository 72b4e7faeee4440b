package rom

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist/say"
)

func TestCompare(t *testing.T) {
	b, err := os.ReadFile("../dump/testdata/4524225C4E1F.bin")
	if err != nil {
		t.Fatal(err)
	}
	change := func(at int, mask byte) []byte {
		c := bytes.Clone(b)
		c[at] ^= mask
		return c
	}
	silent := bytes.Repeat([]byte{0xFF}, 128)
	broken := append(bytes.Clone(b[:70]), bytes.Repeat([]byte{0xFF}, 58)...)
	for _, tc := range []struct {
		a, b  []byte
		more  [][]byte
		want  string
		diffs int
	}{
		{b, b, nil, Same, 0},
		{b, b[:100], nil, Longer, 0},
		{b, slices.Concat(b[5:], b[:5]), nil, Shifted, -1},
		{b, broken, nil, HalfRead, -1},
		{broken, b, nil, HalfRead, -1},
		{b, change(40, 4), nil, OddRead, 1},
		{change(41, 4), change(40, 4), nil, Noise, 2},
		{b, change(40, 4), [][]byte{b}, OddRead, 1},
		{change(40, 4), b, [][]byte{b}, OddRead, 1},
		{b, change(40, 4), [][]byte{change(40, 4)}, SamePlace, 1},
		{b, change(40, 4), [][]byte{change(40, 1)}, SamePlace, 1},
		{b, change(40, 4), [][]byte{change(90, 1)}, Noise, 2},
		{b, broken, [][]byte{b}, HalfRead, -1},
		{slices.Concat(b[5:], b[:5]), b, [][]byte{b}, Shifted, -1},
		{b, silent, nil, AllOnes, -1},
		{silent, broken, [][]byte{b}, AllOnes, -1},
		{b, make([]byte, 128), nil, AllZeros, -1},
		{silent, silent, nil, Same, 0},
	} {
		f := Compare(append([][]byte{tc.a, tc.b}, tc.more...)...)
		if f.Pattern != tc.want || tc.diffs >= 0 && len(f.Differ) != tc.diffs || f.Says == "" || len(f.Next) == 0 {
			t.Errorf("%s, want %s; %d differ", f.Pattern, tc.want, len(f.Differ))
		}
	}
	if diff := cmp.Diff([]Difference{{At: 40, Values: Image{b[40], b[40] ^ 4}}}, Compare(b, change(40, 4)).Differ); diff != "" {
		t.Error(diff)
	}
}

func TestTwoReadsAgree(t *testing.T) {
	b := bytes.Repeat([]byte{1, 2}, 64)
	f := Compare(b, b)
	if f.Certain || strings.Contains(f.Says+strings.Join(f.Points, ""), "ruled out") || f.Next[0] != "a third read makes it surer" {
		t.Error(f)
	}
	if f = Compare(b, b, b); f.Certain {
		t.Error(f)
	}
}

// Of three reads one has a wrong bit: it is the read, and the memory is known.
func TestOddRead(t *testing.T) {
	for name, b := range usuals(t) {
		bad := bytes.Clone(b)
		bad[36] ^= 0x20
		for i := range 3 {
			reads := [][]byte{b, b, b}
			reads[i] = bad
			f := Compare(reads[0], reads[1], reads[2])
			right := []string{"reads 2 and 3", "reads 1 and 3", "reads 1 and 2"}[i]
			want := fmt.Sprintf("%s are right (header and sums); read %d differs in 1 byte: at byte 36 (0x24) it read %02X, and read %d "+
				"has %02X there; go on with read %[4]d", right, i+1, bad[36], []int{2, 1, 1}[i], b[36])
			if f.Says != want || !f.Certain || !bytes.Equal(f.Repaired, b) {
				t.Errorf("%s: %s; %d bytes", name, f.Says, len(f.Repaired))
			}
		}
		f := Compare(bad, b)
		if !strings.HasPrefix(f.Says, "read 2 is right (header and sums); read 1 differs in 1 byte: at byte 36") || f.Certain ||
			len(f.Repaired) > 0 || !bytes.Equal(f.Best, b) {
			t.Errorf("%s: %s", name, f.Says)
		}
	}
}

// No read is right, but each byte has a majority: three bad reads make a good one.
// One more wrong bit that two reads share leaves nothing to be trusted.
func TestMajority(t *testing.T) {
	for name, b := range usuals(t) {
		reads := [][]byte{bytes.Clone(b), bytes.Clone(b), bytes.Clone(b)}
		for i, r := range reads {
			r[40+i] ^= 1
		}
		f := Compare(reads[0], reads[1], reads[2])
		if f.Pattern != Noise || !bytes.Equal(f.Repaired, b) {
			t.Errorf("%s: %s, %d bytes", name, f.Pattern, len(f.Repaired))
		}
		reads[0][60] ^= 8
		reads[1][60] ^= 8
		f = Compare(reads[0], reads[1], reads[2])
		// The vote is what to go on with, but it is no repair.
		want := bytes.Clone(b)
		want[60] ^= 8
		if len(f.Repaired) > 0 || !bytes.Equal(f.Best, want) {
			t.Errorf("%s: repaired with a wrong byte, or the vote is lost", name)
		}
	}
}

func TestSilentRead(t *testing.T) {
	b := corpus(t)["4524225C4E1F.txt"]
	f := Compare(b, bytes.Repeat([]byte{0xFF}, 128))
	if f.Says != "read 1 is right (header and sums); read 2: every byte is FF: nobody pulled the data line low" || f.Where != "read 2" {
		t.Error(f.Says)
	}
}

func TestComparedText(t *testing.T) {
	b := corpus(t)["4524225C4E1F.txt"]
	bad := bytes.Clone(b)
	for i := 40; i < 50; i++ {
		bad[i] ^= 1
	}
	f := Compare(b, bad)
	var out bytes.Buffer
	o := say.NewWriter(&out)
	Text(o, []Finding{f})
	if err := o.Flush(); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{fmt.Sprintf("  - byte 40 (0x28): %02X %02X\n", b[40], bad[40]), "byte 47 (0x2f)", "  - and 2 more\n"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no %q in\n%s", want, out.String())
		}
	}
	if strings.Contains(out.String(), "byte 48 (") {
		t.Error(out.String())
	}
}
