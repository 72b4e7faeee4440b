package rom

import (
	"bytes"
	"fmt"
	"math/bits"
	"slices"

	"example.org/walkback/netlist"
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
		try(RotatedBits, fmt.Sprintf("by %s to the left", netlist.Count(k, "bit")),
			fmt.Sprintf("in every byte the bits are rotated by %d to the left; rotated back all is right", k),
			mapped(b, func(x byte) byte { return bits.RotateLeft8(x, -k) }))
	}
	try(MirroredBits, "bit 7 is bit 0", "in every byte the bits stand in reverse order: lowest first", mapped(b, bits.Reverse8))
	try(InvertedBits, "all bits", "every bit is the opposite of what it should be", mapped(b, func(x byte) byte { return ^x }))
	for _, width := range []int{2, 4, 8} {
		try(SwappedBytes, fmt.Sprintf("in words of %d bytes", width),
			fmt.Sprintf("in every word of %d bytes the last byte comes first", width), turned(b, width))
	}
	return append(list, reversed(b)...)
}

// turned puts the bytes of each group of width bytes in reverse order.
func turned(b []byte, width int) []byte {
	out := make([]byte, 0, len(b))
	for part := range slices.Chunk(b, width) {
		group := slices.Clone(part)
		slices.Reverse(group)
		out = append(out, group...)
	}
	return out
}

// reversed finds the last byte first, in the whole read or in each block. The
// header reads the same from both ends, so version and maker must fit too.
func reversed(b []byte) []Finding {
	for _, width := range []int{len(b), blockSize} {
		mended := turned(b, width)
		if !named(mended) {
			continue
		}
		f := Finding{Pattern: Reversed, Score: 0.8, Where: "in the whole read", Says: "the bytes stand in reverse order, the last one first"}
		if width < len(b) {
			f.Where = "in each block"
		}
		if whole(mended) {
			f.Certain, f.Score, f.Repaired = true, 1, mended
		} else {
			f.Says += "; the sum is wrong as well"
		}
		return []Finding{f}
	}
	return nil
}

// shifted finds the header at another byte than 0. The counter of the chip rolls
// over, so the header may also lie across the end.
func shifted(b []byte) []Finding {
	ring := slices.Concat(b, b[:7])
	if n := bytes.Index(ring, header()); n > 0 {
		return startsAt(b, n)
	}
	for k := 1; k <= 8; k++ {
		mended := slices.Concat(header()[:k], b[:len(b)-k])
		if whole(mended) {
			f := Finding{Pattern: Shifted, Certain: true, Score: 1, Where: fmt.Sprintf("the first %s lost", netlist.Count(k, "byte")),
				Says: fmt.Sprintf("the read starts %s into the memory: with the start of the header put back the sum is right", netlist.Count(k, "byte"))}
			f.Repaired, _ = restored(mended, len(mended), "")
			return []Finding{f}
		}
	}
	return nil
}

// startsAt is for a header at byte n: turned around the end, or with something
// before it and the end lost. The sum tells, where the blocks reach around the end.
func startsAt(b []byte, n int) []Finding {
	mended, known := slices.Concat(b[n:], b[:n]), len(b)-n
	need := announced(mended, len(b))
	held := n > 1 && oneValue(b[:n]) // with which a sum can be right by chance
	around := known < need && !held && (known < blockSize || sums(mended[:need])) || idleBits(mended) == blockSize
	f := Finding{Pattern: Shifted, Certain: true, Score: 1, Where: fmt.Sprintf("by %s: the header is at byte 0x%02x", netlist.Count(n, "byte"), n)}
	switch {
	case around && whole(mended):
		f.Repaired = mended
		f.Says = fmt.Sprintf("the memory starts at byte 0x%02x of the read and goes on after the end at byte 0: the read did not start at address 0", n)
		return []Finding{f}
	case known < 8:
		return nil // across the end, and nothing else fits
	case known < 20 || !named(mended): // eight bytes alone may stand there by chance
		f.Certain, f.Score = false, 0.6
	case !whole(mended):
		f.Score = 0.9
	}
	f.Says = fmt.Sprintf("the header is at byte 0x%02x: %s came before it, and the end of the read is lost", n, netlist.Count(n, "byte"))
	if f.Certain {
		if repaired, says := restored(mended, known, f.Says); repaired != nil {
			f.Repaired, f.Says = repaired, says
		}
	}
	return []Finding{f}
}

// shiftedBits finds the stream moved by bits that are no whole byte. What comes
// after a lost start may look like a start that is late by nearly all the read, so
// the smaller displacement goes first.
func shiftedBits(b []byte) []Finding {
	for d := 1; d < 8*len(b)-64; d++ {
		if d%8 == 0 {
			continue
		}
		if d < 64 {
			if list := early(b, d); list != nil {
				return list
			}
		}
		if list := late(b, d); list != nil {
			return list
		}
	}
	return nil
}

// late is for a stream that starts d bits late.
func late(b []byte, d int) []Finding {
	if !bytes.Equal(fromBit(b, d, 8), header()) {
		return nil
	}
	mended := fromBit(b, d, len(b))
	if !named(mended) {
		return nil
	}
	f := Finding{Pattern: ShiftedBits, Certain: true, Score: 1, Where: fmt.Sprintf("%s too many at the start", netlist.Count(d, "bit")),
		Says: fmt.Sprintf("the header starts %s late: clock edges were counted twice", netlist.Count(d, "bit"))}
	known := len(b) - 1 - d/8
	if repaired, says := restored(mended, known, f.Says); repaired != nil {
		f.Repaired, f.Says = repaired, says
	} else if around, says := restored(mended, len(b), f.Says+"; its end stands before it, and the sum is right"); around != nil && !steady(b, d) {
		f.Repaired, f.Says = around, says
	} else if known < 20 {
		f.Certain, f.Score = false, 0.6 // version and maker came from around the end
	}
	return []Finding{f}
}

// steady tells whether the first d bits are those of a line at rest or held, with
// which a sum can be right by chance.
func steady(b []byte, d int) bool {
	ones := 0
	for i := range d {
		ones += int(b[i/8]) >> (7 - i%8) & 1
	}
	return ones == 0 || ones == d
}

// early is for a stream that has lost its first d bits, which the header tells.
func early(b []byte, d int) []Finding {
	mended := make([]byte, len(b))
	n, k := d/8, d%8
	for i := range mended {
		if i >= n {
			mended[i] = b[i-n] >> k
		}
		if i > n {
			mended[i] |= b[i-n-1] << (8 - k)
		}
	}
	copy(mended, header()[:n])
	mended[n] |= header()[n] &^ (0xFF >> k)
	f := Finding{Pattern: ShiftedBits, Certain: true, Score: 1, Where: fmt.Sprintf("%s lost at the start", netlist.Count(d, "bit")),
		Says: fmt.Sprintf("the stream starts %s early: clock edges were missed", netlist.Count(d, "bit"))}
	switch {
	case whole(mended):
		f.Repaired, _ = restored(mended, len(mended), "")
	case d <= 32 && named(mended): // half of the header is there
		f.Certain, f.Score = false, 0.8
		f.Says += "; the sum is wrong as well"
	default:
		return nil
	}
	return []Finding{f}
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
