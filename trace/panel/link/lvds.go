package link

// slots is the number of bits that a data pair carries in one clock, from the
// media-bus documentation of the Linux kernel (subdev-formats.rst): seven time
// slots a pixel clock, on three pairs for 18 bits, four for 24, five for 30.
const slots = 7

const (
	lvdsMaxBits = 30
	lvdsBits    = 18 // of a panel whose depth is not known; common practice on LVDS laptop panels
)

// pairs is the number of data pairs of a depth: 18 bits and 3 for sync and enable fill
// three pairs of seven; each further pair adds two bits of the three colours.
func pairs(bits int) int { return (bits-18)/6 + 3 }

// Limits of one LVDS channel in Hz of its clock.
const (
	minChannel   = 10e6  // the slowest clock that the transmitters of the fast class lock to
	usualChannel = 85e6  // data sheet class of 21 and 28 bit transmitters: 20 to 85 MHz, 595 Mbit/s a pair
	maxChannel   = 112e6 // end of one channel of a picture chip, from the LVDS encoder of Linux, drivers/gpu/drm/i915/display
	fastChannel  = 135e6 // data sheet class of fast transmitters: 10 to 135 MHz
)

// Levels of TIA/EIA-644-A.
const (
	swingLow   = 0.247 // V between the conductors of a pair, at 100 Ω
	swingHigh  = 0.454
	offsetLow  = 1.125 // V, middle of the two conductors against ground
	offsetHigh = 1.375
)

// LVDSNeed is what an LVDS link must give.
type LVDSNeed struct {
	Bits         int       `json:"bits_a_pixel"`
	BitsFrom     From      `json:"bits_from"`
	Pairs        int       `json:"data_pairs_a_channel"`
	Channels     int       `json:"channels"`
	ChannelsFrom From      `json:"channels_from"`
	Clock        float64   `json:"clock_hertz"`        // of each channel's clock pair, Hz
	PairRate     float64   `json:"pair_bits_a_second"` // of a data pair, bit/s
	Carried      bool      `json:"carried"`            // some part carries it
	Readings     []Reading `json:"readings,omitempty"` // none of a link that cannot be
}

func lvds(a Ask) *LVDSNeed {
	l := &LVDSNeed{Bits: a.Bits}
	switch {
	case l.Bits > 0:
	case a.Most > 0:
		l.Bits = min(a.Most, lvdsMaxBits) // a panel has the pairs of its depth
	default:
		l.Bits, l.BitsFrom = lvdsBits, Assumed
	}
	l.Pairs = pairs(l.Bits)
	l.Channels = a.Channels
	if l.Channels == 0 {
		l.Channels, l.ChannelsFrom = channelsFor(a.Mode.Clock)
	}
	l.Clock = a.Mode.Clock / float64(l.Channels)
	l.PairRate = slots * l.Clock
	l.Carried = l.Clock >= minChannel && l.Clock <= fastChannel
	if l.Carried {
		l.Readings = l.readings()
	}
	return l
}

// channelsFor decides how many channels a pixel clock takes. Up to the limit of
// usual parts it is one (common practice); beyond the limit of a picture chip it
// is two; between them either is built, and two are the better guess.
func channelsFor(clock float64) (int, From) {
	switch {
	case clock <= usualChannel:
		return 1, Computed
	case clock <= maxChannel:
		return 2, Assumed
	case clock <= 2*maxChannel:
		return 2, Computed
	}
	return 4, Assumed
}

func (l *LVDSNeed) readings() []Reading {
	toggle, bit := l.PairRate/2, 1/l.PairRate
	return []Reading{
		{"clock pair, frequency", l.Clock, l.Clock, "Hz", "the pixel clock, shared among the channels"},
		{"data pair, fastest square wave", toggle, toggle, "Hz", "bits that change every time: half of seven bits a clock"},
		{"one bit", bit, bit, "s", "a seventh of the clock's period"},
		{"pair, middle against ground", offsetLow, offsetHigh, "V", "TIA/EIA-644-A"},
		{"pair, swing between conductors", swingLow, swingHigh, "V", "TIA/EIA-644-A, with 100 ohms across the pair"},
		// The clock is high for four of seven bits, so its mean is (4-3)/7 of the swing.
		{"clock pair, mean between conductors", swingLow / slots, swingHigh / slots, "V",
			"four bits high and three low: a seventh of the swing"},
	}
}
