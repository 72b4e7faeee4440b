package edid

import (
	"bytes"
	"math"

	"example.org/walkback/trace/panel/mode"
)

// checkTiming is a detailed timing as its 18 bytes say it.
type checkTiming struct {
	mode          mode.Mode
	width, height int // image in mm
	borderH       int // pixels
	borderV       int // lines
	flags         byte
}

// checkReadTiming unpacks 18 bytes. A back porch below 0 is kept: it means that the sync
// pulse does not fit into the blanking.
func checkReadTiming(d []byte) checkTiming {
	var t checkTiming
	t.mode.Clock = float64(int(d[0])|int(d[1])<<8) * 10e3
	axis := func(low, high, front, sync int) mode.Axis {
		blank := int(d[low+1]) | int(d[high]&0x0f)<<8
		return mode.Axis{Active: int(d[low]) | int(d[high]>>4)<<8, Front: front, Sync: sync, Back: blank - front - sync}
	}
	t.mode.H = axis(2, 4, int(d[8])|int(d[11]>>6)<<8, int(d[9])|int(d[11]>>4&3)<<8)
	t.mode.V = axis(5, 7, int(d[10]>>4)|int(d[11]>>2&3)<<4, int(d[10]&0x0f)|int(d[11]&3)<<4)
	t.width = int(d[12]) | int(d[14]>>4)<<8
	t.height = int(d[13]) | int(d[14]&0x0f)<<8
	t.borderH, t.borderV, t.flags = int(d[15]), int(d[16]), d[17]
	t.mode.Interlaced = d[17]&0x80 != 0
	return t
}

// checkSlowestClock is the clock in Hz under which a timing is taken for invalid data.
// The standard allows 10 kHz; edid-decode draws the line here, and no panel is
// known to run slower.
const checkSlowestClock = 10e6

// timing checks the detailed timing at an offset. Of its flags none is reserved:
// with bits 6 and 5 at 0, bit 0 means nothing.
func (f *checkFinder) timing(at int) {
	t := checkReadTiming(f.b[at : at+checkDescLen])
	if f.n == 0 && at == checkFirstDesc+checkDescLen && checkSPWG(f.b) {
		t.flags = f.b[at-1] // the flags byte of timing 2 is the revision of the panel, and timing 1 speaks for both
	}
	if t.mode.Clock < checkSlowestClock {
		f.add("timing-clock", Warns, secTiming, at, 2, "the pixel clock is %.2f MHz; under %.0f MHz it is hardly a timing", t.mode.Clock/1e6, checkSlowestClock/1e6)
		return
	}
	whole := f.axis(at, "horizontal", "pixels", t.mode.H, 2, 8)
	whole = f.axis(at, "vertical", "lines", t.mode.V, 5, 10) && whole
	if t.borderH != 0 || t.borderV != 0 {
		f.add("timing-border", Warns, secBorders, at+15, 2, "the borders are %d pixels and %d lines; 0 is expected, because EDID 1.3 counts borders as blanking and 1.4 does not", t.borderH, t.borderV)
	}
	if f.ctx.known && f.ctx.digital && t.flags&0x10 == 0 {
		f.add("timing-analog", Warns, secTiming, at+17, 1, "the flags %02X ask for analog sync; the input of this display is digital", t.flags)
	}
	f.timingSize(at, t)
	if whole {
		f.timingRates(at, t.mode)
	}
}

// axis checks one direction and tells whether rates can be made from it.
func (f *checkFinder) axis(at int, name, unit string, a mode.Axis, low, sync int) bool {
	switch {
	case a.Active == 0:
		f.add("timing-active", Fails, secTiming, at+low, 3, "the %s picture has 0 %s", name, unit)
		return false
	case a.Blank() == 0:
		f.add("timing-blank", Fails, secTiming, at+low, 3, "the %s blanking has 0 %s; sync and porches need some", name, unit)
	case a.Back < 0:
		f.add("timing-sync", Fails, secTiming, at+low, checkDescLen-low,
			"%s front porch %d and sync %d are longer than the blanking of %d %s", name, a.Front, a.Sync, a.Blank(), unit)
	case a.Back == 0 || a.Front == 0:
		f.add("timing-porch", Warns, secTiming, at+sync, 4, "the %s porches are %d and %d %s; 0 leaves the receiver no time", name, a.Front, a.Back, unit)
	case a.Sync == 0:
		f.add("timing-pulse", Warns, secTiming, at+sync, 4, "the %s sync pulse has 0 %s", name, unit)
	}
	return true
}

