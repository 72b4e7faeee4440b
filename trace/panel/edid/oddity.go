package edid

import (
	"bytes"
	"math"

	"example.org/walkback/trace/panel/mode"
)

// How seldom a sound memory breaks what is expected, as the natural logarithm of one
// in so many. They are choices in three steps, held against the corpus in testdata:
// a rule that makers break anyway weighs little.
const (
	seldom = 1.5  // one in 4 or 5
	rare   = 4.0  // one in 50
	never  = 8.0  // one in 3000
	header = 14.0 // no memory at all
)

// odds adds up how odd a block is: minus the natural logarithm of how likely a sound
// memory has these bytes, up to a constant that is the same for all blocks.
type odds struct {
	b      []byte
	sum    float64
	broken int // rules that are never broken, and are
}

// want adds what is expected of a byte that right of its 256 values fulfil: a gain
// over any value when it is so, the more the fewer they are, and a cost when not.
func (o *odds) want(ok bool, how float64, right int) {
	if ok {
		o.sum -= math.Log(256 / float64(right))
		return
	}
	o.sum += how - math.Log(256/float64(256-right))
	if how >= never {
		o.broken++
	}
}

// oddity judges block n of a read that has so many extensions.
func oddity(block []byte, n, behind int) (sum float64, broken int) {
	o := &odds{b: block}
	if n == 0 {
		o.base(behind)
	} else {
		o.extension()
	}
	return o.sum, o.broken
}

// extensionsOf counts the blocks behind the base block that start like an extension.
func extensionsOf(data []byte) int {
	n := 0
	for (n+2)*BlockSize <= len(data) && in(data[(n+1)*BlockSize], tagCTA, tagDisplayID, 0x10, 0x40, 0xF0) {
		n++
	}
	return n
}

// in reports whether v is one of the values.
func in(v byte, values ...byte) bool { return bytes.IndexByte(values, v) >= 0 }

// between reports whether v lies from low to high.
func between[T int | byte | float64](v, low, high T) bool { return v >= low && v <= high }

// base judges a base block with so many blocks behind it (VESA E-EDID A.2). What is
// said to be usual is so in panels and monitors that are sold; common practice.
func (o *odds) base(behind int) {
	b := o.b
	for i, v := range Header() {
		o.want(b[i] == v, header, 1)
	}
	_, letters := MakerOf(b)
	o.want(letters, never, 100)
	o.want(b[16] <= 54 || b[16] == 0xFF, never, 56)
	o.want(between(b[17], 8, 40), never, 33)
	o.want(b[18] == 1, never, 1)
	o.want(in(b[19], 3, 4), rare, 2)
	if b[19] >= 4 {
		o.want(b[20]>>4 <= 0xB && b[20]&15 <= 5 && b[20] >= 0x80, rare, 24)
	} else {
		o.want(in(b[20], 0x80, 0x81) || b[20] < 0x80, rare, 100)
		o.want(in(b[20], 0x80, 0x81), seldom, 2)
	}
	o.want(b[23] == 120, seldom, 1)
	o.colours()
	for i := 38; i < 54; i += 2 { // unused standard timings are 01 01, used ones have usual rates
		size, rate := b[i], b[i+1]
		if size == 1 || rate == 1 {
			o.want(size == 1, never, 1)
			o.want(rate == 1, never, 1)
			continue
		}
		o.want(in(rate&63, 0, 10, 12, 15, 25), seldom, 20)
	}
	o.want(int(b[126]) == behind || behind == 0 && b[126] == 1, never, 1)
	o.slots()
}

// fill expects bytes that are all one of the values, or anything.
func (o *odds) fill(b []byte, how float64, values ...byte) {
	best := odds{sum: seldom}
	for _, v := range values {
		var all odds
		for _, c := range b {
			all.want(c == v, how, 1)
		}
		if all.sum < best.sum {
			best = all
		}
	}
	o.sum += best.sum
	o.broken += best.broken
}

// colours expects primaries where displays have them, and white at D65.
func (o *odds) colours() {
	for i, r := range [][2]byte{{0x88, 0xB8}, {0x4C, 0x60}, {0x38, 0x60}, {0x80, 0xC0}, {0x20, 0x2C}, {0x08, 0x28}, {0x4D, 0x53},
		{0x50, 0x58}} {
		o.want(between(o.b[27+i], r[0], r[1]), rare, int(r[1]-r[0]))
	}
}

// slots judges the four places of 18 bytes.
func (o *odds) slots() {
	var first *Timing
	for slot := range 4 {
		d := o.b[firstSlot+slotSize*slot:][:slotSize]
		if d[0] == 0 && d[1] == 0 {
			o.descriptor(d, slot+1)
			continue
		}
		t := o.timing(d)
		if slot == 0 { // the second one has the revision of the module there, in many panels
			o.want(d[17]&0xF8 == 0x18, rare, 8)
		}
		if first != nil {
			o.want(t.WidthMM == first.WidthMM, rare, 1)
			o.want(t.HeightMM == first.HeightMM, rare, 1)
			o.want(t.H.Active == first.H.Active && t.V.Active == first.V.Active, seldom, 1)
			continue
		}
		first = &t
		if o.b[21] > 0 && o.b[22] > 0 && t.WidthMM > 0 {
			o.want(between(t.WidthMM-10*int(o.b[21]), -9, 9), rare, 8)
			o.want(between(t.HeightMM-10*int(o.b[22]), -9, 9), rare, 8)
		}
	}
	o.want(first != nil, never, 128)
}

