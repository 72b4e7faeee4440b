package netlist

import (
	"slices"
	"strconv"
)

// Channels names the ways through a part that can be read from end to end, in
// the order of its pins: by pin number, else by the nets of the side on which they
// differ, else by counting from 1. A part of one way has one empty name, a part without
// any none.
func (b *Board) Channels(id PartID) []string {
	p := &b.Parts[id]
	if len(p.Kind.Passes) == 0 || p.Kind.Passes[0].AC || p.Kind.Form == NamedForm {
		return nil
	}
	pass := &p.Kind.Passes[0]
	near, far := b.ends(p, pass.A), b.ends(p, pass.B)
	if len(near) == 1 {
		return []string{""}
	}
	sides := [2][]string{make([]string, len(near)), make([]string, len(near))}
	numbers := make([]string, len(near))
	for k, c := range near {
		other := c
		if i := slices.IndexFunc(far, func(o Conn) bool { return o.Channel == c.Channel }); i >= 0 {
			other = far[i]
		} else if len(far) == 1 {
			other = far[0]
		}
		sides[0][k], sides[1][k], numbers[k] = b.Nets[c.Net].Name, b.Nets[other.Net].Name, strconv.Itoa(k+1)
		if p.Kind.Form == RowsForm && c.Num != "" {
			sides[0][k] = c.Num
		}
	}
	for _, list := range sides {
		if len(slices.Compact(slices.Sorted(slices.Values(list)))) == len(list) {
			return list
		}
	}
	return numbers
}

// ends lists the connections of a part at one of its pins.
func (b *Board) ends(p *Part, pin string) []Conn {
	k := p.Kind.PinIndex(pin)
	var list []Conn
	for _, c := range p.Conns {
		if int(c.Pin) == k {
			list = append(list, c)
		}
	}
	return list
}
