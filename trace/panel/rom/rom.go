// Package rom says when the bytes of an identity memory look like a wire and not
// like a memory.
//
//	findings := rom.Diagnose(dump.Bytes, dump.Missing)
//
// The memory is a two-wire chip of 128 or 256 bytes (the class of the 24C02) at
// address 0x50 (VESA E-DDC). Clock and data are open drain: every chip can only
// pull them to 0 V, a resistor to a rail pulls them up (NXP UM10204). So a line
// that nobody drives reads FF, and a line that is held, or whose pull-up has no
// supply, reads 00. Bits come highest first, and each byte is followed by a ninth
// clock in which the receiver pulls data low to acknowledge.
//
// A read first writes the address of a byte into the chip's counter, then reads;
// the counter goes up by itself after each byte and rolls over at its end. A
// chip that misses the address goes on where the last read stopped.
//
// A clock that the chip loses or sees twice puts it out of step: it looks for the
// acknowledge in a bit where nobody pulls the line low, takes that for the end,
// lets go of the line, and the rest reads FF ("half-read").
//
// One wire carries every bit of the address. A single address bit that does not
// work is thus inside the chip or in the reader, never in the wiring; it shows as
// blocks that repeat. A memory of 128 bytes that is read as one of 256 repeats too.
//
// A wrong sum alone and blocks that were not read are no pattern of a wire: package
// edid tells of them.
package rom

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"slices"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/dump"
	"example.org/walkback/trace/panel/edid"
)

// Image is bytes that show as hex digits in JSON.
type Image []byte

// MarshalText gives the digits without spaces.
func (i Image) MarshalText() ([]byte, error) { return []byte(hex.EncodeToString(i)), nil }

// Finding is one pattern that the bytes show.
type Finding struct {
	Pattern  string   `json:"pattern"` // short and stable; the constants
	Certain  bool     `json:"certain"` // the bytes leave no other reading of the pattern; its cause stays open
	Where    string   `json:"where,omitempty"`
	Says     string   `json:"says"`
	Points   []string `json:"points_to,omitempty"` // on the board, the cheapest to look at first
	Next     []string `json:"next,omitempty"`      // what to probe, with its caution
	Repaired Image    `json:"repaired,omitempty"`  // the bytes as they should have been, where that can be undone; whole blocks

	Differ []Difference `json:"-"` // of Compare: the bytes that differ, which Text lists
	Best   Image        `json:"-"` // of Compare: what to go on with, though it may have faults of its own; nil for none
}

// The patterns.
const (
	NothingRead  = "nothing-read"
	NotAnswered  = "not-answered"
	PartAnswered = "part-answered"
	AllOnes      = "all-ones"
	AllZeros     = "all-zeros"
	OneValue     = "one-value"
	ShortRead    = "short-read"
	HalfRead     = "half-read"
	Shifted      = "shifted"
	SlowRise     = "slow-rise"
	RepeatedPage = "repeated-page"
	HeaderHurt   = "header-damaged"
	NoHeader     = "no-header"
)

// chipSize is what one chip holds at most before the segment pointer of E-DDC is
// needed, in bytes.
const chipSize = 256

// maxRevision is the highest revision of version 1 that is believed. VESA E-EDID
// defines 1.0 to 1.4; displays with a higher one are sold too.
const maxRevision = 7

