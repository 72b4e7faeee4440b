package netlist

import (
	"slices"
	"strconv"
)

// channel is one way through a part, or one of several like pins.
type channel struct {
	num  string // pin number, empty when none is written
	ends [2]NetID
	near Conn // at its first end
}

// channels lists the channels of a part, in the order of the pins on their first side.
func (b *Board) channels(p *Part) []channel {
	var list []channel
	add := func(near, far int) {
		var common NetID = None
		if i := slices.IndexFunc(p.Conns, func(c Conn) bool { return int(c.Pin) == far }); i >= 0 {
			common = p.Conns[i].Net
		}
		for _, c := range p.Conns {
			if int(c.Pin) != near {
				continue
			}
			x := channel{c.Num, [2]NetID{c.Net, common}, c}
			if i := slices.IndexFunc(p.Conns, func(o Conn) bool { return int(o.Pin) == far && o.Channel == c.Channel }); i >= 0 {
				x.ends[1] = p.Conns[i].Net
			} else if p.Kind.Form == RowsForm {
				x.ends[1] = c.Net // a pin that leads nowhere
			}
			list = append(list, x)
		}
	}
	for i := range p.Kind.Passes {
		add(p.Kind.PinIndex(p.Kind.Passes[i].A), p.Kind.PinIndex(p.Kind.Passes[i].B))
	}
	if len(p.Kind.Passes) == 0 {
		add(p.Kind.channelPin())
	}
	return list
}

// channelPin returns, for a kind that does not conduct by passes, the pin whose
// connections are its channels, and the pin at their other end, or -1: the pin of a
// fault that befalls one channel, else the first that takes a list, else the first.
func (k *Kind) channelPin() (near, far int) {
	near = max(0, slices.IndexFunc(k.Pins, func(p Pin) bool { return p.Many }))
	if i := slices.IndexFunc(k.Faults, func(f Fault) bool { return f.Per == PerChannel && f.Pin != "" }); i >= 0 {
		near = k.PinIndex(k.Faults[i].Pin)
	}
	for far = range k.Pins {
		if far != near && !k.Pins[far].Many {
			return near, far
		}
	}
	return near, -1
}

// ChannelNames names every channel of a part, so that no two are called the same: by
// pin number, else by the nets of the side on which they differ, else by counting
// from 1. The one channel of a part that has no more has an empty name.
func (b *Board) ChannelNames(id PartID) []string {
	p := &b.Parts[id]
	list := b.channels(p)
	if len(list) == 1 {
		return []string{""}
	}
	byNumber, sides := make([]string, len(list)), [2][]string{}
	for k, x := range list {
		byNumber[k] = strconv.Itoa(k + 1)
		for i := range sides {
			name := byNumber[k]
			switch {
			case p.Kind.Form == RowsForm && x.num != "":
				name = x.num
			case x.ends[i] != None:
				name = b.Nets[x.ends[i]].Name
			}
			sides[i] = append(sides[i], name)
		}
	}
	for _, names := range sides {
		if len(slices.Compact(slices.Sorted(slices.Values(names)))) == len(names) {
			return names
		}
	}
	return byNumber
}

// Channels names the ways through a part that can be read from end to end, as
// ChannelNames does; nil for a part without any.
func (b *Board) Channels(id PartID) []string {
	k := b.Parts[id].Kind
	if len(k.Passes) == 0 || k.Passes[0].AC || k.Form == NamedForm {
		return nil
	}
	return b.ChannelNames(id)
}

// ChannelEnds returns the nets at both ends of a way through a part, k being an index
// of Channels, and the number by which the part's connections tell it from others.
func (b *Board) ChannelEnds(id PartID, k int) (ends [2]NetID, channel int) {
	x := b.channels(&b.Parts[id])[k]
	return x.ends, int(x.near.Channel)
}

// Through reports whether an observation is of ohms from end to end of a part, on the
// connections of a channel.
func (o Observation) Through(b *Board, id PartID, channel int) bool {
	if o.Cold == nil || id == None || o.Cold.Part != id {
		return false
	}
	_, k := b.ChannelEnds(id, o.Cold.Channel)
	return k == channel
}

// Channel finds the channel of a part that a word names: by its name, or by a net
// that no other channel has. It returns None when there is none; several then are
// the names of the channels that share the net.
func (b *Board) Channel(id PartID, word string) (channel int, several []string) {
	names := b.ChannelNames(id)
	if k := slices.Index(names, word); k >= 0 && word != "" {
		return k, nil
	}
	net, ok := b.Net(word)
	if !ok {
		return None, nil
	}
	channel = None
	for k, x := range b.channels(&b.Parts[id]) {
		if x.ends[0] == net || x.ends[1] == net {
			channel, several = k, append(several, names[k])
		}
	}
	if len(several) > 1 {
		return None, several
	}
	return channel, nil
}
