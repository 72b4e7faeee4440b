package edid

import "bytes"

// baseBlock checks the base block and learns from it what the others need.
func (f *checkFinder) baseBlock() {
	b := f.b
	f.ctx = checkContext{known: true, minor: min(int(b[19]), 4), digital: b[20]&0x80 != 0}
	if b[21] != 0 && b[22] != 0 {
		f.ctx.width, f.ctx.height = int(b[21])*10, int(b[22])*10
	}
	f.header()
	f.maker()
	f.date()
	f.version()
	f.videoInput()
	f.imageSize()
	f.features()
	f.colours()
	f.standardTimings(secStandard, 38, 8)
	f.descriptors()
	f.checksum()
}

func (f *checkFinder) header() {
	for i, want := range checkHeader() {
		if f.b[i] != want {
			f.add("header", Fails, secHeader, i, 1, "header byte %d reads %02X; it is always %02X", i, f.b[i], want)
		}
	}
}

// maker checks the three letters of five bits each: 1 is A, 26 is Z.
func (f *checkFinder) maker() {
	if f.b[8]&0x80 != 0 {
		f.add("maker-reserved", Fails, secMaker, 8, 1, "bit 15 of the maker's letters is set; it is reserved and must be 0")
	}
	v := int(f.b[8])<<8 | int(f.b[9])
	for i, shift := range []int{10, 5, 0} {
		if letter := v >> shift & 31; letter < 1 || letter > 26 {
			f.add("maker-letters", Fails, secMaker, 8, 2,
				"letter %d of the maker has code %d (bytes %02X %02X); 1 is A and 26 is Z", i+1, letter, f.b[8], f.b[9])
			return
		}
	}
}

// date checks week and year. That a year lies in the future is not checked: the
// result would change with the day.
func (f *checkFinder) date() {
	week, year := f.b[16], f.b[17]
	switch last := f.lastWeek(); {
	case week == 0xff && f.ctx.minor < 4:
		f.add("week", Fails, secDate, 16, 1, "the week reads FF, which means a model year only from EDID 1.4 on; 0 to %d are weeks", last)
	case week > last && week != 0xff:
		f.add("week", Fails, secDate, 16, 1, "the week reads %d; 0 (not given) to %d are weeks", week, last)
	}
	// The lower bound of the year is as a public format description of 1.4 gives it.
	if year < 0x10 && f.ctx.minor >= 4 {
		f.add("year", Warns, secDate, 17, 1, "the year reads %d; EDID 1.4 is of 2006, and earlier years are reserved", 1990+int(year))
	}
}

// lastWeek is 53 up to EDID 1.3 and 54 from 1.4 on.
func (f *checkFinder) lastWeek() byte {
	if f.ctx.minor < 4 {
		return 53
	}
	return 54
}

func (f *checkFinder) version() {
	switch version, revision := f.b[18], f.b[19]; {
	case version != 1:
		f.add("version", Fails, secVersion, 18, 1, "the version reads %d; this 128-byte structure is version 1", version)
	case revision > 4:
		f.add("revision", Warns, secVersion, 19, 1, "the revision reads %d; 4 is the last one, and this one is judged by its rules", revision)
	case revision < 3:
		f.add("revision", Warns, secVersion, 19, 1, "revision %d is out of use; 3 or 4 is expected", revision)
	}
}

// videoInput checks byte 20, of which each revision uses more bits.
func (f *checkFinder) videoInput() {
	b := f.b[20]
	if b&0x80 == 0 {
		return // of the analog bits none is reserved
	}
	switch {
	case f.ctx.minor >= 4:
		if b&0x70 == 0x70 {
			f.add("input-depth", Fails, secInput, 20, 1, "the colour depth has code 7 (byte %02X), which is reserved; 1 to 6 are 6 to 16 bits", b)
		}
		if b&0x0f > 5 {
			f.add("input-interface", Fails, secInput, 20, 1, "the interface has code %d (byte %02X), which is reserved; 5, DisplayPort, is the last one", b&0x0f, b)
		}
	case f.ctx.minor >= 2:
		f.reserved("input-reserved", secInput, 20, 0x7e, "the digital input byte")
	default:
		f.reserved("input-reserved", secInput, 20, 0x7f, "the digital input byte")
	}
}

func (f *checkFinder) imageSize() {
	w, h := int(f.b[21]), int(f.b[22])
	switch {
	case w == 0 || h == 0:
		// Not given, or from 1.4 on an aspect ratio: both are allowed.
	case w < 10 || h < 10:
		f.add("size-small", Warns, secSize, 21, 2, "the image is %d cm x %d cm, under 10 cm; centimetres are expected", w, h)
	case w > 4*h || h > 4*w:
		f.add("size-aspect", Warns, secSize, 21, 2, "the image is %d cm x %d cm, longer than 4 to 1", w, h)
	}
	if f.b[23] == 0xff && f.b[126] == 0 {
		f.add("gamma-extension", Warns, secGamma, 23, 1, "gamma reads FF, so an extension block holds it, but there is none")
	}
}