// Diagnose returns what the bytes show, what is certain first; nothing when they
// are a whole memory. The bytes in missing were not answered.
func Diagnose(data []byte, missing []dump.Range) []Finding {
	var list []Finding
	add := func(f *Finding) {
		if f != nil {
			list = append(list, *f)
		}
	}
	switch gone := within(missing, len(data)); {
	case len(data) == 0:
		add(&Finding{Pattern: NothingRead, Certain: true, Says: "no byte was read"})
	case len(gone) > 0:
		add(notAnswered(len(data), gone))
	case len(data) >= 4 && oneValue(data): // under four bytes say nothing
		add(constant(data[0]))
	case len(data) < edid.BlockSize:
		add(shortRead(data))
	case honest(data[:edid.BlockSize]):
		list = extensions(data)
	default:
		chip := data[:edid.BlockSize]
		if len(data) >= chipSize {
			chip = data[:chipSize]
		}
		for _, look := range []func([]byte) *Finding{slowRise, repeated, shifted, halfRead} {
			add(look(chip))
		}
		if !slices.ContainsFunc(list, func(f Finding) bool { return f.Certain || f.Pattern == Shifted || f.Pattern == SlowRise }) {
			add(plainDamage(chip))
		}
		list = settled(list, len(data))
	}
	for i := range list {
		list[i] = described(list[i])
	}
	return list
}

// settled takes away repairs that are shorter than the blocks the memory
// announces and the read had, and guesses beside a finding that is certain.
func settled(list []Finding, size int) []Finding {
	sure := slices.ContainsFunc(list, func(f Finding) bool { return f.Certain })
	list = slices.DeleteFunc(list, func(f Finding) bool { return sure && !f.Certain })
	for i, f := range list {
		if len(f.Repaired) < announced(f.Repaired, size) {
			list[i].Repaired = nil
		} else if more := 1 + int(f.Repaired[126]) - len(f.Repaired)/edid.BlockSize; more > 0 {
			list[i].Says += fmt.Sprintf("; %s announced behind it, not in the read", say.Count(more, "more block"))
		}
	}
	return list
}

// announced is how many bytes of the memory a read of size bytes should have: the
// base block and the blocks that its byte 126 counts (VESA E-EDID).
func announced(b []byte, size int) int {
	if len(b) < edid.BlockSize {
		return edid.BlockSize
	}
	return max(1, min(1+int(b[126]), size/edid.BlockSize)) * edid.BlockSize
}

// restored is the memory out of a stream that lost some of it: b from address 0
// on, of which the first known bytes came through. A byte that is lost at the end
// of a block follows from the sum. It returns nil when more is lost or a sum is
// wrong, and adds to says what was done.
func restored(b []byte, known int, says string) (Image, string) {
	need := announced(b, len(b))
	b = slices.Clone(b[:min(need, len(b))])
	if known == need-1 && len(b) == need {
		b[known] = -edid.Sum(b[need-edid.BlockSize : known])
		says += "; the last byte is computed from the sum"
		known++
	}
	if known < need || !sums(b) {
		return nil, ""
	}
	return b, says
}

// sums reports whether the sums of all blocks are 0.
func sums(b []byte) bool {
	for block := range slices.Chunk(b, edid.BlockSize) {
		if edid.Sum(block) != 0 {
			return false
		}
	}
	return true
}

// within are the ranges as far as they are in a read of n bytes.
func within(missing []dump.Range, n int) (list []dump.Range) {
	for _, m := range missing {
		if m.From, m.To = max(0, m.From), min(m.To, n); m.From < m.To {
			list = append(list, m)
		}
	}
	return list
}

// whole reports whether a block of 128 bytes can only be a base block: header, sum,
// version 1.0 to 1.7, and three letters of a maker (VESA E-EDID, bytes 0 to 19).
func whole(b []byte) bool { return named(b) && edid.Sum(b[:edid.BlockSize]) == 0 }

// honest tells a whole block from bytes whose sum is right by chance: no block
// ends in eight FF, for byte 126 would announce 255 more, and none repeats itself,
// for the header comes once.
func honest(b []byte) bool {
	ending := b[edid.BlockSize-1] == 0xFF && tail(b) <= edid.BlockSize-8
	return whole(b) && !ending && idleBits(b) == 0
}

// named is whole without the sum.
func named(b []byte) bool {
	if len(b) < edid.BlockSize || !bytes.HasPrefix(b, edid.Header()) || b[18] != 1 || b[19] > maxRevision {
		return false
	}
	_, ok := edid.MakerOf(b)
	return ok
}
