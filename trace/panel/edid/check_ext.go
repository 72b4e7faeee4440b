package edid

import (
	"bytes"
	"slices"
)

// Tags of extension blocks.
const (
	checkExtCTA       = 0x02
	checkExtEDID2     = 0x20
	checkExtDisplayID = 0x70
	checkExtBlockMap  = 0xf0
)

// extension checks one block behind the base block.
func (f *checkFinder) extension() {
	if value := checkUniform(f.b); value >= 0 {
		f.add("extension-blank", Fails, secExtension, 0, BlockSize,
			"all bytes of the block read %02X: nothing answered, or the memory is blank", value)
		return
	}
	if checkHeaderLike(f.b) {
		f.add("extension-base", Fails, secExtension, 0, 8,
			"the block starts like a base block; a memory of one block that is read twice looks like this")
		f.checksum()
		return
	}
	switch tag := f.b[0]; tag {
	case checkExtCTA:
		f.cta()
	case checkExtDisplayID:
		f.displayID()
	case checkExtBlockMap:
		f.blockMap()
	case checkExtEDID2:
		f.add("extension-old", Fails, secExtension, 0, 1, "tag 20 is the extension of EDID 2.0, which is out of use")
	case 0x10, 0x40, 0x50:
		// Video timing, display information, localized strings: only their sum is checked.
	default:
		f.add("extension-tag", Warns, secExtension, 0, 1, "tag %02X is no extension that is known here; only the checksum of the block is checked", tag)
	}
	f.checksum()
}

// blockMap checks that the tags in the map are one after the other.
func (f *checkFinder) blockMap() {
	if f.n != 1 && f.n != 128 {
		f.add("map-place", Fails, secBlockMap, 0, 1, "block %d is a block map; a map stands in block 1 or 128", f.n)
	}
	for i := 2; i < BlockSize-1; i++ {
		if f.b[i] != 0 && f.b[i-1] == 0 {
			f.add("map-gap", Fails, secBlockMap, i, 1, "the map has tag %02X behind a 00; tags stand without gaps", f.b[i])
			return
		}
	}
}

// cta checks an extension block of CTA-861.
func (f *checkFinder) cta() {
	switch rev := f.b[1]; {
	case rev == 0:
		f.add("cta-revision", Fails, secCTA, 1, 1, "the revision of the CTA extension reads 0; 3 is expected")
	case rev == 2 || rev > 3:
		f.add("cta-revision", Warns, secCTA, 1, 1, "the revision of the CTA extension reads %d; 3 is expected", rev)
	}
	if f.b[1] == 1 && f.b[3] != 0 {
		f.add("cta-flags", Fails, secCTA, 3, 1, "byte 3 reads %02X; revision 1 has no flags there, and it must be 00", f.b[3])
	}
	d := int(f.b[2])
	switch {
	case d == 0:
		// Neither timings nor data blocks.
		f.zeros("cta-padding", Fails, secCTA, 4, BlockSize-1, "a byte of a CTA extension without timings")
		return
	case d < 4 || d > BlockSize-1:
		f.add("cta-offset", Fails, secCTA, 2, 1, "the timings start at byte %d of the block; 4 to 127 are possible, and 0 means none", d)
		return
	case f.b[1] >= 3:
		f.ctaBlocks(d)
	case d >= 12:
		f.add("cta-offset", Fails, secCTA, 2, 1, "the timings start at byte %d; revision %d has nothing that could stand before them", d, f.b[1])
	}
	f.ctaTimings(d)
}

// ctaWalk calls fn with the offset and payload of each data block that ends at or
// before end, and returns where the last one should end.
func checkCTAWalk(b []byte, end int, fn func(at int, payload []byte)) int {
	at := 4
	for at < end {
		next := at + 1 + int(b[at]&0x1f)
		if next > end {
			return next
		}
		fn(at, b[at+1:next])
		at = next
	}
	return at
}

func (f *checkFinder) ctaBlocks(end int) {
	last := 4
	stop := checkCTAWalk(f.b, end, func(at int, payload []byte) {
		last = at + 1 + len(payload)
		switch tag := f.b[at] >> 5; {
		case tag == 7 && len(payload) == 0:
			f.add("cta-extended", Fails, secCTABlocks, at, 1, "the data block has the extended tag 7 and no byte that says which")
		case tag == 0:
			f.add("cta-tag", Warns, secCTABlocks, at, 1, "the data block has tag 0, which is reserved")
		case tag == 1 && len(payload)%3 != 0:
			f.add("cta-audio", Fails, secCTABlocks, at, 1, "the audio data block has %d bytes; each of its entries has 3", len(payload))
		}
	})
	if stop != end {
		f.add("cta-overrun", Fails, secCTABlocks, last, 1,
			"the data block at byte %02X ends at byte %02X; the data blocks end at %02X, where the timings start", last, stop, end)
	}
}

