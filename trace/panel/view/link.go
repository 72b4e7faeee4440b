// Package view shows what a panel paints when a pair of its LVDS link is open,
// stuck, swapped or turned, and goes back from such a look to the lanes to suspect.
//
//	look, err := view.Describe(view.Link{Channels: 2, Bits: 24}, []view.Fault{{Kind: view.Missing, Lane: view.Lane{Channel: 1}}})
//
// Nothing is painted by hand. Each pixel is serialised into seven slots on each
// pair by the published bit maps, the fault acts on the bits of the pair, and the
// panel's end takes the bits apart again.
package view

import (
	"fmt"
	"strings"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
)

// Map is the order of the bits on the pairs of a 24-bit link. An 18-bit link has
// one order only.
type Map int

// The maps of 24-bit links.
const (
	VESA  Map = iota // pairs 0 to 2 carry the low six bits, pair 3 the top two
	JEIDA            // pairs 0 to 2 carry the top six bits, pair 3 the low two
)

// String is "vesa" or "jeida".
func (m Map) String() string {
	if m == JEIDA {
		return "jeida"
	}
	return "vesa"
}

// MarshalText writes the name.
func (m Map) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// ParseMap reads "vesa" (also "spwg") or "jeida".
func ParseMap(s string) (Map, error) {
	switch strings.ToLower(strings.TrimSpace(s)) {
	case "vesa", "spwg":
		return VESA, nil
	case "jeida":
		return JEIDA, nil
	}
	return VESA, wrong(s, token{s, 1}, fmt.Sprintf("%q is no bit map", s), "vesa or jeida",
		mistake.Nearest(s, []string{"vesa", "spwg", "jeida"}))
}

// Link is what the panel expects. With two channels the odd pixels (the first of a
// line is pixel 1) are on channel A and the even ones on channel B: data sheets of
// dual-channel LVDS transmitters, class "graphics chip sets".
type Link struct {
	Channels int `json:"channels"` // 1 or 2
	Bits     int `json:"bits"`     // 18 or 24, of a pixel
	Map      Map `json:"map"`      // counts with 24 bits only
}

// Check returns an error for a link that cannot be.
func (l Link) Check() error {
	switch {
	case l.Channels != 1 && l.Channels != 2:
		return fmt.Errorf("a link has 1 or 2 channels, not %d", l.Channels)
	case l.Bits != 18 && l.Bits != 24:
		return fmt.Errorf("a link carries 18 or 24 bits a pixel here, not %d", l.Bits)
	case l.Map != VESA && l.Map != JEIDA:
		return fmt.Errorf("map %d is neither vesa nor jeida", int(l.Map))
	}
	return nil
}

// Pairs is the number of data pairs of one channel.
func (l Link) Pairs() int { return l.Bits / 6 }

// String is such as "2 channels, 24 bits, vesa".
func (l Link) String() string {
	s := fmt.Sprintf("%s, %d bits", say.Count(l.Channels, "channel"), l.Bits)
	if l.Bits == 24 {
		s += ", " + l.Map.String()
	}
	return s
}

// AllLinks are all links, for a panel of which nothing is known.
func AllLinks() []Link {
	var all []Link
	for _, n := range []int{1, 2} {
		all = append(all, Link{n, 18, VESA}, Link{n, 24, VESA}, Link{n, 24, JEIDA})
	}
	return all
}

// WhoseMap says what a map means.
const WhoseMap = "The map is the panel's: the order in which it expects the bits. The sender uses the same order, " +
	"but with the fault \"wrong map\" the other one."
