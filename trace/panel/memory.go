package panel

import (
	"bytes"
	"fmt"

	"example.org/walkback/trace/panel/edid"
)

// Announced cuts what a read of a whole memory chip brings behind the blocks that
// the first one announces: a chip of 256 bytes with one block in it is no
// violation. What is cut is empty (FF or 00 throughout) or the first blocks once
// more; a note says so. Anything else stays.
func Announced(data []byte) (cut []byte, note string) {
	if len(data) < edid.BlockSize {
		return data, ""
	}
	n := edid.BlockSize * (1 + int(data[126]))
	if len(data) <= n {
		return data, ""
	}
	blocks, rest := data[:n], data[n:]
	says := ""
	switch {
	case len(bytes.Trim(rest, "\xff")) == 0:
		says = "all FF"
	case len(bytes.Trim(rest, "\x00")) == 0:
		says = "all 00"
	case bytes.Equal(rest, bytes.Repeat(blocks, len(rest)/n+1)[:len(rest)]):
		says = "the same bytes once more"
	default:
		return data, ""
	}
	return blocks, fmt.Sprintf("bytes %02X to %02X stand behind what the memory announces (%s) and are left out", n, len(data)-1, says)
}
