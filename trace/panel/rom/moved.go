package rom

import (
	"bytes"
	"fmt"
	"slices"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/edid"
)

// shifted finds the header at another byte than 0. The counter of the chip rolls
// over, so the header may also lie across the end.
func shifted(b []byte) *Finding {
	ring := slices.Concat(b, b[:7])
	switch n := bytes.Index(ring, edid.Header()); {
	case n == edid.BlockSize && nearlyAlike(b[:n], b[n:]):
		return nil // a small memory, read twice around, with a wrong byte in its header
	case n > 0:
		return startsAt(b, n)
	}
	for k := 1; k <= 8; k++ {
		mended := slices.Concat(edid.Header()[:k], b[:len(b)-k])
		if whole(mended) {
			f := &Finding{Pattern: Shifted, Certain: true, Where: fmt.Sprintf("the first %s lost", say.Count(k, "byte")),
				Says: fmt.Sprintf("the read starts %s into the memory: with the start of the header put back the sum is right", say.Count(k, "byte"))}
			f.Repaired, _ = restored(mended, len(mended), "")
			return f
		}
	}
	return nil
}

// nearlyAlike reports whether two blocks differ in a few bytes only.
func nearlyAlike(a, b []byte) bool {
	n := 0
	for i := range a {
		if a[i] != b[i] {
			n++
		}
	}
	return n <= len(a)/8
}

// startsAt is for a header at byte n: turned around the end, or with something
// before it and the end lost. The sum tells, where the blocks reach around the end.
func startsAt(b []byte, n int) *Finding {
	mended, known := slices.Concat(b[n:], b[:n]), len(b)-n
	need := announced(mended, len(b))
	held := n > 1 && oneValue(b[:n]) // with which a sum can be right by chance
	around := known < need && !held && (known < edid.BlockSize || sums(mended[:need])) || idleBits(mended) == edid.BlockSize
	f := &Finding{Pattern: Shifted, Certain: true, Where: fmt.Sprintf("by %s: the header is at byte 0x%02x", say.Count(n, "byte"), n)}
	switch {
	case around && whole(mended):
		f.Repaired = mended
		f.Says = fmt.Sprintf("the memory starts at byte 0x%02x of the read and goes on after the end at byte 0: the read "+
			"did not start at address 0", n)
		return f
	case known < 8:
		return nil // across the end, and nothing else fits
	case known < 20 || !named(mended): // eight bytes alone may stand there by chance
		f.Certain = false
	}
	f.Says = fmt.Sprintf("the header is at byte 0x%02x: %s came before it, and the end of the read is lost", n, say.Count(n, "byte"))
	if f.Certain {
		if repaired, says := restored(mended, known, f.Says); repaired != nil {
			f.Repaired, f.Says = repaired, says
		}
	}
	return f
}

// slowRise finds ones that are lost after a zero. The acknowledge before each byte is a
// zero too, so bit 7 is lost in every byte. It shows in what is known of every memory,
// header and version.
func slowRise(b []byte) *Finding {
	late := []byte{0, 0x7F, 0x7F, 0x7F, 0x7F, 0x7F, 0x7F, 0}
	if !bytes.HasPrefix(b, late) || b[18] != 0 || b[19] > maxRevision>>1 {
		return nil
	}
	return &Finding{Pattern: SlowRise, Where: "the first 1 after a 0",
		Says: "the header reads 00 7F 7F 7F 7F 7F 7F 00: a 1 that follows a 0 is taken for 0, the line rises too late"}
}

// repeated finds bytes that come twice or more: an address bit does nothing, or every
// page was read from the same address. A memory of 128 bytes that is read as one of
// 256 shows its half twice, so that alone is a fault only when it starts as an extension.
func repeated(b []byte) *Finding {
	idle := idleBits(b)
	if idle == 0 {
		return nil
	}
	size := idle & -idle
	f := &Finding{Pattern: RepeatedPage, Certain: true, Where: fmt.Sprintf("blocks of %s", say.Count(size, "byte"))}
	f.Says = fmt.Sprintf("the same %s come twice or more: an address bit has no effect, or every page was read from the same address",
		say.Count(size, "byte"))
	extension := bytes.IndexByte([]byte{0x02, 0x10, 0x40, 0x70, 0xF0}, b[0]) >= 0
	if size == edid.BlockSize && (!extension || edid.Sum(b[:size]) != 0) {
		f.Certain = false
		f.Says += "; a memory of 128 bytes shows it too"
	}
	return f
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
