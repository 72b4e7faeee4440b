package rom

import (
	"bytes"
	"fmt"
	"slices"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/edid"
)

// mapped applies f to each byte.
func mapped(b []byte, f func(byte) byte) []byte {
	out := make([]byte, len(b))
	for i, x := range b {
		out[i] = f(x)
	}
	return out
}

// shifted finds the header at another byte than 0. The counter of the chip rolls
// over, so the header may also lie across the end.
func shifted(b []byte) []Finding {
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
			f := Finding{Pattern: Shifted, Certain: true, Score: 1, Where: fmt.Sprintf("the first %s lost", say.Count(k, "byte")),
				Says: fmt.Sprintf("the read starts %s into the memory: with the start of the header put back the sum is right", say.Count(k, "byte"))}
			f.Repaired, _ = restored(mended, len(mended), "")
			return []Finding{f}
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
func startsAt(b []byte, n int) []Finding {
	mended, known := slices.Concat(b[n:], b[:n]), len(b)-n
	need := announced(mended, len(b))
	held := n > 1 && oneValue(b[:n]) // with which a sum can be right by chance
	around := known < need && !held && (known < edid.BlockSize || sums(mended[:need])) || idleBits(mended) == edid.BlockSize
	f := Finding{Pattern: Shifted, Certain: true, Score: 1, Where: fmt.Sprintf("by %s: the header is at byte 0x%02x", say.Count(n, "byte"), n)}
	switch {
	case around && whole(mended):
		f.Repaired = mended
		f.Says = fmt.Sprintf("the memory starts at byte 0x%02x of the read and goes on after the end at byte 0: the read "+
			"did not start at address 0", n)
		return []Finding{f}
	case known < 8:
		return nil // across the end, and nothing else fits
	case known < 20 || !named(mended): // eight bytes alone may stand there by chance
		f.Certain, f.Score = false, 0.6
	case !whole(mended):
		f.Score = 0.9
	}
	f.Says = fmt.Sprintf("the header is at byte 0x%02x: %s came before it, and the end of the read is lost", n, say.Count(n, "byte"))
	if f.Certain {
		if repaired, says := restored(mended, known, f.Says); repaired != nil {
			f.Repaired, f.Says = repaired, says
		}
	}
	return []Finding{f}
}

// bent reports whether the bytes known of every memory, header and version, look
// like f of what they should be.
func bent(b []byte, f func(byte) byte) bool {
	if !bytes.Equal(b[:8], mapped(edid.Header(), f)) || b[18] != f(1) {
		return false
	}
	for revision := range byte(maxRevision + 1) {
		if b[19] == f(revision) {
			return true
		}
	}
	return false
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
