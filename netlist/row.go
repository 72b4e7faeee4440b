package netlist

import (
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

// Balls reports whether the pins of a part are under its package, where no probe
// lands: as its file says, else as is usual for its kind.
func (p *Part) Balls() bool {
	if a, ok := p.Attr("package"); ok {
		return a.Text == "bga"
	}
	return p.Kind.Balls
}
