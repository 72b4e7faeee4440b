package rom

import (
	"bytes"
	"fmt"
	"math/bits"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/edid"
)

// stuckAddress finds address bits that do nothing: byte a equals byte a^bit
// everywhere. With A3 and up the header tells the value: seen at 0 it is stuck at
// 0. Below A3 the header itself is bent in a way that tells it.
func stuckAddress(b []byte) []Finding {
	idle, top := idleBits(b), bits.Len(uint(len(b)))-2
	if len(b) == chipSize && idle == 1<<7 {
		return copied(b)
	}
	also := ""
	if len(b) == chipSize && idle&(1<<7) != 0 && idle != 3<<6 {
		idle &^= 1 << 7
		top = 6
		also = "; the second half is a copy of the first, as a memory of 128 bytes shows it"
	}
	if idle == 0 {
		return nil
	}
	low := bits.TrailingZeros(uint(idle))
	if bits.OnesCount(uint(idle)) > 1 && idle == 1<<(top+1)-1<<low {
		return []Finding{page(b, 1<<low, also)}
	}
	var list []Finding
	for k := 0; k <= top; k++ {
		if idle&(1<<k) != 0 {
			list = append(list, stuckLine(b, k, idle, also))
		}
	}
	return list
}

// idleBits are the address bits that have no effect, as a mask.
func idleBits(b []byte) int {
	idle := 0
	for bit := 1; bit < len(b); bit <<= 1 {
		if ignores(b, bit) {
			idle |= bit
		}
	}
	return idle
}

// copied is for two equal halves of 128 bytes. A small memory shows them too, so
// A7 is to blame only when the half that is seen is an extension: its first byte
// is a tag of VESA E-EDID and its sum is 0.
func copied(b []byte) []Finding {
	if b[0] == 0 {
		return nil // a base block, perhaps bent: a memory of 128 bytes
	}
	f := stuckLine(b, 7, 1<<7, "")
	known := bytes.IndexByte([]byte{0x02, 0x10, 0x40, 0x50, 0x60, 0x70, 0xF0}, b[0]) >= 0
	if f.Certain = known && edid.Sum(b[:edid.BlockSize]) == 0; !f.Certain {
		f.Score = 0.55
	}
	return []Finding{f}
}

// ignores reports whether bytes whose addresses differ in one bit are the same.
func ignores(b []byte, bit int) bool {
	for a := range b {
		if b[a] != b[a^bit] {
			return false
		}
	}
	return true
}

func page(b []byte, size int, also string) Finding {
	f := Finding{Pattern: RepeatedPage, Certain: true, Score: 0.97, Where: fmt.Sprintf("a page of %d bytes, %d times", size, len(b)/size)}
	f.Says = fmt.Sprintf("the same %d bytes come again and again: every block was read from the same address", size) + also
	if !bytes.HasPrefix(b, edid.Header()[:min(8, size)]) {
		f.Says += "; they are not the first of the memory"
	}
	return f
}

// stuckLine tells the value of one idle address bit; idle has all of them.
func stuckLine(b []byte, k, idle int, also string) Finding {
	f := Finding{Pattern: StuckAddress, Certain: true, Score: 0.97}
	set, seen := lowValues(b, idle&7)
	f.Says = fmt.Sprintf("blocks of %s come twice: address bit A%d has no effect", say.Count(1<<k, "byte"), k) + also
	switch {
	case k < 3 && !seen:
		f.Where = fmt.Sprintf("A%d, value not known", k)
	case k < 3:
		f.Where = fmt.Sprintf("A%d at %d", k, set>>k&1)
	case seen:
		f.Where = fmt.Sprintf("A%d at 0", k)
	default:
		f.Where = fmt.Sprintf("A%d at 1", k)
		f.Says += "; the header is not seen, so the bit is taken for 1"
	}
	return f
}

// lowValues finds the values of the idle bits below A3 with which the header is
// what was read first.
func lowValues(b []byte, low int) (set int, seen bool) {
	for set := range 8 {
		if set&^low == 0 && bytes.Equal(b[:8], throughLow(low, set)) {
			return set, true
		}
	}
	return 0, false
}

// throughLow is the header as seen with the address bits in low stuck at set.
func throughLow(low, set int) []byte {
	out, h := make([]byte, 8), edid.Header()
	for a := range out {
		out[a] = h[a&^low|set]
	}
	return out
}
