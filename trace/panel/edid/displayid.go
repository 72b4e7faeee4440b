package edid

import (
	"fmt"

	"example.org/walkback/trace/panel/mode"
)

// DisplayID is a DisplayID section inside an extension block.
type DisplayID struct {
	Version    int              `json:"version"`
	Revision   int              `json:"revision"`
	Product    int              `json:"product_type"` // primary use in 2.x
	Name       string           `json:"product_type_name"`
	Extensions int              `json:"extension_count"`
	ChecksumOK bool             `json:"section_checksum_ok"`
	Blocks     []DisplayIDBlock `json:"data_blocks,omitempty"`
}

// DisplayIDBlock is one data block. What is not decoded is in Data.
type DisplayIDBlock struct {
	Tag        int                `json:"tag"`
	Name       string             `json:"name"`
	Revision   int                `json:"revision"`
	Text       string             `json:"text,omitempty"` // of a string, fit to be printed
	Timings    []Timing           `json:"timings,omitempty"`
	Parameters *DisplayParameters `json:"parameters,omitempty"`
	Power      *PowerSequence     `json:"power_sequence,omitempty"`
	CTA        []CTABlock         `json:"cta_data_blocks,omitempty"`
	Data       Hex                `json:"data"`
}

// DisplayParameters is the size of the panel and its depth.
type DisplayParameters struct {
	WidthMM       float64 `json:"width_millimetres"`
	HeightMM      float64 `json:"height_millimetres"`
	Width         int     `json:"width_pixels"`
	Height        int     `json:"height_pixels"`
	BitsPerColour int     `json:"bits_per_colour,omitempty"` // 0 is not told
	Gamma         float64 `json:"gamma,omitempty"`           // 0 is not told
}

// Span is a time from Min to Max in seconds; Max 0 is no upper limit.
type Span struct {
	Min float64 `json:"min_seconds"`
	Max float64 `json:"max_seconds,omitempty"`
}

// PowerSequence is the interface power sequencing block. What the six times mean is
// from memory: T1 is the rise of the
// supply, T2 supply to signal, T3 signal to supply on the way down, T4 the pause
// with the supply off, T5 signal to backlight, T6 backlight off to signal off.
type PowerSequence struct {
	T1 Span `json:"t1"`
	T2 Span `json:"t2"`
	T3 Span `json:"t3"`
	T4 Span `json:"t4"`
	T5 Span `json:"t5"`
	T6 Span `json:"t6"`
}

// decodeDisplayID reads an extension block of tag 70. Its section starts at byte
// 1: version, bytes of data blocks, product type, count of extensions, the data
// blocks, and a checksum over the section (VESA DisplayID 1.3, Section Structure).
func decodeDisplayID(n int, b []byte) *DisplayID {
	d := &DisplayID{
		Version: int(b[1] >> 4), Revision: int(b[1] & 15), Product: int(b[3]), Extensions: int(b[4]),
	}
	d.Name = productName(d.Version, d.Product)
	end := 5 + int(b[2])
	if end < BlockSize-1 {
		d.ChecksumOK = sumOf(b[1:end+1]) == 0
	}
	end = min(end, BlockSize-1)
	for at := 5; at+3 <= end; {
		size := int(b[at+2])
		if at+3+size > end {
			break
		}
		// Zeros to the end of the section are filling, not product identities.
		if b[at] == 0 && b[at+1] == 0 && size == 0 {
			break
		}
		d.Blocks = append(d.Blocks, d.decodeBlock(n, b[at:at+3], b[at+3:at+3+size]))
		at += 3 + size
	}
	return d
}

func (d *DisplayID) decodeBlock(n int, head, p []byte) DisplayIDBlock {
	out := DisplayIDBlock{
		Tag: int(head[0]), Name: displayIDName(head[0]), Revision: int(head[1] & 7), Data: Hex(p),
	}
	switch head[0] {
	case 0x01:
		out.Parameters = parametersV1(p)
	case 0x03:
		out.Timings = decodeTypeI(p, 10e3, fmt.Sprintf("block %d, DisplayID type I timing", n))
	case 0x0A, 0x0B:
		out.Text = stringOf(p)
	case 0x0D:
		out.Power = decodePower(p)
	case 0x21:
		out.Parameters = parametersV2(head[1], p)
	case 0x22:
		out.Timings = decodeTypeI(p, 1e3, fmt.Sprintf("block %d, DisplayID type VII timing", n))
	case 0x81:
		out.CTA = decodeCTABlocks(p)
	}
	return out
}