// checkSRGB are the bytes 25 to 34 of a display whose primaries are those of sRGB:
// red 0.640 0.330, green 0.300 0.600, blue 0.150 0.060, white 0.3127 0.3290
// (IEC 61966-2-1), rounded to 10 bits.
func checkSRGB() []byte {
	return []byte{0xee, 0x91, 0xa3, 0x54, 0x4c, 0x99, 0x26, 0x0f, 0x50, 0x54}
}

func (f *checkFinder) features() {
	b := f.b[24]
	if f.ctx.minor == 3 && b&2 == 0 {
		f.add("preferred-bit", Fails, secFeatures, 24, 1,
			"bit 1 of the features (byte %02X) is 0; EDID 1.3 requires the first detailed timing to be the preferred one", b)
	}
	same := bytes.Equal(f.b[25:35], checkSRGB())
	switch {
	case b&4 != 0 && !same:
		f.add("srgb-colours", Fails, secFeatures, 24, 11, "the sRGB bit is set, but the colour coordinates are not those of sRGB (% X)", checkSRGB())
	case b&4 != 0 && f.b[23] != 120:
		f.add("srgb-gamma", Warns, secFeatures, 23, 2, "the sRGB bit is set with gamma %.2f; sRGB goes with 2.20", float64(f.b[23])/100+1)
	case b&4 == 0 && same:
		f.add("srgb-unsaid", Warns, secFeatures, 24, 1, "the colour coordinates are those of sRGB, but the sRGB bit is 0")
	}
}

// checkPoint is a colour in the CIE 1931 diagram.
type checkPoint struct{ x, y float64 }

// real tells whether a light can have this colour: y is above 0 and x+y below 1
// (CIE 1931; the spectral locus lies inside that triangle). Both are rounded to
// steps of 1/1024, half a step each.
func (p checkPoint) real() bool { return p.y > 0 && p.x+p.y <= 1+1.0/1024 }

// checkTurn is twice the signed area of the triangle, above 0 when it turns left.
func checkTurn(a, b, c checkPoint) float64 { return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x) }

// checkPrimaries unpacks the 10-bit coordinates of red, green, blue and white.
func checkPrimaries(b []byte) [4]checkPoint {
	var p [4]checkPoint
	low := int(b[25])<<8 | int(b[26])
	at := func(i int) float64 { return float64(int(b[27+i])<<2|low>>(14-2*i)&3) / 1024 }
	for i := range p {
		p[i] = checkPoint{at(2 * i), at(2*i + 1)}
	}
	return p
}

// colours checks that the coordinates can be those of a display. Red, green and
// blue turn left in the diagram, as all real displays do: common knowledge, no
// clause of the standard asks for it, so it only warns.
func (f *checkFinder) colours() {
	p := checkPrimaries(f.b)
	zero := checkPoint{}
	if p[0] == zero && p[1] == zero && p[2] == zero {
		return // a display of one colour, or nothing given
	}
	for i, name := range []string{"red", "green", "blue", "white"} {
		if !p[i].real() {
			f.add("colour-unreal", Warns, secColour, 25, 10, "%s is at x %.4f, y %.4f; no light has this colour", name, p[i].x, p[i].y)
			return
		}
	}
	r, g, b, w := p[0], p[1], p[2], p[3]
	switch {
	case checkTurn(r, g, b) <= 0:
		f.add("colour-order", Warns, secColour, 25, 10, "red, green and blue span no colours in this order; two may be exchanged")
	case checkTurn(r, g, w) < 0 || checkTurn(g, b, w) < 0 || checkTurn(b, r, w) < 0:
		f.add("colour-white", Warns, secColour, 25, 10, "white (x %.4f, y %.4f) lies outside of red, green and blue", w.x, w.y)
	}
}

// standardTimings checks count pairs from at on. 01 01 is the code for "unused". That
// 256 pixels and 61 Hz are not meant is common practice, no clause says so.
func (f *checkFinder) standardTimings(sec checkSection, at, count int) {
	for i := at; i < at+2*count; i += 2 {
		switch a, b := f.b[i], f.b[i+1]; {
		case a == 0:
			f.add("standard-zero", Fails, sec, i, 2, "standard timing %d reads %02X %02X; first byte 00 is reserved, an unused one is 01 01", (i-at)/2+1, a, b)
		case a == 1 && b != 1:
			f.add("standard-narrow", Warns, sec, i+1, 1, "standard timing %d reads %02X %02X, a width of 256 pixels; an unused one is 01 01", (i-at)/2+1, a, b)
		case a != 1 && b == 1:
			f.add("standard-half", Warns, sec, i, 1, "standard timing %d reads %02X %02X, a rate of 61 Hz that no display asks for; an unused one is 01 01", (i-at)/2+1, a, b)
		}
	}
}
