package edid

import "bytes"

// decodeBase reads the base block. A field that the data does not reach stays
// zero.
func (e *EDID) decodeBase(data []byte) {
	b := make([]byte, BlockSize)
	copy(b, data)
	e.HeaderOK = bytes.HasPrefix(data, []byte{0, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0})
	e.ChecksumOK = len(data) == BlockSize && sumOf(data) == 0
	e.Version, e.Revision = int(b[18]), int(b[19])
	e.decodeProduct(b)
	e.decodeInput(b[20])
	e.decodeSize(b[21], b[22])
	if b[23] != 0xFF && len(data) > 23 {
		e.Gamma = gamma(b[23])
	}
	e.decodeFeatures(b[24])
	e.Colours = decodeColours(b[25:35])
	e.Established = decodeEstablished(b[35:38])
	e.Standard = e.decodeStandard(b[38:54])
	if checkSPWG(b) {
		e.Notebook = decodeNotebook(b)
		// The last byte of the second timing is the module's revision there, not
		// flags; those of the first timing hold for it too.
		b[89] = b[71]
	}
	for slot := range 4 {
		at := 54 + 18*slot
		if at+18 > len(data) {
			break
		}
		e.decodeSlot(slot+1, b[at:at+18])
	}
}

// is14 tells whether the meanings of EDID 1.4 hold, which gave new ones to bytes
// 20, 21, 22 and 24 (VESA E-EDID A.2, section 3.6).
func (e *EDID) is14() bool { return e.Version == 1 && e.Revision >= 4 }

func gamma(v byte) float64 { return (float64(v) + 100) / 100 }

func le16(b []byte) int { return int(b[0]) | int(b[1])<<8 }

func le24(b []byte) int { return le16(b) | int(b[2])<<16 }

// decodeProduct reads bytes 8 to 17 (VESA E-EDID A.2, section 3.4).
func (e *EDID) decodeProduct(b []byte) {
	letters := int(b[8])<<8 | int(b[9])
	maker := make([]byte, 3)
	for i := range maker {
		v := letters >> (10 - 5*i) & 31
		maker[i] = '?'
		if v >= 1 && v <= 26 {
			maker[i] = byte('A' + v - 1)
		}
	}
	e.Maker = string(maker)
	e.Product = uint16(le16(b[10:]))
	e.Serial = uint32(le24(b[12:])) | uint32(b[15])<<24
	e.Year = 1990 + int(b[17])
	if b[16] == 0xFF {
		e.ModelYear = true
	} else {
		e.Week = int(b[16])
	}
}

// decodeInput reads byte 20 (VESA E-EDID A.2, section 3.6.1).
func (e *EDID) decodeInput(v byte) {
	if v&0x80 == 0 {
		e.Analog = &AnalogInput{
			Levels:        []string{"0.700/0.300", "0.714/0.286", "1.000/0.400", "0.700/0.000"}[v>>5&3],
			Setup:         v&0x10 != 0,
			SeparateSync:  v&0x08 != 0,
			CompositeSync: v&0x04 != 0,
			SyncOnGreen:   v&0x02 != 0,
			Serration:     v&0x01 != 0,
		}
		return
	}
	e.Digital = true
	if !e.is14() {
		e.Features.DFP = v&1 != 0
		return
	}
	if depth := int(v >> 4 & 7); depth >= 1 && depth <= 6 {
		e.BitsPerColour = 4 + 2*depth
	}
	if names := []string{"", "DVI", "HDMI-a", "HDMI-b", "MDDI", "DisplayPort"}; int(v&15) < len(names) {
		e.Interface = names[v&15]
	}
}

// decodeSize reads bytes 21 and 22: centimetres, or an aspect ratio when one of
// them is 0 in EDID 1.4 (VESA E-EDID A.2, section 3.6.2).
func (e *EDID) decodeSize(w, h byte) {
	switch {
	case w != 0 && h != 0:
		e.WidthMM, e.HeightMM = 10*int(w), 10*int(h)
	case !e.is14():
	case w != 0:
		e.Aspect = (float64(w) + 99) / 100
	case h != 0:
		e.Aspect = 100 / (float64(h) + 99)
	}
}

