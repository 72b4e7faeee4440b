package netlist

import (
	"slices"
	"strconv"
)

// RowPin is a pin of a connector or a cable, on the side towards the source.
type RowPin struct {
	Number int
	Net    NetID
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
			row = append(row, RowPin{n, c.Net})
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

// Balls reports whether the pins of a part are under its package, where no probe
// lands: as its file says, else as is usual for its kind.
func (p *Part) Balls() bool {
	if a, ok := p.Attr("package"); ok {
		return a.Text == "bga"
	}
	return p.Kind.Balls
}
