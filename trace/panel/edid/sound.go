package edid

import (
	"fmt"
	"strings"
)

// Sound tells whether data was read as a memory holds it: the header is right, every
// block that the data announces is there, and all their sums are right, those of
// DisplayID sections too. What a maker wrote against the standard leaves data sound,
// and so do bytes behind the announced blocks.
func Sound(data []byte) bool { return len(unsound(data)) == 0 }

// unsound are the reasons against a read, in words.
func unsound(data []byte) []string {
	switch {
	case len(data) == 0:
		return []string{"there are no bytes"}
	case !checkHeaderLike(data):
		// What stands where the count of blocks and the sums should be means nothing.
		return []string{"the header of identity data is not there"}
	case len(data) < BlockSize:
		return []string{fmt.Sprintf("only %d of the %d bytes of block 0 are there", len(data), BlockSize)}
	}
	var why []string
	if checkHeaderHits(data) < len(checkHeader()) {
		why = append(why, "the header is wrong")
	}
	announced := announcedBlocks(data)
	for _, s := range Sums(announced) {
		block := announced[s.Block*BlockSize:][:BlockSize]
		if !s.OK {
			why = append(why, fmt.Sprintf("the sum of block %d is wrong", s.Block))
		}
		if s.Block > 0 && block[0] == tagDisplayID && !decodeDisplayID(s.Block, block).ChecksumOK {
			why = append(why, fmt.Sprintf("the sum of the DisplayID section in block %d is wrong", s.Block))
		}
	}
	switch says, have := checkAnnounced(data), len(announced)/BlockSize-1; {
	case have >= says:
	case says == 1:
		why = append(why, "the extension block that is announced is missing")
	default:
		why = append(why, fmt.Sprintf("of %d extension blocks that are announced %d are missing", says, says-have))
	}
	return why
}

// announcedBlocks are the whole blocks of the data that it announces.
func announcedBlocks(data []byte) []byte {
	n := min(len(data)/BlockSize, 1+checkAnnounced(data))
	return data[:n*BlockSize]
}

// soundText is the verdict that a technician needs: whether to read again.
func soundText(data []byte, violations bool) string {
	if why := unsound(data); len(why) > 0 {
		return "The read is not sound: " + strings.Join(why, "; ") + "."
	}
	announced := announcedBlocks(data)
	text := "Header and sums are right"
	for _, s := range Sums(data)[len(announced)/BlockSize:] {
		if !s.OK {
			text = "Header and sums of the announced blocks are right"
		}
	}
	for n := 1; n*BlockSize < len(announced); n++ {
		if checkUniform(announced[n*BlockSize:][:BlockSize]) == 0 {
			return fmt.Sprintf("%s, but block %d reads 00 throughout, which makes a right sum too: read it again; if it stays so, the maker left it empty.", text, n)
		}
	}
	text += ": the read is good"
	if violations {
		text += "; the rest is how the maker wrote it"
	}
	return text + "."
}