func (f *checkFinder) ctaTimings(at int) {
	display := false
	for ; at+checkDescLen <= BlockSize-1; at += checkDescLen {
		d := f.b[at : at+checkDescLen]
		if bytes.Equal(d, make([]byte, checkDescLen)) {
			break
		}
		if d[0] == 0 && d[1] == 0 {
			display = true
			f.display(at)
			continue
		}
		if display {
			f.add("order", Warns, secDescriptors, at, checkDescLen, "a detailed timing stands behind a display descriptor; detailed timings come first")
		}
		f.timing(at)
	}
	f.zeros("cta-padding", Fails, secCTA, at, BlockSize-1, "a byte behind the last timing of the CTA extension")
}

// displayID checks a section of DisplayID in an extension block. Its bytes are
// version, count n, product type, extensions, n bytes of data blocks, checksum.
func (f *checkFinder) displayID() {
	const start = 5
	n := int(f.b[2])
	if n > BlockSize-2-start {
		f.add("did-length", Fails, secDIDSection, 2, 1, "the section says %d bytes of data blocks; %d are the most in an extension block", n, BlockSize-2-start)
		return
	}
	f.displayIDBlocks(start, start+n)
	if sum := sumOf(f.b[1 : start+n+1]); sum != 0 {
		f.add("did-checksum", Fails, secDIDSection, 1, start+n, "the checksum of the section, at byte %02X, reads %02X; the other bytes of the section want %02X",
			start+n, f.b[start+n], f.b[start+n]-sum)
	}
	f.zeros("did-padding", Fails, secDIDSection, start+n+1, BlockSize-1, "a byte behind the DisplayID section")
}

func (f *checkFinder) displayIDBlocks(at, end int) {
	for at < end {
		if checkUniform(f.b[at:end]) == 0 {
			return // filler
		}
		if end-at < 3 {
			f.add("did-filler", Fails, secDIDBlocks, at, end-at, "% X is left behind the last data block; a data block has at least 3 bytes, and filler is 00", f.b[at:end])
			return
		}
		tag, n := f.b[at], int(f.b[at+2])
		if at+3+n > end {
			f.add("did-overrun", Fails, secDIDBlocks, at+2, 1, "the data block with tag %02X says %d bytes; %d are left in the section", tag, n, end-at-3)
			return
		}
		if tag == 0 && n == 0 {
			f.zeros("did-filler", Fails, secDIDBlocks, at, end, "a filler byte of the DisplayID section")
			return
		}
		f.displayIDTag(at)
		at += 3 + n
	}
}

// displayIDTag checks that a tag belongs to the version and that the length goes
// with the tag.
func (f *checkFinder) displayIDTag(at int) {
	tag, n, second := f.b[at], int(f.b[at+2]), f.b[1] >= 0x20
	switch {
	case second && (tag < 0x20 || tag == 0x7f):
		f.add("did-tag", Fails, secDIDBlocks, at, 1, "tag %02X is of DisplayID 1, but the section is of version %d.%d", tag, f.b[1]>>4, f.b[1]&15)
	case !second && tag >= 0x20 && tag <= 0x7e:
		f.add("did-tag", Fails, secDIDBlocks, at, 1, "tag %02X is of DisplayID 2, but the section is of version %d.%d", tag, f.b[1]>>4, f.b[1]&15)
	}
	if tag != 0x03 && tag != 0x22 {
		return
	}
	// Type I and type VII timings have 20 bytes each.
	if n%20 != 0 {
		f.add("did-timing", Fails, secDIDBlocks, at+2, 1, "the data block of detailed timings says %d bytes; each timing has 20", n)
	}
	for p := at + 3; p+20 <= at+3+n; p += 20 {
		f.displayIDAxis(p+4, "horizontal")
		f.displayIDAxis(p+12, "vertical")
	}
}

// displayIDAxis checks one direction of such a timing: active, blanking, front porch
// and sync in two bytes each, every one less 1; bit 15 of the front porch is the
// polarity of the sync pulse.
func (f *checkFinder) displayIDAxis(at int, name string) {
	value := func(i int) int { return int(f.b[at+2*i]) | int(f.b[at+2*i+1])<<8 }
	blank, front, sync := value(1)+1, value(2)&0x7fff+1, value(3)+1
	if front+sync >= blank {
		f.add("did-porch", Fails, secDIDBlocks, at, 8, "%s front porch %d and sync %d leave no back porch in the blanking of %d", name, front, sync, blank)
	}
}

// checkWhole checks what one block alone does not tell.
func checkWhole(data []byte, base *checkFinder) []Violation {
	f := newCheckFinder(data, 0)
	f.ctx = base.ctx
	blocks := len(data) / BlockSize
	f.countBlocks(data, blocks)
	if rest := len(data) % BlockSize; rest != 0 {
		f.add("length", Fails, secFormat, blocks*BlockSize, rest, "%d bytes are left behind block %d; a block has %d, so the dump may be cut", rest, blocks-1, BlockSize)
	}
	f.wholeCTA(data, blocks)
	f.wholeMap(data, blocks)
	for i := range f.found {
		f.found[i].Block = min(f.found[i].Byte, len(data)-1) / BlockSize
	}
	return f.found
}

