package rom

import (
	"bytes"
	"fmt"
	"math/bits"
	"slices"
)

// mapped applies f to each byte.
func mapped(b []byte, f func(byte) byte) []byte {
	out := make([]byte, len(b))
	for i, x := range b {
		out[i] = f(x)
	}
	return out
}

// reordered finds bits and bytes in another order. Rotation and mirroring leave
// the header as it is, so the sum, the version and the maker decide.
func reordered(b []byte) []Finding {
	var list []Finding
	try := func(pattern, where, says string, mended []byte) {
		if whole(mended) {
			list = append(list, Finding{Pattern: pattern, Certain: true, Score: 1, Where: where, Says: says, Repaired: mended})
		}
	}
	for k := 1; k < 8; k++ {
		try(RotatedBits, fmt.Sprintf("by %s to the left", count(k, "bit")),
			fmt.Sprintf("in every byte the bits are rotated by %d to the left; rotated back all is right", k),
			mapped(b, func(x byte) byte { return bits.RotateLeft8(x, -k) }))
	}
	try(MirroredBits, "bit 7 is bit 0", "in every byte the bits stand in reverse order: lowest first", mapped(b, bits.Reverse8))
	try(InvertedBits, "all bits", "every bit is the opposite of what it should be", mapped(b, func(x byte) byte { return ^x }))
	for _, width := range []int{2, 4, 8} {
		mended := make([]byte, 0, len(b))
		for part := range slices.Chunk(b, width) {
			word := slices.Clone(part)
			slices.Reverse(word)
			mended = append(mended, word...)
		}
		try(SwappedBytes, fmt.Sprintf("in words of %d bytes", width),
			fmt.Sprintf("in every word of %d bytes the last byte comes first", width), mended)
	}
	return list
}

// shifted finds the header at another byte than 0. The counter of the chip rolls
// over, so the header may also lie across the end.
func shifted(b []byte) []Finding {
	ring := slices.Concat(b, b[:7])
	if n := bytes.Index(ring, header()); n > 0 {
		mended := slices.Concat(b[n:], b[:n])
		f := Finding{Pattern: Shifted, Certain: true, Score: 1, Where: fmt.Sprintf("by %s: the header is at byte 0x%02x", count(n, "byte"), n), Repaired: mended}
		f.Says = fmt.Sprintf("the memory starts at byte 0x%02x of the read and goes on after the end at byte 0: the read did not start at address 0", n)
		if !whole(mended) {
			if n+8 > len(b) {
				return nil // across the end, and nothing else fits
			}
			f.Score, f.Repaired = 0.9, slices.Clone(b[n:])
			f.Says = fmt.Sprintf("the header is at byte 0x%02x: %s came before it, and the end of the memory is not in the read", n, count(n, "byte"))
		}
		return []Finding{f}
	}
	for k := 1; k <= 8; k++ {
		mended := slices.Concat(header()[:k], b[:len(b)-k])
		if whole(mended) {
			return []Finding{{Pattern: Shifted, Certain: true, Score: 1, Where: fmt.Sprintf("the first %s lost", count(k, "byte")), Repaired: mended,
				Says: fmt.Sprintf("the read starts %s into the memory: with the start of the header put back the sum is right", count(k, "byte"))}}
		}
	}
	return nil
}

// shiftedBits finds the stream moved by bits that are no whole byte.
func shiftedBits(b []byte) []Finding {
	for s := 1; s < 8*len(b); s++ {
		if s%8 == 0 {
			continue
		}
		if !bytes.Equal(fromBit(b, s, 8), header()) {
			continue
		}
		if mended := fromBit(b, s, len(b)); named(mended) {
			return []Finding{{Pattern: ShiftedBits, Certain: true, Score: 1, Repaired: mended[:len(b)-1-s/8],
				Where: fmt.Sprintf("%s too many at the start", count(s, "bit")),
				Says:  fmt.Sprintf("the header starts %s late: clock edges were counted twice", count(s, "bit"))}}
		}
	}
	for k := 1; k < 8; k++ {
		mended := make([]byte, len(b))
		for i := range b {
			mended[i] = b[i] >> k
			if i > 0 {
				mended[i] |= b[i-1] << (8 - k)
			}
		}
		mended[0] &= 0xFF >> k
		if whole(mended) {
			return []Finding{{Pattern: ShiftedBits, Certain: true, Score: 1, Repaired: mended,
				Where: fmt.Sprintf("%s lost at the start", count(k, "bit")),
				Says:  fmt.Sprintf("the stream starts %s early: clock edges were missed", count(k, "bit"))}}
		}
	}
	return nil
}

// fromBit reads size bytes from bit s on, and from the start again after the end.
func fromBit(b []byte, s, size int) []byte {
	out := make([]byte, size)
	n, k := s/8, s%8
	for i := range out {
		hi, lo := b[(i+n)%len(b)], b[(i+n+1)%len(b)]
		out[i] = hi<<k | lo>>(8-k)
	}
	return out
}

// bent tells whether the bytes known of every memory, header and version, look
// like f of what they should be.
func bent(b []byte, f func(byte) byte) bool {
	if !bytes.Equal(b[:8], mapped(header(), f)) || b[18] != f(1) {
		return false
	}
	for revision := range byte(maxRevision + 1) {
		if b[19] == f(revision) {
			return true
		}
	}
	return false
}

// movedInByte finds each byte moved by one bit with a constant bit put in: data
// taken one clock early or late, the ninth bit among the eight.
func movedInByte(b []byte) []Finding {
	var list []Finding
	for _, in := range []byte{0, 1} {
		if bent(b, func(x byte) byte { return x>>1 | in<<7 }) {
			list = append(list, Finding{Pattern: MovedInByte, Score: 0.7, Where: fmt.Sprintf("down by 1 bit, bit 7 is always %d", in),
				Says: "every byte is moved down by one bit: each bit was taken one clock early"})
		}
		if bent(b, func(x byte) byte { return x<<1 | in }) {
			list = append(list, Finding{Pattern: MovedInByte, Score: 0.7, Where: fmt.Sprintf("up by 1 bit, bit 0 is always %d", in),
				Says: "every byte is moved up by one bit: each bit was taken one clock late"})
		}
	}
	return list
}

// slowRise finds ones that are lost after a zero. The acknowledge before each
// byte is a zero too, so bit 7 is lost in every byte.
func slowRise(b []byte) []Finding {
	if !bent(b, func(x byte) byte { return x & (x >> 1) }) {
		return nil
	}
	return []Finding{{Pattern: SlowRise, Score: 0.75, Where: "the first 1 after a 0",
		Says: "the header reads 00 7F 7F 7F 7F 7F 7F 00: a 1 that follows a 0 is taken for 0, the line rises too late"}}
}

// stuckData finds one bit that has the same value in every byte.
func stuckData(b []byte) []Finding {
	and, or := b[0], b[0]
	for _, x := range b {
		and &= x
		or |= x
	}
	var list []Finding
	for j := range 8 {
		mask := byte(1) << j
		f := Finding{Pattern: StuckData, Score: 0.72}
		switch {
		case and&mask != 0 && bent(b, func(x byte) byte { return x | mask }):
			f.Where = fmt.Sprintf("bit %d at 1", j)
		case or&mask == 0 && bent(b, func(x byte) byte { return x &^ mask }):
			f.Where = fmt.Sprintf("bit %d at 0", j)
		default:
			continue
		}
		f.Says = fmt.Sprintf("bit %d never changes, in the header too where it should", j)
		list = append(list, f)
	}
	return list
}