// decodeFeatures reads byte 24 (VESA E-EDID A.2, section 3.6.4).
func (e *EDID) decodeFeatures(v byte) {
	f := &e.Features
	f.Standby, f.Suspend, f.ActiveOff = v&0x80 != 0, v&0x40 != 0, v&0x20 != 0
	f.SRGB = v&0x04 != 0
	f.FirstIsPreferred = v&0x02 != 0 || e.is14()
	f.PreferredIsNative = v&0x02 != 0 && e.is14()
	f.ContinuousFrequency = v&0x01 != 0 && e.is14()
	f.DefaultGTF = v&0x01 != 0 && !e.is14()
	kind := v >> 3 & 3
	if e.Digital && e.is14() {
		f.ColourFormats = [][]string{
			{"RGB 4:4:4"},
			{"RGB 4:4:4", "YCrCb 4:4:4"},
			{"RGB 4:4:4", "YCrCb 4:2:2"},
			{"RGB 4:4:4", "YCrCb 4:4:4", "YCrCb 4:2:2"},
		}[kind]
		return
	}
	if kind != 3 {
		f.ColourFormats = []string{[]string{"monochrome", "RGB", "non-RGB"}[kind]}
	}
}

// decodeColours reads bytes 25 to 34: ten bits a coordinate, the low two bits of
// all in the first two bytes (VESA E-EDID A.2, section 3.7).
func decodeColours(b []byte) Colours {
	point := func(i int) Point {
		low := b[i/2] >> (4 * (1 - i%2))
		return Point{
			X: float64(int(b[2+2*i])<<2|int(low>>2&3)) / 1024,
			Y: float64(int(b[3+2*i])<<2|int(low&3)) / 1024,
		}
	}
	return Colours{Red: point(0), Green: point(1), Blue: point(2), White: point(3)}
}

// establishedTable is bytes 35 to 37 from the top bit down (VESA E-EDID A.2,
// section 3.8).
func establishedTable() []Resolution {
	return []Resolution{
		{Width: 720, Height: 400, Rate: 70}, {Width: 720, Height: 400, Rate: 88},
		{Width: 640, Height: 480, Rate: 60}, {Width: 640, Height: 480, Rate: 67},
		{Width: 640, Height: 480, Rate: 72}, {Width: 640, Height: 480, Rate: 75},
		{Width: 800, Height: 600, Rate: 56}, {Width: 800, Height: 600, Rate: 60},
		{Width: 800, Height: 600, Rate: 72}, {Width: 800, Height: 600, Rate: 75},
		{Width: 832, Height: 624, Rate: 75}, {Width: 1024, Height: 768, Rate: 87, Interlaced: true},
		{Width: 1024, Height: 768, Rate: 60}, {Width: 1024, Height: 768, Rate: 70},
		{Width: 1024, Height: 768, Rate: 75}, {Width: 1280, Height: 1024, Rate: 75},
		{Width: 1152, Height: 870, Rate: 75},
	}
}

func decodeEstablished(b []byte) []Resolution {
	var out []Resolution
	for i, r := range establishedTable() {
		if b[i/8]&(0x80>>(i%8)) != 0 {
			out = append(out, r)
		}
	}
	return out
}

// decodeStandard reads pairs of bytes (VESA E-EDID A.2, section 3.9). 01 01 is an
// unused pair; 00 in the first byte is no size.
func (e *EDID) decodeStandard(b []byte) []Resolution {
	var out []Resolution
	for ; len(b) >= 2; b = b[2:] {
		if b[0] == 0 || b[0] == 1 && b[1] == 1 {
			continue
		}
		w, h := (int(b[0])+31)*8, 0
		switch b[1] >> 6 {
		case 0:
			h = w * 10 / 16
			if e.Version == 1 && e.Revision < 3 {
				h = w
			}
		case 1:
			h = w * 3 / 4
		case 2:
			h = w * 4 / 5
		case 3:
			h = w * 9 / 16
		}
		out = append(out, Resolution{Width: w, Height: h, Rate: float64(b[1]&63) + 60})
	}
	return out
}
