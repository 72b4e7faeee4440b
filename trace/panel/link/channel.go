package link

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"example.org/walkback/netlist"
)

// Channel is a group of a board's lanes that belong together: a clock pair with
// its data pairs, or the lanes of eDP.
type Channel struct {
	Name  string // what the names of its lanes have in common; may be empty
	Kind  Kind   // LVDS with a clock pair, EDP without
	Clock int    // index into Board.Lanes, -1 for none
	Data  []int  // indexes into Board.Lanes, the lowest pair first
	Doubt string // why the grouping may be wrong; empty when it is clear
}

// Channels groups the lanes of a board by their names, in the order of the file:
// "A.CLK" and "A.0", or "ACLK" and "A0", are of channel A. What names and clock
// words do not settle is grouped as far as they go and carries a Doubt.
func Channels(b *netlist.Board) []Channel {
	var groups []lanes
	for i, l := range b.Lanes {
		name := stem(l)
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
	var out []Channel
	for _, g := range join(groups) {
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

// join puts a clock whose name is like no other to the one group without a
// clock, since a clock pair belongs to something. With several of either kind
// nothing tells which belong together.
func join(groups []lanes) []lanes {
	var clock, data []int
	for i, g := range groups {
		switch {
		case len(g.clocks) == 0:
			data = append(data, i)
		case len(g.data) == 0:
			clock = append(clock, i)
		}
	}
	if len(clock) != 1 || len(data) != 1 {
		return groups
	}
	groups[data[0]].clocks = groups[clock[0]].clocks
	return slices.Delete(groups, clock[0], clock[0]+1)
}

var (
	clockWord = regexp.MustCompile(`(?i)[-_+:]*(?:clock|clk|ck)$|^(?:clock|clk|ck)[-_+:]*`)
	pairNo    = regexp.MustCompile(`[-_+:]*\d*$`)
	digits    = regexp.MustCompile(`\d+$`)
)

// stem is the part of a name that tells the channel: what stands before the last dot,
// or else what is left without the word for a clock or the number of the pair.
func stem(l netlist.Lane) string {
	if dot := strings.LastIndexByte(l.Name, '.'); dot >= 0 {
		return l.Name[:dot]
	}
	if l.Clock && clockWord.MatchString(l.Name) {
		return clockWord.ReplaceAllString(l.Name, "")
	}
	return pairNo.ReplaceAllString(l.Name, "")
}

// number is the number at the end of a lane's name, -1 for none.
func number(l netlist.Lane) int {
	if n, err := strconv.Atoi(digits.FindString(l.Name)); err == nil {
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
	slices.SortStableFunc(c.Data, func(x, y int) int { return cmp.Compare(number(b.Lanes[x]), number(b.Lanes[y])) })
	c.Doubt = g.doubt(b, c)
	return c
}

// doubt tells why a group may not be what it looks like.
func (g lanes) doubt(b *netlist.Board, c Channel) string {
	most := map[Kind]int{LVDS: pairs(lvdsMaxBits), EDP: 4}[c.Kind]
	switch {
	case len(g.clocks) > 1:
		return fmt.Sprintf("%d clock pairs belong to %s and nothing in the names tells the channels apart", len(g.clocks), c.group())
	case len(c.Data) == 0:
		return fmt.Sprintf("%s has no data pairs", b.Lanes[c.Clock].Name)
	case len(c.Data) > most:
		return fmt.Sprintf("%d data pairs belong to %s, more than one %s link has", len(c.Data), c.group(), c.Kind)
	}
	first := number(b.Lanes[c.Data[0]])
	for at, i := range c.Data {
		l := b.Lanes[i]
		switch n := number(l); {
		case clockWord.MatchString(l.Name[strings.LastIndexByte(l.Name, '.')+1:]):
			return l.Name + " is named like a clock and has no word clock on its line"
		case len(l.Nets) != 2:
			return l.Name + " has one conductor, links of panels have pairs"
		case n < 0 || n != first+at || first > 1:
			return fmt.Sprintf("the names of %s do not number the pairs from 0 or 1 on", names(b, c.Data))
		}
	}
	return ""
}

func (c Channel) group() string {
	if c.Name == "" {
		return "one group"
	}
	return "the group " + c.Name
}

// doubtMix doubts groups without a clock on a board where others have one, and
// several groups of eDP.
func doubtMix(cs []Channel) {
	count := map[Kind]int{}
	for _, c := range cs {
		count[c.Kind]++
	}
	for i := range cs {
		c := &cs[i]
		switch {
		case c.Kind != EDP || c.Doubt != "":
		case count[LVDS] > 0:
			c.Doubt = c.group() + " has no clock pair: eDP, or LVDS whose clock the file does not name"
		case count[EDP] > 1:
			c.Doubt = c.group() + " is one of several without a clock pair, and a panel has one eDP link"
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

// all are the lanes of a channel.
func (c Channel) all() []int {
	if c.Clock == netlist.None {
		return c.Data
	}
	return append([]int{c.Clock}, c.Data...)
}

// title names a channel for people.
func (c Channel) title(b *netlist.Board) string {
	switch {
	case c.Name != "":
		return "channel " + c.Name
	case c.Clock != netlist.None:
		return "the channel with " + b.Lanes[c.Clock].Name
	}
	return "the lanes " + names(b, c.Data)
}