// descriptor judges a place without a timing. Notebook panels by the SPWG have bytes of
// their own in the third and fourth.
func (o *odds) descriptor(d []byte, slot int) {
	tag := d[3]
	o.want(d[2] == 0, never, 1)
	o.want(tag <= tagDummy || tag >= 0xF7, never, 10)
	o.want(d[4] == 0, rare, 1)
	switch {
	case slot == 3 && tag == tagText && in(o.b[111], tagText, 0) && bytes.IndexByte(d[5:10], '\n') < 0:
		o.letters(d[5:10])
		o.text(d[11:])
	case slot == 4 && in(tag, tagText, 0) && (tag == 0 || isNotebook(o.b)):
		o.padding(d[15:])
	case tag == tagSerial || tag == tagText || tag == tagName:
		o.text(d[5:])
	case tag == tagRange:
		o.limits(d)
	default:
		o.fill(d[5:], rare, 0)
	}
}

// text expects letters, and padding behind a line feed.
func (o *odds) text(s []byte) {
	end := bytes.IndexByte(s, '\n')
	if end < 0 {
		end = len(s)
	}
	o.letters(s[:end])
	o.padding(s[end:])
}

func (o *odds) letters(s []byte) {
	for _, c := range s {
		o.want(between(c, 0x20, 0x7E), never, 80)
	}
}

// padding expects a line feed and spaces behind it, or 00 as some makers have it.
func (o *odds) padding(s []byte) {
	if len(s) > 0 {
		o.want(s[0] == '\n', never, 1)
		o.fill(s[1:], never, ' ', 0)
	}
}

// limits expects range limits in order.
func (o *odds) limits(d []byte) {
	o.want(d[5] <= d[6] && d[5] > 0, never, 100)
	o.want(d[7] <= d[8] && d[7] > 0, never, 100)
	o.want(in(d[10], 0, 1, 2, 4), never, 4)
	switch {
	case d[10] == 1 && d[11] == 0:
		o.fill(d[11:], never, 0)
	case d[10] <= 1:
		o.padding(d[11:])
	}
}

// timing judges a detailed timing by what pictures, blankings and rates are usual.
func (o *odds) timing(d []byte) Timing {
	t := decodeDTD(d)
	runs := min(t.H.Active, t.V.Active, t.H.Front, t.V.Front, t.H.Sync, t.V.Sync) > 0 && min(t.H.Back, t.V.Back) >= 0
	o.want(runs, never, 128)
	o.want(d[15] == 0, never, 1)
	o.want(d[16] == 0, never, 1)
	rate := t.Rate()
	o.want(between(rate, 20, 400), never, 60)
	o.want(between(rate, 59.5, 60.5), seldom, 4)
	o.want(t.H.Active%8 == 0 || t.H.Active == 1366, rare, 33)
	o.want(t.V.Active%2 == 0, never, 128)
	o.want(between(t.H.Blank(), 40, 3*t.H.Active/5), rare, 100)
	o.want(between(t.V.Blank(), 3, t.V.Active), rare, 200)
	o.want(t.H.Sync%2 == 0 && t.H.Front%2 == 0, seldom, 128)
	o.want(t.V.Sync <= 24 && t.V.Front <= 60 && t.H.Front <= 400 && t.H.Sync <= 300, rare, 100)
	w, h := float64(t.H.Active), float64(t.V.Active)
	if t.Interlaced {
		h *= 2
	}
	shape := 1.0
	for _, r := range []float64{16.0 / 9, 16.0 / 10, 4.0 / 3, 5.0 / 4, 3.0 / 2, 21.0 / 9} {
		shape = min(shape, math.Abs(w/h/r-1))
	}
	o.want(shape < 0.01, rare, 8)
	if t.WidthMM > 0 && t.HeightMM > 0 {
		square := w / h / (float64(t.WidthMM) / float64(t.HeightMM))
		o.want(between(square, 0.98, 1.02), rare, 8)
	}
	if between(rate, 20, 400) && knownTiming(t.Mode) {
		o.sum -= math.Log(256) // chance would hardly make it so
	}
	return t
}

// knownTiming reports whether a standard gives a timing to the pixel, its clock to the
// 10 kHz that the timing is written in.
func knownTiming(t mode.Mode) bool {
	for _, m := range mode.Alternatives(t.H.Active, t.V.Active, math.Round(t.Rate())) {
		if m.H == t.H && m.V == t.V && math.Abs(m.Clock-t.Clock) < 10e3 {
			return true
		}
	}
	return false
}

// extension judges a block behind the base block. Of DisplayID little is the same in
// all panels, and in its blocks no byte stands out.
func (o *odds) extension() {
	b := o.b
	o.want(in(b[0], tagCTA, tagDisplayID), rare, 2)
	if b[0] != tagCTA {
		return
	}
	o.want(b[1] == 3, rare, 1)
	end := min(int(b[2]), BlockSize-1)
	o.want(end >= 4 && int(b[2]) == end, never, 124)
	if b[1] == 3 && end >= 4 {
		o.want(ctaBlocks(b, end) == end, never, 1)
	}
	at := max(end, 4)
	for ; at+slotSize < BlockSize && (b[at] != 0 || b[at+1] != 0); at += slotSize {
		o.timing(b[at : at+slotSize])
	}
	o.fill(b[at:BlockSize-1], never, 0)
}