// checkSizeSlack is how much the image of a timing in mm may differ from that of the
// base block, which is given in whole centimetres.
const checkSizeSlack = 9

func (f *checkFinder) timingSize(at int, t checkTiming) {
	w, h := f.ctx.width, f.ctx.height
	given := t.width != 0 && t.height != 0
	switch {
	case !f.ctx.known:
	case w == 0:
		if t.width != 0 || t.height != 0 {
			f.add("timing-size", Warns, secTiming, at+12, 3, "the image of the timing is %d mm x %d mm, but the base block gives no size", t.width, t.height)
		}
	case !given:
		f.add("timing-size", Warns, secTiming, at+12, 3, "the timing gives no image size, but the base block says %d mm x %d mm", w, h)
	case t.width > w+checkSizeSlack || t.height > h+checkSizeSlack:
		f.add("timing-size", Fails, secTiming, at+12, 3, "the image of the timing, %d mm x %d mm, is larger than the display, %d mm x %d mm", t.width, t.height, w, h)
	case t.width < w-checkSizeSlack && t.height < h-checkSizeSlack:
		f.add("timing-size", Warns, secTiming, at+12, 3, "the image of the timing, %d mm x %d mm, is smaller than the display, %d mm x %d mm", t.width, t.height, w, h)
	}
}

// timingRates holds the rates against the range limits, which are given in whole Hz,
// kHz and 10 MHz; one step of slack covers how they were rounded.
func (f *checkFinder) timingRates(at int, m mode.Mode) {
	l := f.ctx.limits
	if !l.there {
		return
	}
	v, h := m.Rate(), m.LineRate()
	switch {
	case v+1 <= l.vMin || v >= l.vMax+1:
		f.add("timing-range", Warns, secLimits, at, 12, "the timing has %.3f Hz vertically; the range limits say %.0f to %.0f Hz", v, l.vMin, l.vMax)
	case h+1e3 <= l.hMin || h >= l.hMax+1e3:
		f.add("timing-range", Warns, secLimits, at, 12, "the timing has %.3f kHz horizontally; the range limits say %.0f to %.0f kHz", h/1e3, l.hMin/1e3, l.hMax/1e3)
	case l.clock > 0 && m.Clock > l.clock:
		f.add("timing-range", Warns, secLimits, at, 2, "the timing has a pixel clock of %.2f MHz; the range limits say %.0f MHz at most", m.Clock/1e6, l.clock/1e6)
	}
}

// sameTiming notes a timing that stands twice in the base block.
func (f *checkFinder) sameTiming(at int) {
	for first := checkFirstDesc; first < at; first += checkDescLen {
		if bytes.Equal(f.b[first:first+checkDescLen], f.b[at:at+checkDescLen]) {
			f.add("twice", Warns, secTiming, at, checkDescLen, "the detailed timing is the same as the one at byte %02X", first)
			return
		}
	}
}

// readLimits finds the range limits of the base block.
func (f *checkFinder) readLimits() {
	for at := checkFirstDesc; at < checkFirstDesc+4*checkDescLen; at += checkDescLen {
		d := f.b[at : at+checkDescLen]
		if d[0] != 0 || d[1] != 0 || d[3] != checkTagLimits {
			continue
		}
		var v [4]float64 // vertical least and most, horizontal least and most
		for i := range v {
			v[i] = float64(d[5+i])
			if f.ctx.minor >= 4 && checkLimitOffset(d[4], i) {
				v[i] += 255
			}
			if f.ctx.minor < 4 && i%2 == 1 && d[5+i] == 0xff {
				v[i] = math.Inf(1) // the most that 1.3 can say
			}
		}
		f.ctx.limits = checkLimits{true, v[0], v[1], v[2] * 1e3, v[3] * 1e3, float64(d[9]) * 10e6}
		return
	}
}