// checkAnnounced is the number of extensions that the data announces. A data block
// of HDMI (extended tag 78) may raise the count for sources that know it.
func checkAnnounced(data []byte) int {
	says := int(data[126])
	if says > 0 && len(data) >= 2*BlockSize && data[BlockSize] == checkExtCTA {
		checkEachCTA(data, 1, func(_ int, payload []byte, tag byte) {
			if tag == 7 && len(payload) > 1 && payload[0] == 0x78 {
				says = int(payload[1])
			}
		})
	}
	return says
}

// countBlocks holds the count of extensions against the bytes.
func (f *checkFinder) countBlocks(data []byte, blocks int) {
	says := checkAnnounced(data)
	switch {
	case says > blocks-1:
		f.add("count", Fails, secChecksum, 126, 1, "the base block says %d extension blocks; %d are there, so the dump may be cut", says, blocks-1)
	case says < blocks-1:
		f.add("count", Fails, secChecksum, 126, 1, "the base block says %d extension blocks; %d are there", says, blocks-1)
	}
}

// checkEachCTA calls fn for each data block of CTA block n.
func checkEachCTA(data []byte, n int, fn func(at int, payload []byte, tag byte)) {
	b := data[n*BlockSize : (n+1)*BlockSize]
	if end := int(b[2]); b[1] >= 3 && end >= 4 && end < BlockSize {
		checkCTAWalk(b, end, func(at int, payload []byte) { fn(n*BlockSize+at, payload, b[at]>>5) })
	}
}

// wholeCTA checks what all CTA blocks together must have.
func (f *checkFinder) wholeCTA(data []byte, blocks int) {
	first, timings := 0, checkCountTimings(data[checkFirstDesc:checkFirstDesc+4*checkDescLen])
	vga := data[35]&0x20 != 0 // 640 x 480 at 60 Hz among the established timings
	for n := 1; n < blocks; n++ {
		b := data[n*BlockSize : (n+1)*BlockSize]
		if b[0] != checkExtCTA || checkUniform(b) >= 0 {
			continue
		}
		if d := int(b[2]); d >= 4 && d < BlockSize {
			timings += checkCountTimings(b[d : BlockSize-1])
		}
		checkEachCTA(data, n, func(_ int, payload []byte, tag byte) {
			if tag == 2 {
				vga = vga || slices.Contains(payload, 0x01) || slices.Contains(payload, 0x81)
			}
		})
		if first == 0 {
			first = n
		} else if b[3] != data[first*BlockSize+3] {
			f.add("cta-byte3", Fails, secCTAFlags, n*BlockSize+3, 1, "byte 3 reads %02X; it must be the same in all CTA blocks, and block %d has %02X", b[3], first, data[first*BlockSize+3])
		}
	}
	if first == 0 {
		return
	}
	at := first * BlockSize
	if native := int(data[at+3] & 15); data[at+1] >= 2 && native > timings {
		f.add("cta-native", Fails, secCTAFlags, at+3, 1, "byte 3 says %d native timings; there are %d timings in all", native, timings)
	}
	if !vga {
		f.add("cta-vga", Fails, secCTAVideo, at+4, BlockSize-5, "640 x 480 at 60 Hz is neither an established timing nor in a video data block (VIC 1); a CTA display must take it")
	}
}

// checkCountTimings counts the detailed timings in a row of descriptors.
func checkCountTimings(b []byte) int {
	count := 0
	for ; len(b) >= checkDescLen; b = b[checkDescLen:] {
		if b[0] != 0 || b[1] != 0 {
			count++
		}
	}
	return count
}

// wholeMap checks that EDID 1.3 with more than one extension has a block map and
// that maps say what is there.
func (f *checkFinder) wholeMap(data []byte, blocks int) {
	if blocks < 2 {
		return
	}
	if data[BlockSize] != checkExtBlockMap {
		if f.ctx.minor == 3 && blocks > 2 {
			f.add("map-missing", Fails, secBlockMap, BlockSize, 1, "block 1 has tag %02X; EDID 1.3 requires a block map (F0) there when there is more than one extension", data[BlockSize])
		}
		return
	}
	for n := 2; n < min(blocks, 128); n++ {
		if says, is := data[BlockSize+n-1], data[n*BlockSize]; says != is {
			f.add("map-tag", Fails, secBlockMap, BlockSize+n-1, 1, "the map says tag %02X for block %d, which has %02X", says, n, is)
		}
	}
	if blocks < 128 && data[BlockSize+blocks-1] != 0 {
		f.add("map-tag", Fails, secBlockMap, BlockSize+blocks-1, 1, "the map says tag %02X for block %d, which is not there", data[BlockSize+blocks-1], blocks)
	}
}
