package edid

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// Suspect is the byte that is most likely the wrong one of a block.
type Suspect struct {
	Block int     `json:"block"`
	Byte  int     `json:"byte"` // offset in the block
	Have  byte    `json:"have"`
	Want  byte    `json:"want"`  // what makes the sum of the block right
	Share float64 `json:"share"` // how likely it is this byte, when one byte is wrong; sure to 1
}

// sure is the share from which a byte is named: below it nothing is said rather than
// a wrong byte.
const sure = 0.9

// findSuspect weighs which byte of block n is the wrong one, for data whose sum of that
// block is wrong; ok says that one stands out. The sum alone accuses all 128 bytes
// alike: each has one value that makes it right. What tells them apart is how likely
// the block is before and after the change, by the fields of a block that are nearly
// always the same or follow from others; what makers often do against the standard
// weighs as little as it is worth. One wrong byte is taken for granted; a change that
// leaves the block broken speaks for several, and then nothing is said.
func findSuspect(data []byte, n int) (s Suspect, ok bool) {
	if n < 0 || (n+1)*BlockSize > len(data) {
		return s, false
	}
	block := slices.Clone(data[n*BlockSize:][:BlockSize])
	delta := -Sum(block)
	if delta == 0 {
		return s, false
	}
	behind := extensionsOf(data)
	before, _ := oddity(block, n, behind)
	total, left := 0.0, 0
	for i, have := range block {
		block[i] = have + delta
		after, broken := oddity(block, n, behind)
		block[i] = have
		share := math.Exp(before - after)
		if bits.OnesCount8(have^(have+delta)) == 1 {
			share *= oneBit
		}
		total += share
		if share > s.Share {
			s, left = Suspect{Block: n, Byte: i, Have: have, Want: have + delta, Share: share}, broken
		}
	}
	s.Share /= total
	return s, left == 0 && s.Share >= sure
}

// oneBit is how much likelier a change of one bit is than another one: half of all
// wrong bytes are taken to be one flipped bit, half any value. A choice, no source.
const oneBit = 1 + 255.0/8

// String says what the suspect is worth.
func (s Suspect) String() string {
	what := ""
	if s.Byte == BlockSize-1 {
		what = ", the checksum byte itself,"
	}
	return fmt.Sprintf("Most likely byte %02X of block %d%s is off: it reads %02X, and %02X would make the sum right."+
		" This holds for one wrong byte; read the memory again before you change one.", s.Byte, s.Block, what, s.Have, s.Want)
}
