package link

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
)

// Channel is a group of a board's lanes that belong together: a clock pair with
// its data pairs, or the lanes of eDP.
type Channel struct {
	Name  string `json:"name"`           // what the names of its lanes have in common; may be empty
	Kind  Kind   `json:"link"`           // LVDS with a clock pair, EDP without
	Clock int    `json:"clock"`          // index into Board.Lanes, -1 for none
	Data  []int  `json:"data"`           // indexes into Board.Lanes, the lowest pair first
	Doubt string `json:"doubt,omitzero"` // why the grouping may be wrong; empty when it is clear
}

// Channels groups the lanes of a board by their names, in the order of the file:
// "A.CLK" and "A.0", or "ACLK" and "A0", are of channel A. What names and clock
// words do not settle is grouped as far as they go and carries a Doubt.
func Channels(b *netlist.Board) []Channel {
	all := make([]int, len(b.Lanes))
	for i := range all {
		all[i] = i
	}
	groups := group(b, all, func(l netlist.Lane) string {
		if dot := strings.LastIndexByte(l.Name, '.'); dot >= 0 {
			return l.Name[:dot]
		}
		return stem(l.Name, l.Clock)
	})
	groups = join(splitClocks(b, groups))
	out := make([]Channel, 0, len(groups))
	for _, g := range groups {
		out = append(out, g.channel(b))
	}
	doubtMix(out)
	return out
}

// lanes of one channel, while it is being found.
type lanes struct {
	name         string
	clocks, data []int
}

// group puts lanes with the same key together, letters of either case.
func group(b *netlist.Board, of []int, key func(netlist.Lane) string) []lanes {
	var groups []lanes
	for _, i := range of {
		l := b.Lanes[i]
		name := key(l)
		at := slices.IndexFunc(groups, func(g lanes) bool { return strings.EqualFold(g.name, name) })
		if at < 0 {
			at = len(groups)
			groups = append(groups, lanes{name: name})
		}
		if l.Clock {
			groups[at].clocks = append(groups[at].clocks, i)
		} else {
			groups[at].data = append(groups[at].data, i)
		}
	}
	return groups
}

// splitClocks takes groups with several clocks apart by what comes after the
// dot: "LVDS.ACLK" and "LVDS.A0" are of channel LVDS.A.
func splitClocks(b *netlist.Board, groups []lanes) []lanes {
	var out []lanes
	for _, g := range groups {
		if len(g.clocks) < 2 {
			out = append(out, g)
			continue
		}
		of := slices.Sorted(slices.Values(slices.Concat(g.clocks, g.data)))
		parts := group(b, of, func(l netlist.Lane) string {
			rest := l.Name[strings.LastIndexByte(l.Name, '.')+1:]
			return strings.TrimSuffix(g.name+"."+stem(rest, l.Clock), ".")
		})
		if slices.ContainsFunc(parts, func(p lanes) bool { return len(p.clocks) != 1 || len(p.data) == 0 }) {
			parts = []lanes{g}
		}
		out = append(out, parts...)
	}
	return out
}

// join puts a clock whose name is like no other to the one group without a
// clock, since a clock pair belongs to something. With several of either kind
// nothing tells which belong together.
func join(groups []lanes) []lanes {
	clock, data := -1, -1
	for i, g := range groups {
		switch {
		case len(g.clocks) == 1 && len(g.data) == 0:
			if clock >= 0 {
				return groups
			}
			clock = i
		case len(g.clocks) == 0:
			if data >= 0 {
				return groups
			}
			data = i
		}
	}
	if clock < 0 || data < 0 {
		return groups
	}
	groups[data].clocks = groups[clock].clocks
	return slices.Delete(groups, clock, clock+1)
}

var clockWords = []string{"CLOCK", "CLK", "CK"}

// stem is the part of a name without dot that tells the channel.
func stem(name string, clock bool) string {
	const joints = "_-+:"
	if clock {
		if low, ok := cutClock(name); ok {
			return strings.Trim(low, joints)
		}
	}
	return strings.TrimRight(strings.TrimRight(name, "0123456789"), joints)
}

// cutClock takes a clock word off the end or the start of a name.
func cutClock(name string) (string, bool) {
	for _, w := range clockWords {
		if n := len(name) - len(w); n >= 0 && strings.EqualFold(name[n:], w) {
			return name[:n], true
		}
		if len(name) >= len(w) && strings.EqualFold(name[:len(w)], w) {
			return name[len(w):], true
		}
	}
	return name, false
}

// number is the number at the end of a lane's name, -1 for none.
func number(name string) int {
	digits := name[len(strings.TrimRight(name, "0123456789")):]
	if n, err := strconv.Atoi(digits); err == nil {
		return n
	}
	return -1
}

// channel judges a group.
func (g lanes) channel(b *netlist.Board) Channel {
	c := Channel{Name: g.name, Kind: EDP, Clock: netlist.None, Data: append([]int{}, g.data...)}
	if len(g.clocks) > 0 {
		c.Kind, c.Clock = LVDS, g.clocks[0]
		c.Data = append(c.Data, g.clocks[1:]...)
	}
	slices.SortStableFunc(c.Data, func(x, y int) int { return cmp.Compare(number(b.Lanes[x].Name), number(b.Lanes[y].Name)) })
	c.Doubt = g.doubt(b, c)
	return c
}

// doubt tells why a group may not be what it looks like.
func (g lanes) doubt(b *netlist.Board, c Channel) string {
	most := 4
	if c.Kind == LVDS {
		most = (lvdsMaxBits-18)/6 + 3
	}
	switch {
	case len(g.clocks) > 1:
		return fmt.Sprintf("%d clock pairs belong to %s and nothing in the names tells the channels apart",
			len(g.clocks), groupName(g.name))
	case len(c.Data) == 0:
		return fmt.Sprintf("%s has no data pairs", b.Lanes[c.Clock].Name)
	case len(c.Data) > most:
		return fmt.Sprintf("%d data pairs belong to %s, more than one %s link has", len(c.Data), groupName(g.name), c.Kind)
	}
	first := number(b.Lanes[c.Data[0]].Name)
	for at, i := range c.Data {
		l := b.Lanes[i]
		if _, clock := cutClock(l.Name[strings.LastIndexByte(l.Name, '.')+1:]); clock {
			return l.Name + " is named like a clock and has no word clock on its line"
		}
		if len(l.Nets) != 2 {
			return l.Name + " has one conductor, links of panels have pairs"
		}
		if n := number(l.Name); n < 0 || n != first+at || first > 1 {
			return fmt.Sprintf("the names of %s do not number the pairs from 0 or 1 on", names(b, c.Data))
		}
	}
	return ""
}

func groupName(name string) string {
	if name == "" {
		return "one group"
	}
	return "the group " + name
}

// doubtMix doubts groups without a clock on a board where others have one, and
// several groups of eDP.
func doubtMix(cs []Channel) {
	count := [EDP + 1]int{}
	for _, c := range cs {
		count[c.Kind]++
	}
	for i := range cs {
		c := &cs[i]
		switch {
		case c.Kind != EDP || c.Doubt != "":
		case count[LVDS] > 0:
			c.Doubt = groupName(c.Name) + " has no clock pair: eDP, or LVDS whose clock the file does not name"
		case count[EDP] > 1:
			c.Doubt = groupName(c.Name) + " is one of several without a clock pair, and a panel has one eDP link"
		}
	}
}

// names lists lanes.
func names(b *netlist.Board, of []int) string {
	words := make([]string, len(of))
	for i, l := range of {
		words[i] = b.Lanes[l].Name
	}
	return strings.Join(words, " ")
}
