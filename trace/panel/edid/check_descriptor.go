package edid

import (
	"bytes"
	"slices"
)

// Where the four 18-byte descriptors of the base block stand.
const (
	checkFirstDesc = 54
	checkDescLen   = 18
)

// Tags of display descriptors.
const (
	checkTagEstablishedIII = 0xf7
	checkTagCVT            = 0xf8
	checkTagColourManage   = 0xf9
	checkTagStandardMore   = 0xfa
	checkTagColourPoint    = 0xfb
	checkTagName           = 0xfc
	checkTagLimits         = 0xfd
	checkTagText           = 0xfe
	checkTagSerial         = 0xff
	checkTagDummy          = 0x10
	checkTagLastMaker      = 0x0f
)

// descriptors checks the four descriptors of the base block, one by one and together.
func (f *checkFinder) descriptors() {
	f.readLimits()
	spwg := checkSPWG(f.b)
	seen := map[byte]int{}
	display := false
	for i := range 4 {
		at := checkFirstDesc + i*checkDescLen
		if f.b[at] != 0 || f.b[at+1] != 0 {
			if display {
				f.add("order", Fails, secDescriptors, at, checkDescLen,
					"descriptor %d is a detailed timing behind a display descriptor; detailed timings come first", i+1)
			}
			f.timing(at)
			f.sameTiming(at)
			continue
		}
		display = true
		if f.ctx.minor == 0 {
			f.add("order", Fails, secDescriptors, at, checkDescLen, "descriptor %d is no detailed timing; EDID 1.0 knows no others", i+1)
		}
		tag := f.b[at+3]
		if first, again := seen[tag]; again && (tag == checkTagName || tag == checkTagLimits || tag == checkTagSerial) {
			f.add("twice", Warns, secDisplay, at, checkDescLen, "descriptors %d and %d have the same tag %02X; one is expected", first, i+1, tag)
		}
		seen[tag] = i + 1
		if spwg && i >= 2 {
			f.panelText(at, i)
			continue
		}
		f.display(at)
	}
	f.required(seen)
}

// required checks what a base block must have.
func (f *checkFinder) required(seen map[byte]int) {
	b := f.b
	if b[54] == 0 && b[55] == 0 && (f.ctx.minor >= 4 || b[24]&2 != 0) {
		f.add("preferred-missing", Fails, secFirst, checkFirstDesc, checkDescLen,
			"descriptor 1 is no detailed timing; the first one must be the preferred timing")
	}
	if f.ctx.minor < 3 {
		return
	}
	if seen[checkTagName] == 0 {
		sev := Warns
		if f.ctx.minor == 3 {
			sev = Fails
		}
		f.add("name-missing", sev, secDescriptors, checkFirstDesc, 4*checkDescLen,
			"no descriptor has tag FC, the product name; EDID 1.3 requires it, EDID 1.4 recommends it")
	}
	if seen[checkTagLimits] == 0 && (f.ctx.minor == 3 || b[24]&1 != 0) {
		f.add("limits-missing", Fails, secLimits, checkFirstDesc, 4*checkDescLen,
			"no descriptor has tag FD, the range limits; EDID 1.3 requires it, EDID 1.4 where the display takes any frequency")
	}
}

// display checks one display descriptor.
func (f *checkFinder) display(at int) {
	d := f.b[at : at+checkDescLen]
	if bytes.Equal(d, make([]byte, checkDescLen)) {
		f.add("descriptor-empty", Fails, secDummy, at, checkDescLen, "the descriptor is all 00; an unused one has tag 10 in its byte 3")
		return
	}
	tag := d[3]
	f.zeros("descriptor-zero", Fails, secDisplay, at+2, at+3, "byte 2 of the display descriptor")
	if tag != checkTagLimits || f.ctx.minor < 4 {
		f.zeros("descriptor-zero", Fails, secDisplay, at+4, at+5, "byte 4 of the display descriptor")
	}
	if tag >= checkTagEstablishedIII && tag <= checkTagColourManage && f.ctx.minor < 4 {
		f.add("descriptor-new", Fails, secDisplay, at+3, 1, "tag %02X is of EDID 1.4; this is 1.%d", tag, f.ctx.minor)
		return
	}
	f.displayContent(at, tag)
}

func (f *checkFinder) displayContent(at int, tag byte) {
	switch {
	case tag <= checkTagLastMaker:
		// The maker's own; nothing to hold it against.
	case tag == checkTagDummy:
		f.zeros("dummy-content", Fails, secDummy, at+5, at+checkDescLen, "a byte of the dummy descriptor")
	case tag == checkTagSerial:
		f.text(secSerial, at+5, 13)
	case tag == checkTagText:
		f.text(secText, at+5, 13)
	case tag == checkTagName:
		f.text(secName, at+5, 13)
	case tag == checkTagLimits:
		f.rangeLimits(at)
	case tag == checkTagColourPoint:
		f.colourPoint(at)
	case tag == checkTagStandardMore:
		f.standardTimings(secStandardMore, at+5, 6)
		f.padding("descriptor-padding", Warns, secStandardMore, at+17, at+18)
	case tag == checkTagColourManage:
		f.code(secColourManage, at+5, 3)
	case tag == checkTagCVT:
		f.cvtCodes(at)
	case tag == checkTagEstablishedIII:
		f.code(secEstablishedIII, at+5, 10)
		if f.b[at+11]&0x0f != 0 {
			f.add("reserved", Warns, secEstablishedIII, at+11, 1, "the low four bits of %02X are reserved and must be 0", f.b[at+11])
		}
		f.zeros("reserved", Warns, secEstablishedIII, at+12, at+checkDescLen, "a reserved byte of Established Timings III")
	default:
		f.add("descriptor-tag", Fails, secDisplay, at+3, 1, "tag %02X is reserved; 00 to 10 and F7 to FF have a meaning", tag)
	}
}

