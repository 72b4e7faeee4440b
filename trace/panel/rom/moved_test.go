package rom

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist"
)

func TestMovedStream(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for _, by := range []int{-20, -9, -7, -3, -2, -1, 1, 2, 3, 5, 7, 9, 20} {
			for _, fill := range []int{0, 1, around} {
				read := restream(cells, by, fill)
				got := first(t, read)
				where := fmt.Sprintf("%s too many at the start", netlist.Count(by, "bit"))
				if by < 0 {
					where = fmt.Sprintf("%s lost at the start", netlist.Count(-by, "bit"))
				}
				if got.Pattern != ShiftedBits || !got.Certain || got.Where != where {
					t.Errorf("%d, %d: %s", by, fill, names(Diagnose(read, nil)))
				}
				lost := (max(0, by) + 7) / 8
				lead := bits.OnesCount32(binary.BigEndian.Uint32(read) >> (32 - max(0, by)))
				if fill == around && lost > 1 && lead > 0 && lead < by {
					lost = 0 // the end stands before the start
				}
				checkRepair(t, got, cells, len(cells)-lost)
			}
		}
	})
}

// checkRepair wants the whole memory back, of which the first known bytes came
// through: one lost byte follows from the sum, more do not.
func checkRepair(t *testing.T, got Finding, cells []byte, known int) {
	t.Helper()
	need := 128 * min(1+int(cells[126]), len(cells)/128)
	var want Image
	if known >= need-1 {
		want = cells[:need]
	}
	if diff := cmp.Diff(want, got.Repaired); diff != "" {
		t.Errorf("%s, %d of %d bytes known: %s", got.Where, known, need, diff)
	}
	if said := strings.Contains(got.Says, "computed from the sum"); said != (known == need-1) {
		t.Errorf("%s, %d of %d bytes known: %s", got.Where, known, need, got.Says)
	}
}

func TestLateStart(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		for _, late := range []int{1, 2, 40, 100} {
			got := first(t, append(bytes.Repeat([]byte{0xA5}, late), cells[:len(cells)-late]...))
			if got.Pattern != Shifted || !got.Certain {
				t.Errorf("%d: %s", late, got.Pattern)
			}
			checkRepair(t, got, cells, len(cells)-late)
		}
	})
}

// Eight bytes like the header near the end are not certain to be one.
func TestHeaderNearTheEnd(t *testing.T) {
	b := bytes.Repeat([]byte{0x41, 0x7C, 0x13}, 43)[:128]
	copy(b[112:], header())
	for _, f := range Diagnose(b, nil) {
		if f.Certain || len(f.Repaired) > 0 {
			t.Errorf("%s (%s): certain %v, %d bytes", f.Pattern, f.Where, f.Certain, len(f.Repaired))
		}
	}
}

func TestReversedBytes(t *testing.T) {
	each(t, func(t *testing.T, cells []byte) {
		read := bytes.Clone(cells)
		slices.Reverse(read)
		list := Diagnose(read, nil)
		if len(list) != 1 || list[0].Pattern != Reversed || !list[0].Certain || !bytes.Equal(list[0].Repaired, cells) {
			t.Errorf("%s", names(list))
		}
		read[len(read)-60] ^= 4
		if f := first(t, read); f.Pattern != Reversed || f.Certain || len(f.Repaired) > 0 {
			t.Errorf("sum wrong: %s, certain %v", f.Pattern, f.Certain)
		}
	})
}

// A read of more than two blocks is mended whole or not at all.
func TestLongReadIsMendedWhole(t *testing.T) {
	for name, b := range usuals(t) {
		if len(b) < 384 || b[126] < 2 {
			continue
		}
		for _, f := range Diagnose(mapped(b, func(x byte) byte { return ^x }), nil) {
			if f.Pattern != InvertedBits || !bytes.Equal(f.Repaired, b) {
				t.Errorf("%s: %s, %d bytes", name, f.Pattern, len(f.Repaired))
			}
		}
		for _, f := range Diagnose(restream(b, 3, 1), nil) {
			if len(f.Repaired) > 0 {
				t.Errorf("%s: %s, %d bytes", name, f.Pattern, len(f.Repaired))
			}
		}
	}
}

func TestEmptyExtension(t *testing.T) {
	for name, b := range usuals(t) {
		base := bytes.Clone(b[:128])
		base[127] += base[126] - 1 // the sum stays 0
		base[126] = 1
		for _, value := range []byte{0, 0xFF} {
			list := Diagnose(append(bytes.Clone(base), bytes.Repeat([]byte{value}, 128)...), nil)
			if len(list) != 1 || list[0].Pattern != HalfRead || list[0].Where != "from byte 0x80 on" || list[0].Certain != (value == 0xFF) {
				t.Errorf("%s, %02X: %s", name, value, names(list))
			}
		}
	}
}
