package netlist

import (
	"math"
	"slices"
	"strconv"
)

// RowPin is a pin of a connector or a cable, on the side towards the source.
type RowPin struct {
	Number  int
	Net     NetID
	Channel int
}

// Row returns the pins of a part that has them in a row, by number, as far as they
// have one.
func (p *Part) Row() []RowPin {
	if p.Kind.Form != RowsForm {
		return nil
	}
	var row []RowPin
	for _, c := range p.Conns {
		if n, err := strconv.Atoi(c.Num); err == nil && c.Pin == 0 {
			row = append(row, RowPin{n, c.Net, int(c.Channel)})
		}
	}
	slices.SortStableFunc(row, func(a, b RowPin) int { return a.Number - b.Number })
	return row
}

// Neighbours returns the pins of a row that a probe or a speck of dirt can bridge:
// those side by side, and those with none but empty places between them.
func (p *Part) Neighbours() [][2]RowPin {
	row := p.Row()
	var list [][2]RowPin
	for i := 0; i+1 < len(row); i++ {
		if a, z := row[i], row[i+1]; a.Net != z.Net {
			list = append(list, [2]RowPin{a, z})
		}
	}
	return list
}

// OverGuards returns the pins of a row that something bent or long can bridge over the
// ground pins between them: those with no other wired pin between, one of them a net that
// rests above a logic level, or of which the file says nothing.
func (b *Board) OverGuards(p *Part) [][2]RowPin {
	var list [][2]RowPin
	var last RowPin
	guards := -1 // ground pins since the last other one; -1 before the first
	rail := func(n NetID) bool {
		volts, known := b.Nets[n].Rests()
		return !known || volts > LogicTop
	}
	for _, pin := range p.Row() {
		if b.guard(pin.Net) {
			if guards >= 0 {
				guards++
			}
			continue
		}
		if guards > 0 && last.Net != pin.Net && (rail(last.Net) || rail(pin.Net)) {
			list = append(list, [2]RowPin{last, pin})
		}
		last, guards = pin, 0
	}
	return list
}

// guard reports whether a net on a pin makes that a guard between its neighbours: ground,
// and no conductor that a fitted panel leaves quiet.
func (b *Board) guard(n NetID) bool { return b.Grounded(n) && !b.Nets[n].Idle }

// Beside returns all pins of a row that a bridge can join: Neighbours, then OverGuards.
func (b *Board) Beside(p *Part) [][2]RowPin { return append(p.Neighbours(), b.OverGuards(p)...) }

// UpperLeg returns the rail whose limit hangs on a part, which leads from it to the sense
// pin of a converter; None for any other part.
func (b *Board) UpperLeg(id PartID) NetID {
	p := &b.Parts[id]
	if !p.Kind.EitherWay || len(p.Kind.Passes) != 1 || len(p.Conns) != 2 {
		return None
	}
	for i, c := range p.Conns {
		rail := p.Conns[1-i].Net
		if !b.Grounded(rail) && slices.ContainsFunc(b.Taps(c.Net), func(t Tap) bool {
			return b.Parts[t.Part].Pin(b.Parts[t.Part].Conns[t.Conn]).Need == Sense
		}) {
			return rail
		}
	}
	return None
}

// inputAmps is the most in A that an input may be fed from a rail above its own: half of the
// 20 mA that 74HC data sheets give for the diodes at an input, from memory.
const inputAmps = 10e-3

// Bridge is a part of the file that joins two nets.
type Bridge struct {
	Part PartID // None for none
	Ohms float64
	Amps float64 // that it feeds into the lower of the two where both rest as the file says
}

// Kills reports whether that is more than an input bears.
func (x *Bridge) Kills() bool { return x.Amps > inputAmps }

// Joined returns the part that joins two nets best and both ways, whatever carries either
// on to a connector between.
func (b *Board) Joined(a, z NetID) Bridge {
	best := Bridge{Part: None, Ohms: math.Inf(1)}
	for n := a; n != None; n = b.Nets[n].Like {
		for _, t := range b.Taps(n) {
			p := &b.Parts[t.Part]
			for i := range p.Kind.Passes {
				pass := &p.Kind.Passes[i]
				joins := pass.Control == "" && !pass.AC && !pass.OneWay && slices.ContainsFunc(p.Conns, func(c Conn) bool {
					return c.Net != n && c.Channel == p.Conns[t.Conn].Channel && b.carries(c.Net, z)
				})
				if r := p.Ohms(pass); joins && r < best.Ohms {
					best = Bridge{Part: t.Part, Ohms: r}
				}
			}
		}
	}
	high, _ := b.Nets[a].Rests()
	low, _ := b.Nets[z].Rests()
	best.Amps = math.Abs(high-low) / best.Ohms
	return best
}

// carries reports whether a net is another one, or what that takes its value over from.
func (b *Board) carries(n, z NetID) bool {
	for ; z != None; z = b.Nets[z].Like {
		if z == n {
			return true
		}
	}
	return false
}

// Balls reports whether the pins of a part are under its package, where no probe
// lands: as its file says, else as is usual for its kind.
func (p *Part) Balls() bool {
	if a, ok := p.Attr("package"); ok {
		return a.Text == "bga"
	}
	return p.Kind.Balls
}
