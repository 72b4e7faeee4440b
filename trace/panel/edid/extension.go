package edid

import (
	"fmt"

	"example.org/walkback/trace/panel/mode"
)

// DisplayParameters is the size of the panel and its depth.
type DisplayParameters struct {
	WidthMM       float64 `json:"width_millimetres"` // 0 is not told, as all bits set are not
	HeightMM      float64 `json:"height_millimetres"`
	Width         int     `json:"width_pixels"`
	Height        int     `json:"height_pixels"`
	BitsPerColour int     `json:"bits_per_colour,omitempty"` // 0 is not told
}

// Span is a time from Min to Max in seconds; Max 0 is no upper limit.
type Span struct {
	Min float64 `json:"min_seconds"`
	Max float64 `json:"max_seconds,omitempty"`
}

// PowerSequence is the interface power sequencing block. What the six times mean is
// from memory: T1 is the rise of the supply, T2 supply to signal, T3 signal to supply
// on the way down, T4 the pause with the supply off, T5 signal to backlight, T6
// backlight off to signal off.
type PowerSequence struct {
	T1 Span `json:"t1"`
	T2 Span `json:"t2"`
	T3 Span `json:"t3"`
	T4 Span `json:"t4"`
	T5 Span `json:"t5"`
	T6 Span `json:"t6"`
}

// cta reads an extension block of tag 02 (CTA-861, sections 7.3 and 7.4): the length
// of its data blocks and its detailed timings. What the data blocks say is for sound
// and television.
func (x *Extension) cta(b []byte) {
	x.Version = fmt.Sprint(b[1])
	end := min(int(b[2]), BlockSize-1)
	if b[1] >= 3 && end > 4 {
		if stop := ctaBlocks(b, end); stop != end {
			x.Overrun = fmt.Sprintf("the last data block ends at byte %02X; the timings start at %02X", stop, end)
		}
	}
	// An offset of 0 says that there are no timings, and data blocks neither.
	for at := end; at >= 4 && at+slotSize < BlockSize && (b[at] != 0 || b[at+1] != 0); at += slotSize {
		t := decodeDTD(b[at : at+slotSize])
		t.Origin = fmt.Sprintf("block %d, CTA-861 detailed timing %d", x.Block, len(x.Timings)+1)
		x.Timings = append(x.Timings, t)
	}
}

// ctaBlocks returns where the last data block from byte 4 to end stops, behind end when
// it runs over (CTA-861, section 7.4: three bits of tag and five of length).
func ctaBlocks(b []byte, end int) int {
	at := 4
	for at < end {
		at += 1 + int(b[at]&31)
	}
	return at
}

// displayID reads an extension block of tag 70. Its section starts at byte 1:
// version, bytes of data blocks, product type, count of extensions, the data blocks,
// and a checksum over the section (VESA DisplayID 1.3, Section Structure).
func (x *Extension) displayID(b []byte) {
	x.Version = fmt.Sprintf("%d.%d", b[1]>>4, b[1]&15)
	end := 5 + int(b[2])
	x.SectionSumWrong = end >= BlockSize-1 || Sum(b[1:end+1]) != 0
	if end >= BlockSize-1 {
		x.Overrun = fmt.Sprintf("the section says %d bytes of data blocks; a block has room for %d", b[2], BlockSize-2-5)
		end = BlockSize - 1
	}
	if left := displayIDBlocks(b, end, x.displayIDBlock); left >= 0 && x.Overrun == "" {
		x.Overrun = fmt.Sprintf("the data block at byte %02X says %d bytes; %d are left in the section", left, b[left+2], end-left-3)
	}
}

// displayIDBlocks calls each for the data blocks from byte 5 to end: a head of three
// bytes, tag, revision and size, and what follows. It returns where a block starts
// that runs over end, -1 for none.
func displayIDBlocks(b []byte, end int, each func(head, p []byte)) int {
	for at := 5; at+3 <= end; {
		size := int(b[at+2])
		if at+3+size > end {
			return at
		}
		// Zeros to the end of the section are filling, not product identities.
		if b[at] == 0 && b[at+1] == 0 && size == 0 {
			break
		}
		each(b[at:at+3], b[at+3:at+3+size])
		at += 3 + size
	}
	return -1
}

func (x *Extension) displayIDBlock(head, p []byte) {
	switch head[0] {
	case 0x01, 0x21:
		if d := parameters(head, p); d != nil {
			x.Parameters = d
		}
	case 0x03:
		x.Timings = append(x.Timings, decodeTypeI(p, 10e3, fmt.Sprintf("block %d, DisplayID type I timing", x.Block))...)
	case 0x0A, 0x0B:
		x.Texts = append(x.Texts, stringOf(p))
	case 0x0D:
		x.Power = decodePower(p)
	case 0x22:
		x.Timings = append(x.Timings, decodeTypeI(p, 1e3, fmt.Sprintf("block %d, DisplayID type VII timing", x.Block))...)
	}
}

// decodeTypeI reads timings of 20 bytes: type I with a clock in steps of 10 kHz
// (VESA DisplayID 1.3) and type VII with steps of 1 kHz (VESA DisplayID 2.0). Every
// number is stored less one. Bytes that are no whole timing are left out.
func decodeTypeI(p []byte, step float64, origin string) []Timing {
	var out []Timing
	for i := 1; len(p) >= 20; i++ {
		t := Timing{Preferred: p[3]&0x80 != 0, Interlaced: p[3]&0x10 != 0}
		t.Clock = float64(le24(p)+1) * step
		t.H, t.HPos = axisTypeI(p[4:12])
		t.V, t.VPos = axisTypeI(p[12:20])
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

// parameters reads the display parameters of DisplayID 1.x, tag 01 (VESA DisplayID
// 1.3, Display Parameters Data Block), and of 2.x, tag 21 (VESA DisplayID 2.0): tenths
// of a millimetre, pixels, depth. The top bit of the revision byte makes the unit 1 mm
// in 2.x; nil for a block that is too short.
func parameters(head, p []byte) *DisplayParameters {
	second := head[0] == 0x21
	if len(p) < 12 || second && len(p) < 29 {
		return nil
	}
	unit := 10.0
	if second && head[1]&0x80 != 0 {
		unit = 1
	}
	d := &DisplayParameters{Width: le16(p[4:]), Height: le16(p[6:])}
	if w, h := le16(p), le16(p[2:]); w != 1<<16-1 && h != 1<<16-1 {
		d.WidthMM, d.HeightMM = float64(w)/unit, float64(h)/unit
	}
	if second {
		d.BitsPerColour = []int{0, 6, 8, 10, 12, 16, 0, 0}[p[27]&7]
	} else {
		d.BitsPerColour = int(p[11]&15) + 1
	}
	return d
}

// decodePower reads the interface power sequencing block (VESA DisplayID 1.3, Interface
// Power Sequencing Data Block): T1 from tenths of a millisecond to twice as many
// milliseconds, upper limits in steps of 2 ms, lower ones in steps of 10 ms.
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
