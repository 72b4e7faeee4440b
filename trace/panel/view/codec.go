package view

// The word of one pixel clock of a channel has seven slots on each pair. In a
// uint32 pair p has bits 7p to 7p+6, and slot 0, which is sent first, is the
// highest of them. A pixel on its way is red<<16 | green<<8 | blue with the
// control bits above.

const (
	slots   = 7
	pairMax = 4
	pairAll = 1<<slots - 1

	bitHS = 24
	bitVS = 25
	bitDE = 26
	unset = 31 // a slot without a meaning; nothing is sent there
)

// layout tells for each pair and slot which bit of a pixel it carries.
type layout [][slots]uint8

func red(n uint8) uint8   { return 16 + n }
func green(n uint8) uint8 { return 8 + n }
func blue(n uint8) uint8  { return n }

// layoutOf gives the maps of the Linux media bus documentation,
// MEDIA_BUS_FMT_RGB666_1X7X3_SPWG, RGB888_1X7X4_SPWG and RGB888_1X7X4_JEIDA; the
// order of DE, VS and HS is that of Linux's devicetree binding lvds-data-mapping.
func layoutOf(bits int, m Map) layout {
	low := uint8(0) // the number of the lowest bit on pairs 0 to 2
	if bits == 24 && m == JEIDA {
		low = 2
	}
	l := layout{
		{green(low), red(low + 5), red(low + 4), red(low + 3), red(low + 2), red(low + 1), red(low)},
		{blue(low + 1), blue(low), green(low + 5), green(low + 4), green(low + 3), green(low + 2), green(low + 1)},
		{bitDE, bitVS, bitHS, blue(low + 5), blue(low + 4), blue(low + 3), blue(low + 2)},
	}
	if bits == 24 {
		rest := 6 - 3*low // bits 6 and 7 with VESA, 0 and 1 with JEIDA
		l = append(l, [slots]uint8{unset, blue(rest + 1), blue(rest), green(rest + 1), green(rest), red(rest + 1), red(rest)})
	}
	return l
}

// codec is a layout as tables, for both ends.
type codec struct {
	pairs int
	deep  bool                         // eight bits a colour, not six
	enc   [3][256]uint32               // slots set by a value of red, green, blue
	ctl   [8]uint32                    // slots set by HS (1), VS (2), DE (4)
	dec   [pairMax][pairAll + 1]uint32 // bits of the pixel set by the slots of a pair
	data  [pairMax]uint32              // the slots of a pair that carry colour
}

func newCodec(bits int, m Map) *codec {
	l := layoutOf(bits, m)
	c := &codec{pairs: len(l), deep: bits == 24}
	for p, row := range l {
		for s, bit := range row {
			if bit == unset {
				continue
			}
			slot := uint32(1) << (slots - 1 - s)
			if bit < bitHS {
				c.data[p] |= slot
			}
			for v := range c.dec[p] {
				if uint32(v)&slot != 0 {
					c.dec[p][v] |= 1 << bit
				}
			}
			c.encode(bit, slot<<(slots*p))
		}
	}
	return c
}

func (c *codec) encode(bit uint8, slot uint32) {
	if bit >= bitHS {
		for v := range c.ctl {
			if v>>(bit-bitHS)&1 != 0 {
				c.ctl[v] |= slot
			}
		}
		return
	}
	for v := range 256 {
		sent := v
		if !c.deep {
			sent >>= 2 // a sender of six bits drops the low two
		}
		if sent>>(bit%8)&1 != 0 {
			c.enc[2-bit/8][v] |= slot
		}
	}
}

// active is the word of a pixel of the picture.
func (c *codec) active(px uint32) uint32 {
	return c.enc[0][px>>16&255] | c.enc[1][px>>8&255] | c.enc[2][px&255] | c.ctl[1<<(bitDE-bitHS)]
}

// shown is the colour on the glass: six bits are stretched to the full scale.
func (c *codec) shown(px uint32) uint32 {
	if c.deep {
		return px & 0xFFFFFF
	}
	px &= 0x3F3F3F
	return px<<2 | px>>4&0x030303
}
