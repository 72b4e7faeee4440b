// Package link tells what a panel's mode asks of the link to it, and which lanes
// of a board must therefore be alive.
//
//	need, err := link.Needs(link.Ask{Mode: m, Bits: 18, Kind: link.LVDS})
//	fit := need.On(board)
package link

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/trace/panel/mode"
)

// Kind is how the picture is carried.
type Kind int

// The links of laptop panels.
const (
	Unknown Kind = iota
	LVDS         // pairs with a clock pair beside them, seven bits a clock
	EDP          // lanes with the clock inside the data
)

// String is such as "LVDS", as a sentence has it.
func (k Kind) String() string { return [...]string{"unknown", "LVDS", "eDP"}[k] }

// MarshalText gives "unknown", "lvds" or "edp".
func (k Kind) MarshalText() ([]byte, error) { return []byte(strings.ToLower(k.String())), nil }

// From tells where a number comes from.
type From int

// From the surest to the least sure.
const (
	Given    From = iota // told by whoever asked
	Computed             // follows from the mode, with the limits of usual parts
	Assumed              // a guess that the mode alone does not settle
)

// String is such as "assumed".
func (f From) String() string { return [...]string{"given", "computed", "assumed"}[f] }

// MarshalText gives what String gives.
func (f From) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// Ask is a panel as far as it is known. Only the mode's clock must be there;
// what else is given wins over what would be computed.
type Ask struct {
	Mode     mode.Mode
	Bits     int // bits a pixel on the link: 18, 24, 30 or 36; 0 when not known
	Most     int // bits a pixel that the panel takes at most; 0 when not known
	Kind     Kind
	Channels int     // LVDS: 1, 2 or 4; 0 to compute
	Lanes    int     // eDP: 1, 2 or 4; 0 to compute
	Rate     float64 // eDP: bit/s on the wire of a lane; 0 to compute
}

// Need is what the panel asks of the link. With a link that is not known, both
// kinds are there.
type Need struct {
	Mode mode.Mode `json:"mode"`
	Kind Kind      `json:"link"`
	LVDS *LVDSNeed `json:"lvds,omitempty"`
	EDP  *EDPNeed  `json:"edp,omitempty"`
}

// Needs computes what a panel asks for.
func Needs(a Ask) (Need, error) {
	if err := a.check(); err != nil {
		return Need{}, fmt.Errorf("what the link must carry: %w", err)
	}
	n := Need{Mode: a.Mode, Kind: a.kind()}
	if n.Kind != EDP {
		n.LVDS = lvds(a)
	}
	if n.Kind != LVDS {
		n.EDP = edp(a)
	}
	return n, nil
}

// kind says which link it must be. Channels are of LVDS alone; lanes, rates and
// 36 bits a pixel are of eDP alone.
func (a Ask) kind() Kind {
	switch {
	case a.Kind != Unknown:
		return a.Kind
	case a.Channels > 0:
		return LVDS
	case a.Lanes > 0 || a.Rate > 0 || max(a.Bits, a.Most) > lvdsMaxBits:
		return EDP
	}
	return Unknown
}

// What each link is made of, as every message has it.
const (
	lvdsTakes = "LVDS takes 1, 2 or 4 channels"
	edpTakes  = "eDP takes 1, 2 or 4 lanes and their rate"
)

func (a Ask) check() error {
	isEDP := a.Lanes > 0 || a.Rate != 0
	switch clock := a.Mode.Clock; {
	case !(clock >= mode.MinClock && clock <= mode.MaxClock):
		return fmt.Errorf("pixel clock %g Hz: want %g to %g Hz", clock, float64(mode.MinClock), float64(mode.MaxClock))
	case !slices.Contains([]int{0, 18, 24, 30, 36}, a.Bits):
		return fmt.Errorf("%d bits a pixel: want 18, 24, 30 or 36, three times the bits of a colour", a.Bits)
	case a.Most < 0 || a.Most%6 != 0:
		return fmt.Errorf("%d bits a pixel at most: want six times a number", a.Most)
	case !slices.Contains([]int{0, 1, 2, 4}, a.Channels):
		return fmt.Errorf("%d channels: "+lvdsTakes, a.Channels)
	case !slices.Contains([]int{0, 1, 2, 4}, a.Lanes):
		return fmt.Errorf("%d lanes: "+edpTakes, a.Lanes)
	case a.Rate != 0 && !slices.Contains(Rates(), a.Rate):
		return fmt.Errorf("%g bit/s: no lane of eDP runs at that rate", a.Rate)
	case a.Channels > 0 && isEDP:
		return errors.New("channels and lanes at once: " + lvdsTakes + ", " + edpTakes)
	case a.Kind == LVDS && isEDP:
		return errors.New("lanes or a rate for LVDS: " + lvdsTakes)
	case a.Kind == EDP && a.Channels > 0:
		return errors.New("channels for eDP: " + edpTakes)
	case a.Bits > lvdsMaxBits && (a.Kind == LVDS || a.Channels > 0):
		return fmt.Errorf("%d bits a pixel over LVDS: want 18, 24 or 30", a.Bits)
	}
	return nil
}

// Reading is a number that a bench can check.
type Reading struct {
	Name string  `json:"name"`
	Low  float64 `json:"low"` // in Unit; the same as High for an exact number
	High float64 `json:"high"`
	Unit string  `json:"unit"` // "Hz", "V" or "s"
	Why  string  `json:"why"`
}
