// Package link tells what a panel's mode asks of the link to it, and which lanes
// of a board must therefore be alive.
//
//	need, err := link.Needs(link.Ask{Mode: m, Bits: 18, Kind: link.LVDS})
//	fit := need.On(board)
package link

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist/mistake"
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

var kindNames = [...]string{"unknown", "lvds", "edp"}

// String is such as "LVDS", as a sentence has it.
func (k Kind) String() string {
	switch k {
	case LVDS:
		return "LVDS"
	case EDP:
		return "eDP"
	}
	return "unknown"
}

// MarshalText gives "unknown", "lvds" or "edp".
func (k Kind) MarshalText() ([]byte, error) {
	if k < Unknown || k > EDP {
		return nil, fmt.Errorf("link kind %d is none", int(k))
	}
	return []byte(kindNames[k]), nil
}

// ParseKind reads "lvds" or "edp", in any case; "unknown" and nothing are
// Unknown.
func ParseKind(s string) (Kind, error) {
	low := strings.ToLower(s)
	if low == "" {
		return Unknown, nil
	}
	if i := slices.Index(kindNames[:], low); i >= 0 {
		return Kind(i), nil
	}
	hint := ""
	if n := mistake.Nearest(s, kindNames[:]); n != "" {
		hint = ", " + mistake.DidYouMean(n)
	}
	return Unknown, fmt.Errorf("link %q: want lvds or edp%s", s, hint)
}

// From tells where a number comes from.
type From int

// From the surest to the least sure.
const (
	Given    From = iota // told by whoever asked
	Computed             // follows from the mode, with the limits of usual parts
	Assumed              // a guess that the mode alone does not settle
)

// String is such as "assumed".
func (f From) String() string {
	return pick(int(f), "from", []string{"given", "computed", "assumed"})
}

// pick is the word of a value, or its number when it is none of them.
func pick(i int, what string, words []string) string {
	if i < 0 || i >= len(words) {
		return fmt.Sprintf("%s %d", what, i)
	}
	return words[i]
}

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
	Mode     mode.Mode `json:"mode"`
	Kind     Kind      `json:"link"`
	KindFrom From      `json:"link_from"` // Computed when it follows from another number; Assumed when unknown
	Blank    float64   `json:"blanking_fraction"`
	LVDS     *LVDSNeed `json:"lvds,omitempty"`
	EDP      *EDPNeed  `json:"edp,omitempty"`
}

// Needs computes what a panel asks for.
func Needs(a Ask) (Need, error) {
	if err := a.check(); err != nil {
		return Need{}, fmt.Errorf("what the link must carry: %w", err)
	}
	n := Need{Mode: a.Mode, Blank: blanking(a.Mode)}
	n.Kind, n.KindFrom = a.kind()
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
func (a Ask) kind() (Kind, From) {
	switch {
	case a.Kind != Unknown:
		return a.Kind, Given
	case a.Channels > 0:
		return LVDS, Computed
	case a.Lanes > 0 || a.Rate > 0 || max(a.Bits, a.Most) > lvdsMaxBits:
		return EDP, Computed
	}
	return Unknown, Assumed
}

// blanking is the fraction of the time in which no picture is sent, 0 when the
// mode does not say.
func blanking(m mode.Mode) float64 {
	all := float64(m.H.Total()) * float64(m.V.Total())
	if m.H.Active <= 0 || m.V.Active <= 0 || all <= 0 {
		return 0
	}
	return 1 - float64(m.H.Active)*float64(m.V.Active)/all
}

// What each link is made of, as every message has it.
const (
	lvdsTakes = "LVDS takes 1, 2 or 4 channels"
	edpTakes  = "eDP takes 1, 2 or 4 lanes and their rate"
)

func (a Ask) check() error {
	clock := a.Mode.Clock
	switch {
	case !(clock >= mode.MinClock && clock <= mode.MaxClock):
		return fmt.Errorf("pixel clock %g Hz: want %g to %g Hz", clock, float64(mode.MinClock), float64(mode.MaxClock))
	case a.Kind < Unknown || a.Kind > EDP:
		return fmt.Errorf("link kind %d: want LVDS, eDP or unknown", int(a.Kind))
	case slices.Contains([]int{6, 8, 10, 12}, a.Bits):
		return fmt.Errorf("bits a pixel: %d, not %d a colour", 3*a.Bits, a.Bits)
	case !slices.Contains([]int{0, 18, 24, 30, 36}, a.Bits):
		return fmt.Errorf("%d bits a pixel: want 18, 24, 30 or 36, three times the bits of a colour", a.Bits)
	case a.Most < 0 || a.Most%6 != 0:
		return fmt.Errorf("%d bits a pixel at most: want six times a number", a.Most)
	case !slices.Contains([]int{0, 1, 2, 4}, a.Channels):
		return fmt.Errorf("%d channels: "+lvdsTakes, a.Channels)
	case !slices.Contains([]int{0, 1, 2, 4}, a.Lanes):
		return fmt.Errorf("%d lanes: "+edpTakes, a.Lanes)
	}
	isEDP := a.Lanes > 0 || a.Rate != 0
	switch {
	case a.Channels > 0 && isEDP:
		return errors.New("channels and lanes at once: " + lvdsTakes + ", " + edpTakes)
	case a.Kind == LVDS && isEDP:
		return errors.New("lanes or a rate for LVDS: " + lvdsTakes)
	case a.Kind == EDP && a.Channels > 0:
		return errors.New("channels for eDP: " + edpTakes)
	case a.Bits > lvdsMaxBits && (a.Kind == LVDS || a.Channels > 0):
		return fmt.Errorf("%d bits a pixel over LVDS: want 18, 24 or 30", a.Bits)
	case a.Rate != 0:
		_, err := nearRate(a.Rate)
		return err
	}
	return nil
}

// nearRate is the rate of a lane that is meant. One of Gbit/s is refused, with a
// hint, since a slip by a factor of 1e9 elsewhere would go unseen.
func nearRate(rate float64) (float64, error) {
	names := make([]string, 0, len(Rates()))
	hint := ""
	for _, r := range Rates() {
		if math.Abs(rate-r) <= 1e-3*r {
			return r, nil
		}
		names = append(names, fmt.Sprintf("%g", r/1e9))
		if math.Abs(rate*1e9-r) <= 1e-3*r {
			hint = ", " + mistake.DidYouMean(fmt.Sprintf("%g bit/s", r))
		}
	}
	return 0, fmt.Errorf("%g bit/s a lane: want one of %s Gbit/s%s", rate, strings.Join(names, ", "), hint)
}

// Reading is a number that a bench can check.
type Reading struct {
	Name string  `json:"name"`
	Low  float64 `json:"low"` // in Unit; the same as High for an exact number
	High float64 `json:"high"`
	Unit string  `json:"unit"` // "Hz", "V" or "s"
	Why  string  `json:"why"`
}