// checkLimitOffset tells whether 255 is added to value i of readLimits: of each pair of
// bits, 10 means the most alone and 11 both.
func checkLimitOffset(flags byte, i int) bool {
	pair := flags >> (i / 2 * 2) & 3
	return pair == 3 || pair == 2 && i%2 == 1
}

// rangeLimits checks the range limits descriptor.
func (f *checkFinder) rangeLimits(at int) {
	d := f.b[at : at+checkDescLen]
	l := f.ctx.limits
	if f.ctx.minor >= 4 {
		f.limitFlags(at)
	}
	for i, name := range []string{"least vertical", "most vertical", "least horizontal", "most horizontal"} {
		if d[5+i] == 0 {
			f.add("limits-zero", Warns, secLimits, at+5+i, 1, "the %s rate reads 00, which is reserved", name)
		}
	}
	if l.vMin > l.vMax {
		f.add("limits-order", Fails, secLimits, at+5, 2, "the least vertical rate, %.0f Hz, is above the most, %.0f Hz", l.vMin, l.vMax)
	}
	if l.hMin > l.hMax {
		f.add("limits-order", Fails, secLimits, at+7, 2, "the least horizontal rate, %.0f kHz, is above the most, %.0f kHz", l.hMin/1e3, l.hMax/1e3)
	}
	if d[9] == 0 && f.ctx.minor >= 4 {
		f.add("limits-clock", Fails, secLimits, at+9, 1, "the highest pixel clock reads 00; EDID 1.4 requires it")
	}
	f.limitFormula(at)
}

func (f *checkFinder) limitFlags(at int) {
	b := f.b[at+4]
	if b&0xf0 != 0 || b&0x0c == 4 || b&3 == 1 {
		f.add("limits-flags", Warns, secLimits, at+4, 1, "the offset flags read %02X; bits 7 to 4 are reserved, and so is 01 in bits 3 and 2 or 1 and 0", b)
	}
}

// limitFormula checks byte 10, the timing formula, and what follows from it.
func (f *checkFinder) limitFormula(at int) {
	kind := f.b[at+10]
	if (kind == 1 || kind == 4) && f.ctx.minor < 4 {
		f.add("limits-formula", Fails, secLimits, at+10, 1, "the timing formula reads %02X, which is of EDID 1.4; this is 1.%d", kind, f.ctx.minor)
	}
	if (kind == 0 || kind == 2 || kind == 4) && f.ctx.minor >= 4 && f.b[24]&1 == 0 && f.n == 0 {
		f.add("limits-formula", Fails, secLimits, at+10, 1,
			"the timing formula reads %02X, but bit 0 of the features says that the display does not take any frequency; then it must be 01", kind)
	}
	switch kind {
	case 0, 1:
		f.padding("limits-padding", Fails, secLimits, at+11, at+checkDescLen)
	case 2:
		f.zeros("limits-gtf", Fails, secLimits, at+11, at+12, "the reserved byte of the secondary GTF curve")
		if bytes.Equal(f.b[at+12:at+checkDescLen], make([]byte, 6)) {
			f.add("limits-gtf", Fails, secLimits, at+12, 6, "the secondary GTF curve is all 00")
		}
	case 4:
		f.limitCVT(at)
	default:
		f.add("limits-formula", Fails, secLimits, at+10, 1, "the timing formula reads %02X; 00, 01, 02 and 04 have a meaning", kind)
	}
}

func (f *checkFinder) limitCVT(at int) {
	f.reserved("limits-cvt", secLimits, at+14, 0x07, "the byte of aspect ratios")
	f.reserved("limits-cvt", secLimits, at+15, 0x07, "the byte of the preferred aspect ratio")
	f.reserved("limits-cvt", secLimits, at+16, 0x0f, "the byte of scaling")
	if f.b[at+15]>>5 > 4 {
		f.add("limits-cvt", Fails, secLimits, at+15, 1, "the preferred aspect ratio has code %d; 4 is the last one", f.b[at+15]>>5)
	}
	if f.b[at+17] == 0 {
		f.add("limits-cvt", Warns, secLimits, at+17, 1, "the preferred vertical rate reads 00; a rate is expected")
	}
}
