package rom

import (
	"bytes"
	"fmt"
	"math/bits"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/edid"
)

// stuckAddress finds address bits that do nothing: byte a equals byte a^bit
// everywhere. A memory of 128 bytes that is read as one of 256 shows its one half
// twice, so A7 alone is to blame only when that half is an extension.
func stuckAddress(b []byte) []Finding {
	idle, top := idleBits(b), bits.Len(uint(len(b)))-2
	also := ""
	if small := 1 << 7; len(b) == chipSize && idle&small != 0 && idle != 3<<6 && (idle != small || b[0] == 0) {
		idle, top = idle&^small, 6
		also = "; the second half is a copy of the first, as a memory of 128 bytes shows it"
	}
	if idle == 0 {
		return nil
	}
	if low := bits.TrailingZeros(uint(idle)); bits.OnesCount(uint(idle)) > 1 && idle == 1<<(top+1)-1<<low {
		return []Finding{page(b, 1<<low, also)}
	}
	var list []Finding
	for k := range top + 1 {
		if idle&(1<<k) == 0 {
			continue
		}
		f := Finding{Pattern: StuckAddress, Certain: true, Score: 0.97, Where: fmt.Sprintf("A%d", k)}
		if k == 7 && (edid.Sum(b[:edid.BlockSize]) != 0 || bytes.IndexByte([]byte{0x02, 0x10, 0x40, 0x70, 0xF0}, b[0]) < 0) {
			f.Certain, f.Score = false, 0.55
		}
		f.Says = fmt.Sprintf("blocks of %s come twice: address bit A%d has no effect", say.Count(1<<k, "byte"), k) + also
		list = append(list, f)
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