// decodeTypeI reads timings of 20 bytes: type I with a clock in steps of 10 kHz
// (VESA DisplayID 1.3) and type VII with steps of 1 kHz (VESA DisplayID 2.0). Every
// number is stored less one. Bytes that are no whole timing are left out.
func decodeTypeI(p []byte, step float64, origin string) []Timing {
	var out []Timing
	for i := 1; len(p) >= 20; i++ {
		t := Timing{Preferred: p[3]&0x80 != 0, Sync: syncSeparate}
		t.Stereo = []string{"", "stereo", "stereo or not, by the user", "stereo of a reserved kind"}[p[3]>>5&3]
		t.Clock = float64(le24(p)+1) * step
		t.H, t.HPos = axisTypeI(p[4:12])
		t.V, t.VPos = axisTypeI(p[12:20])
		if t.Interlaced = p[3]&0x10 != 0; t.Interlaced {
			// Stored for the frame; a mode has the lines of a field. The shift keeps a back
			// porch of -1 below 0, which a division would not.
			t.V = mode.Axis{Active: t.V.Active / 2, Front: t.V.Front / 2, Sync: t.V.Sync / 2, Back: t.V.Back >> 1}
		}
		t.Origin = fmt.Sprintf("%s %d", origin, i)
		out = append(out, t)
		p = p[20:]
	}
	return out
}

func axisTypeI(p []byte) (mode.Axis, bool) {
	a := mode.Axis{Active: le16(p) + 1, Front: le16(p[4:])&0x7FFF + 1, Sync: le16(p[6:]) + 1}
	a.Back = le16(p[2:]) + 1 - a.Front - a.Sync
	return a, p[5]&0x80 != 0
}

// parametersV1 reads the display parameters of DisplayID 1.x (VESA DisplayID 1.3,
// Display Parameters Data Block): tenths of a millimetre, pixels, flags, gamma, aspect, depth.
func parametersV1(p []byte) *DisplayParameters {
	if len(p) < 12 {
		return nil
	}
	d := &DisplayParameters{
		WidthMM: float64(le16(p)) / 10, HeightMM: float64(le16(p[2:])) / 10,
		Width: le16(p[4:]), Height: le16(p[6:]),
		BitsPerColour: int(p[11]&15) + 1,
	}
	if p[9] != 0xFF {
		d.Gamma = gamma(p[9])
	}
	return d
}

// parametersV2 reads the display parameters of DisplayID 2.x (VESA DisplayID 2.0,
// Display Parameters Data Block). The top bit of the revision byte makes the unit
// 1 mm instead of a tenth.
func parametersV2(head byte, p []byte) *DisplayParameters {
	if len(p) < 29 {
		return nil
	}
	unit := 10.0
	if head&0x80 != 0 {
		unit = 1
	}
	d := &DisplayParameters{
		WidthMM: float64(le16(p)) / unit, HeightMM: float64(le16(p[2:])) / unit,
		Width: le16(p[4:]), Height: le16(p[6:]),
		BitsPerColour: []int{0, 6, 8, 10, 12, 16, 0, 0}[p[27]&7],
	}
	if p[28] != 0xFF {
		d.Gamma = gamma(p[28])
	}
	return d
}

// decodePower reads the interface power sequencing block (VESA DisplayID 1.3,
// Interface Power Sequencing Data Block): T1 from tenths of a millisecond to twice as many milliseconds,
// upper limits in steps of 2 ms, lower ones in steps of 10 ms.
func decodePower(p []byte) *PowerSequence {
	if len(p) < 6 {
		return nil
	}
	ms := func(n byte, step float64) float64 { return float64(n) * step / 1000 }
	return &PowerSequence{
		T1: Span{Min: ms(p[0]>>4, 0.1), Max: ms(p[0]&15, 2)},
		T2: Span{Max: ms(p[1]&0x3F, 2)},
		T3: Span{Max: ms(p[2]&0x3F, 2)},
		T4: Span{Min: ms(p[3]&0x7F, 10)},
		T5: Span{Min: ms(p[4]&0x3F, 10)},
		T6: Span{Min: ms(p[5]&0x3F, 10)},
	}
}
