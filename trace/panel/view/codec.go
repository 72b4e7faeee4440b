package view

// The word of one pixel clock of a channel has seven slots on each pair. In a
// uint32 pair p has bits 7p to 7p+6, and slot 0, which is sent first, is the
// highest of them. A pixel on its way is red<<16 | green<<8 | blue with the
// control bits above.

const (
	slots   = 7
	pairMax = 4
	pairAll = 1<<slots - 1

	bitHS  = 24
	bitVS  = 25
	bitDE  = 26
	unset  = 31 // a slot without a meaning; nothing is sent there
	colour = 0xFFFFFF
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

// codec is one end of a link, with tables of what word and pixel make of each part.
type codec struct {
	layout
	deep  bool                         // eight bits a colour, not six
	words [3][256]uint32               // of blue, green and red
	de    uint32                       // the word of data enable alone
	bits  [pairMax][pairAll + 1]uint32 // of a pixel, by the slots of a pair
}

func newCodec(bits int, m Map) *codec {
	c := &codec{layout: layoutOf(bits, m), deep: bits == 24}
	c.de = c.word(1 << bitDE)
	for part := range c.words {
		for v := range c.words[part] {
			px := uint32(v) << (8 * part)
			if !c.deep {
				px = px >> 2 & 0x3F3F3F // a sender of six bits drops the low two
			}
			c.words[part][v] = c.word(px)
		}
	}
	for p := range c.layout {
		for v := range c.bits[p] {
			c.bits[p][v] = c.pixel(uint32(v) << (slots * p))
		}
	}
	return c
}

// word puts the bits of a pixel into their slots.
func (c *codec) word(px uint32) (word uint32) {
	for p, row := range c.layout {
		for s, bit := range row {
			word |= px >> bit & 1 << (slots*p + slots - 1 - s)
		}
	}
	return word
}

// pixel takes a word apart.
func (c *codec) pixel(word uint32) (px uint32) {
	for p, row := range c.layout {
		for s, bit := range row {
			px |= word >> (slots*p + slots - 1 - s) & 1 << bit
		}
	}
	return px &^ (1 << unset)
}

// active is the word of a pixel of the picture.
func (c *codec) active(px uint32) uint32 {
	return c.words[0][px&255] | c.words[1][px>>8&255] | c.words[2][px>>16&255] | c.de
}

// shown is the colour on the glass: six bits are stretched to the full scale.
func (c *codec) shown(px uint32) uint32 {
	if c.deep {
		return px & colour
	}
	px &= 0x3F3F3F
	return px<<2 | px>>4&0x030303
}