// code checks a version byte with one allowed value.
func (f *checkFinder) code(sec checkSection, at int, want byte) {
	if f.b[at] != want {
		f.add("descriptor-version", Warns, sec, at, 1, "the version byte of the descriptor reads %02X; it must be %02X", f.b[at], want)
	}
}

// padding checks an 0A followed by spaces.
func (f *checkFinder) padding(rule string, sev Severity, sec checkSection, from, to int) {
	for i := from; i < to; i++ {
		want := byte(0x20)
		if i == from {
			want = 0x0a
		}
		if f.b[i] != want {
			f.add(rule, sev, sec, i, 1, "a padding byte reads %02X; it must be %02X", f.b[i], want)
			return
		}
	}
}

// text checks a string of n bytes: printable ASCII, then 0A, then spaces.
func (f *checkFinder) text(sec checkSection, at, n int) {
	end := bytes.IndexByte(f.b[at:at+n], 0x0a)
	if end < 0 {
		end = n
	}
	body := f.b[at : at+end]
	if i := slices.IndexFunc(body, func(c byte) bool { return c < 0x20 || c > 0x7e }); i >= 0 {
		f.add("text-character", Fails, sec, at+i, 1, "character %d of the string reads %02X; 20 to 7E are printable, and 0A ends a short string", i+1, body[i])
	}
	for i := end + 1; i < n; i++ {
		if c := f.b[at+i]; c != 0x20 {
			f.add("text-padding", Fails, sec, at+i, 1, "byte %d of the string, behind its end 0A, reads %02X; it must be 20", i+1, c)
			break
		}
	}
	switch {
	case end == 0:
		f.add("text-empty", Warns, sec, at, 1, "the string is empty: it starts with its end 0A")
	case body[end-1] != 0x20:
	case end == n:
		f.add("text-end", Fails, sec, at, n, "the string ends in spaces and has no 0A; 0A ends a short string, and spaces follow it")
	default:
		f.add("text-space", Warns, sec, at+end-1, 1, "there is a space before the end 0A of the string")
	}
}

// checkSPWG tells the base block of a notebook panel with the four descriptors of
// the SPWG: two timings, then two of tag FE that are more than text. How it is
// told from others is as edid-decode does it.
func checkSPWG(b []byte) bool {
	timing := func(at int) bool { return b[at] != 0 || b[at+1] != 0 }
	return b[19] == 3 && timing(54) && timing(72) && !timing(90) && !timing(108) &&
		b[93] == checkTagText && b[111] == checkTagText && (b[121] == 1 || b[121] == 2) && b[122] <= 1
}

// panelText checks descriptor 3 or 4 (i is 2 or 3) of such a panel.
func (f *checkFinder) panelText(at, i int) {
	if i == 2 {
		for k := at + 5; k < at+10; k++ {
			if f.b[k] == 0 {
				f.add("text-character", Fails, secPanelText, k, 1, "a letter of the part number reads 00; it has five letters")
				return
			}
		}
		f.text(secPanelText, at+11, 7)
		return
	}
	f.padding("text-padding", Fails, secPanelText, at+15, at+18)
}

// colourPoint checks two more white points.
func (f *checkFinder) colourPoint(at int) {
	for _, p := range []int{at + 5, at + 10} {
		if f.b[p] != 0 && f.b[p+1]&0xf0 != 0 {
			f.add("reserved", Warns, secColourPoint, p+1, 1, "the high four bits of %02X are reserved and must be 0", f.b[p+1])
		}
	}
	f.padding("descriptor-padding", Warns, secColourPoint, at+15, at+18)
}

// cvtCodes checks four codes of three bytes; all 00 is unused, except the first.
func (f *checkFinder) cvtCodes(at int) {
	if f.b[at+5] != 1 {
		f.add("cvt-code", Fails, secCVT, at+5, 1, "the version of the CVT codes reads %02X; it must be 01", f.b[at+5])
		return
	}
	for i := range 4 {
		p := at + 6 + 3*i
		c := f.b[p : p+3]
		if i > 0 && bytes.Equal(c, make([]byte, 3)) {
			continue
		}
		preferred := c[2] >> 5 & 3 // 0 to 3: 50, 60, 75, 85 Hz
		rate := byte(0x10) >> preferred
		if preferred == 1 {
			rate |= 1 // 60 Hz with reduced blanking serves as well
		}
		switch {
		case c[0] == 0 || c[1]&3 != 0 || c[2]&0x80 != 0:
			f.add("cvt-code", Fails, secCVT, p, 3, "CVT code %d reads % X; its first byte must not be 00, and bits 1 and 0 of the second and bit 7 of the third must be 0", i+1, c)
		case c[2]&0x1f == 0:
			f.add("cvt-code", Fails, secCVT, p+2, 1, "CVT code %d (% X) supports no rate; one of bits 4 to 0 must be set", i+1, c)
		case c[2]&rate == 0:
			f.add("cvt-code", Fails, secCVT, p+2, 1, "CVT code %d (% X) prefers a rate that it does not support", i+1, c)
		}
	}
}
