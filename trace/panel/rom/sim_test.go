package rom

// chip is a two-wire memory and its reader, bit by bit: it knows nothing of the
// detectors. The bus is open drain: a line is 1 when nobody pulls it.
type chip struct {
	cells   []byte
	counter int

	addrAnd, addrOr int        // the address inside passes through these
	deaf            bool       // the address byte is not taken
	slow            bool       // a 1 after a 0 on the line is sampled as 0
	early           bool       // the reader samples one clock early
	late            bool       // the reader samples one clock late
	lostClock       int        // the chip misses this clock of the read, from 1
	held            func() int // what others pull the line to: 0 or 1

	dead int // the supply is gone from this byte on, from 1

}

func newChip(cells []byte) *chip {
	return &chip{cells: cells, addrAnd: len(cells) - 1, held: func() int { return 1 }}
}

// start writes the address byte 0, unless the chip does not take it.
func (c *chip) start() {
	if !c.deaf {
		c.counter = 0
	}
}

// read clocks n bytes out with the acknowledge after each.
func (c *chip) read(n int) []byte {
	var wire []int // the data line at every clock, the ninth ones included
	slot, silent := 0, false
	for clock := 1; clock <= 9*n; clock++ {
		reader := 1
		if clock%9 == 0 {
			reader = 0 // the acknowledge of the reader
		}
		chipBit := 1
		powered := c.dead == 0 || (clock-1)/9 < c.dead-1
		if !silent && powered && slot < 8 {
			chipBit = int(c.cells[c.counter&c.addrAnd|c.addrOr]) >> (7 - slot) & 1
		}
		bit := chipBit & reader & c.held()
		wire = append(wire, bit)
		if clock == c.lostClock {
			continue // the chip has not seen it and stays where it is
		}
		if slot == 8 {
			silent = silent || bit == 1 // no acknowledge: it lets go
			c.counter = (c.counter + 1) % len(c.cells)
			slot = -1
		}
		slot++
	}
	return c.sample(wire, n)
}

// sample makes bytes of the clocks, as the reader sees them.
func (c *chip) sample(wire []int, n int) []byte {
	out := make([]byte, n)
	for i := range out {
		for k := range 8 {
			at := 9*i + k
			if c.early {
				at--
			}
			if c.late {
				at++
			}
			bit := 0
			if at >= 0 {
				bit = wire[at]
			}
			if c.slow && (at == 0 || wire[at-1] == 0) {
				bit = 0
			}
			out[i] = out[i]<<1 | byte(bit)
		}
	}
	return out
}
