package rom

import (
	"bytes"
	"fmt"
	"math/bits"
	"strings"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/dump"
	"example.org/walkback/trace/panel/edid"
)

// notAnswered tells of bytes that got no acknowledge, or that a torn dump lacks, of n.
func notAnswered(n int, missing []dump.Range) *Finding {
	f := &Finding{Pattern: PartAnswered, Certain: true}
	gone, places := 0, []string{}
	for _, m := range missing {
		gone += m.To - m.From
		places = append(places, fmt.Sprintf("0x%02x to 0x%02x", m.From, m.To-1))
	}
	if gone == n {
		f.Pattern, f.Says = NotAnswered, fmt.Sprintf("none of the %d bytes was answered", n)
		return f
	}
	const most = 4
	f.Where = strings.Join(places[:min(len(places), most)], ", ")
	if more := len(places) - most; more > 0 {
		f.Where += fmt.Sprintf(" and %d more", more)
	}
	f.Says = fmt.Sprintf("%d of %d bytes are not in the read, in %s: the memory came late or stopped answering, lines of the dump "+
		"are lost, or they were not asked for", gone, n, say.Count(len(places), "place"))
	return f
}

// constant is for one value everywhere.
func constant(value byte) *Finding {
	switch value {
	case 0xFF:
		return &Finding{Pattern: AllOnes, Certain: true, Says: "every byte is FF: nobody pulled the data line low"}
	case 0:
		return &Finding{Pattern: AllZeros, Certain: true, Says: "every byte is 00: the data line was low all the time"}
	}
	return &Finding{Pattern: OneValue, Certain: true, Says: fmt.Sprintf("every byte is %02X: the same byte was read again and again", value)}
}

func shortRead(b []byte) *Finding {
	f := &Finding{Pattern: ShortRead, Certain: true, Where: fmt.Sprintf("after byte %d", len(b)-1)}
	f.Says = fmt.Sprintf("only %d bytes were read, a block has %d", len(b), edid.BlockSize)
	if bytes.HasPrefix(b, edid.Header()) {
		f.Says += "; the header is right, so they are the start of the memory"
	}
	return f
}

// halfRead finds bytes that are right up to some place and one value from there.
// A block of zeros can be honest padding: up to a descriptor and some (24 bytes)
// it is not taken for certain.
func halfRead(b []byte) *Finding {
	from := tail(b[:edid.BlockSize])
	known := min(from, 8)
	if from < 1 || !bytes.Equal(b[:known], edid.Header()[:known]) {
		return nil
	}
	value, run := b[edid.BlockSize-1], edid.BlockSize-from
	f := &Finding{Pattern: HalfRead, Where: fmt.Sprintf("from byte 0x%02x on", from)}
	switch {
	case value == 0xFF && run >= 8, value == 0 && run >= 24:
		f.Certain = true
	case value != 0xFF && value != 0 || run < 3:
		return nil
	}
	f.Says = fmt.Sprintf("the start is right, then every byte is %02X: the read broke off", value)
	return f
}

// oneValue reports whether all bytes are the same.
func oneValue(b []byte) bool { return tail(b) == 0 }

// tail is where the last run of one value starts.
func tail(b []byte) int {
	i := len(b) - 1
	for i > 0 && b[i-1] == b[len(b)-1] {
		i--
	}
	return i
}

// plainDamage is for bytes that no pattern explains.
func plainDamage(b []byte) *Finding {
	ones, zeros := 0, 0 // bits of the header that should be 1 and 0 but are not
	for i, h := range edid.Header() {
		ones += bits.OnesCount8(h &^ b[i])
		zeros += bits.OnesCount8(b[i] &^ h)
	}
	switch {
	case ones+zeros == 0:
		return nil // no fault of a line: package edid has a word on it
	case ones+zeros <= 8:
		return headerHurt(b, ones, zeros)
	}
	return &Finding{Pattern: NoHeader, Certain: true,
		Says: "the header 00 FF FF FF FF FF FF 00 is nowhere: another chip answers, the memory holds something else, or the line is noise"}
}

func headerHurt(b []byte, ones, zeros int) *Finding {
	f := &Finding{Pattern: HeaderHurt, Where: "bytes 0 to 7"}
	f.Says = fmt.Sprintf("the header is nearly right: %s read as 0 that should be 1, %s read as 1 that should be 0",
		say.Count(ones, "bit"), say.Count(zeros, "bit"))
	mended := append(edid.Header(), b[8:]...)
	if whole(mended) {
		f.Certain, f.Repaired = true, mended
		f.Says += "; with the header put right the sum is right too"
	}
	return f
}

// extensions looks at what follows a sound base block. Byte 126 tells how many
// blocks follow (VESA E-EDID); without any, FF or a second copy is honest. Two equal
// extensions are honest too; a second base block among them is not.
func extensions(data []byte) []Finding {
	want, have := int(data[126]), len(data)/edid.BlockSize-1
	var list []Finding
	for i := 1; i <= min(want, have); i++ {
		block := data[i*edid.BlockSize : (i+1)*edid.BlockSize]
		where := fmt.Sprintf("from byte 0x%02x on", i*edid.BlockSize+tail(block))
		end := block[edid.BlockSize-1]
		switch {
		case bytes.Equal(block, data[:edid.BlockSize]) && i == 1:
			list = append(list, Finding{Pattern: RepeatedPage, Certain: true, Where: "blocks of 128 bytes",
				Says: "block 1 is a copy of block 0, though an extension is announced: the memory has only 128 bytes or A7 does nothing"})
		case end == 0 && oneValue(block):
			// The sum of zeros is 0, but 0 is no tag of an extension (VESA E-EDID).
			// Displays with such a block are sold, so the read is not to blame for certain.
			list = append(list, Finding{Pattern: HalfRead, Where: where, Says: unread(i, where, 0)})
		case edid.Sum(block) == 0:
		case tail(block) <= edid.BlockSize-24 && (end == 0xFF || end == 0):
			// An extension is padded with zeros, so its sum alone may be wrong.
			list = append(list, Finding{Pattern: HalfRead, Certain: end != 0, Where: where, Says: unread(i, where, end)})
		}
	}
	return list
}

func unread(block int, where string, value byte) string {
	return fmt.Sprintf("block %d is announced, but every byte %s is %02X: the read broke off or the block was never written",
		block, where, value)
}
