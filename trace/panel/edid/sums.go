package edid

import (
	"bytes"
	"fmt"
	"slices"
)

// BlockSum is the verdict over the checksum of one block.
type BlockSum struct {
	Block int  `json:"block"`
	Want  byte `json:"want"` // the value that the other 127 bytes ask for
	Have  byte `json:"have"` // the value that byte 127 has
	OK    bool `json:"ok"`
}

// sums gives the verdict for each whole block of the data. A right sum proves
// little: two bytes that changed places, or two errors that cancel, leave it right.
func sums(data []byte) []BlockSum {
	list := []BlockSum{}
	for n := 0; (n+1)*BlockSize <= len(data); n++ {
		b := data[n*BlockSize : (n+1)*BlockSize]
		s := BlockSum{Block: n, Want: -Sum(b[:BlockSize-1]), Have: b[BlockSize-1]}
		s.OK = s.Want == s.Have
		list = append(list, s)
	}
	return list
}

// Check is the verdict over a read.
type Check struct {
	Sums    []BlockSum `json:"checksums"`
	Wrong   []string   `json:"unsound,omitempty"`  // why the read is not sound
	Notes   []string   `json:"remarks,omitempty"`  // of a read that is sound
	Suspect *Suspect   `json:"byte_off,omitempty"` // of the first block whose sum is wrong, when one byte stands out
	Guessed bool       `json:"-"`                  // a suspect was looked for
}

// Judge checks a read. With guess it takes one wrong byte for granted; without guess is
// right where bytes were not read, or where they show another fault.
func Judge(data []byte, guess bool) Check {
	c := Check{Sums: sums(data), Guessed: guess}
	c.Wrong, c.Notes = faults(data)
	if bad := slices.IndexFunc(c.Sums, func(s BlockSum) bool { return !s.OK }); bad >= 0 && guess {
		if s, ok := findSuspect(data, bad); ok {
			c.Suspect = &s
		}
	}
	return c
}

// headerLike tells a header with up to two damaged bytes from anything else. Blank
// memory reads FF and has six right bytes too, so one of the two ends must be 00. That
// six of eight are enough is a choice, no standard gives it.
func headerLike(data []byte) bool {
	hits := 0
	for i, want := range Header() {
		if i < len(data) && data[i] == want {
			hits++
		}
	}
	return hits >= 6 && len(data) >= 8 && (data[0] == 0 || data[7] == 0)
}

// Sound reports whether the blocks that were read are as a memory holds them: nothing
// in faults speaks against it.
func Sound(data []byte) bool {
	wrong, _ := faults(data)
	return len(wrong) == 0
}

// faults gives what is wrong with a read, in words: a header, a sum of an announced
// block, a block that was cut. Notes are what to know of a read that is right
// nonetheless: what a maker wrote against the standard, extensions that were not read
// and bytes behind the announced blocks leave the blocks that were read sound.
func faults(data []byte) (wrong, notes []string) {
	switch {
	case len(data) == 0:
		return []string{"there are no bytes"}, nil
	case !headerLike(data):
		// What stands where the count of blocks and the sums should be means nothing.
		return []string{"the header of identity data is not there"}, nil
	case len(data) < BlockSize:
		return []string{fmt.Sprintf("only %d of the %d bytes of block 0 are there", len(data), BlockSize)}, nil
	}
	if !bytes.HasPrefix(data, Header()) {
		wrong = append(wrong, "the header is wrong")
	}
	says := int(data[126])
	have := min(len(data)/BlockSize-1, says)
	for n := range have + 1 {
		block := data[n*BlockSize:][:BlockSize]
		if Sum(block) != 0 {
			wrong = append(wrong, fmt.Sprintf("the sum of block %d is wrong", n))
			continue
		}
		if n > 0 {
			notes = append(notes, extensionNotes(n, block)...)
		}
	}
	cut := len(data) % BlockSize
	switch missing := says - have; {
	case missing == 0:
	case cut > 0:
		wrong = append(wrong, fmt.Sprintf("only %d of the %d bytes of block %d are there", cut, BlockSize, have+1))
	case missing == 1:
		notes = append(notes, fmt.Sprintf("block %d is announced and was not read: read %d bytes to see it", says, (says+1)*BlockSize))
	default:
		notes = append(notes, fmt.Sprintf("blocks %d to %d are announced and were not read: read %d bytes to see them", have+1, says,
			(says+1)*BlockSize))
	}
	return wrong, notes
}

// extensionNotes tell what is odd in an extension whose sum is right.
func extensionNotes(n int, block []byte) (notes []string) {
	if len(bytes.Trim(block, "\x00")) == 0 {
		return []string{fmt.Sprintf("block %d reads 00 throughout, which makes a right sum too: read it again; if it stays "+
			"so, the maker left it empty", n)}
	}
	x := decodeExtension(n, block)
	if x.SectionSumWrong && x.Overrun == "" {
		notes = append(notes, fmt.Sprintf("the DisplayID section in block %d has a wrong sum of its own; as that of the "+
			"block is right, its maker wrote it so", n))
	}
	if x.Overrun != "" {
		notes = append(notes, fmt.Sprintf("block %d: %s", n, x.Overrun))
	}
	return notes
}

// Announced cuts what a read of a whole memory chip brings behind the blocks that
// the first one announces: a chip of 256 bytes with one block in it is no
// violation. What is cut is empty (FF or 00 throughout) or the first blocks once
// more; a note says so. Anything else stays.
func Announced(data []byte) (cut []byte, note string) {
	if len(data) < BlockSize {
		return data, ""
	}
	n := BlockSize * (1 + int(data[126]))
	if len(data) <= n {
		return data, ""
	}
	blocks, rest := data[:n], data[n:]
	says := ""
	switch {
	case bytes.Count(rest, []byte{0xFF}) == len(rest):
		says = "all FF"
	case bytes.Count(rest, []byte{0}) == len(rest):
		says = "all 00"
	case bytes.Equal(rest, bytes.Repeat(blocks, len(rest)/n+1)[:len(rest)]):
		says = "the same bytes once more"
	default:
		return data, ""
	}
	return blocks, fmt.Sprintf("bytes %02X to %02X stand behind what the memory announces (%s) and are left out", n, len(data)-1, says)
}
