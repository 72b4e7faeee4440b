package edid

import (
	"bytes"
	"fmt"
	"strings"

	"example.org/walkback/trace/panel/mode"
)

// Descriptor is one of the four 18-byte places of the base block that holds a text.
type Descriptor struct {
	Slot int    `json:"slot"` // 1 to 4
	Name string `json:"name"` // serial, text or name
	Text string `json:"text"` // fit to be printed: bytes outside ASCII as \xNN
}

// NotebookData is what is of use to a bench of what notebook panels by the SPWG
// notebook panel specification put into the third and fourth descriptor.
type NotebookData struct {
	Part         string `json:"part"` // the panel maker's number
	LVDSChannels int    `json:"lvds_channels"`
}

// Where the 18-byte places of the base block stand, and the tags of those that hold
// no timing (VESA E-EDID A.2, section 3.10.3).
const (
	firstSlot = 54
	slotSize  = 18

	tagSerial = 0xFF
	tagText   = 0xFE
	tagRange  = 0xFD
	tagName   = 0xFC
	tagDummy  = 0x10
)

// decodeBase reads the base block (VESA E-EDID A.2, sections 3.3 to 3.10). A field
// that the data does not reach stays zero.
func (e *EDID) decodeBase(data []byte) {
	b := make([]byte, BlockSize)
	copy(b, data)
	e.HeaderOK = bytes.HasPrefix(data, Header())
	e.ChecksumOK = len(data) == BlockSize && Sum(data) == 0
	e.Maker, _ = MakerOf(b)
	e.Product = uint16(le16(b[10:]))
	e.Serial = uint32(le24(b[12:])) | uint32(b[15])<<24
	e.Year = 1990 + int(b[17])
	if e.ModelYear = b[16] == 0xFF; !e.ModelYear {
		e.Week = int(b[16])
	}
	e.Version, e.Revision = int(b[18]), int(b[19])
	e.decodeInput(b[20])
	if b[21] != 0 && b[22] != 0 {
		e.WidthMM, e.HeightMM = 10*int(b[21]), 10*int(b[22])
	}
	if isNotebook(b) {
		e.Notebook = &NotebookData{Part: stringOf(b[101:108]), LVDSChannels: int(b[121])}
		// The last byte of the second timing is the module's revision there, not
		// flags; those of the first timing hold for it too.
		b[89] = b[71]
	}
	for slot := range 4 {
		if at := firstSlot + slotSize*slot; at+slotSize <= len(data) {
			e.decodeSlot(slot+1, b[at:at+slotSize], b[24]&2 != 0)
		}
	}
}

// MakerOf reads the three letters of bytes 8 and 9, five bits each with A as 1; ok
// says that all are letters and the bit above them is 0.
func MakerOf(b []byte) (maker string, ok bool) {
	letters := int(b[8])<<8 | int(b[9])
	ok = b[8]&0x80 == 0
	for shift := 10; shift >= 0; shift -= 5 {
		c := byte('A' + letters>>shift&31 - 1)
		if c < 'A' || c > 'Z' {
			c, ok = '?', false
		}
		maker += string(c)
	}
	return maker, ok
}

// is14 reports whether the meanings of EDID 1.4 hold, which gave new ones to bytes
// 20 and 24 (VESA E-EDID A.2, section 3.6).
func (e *EDID) is14() bool { return e.Version == 1 && e.Revision >= 4 }

func le16(b []byte) int { return int(b[0]) | int(b[1])<<8 }

func le24(b []byte) int { return le16(b) | int(b[2])<<16 }

// decodeInput reads byte 20 (VESA E-EDID A.2, section 3.6.1).
func (e *EDID) decodeInput(v byte) {
	e.Digital = v&0x80 != 0
	if !e.Digital || !e.is14() {
		return
	}
	if depth := int(v >> 4 & 7); depth >= 1 && depth <= 6 {
		e.BitsPerColour = 4 + 2*depth
	}
	if names := []string{"", "DVI", "HDMI-a", "HDMI-b", "MDDI", "DisplayPort"}; int(v&15) < len(names) {
		e.Interface = names[v&15]
	}
}

// decodeSlot reads one 18-byte place: a timing when it starts with a pixel clock.
func (e *EDID) decodeSlot(slot int, d []byte, preferred bool) {
	if d[0] != 0 || d[1] != 0 {
		t := decodeDTD(d)
		t.Origin = fmt.Sprintf("base block, detailed timing %d", len(e.Timings)+1)
		t.Preferred = slot == 1 && (preferred || e.is14())
		e.Timings = append(e.Timings, t)
		return
	}
	if name := map[byte]string{tagSerial: "serial", tagText: "text", tagName: "name"}[d[3]]; name != "" {
		e.Descriptors = append(e.Descriptors, Descriptor{slot, name, stringOf(d[5:])})
	}
}

// stringOf is a text that ends with a line feed, without the spaces that pad it, and
// every byte outside printable ASCII as \xNN, so that a text out of a chip can
// neither steer a terminal nor break a line.
func stringOf(raw []byte) string {
	text, _, _ := strings.Cut(string(raw), "\n")
	text = strings.TrimRight(text, " \x00")
	var b strings.Builder
	for i := range len(text) {
		if c := text[i]; c < 0x20 || c > 0x7E {
			fmt.Fprintf(&b, `\x%02X`, c)
		} else {
			b.WriteByte(c)
		}
	}
	return b.String()
}

// isNotebook tells the base block of a notebook panel with the four descriptors of
// the SPWG: two timings, then two of tag FE that are more than text. How it is
// told from others is as edid-decode does it.
func isNotebook(b []byte) bool {
	timing := func(at int) bool { return b[at] != 0 || b[at+1] != 0 }
	return b[19] == 3 && timing(54) && timing(72) && !timing(90) && !timing(108) &&
		b[93] == tagText && b[111] == tagText && (b[121] == 1 || b[121] == 2) && b[122] <= 1
}

// decodeDTD reads an 18-byte detailed timing (VESA E-EDID A.2, section 3.10.2). The
// blanking of a timing with borders holds both of them; they stay in the back porch
// here, so that the totals are right.
func decodeDTD(d []byte) Timing {
	wide := func(low, high byte) int { return int(low) | int(high)<<8 }
	t := Timing{
		Interlaced: d[17]&0x80 != 0,
	}
	const ones = 1<<12 - 1 // what bytes of FF say
	if w, h := wide(d[12], d[14]>>4), wide(d[13], d[14]&15); w != ones && h != ones {
		t.WidthMM, t.HeightMM = w, h
	}
	t.Clock = float64(le16(d)) * 10e3
	t.H = mode.Axis{Active: wide(d[2], d[4]>>4), Front: wide(d[8], d[11]>>6), Sync: wide(d[9], d[11]>>4&3)}
	t.V = mode.Axis{
		Active: wide(d[5], d[7]>>4),
		Front:  int(d[10]>>4) | int(d[11]>>2&3)<<4,
		Sync:   int(d[10]&15) | int(d[11]&3)<<4,
	}
	t.H.Back = wide(d[3], d[4]&15) - t.H.Front - t.H.Sync
	t.V.Back = wide(d[6], d[7]&15) - t.V.Front - t.V.Sync
	if flags := d[17]; flags&0x10 != 0 { // digital; composite sync has one polarity
		t.HPos, t.VPos = flags&2 != 0, flags&0xC == 0xC
	}
	return t
}
