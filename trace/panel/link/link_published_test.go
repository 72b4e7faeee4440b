package link

import (
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/walkback/trace/panel/mode"
)

// need computes for a pixel clock in Hz, or stops the test.
func need(t *testing.T, a Ask) Need {
	t.Helper()
	n, err := Needs(a)
	if err != nil {
		t.Fatalf("Needs(%+v): %v", a, err)
	}
	return n
}

// near tells whether two numbers agree to a millionth.
func near(got, want float64) bool { return math.Abs(got-want) <= 1e-6*math.Abs(want) }

func TestSevenBitsAClock(t *testing.T) {
	tests := []struct {
		source   string
		clock    float64 // Hz, of all channels
		channels int
		rate     float64 // bit/s a data pair
	}{
		// Data sheet [1] of testdata/README.md, general description: at 65 MHz
		// 455 Mbit/s a data channel.
		{"21 bit transmitter", 65e6, 1, 455e6},
		// Data sheet [2]: at 85 MHz 595 Mbit/s a channel.
		{"21 bit transmitter, faster", 85e6, 1, 595e6},
		// Data sheet [3], 9.1: each output runs at seven times the parallel rate,
		// which goes up to 135 MHz.
		{"28 bit transmitter", 135e6, 1, 945e6},
		// The same rule by hand: Linux, userspace-api/media/v4l/subdev-formats.rst,
		// "serialized in seven time slots per pixel clock".
		{"by hand, one channel", 71e6, 1, 497e6},
		{"by hand, two channels", 154e6, 2, 539e6},
	}
	for _, tt := range tests {
		l := need(t, Ask{Mode: mode.Mode{Clock: tt.clock}, Channels: tt.channels}).LVDS
		if !near(l.PairRate, tt.rate) || !near(l.Clock, tt.clock/float64(tt.channels)) {
			t.Errorf("%s: %g bit/s at %g Hz, want %g", tt.source, l.PairRate, l.Clock, tt.rate)
		}
		if toggle, bit := l.Readings[1].Low, l.Readings[2].Low; !near(l.PairRate*bit, 1) || !near(toggle, 3.5*l.Clock) {
			t.Errorf("%s: one bit %g s, toggles at %g Hz", tt.source, bit, toggle)
		}
	}
}

func TestPairsOfADepth(t *testing.T) {
	// Linux, subdev-formats.rst as of commit 5205b6309950: seven time slots on three
	// (18-bit) or four (24-bit) or five (30-bit) differential data pairs.
	for bits, pairs := range map[int]int{18: 3, 24: 4, 30: 5} {
		if l := need(t, Ask{Mode: mode.Mode{Clock: 70e6}, Bits: bits, Kind: LVDS}).LVDS; l.Pairs != pairs {
			t.Errorf("%d bits: %d pairs, want %d", bits, l.Pairs, pairs)
		}
	}
}

func TestOneChannelEndsWhereThePictureChipEndsIt(t *testing.T) {
	// Linux, drivers/gpu/drm/i915/display, the LVDS encoder, compute_is_dual_link_lvds:
	// "single channel LVDS is limited to 112 MHz", over that it takes two.
	for _, clock := range []float64{113e6, 119e6, 154e6, 193.25e6} {
		if l := need(t, Ask{Mode: mode.Mode{Clock: clock}, Kind: LVDS}).LVDS; l.Channels != 2 || l.ChannelsFrom != Computed {
			t.Errorf("%g Hz: %d channels %v, want two without doubt", clock, l.Channels, l.ChannelsFrom)
		}
	}
}

func TestWhatTransmittersCarry(t *testing.T) {
	// Data sheet [3] of testdata/README.md: 10 MHz to 135 MHz.
	for clock, carried := range map[float64]bool{9.9e6: false, 10e6: true, 135e6: true, 135.1e6: false} {
		if l := need(t, Ask{Mode: mode.Mode{Clock: clock}, Channels: 1}).LVDS; l.Carried != carried {
			t.Errorf("%g Hz: carried %v, want %v", clock, l.Carried, carried)
		}
	}
	// Data sheet [2]: usual ones end at 85 MHz; Linux, the same encoder: one channel ends
	// at 112 MHz. Between them either is built.
	for clock, want := range map[float64]From{85e6: Computed, 85.1e6: Assumed, 112e6: Assumed, 112.1e6: Computed} {
		if l := need(t, Ask{Mode: mode.Mode{Clock: clock}, Kind: LVDS}).LVDS; l.ChannelsFrom != want {
			t.Errorf("%g Hz: %v, want %v", clock, l.ChannelsFrom, want)
		}
	}
}

func TestLevelsOfLVDS(t *testing.T) {
	// TIA/EIA-644-A, from memory: 247 to 454 mV across 100 ohms, offset 1.125 to 1.375 V.
	// The clock is 1100011, four bits of seven high (Linux,
	// bindings/display/lvds-data-mapping.yaml, the drawing over the slots), so that
	// its mean is a seventh of the swing: 50 mV at the usual 350 mV.
	l := need(t, Ask{Mode: mode.Mode{Clock: 70e6}, Kind: LVDS}).LVDS
	at := func(name string) Reading {
		i := slices.IndexFunc(l.Readings, func(r Reading) bool { return strings.Contains(r.Name, name) })
		if i < 0 {
			t.Fatalf("no reading %q", name)
		}
		return l.Readings[i]
	}
	if r := at("middle"); r.Low != 1.125 || r.High != 1.375 {
		t.Errorf("offset %v", r)
	}
	if r := at("swing"); r.Low != 0.247 || r.High != 0.454 {
		t.Errorf("swing %v", r)
	}
	mean := 0.0
	for _, bit := range "1100011" {
		mean += float64(2*int(bit-'0')-1) / 7
	}
	if r := at("mean"); !near(r.Low, 0.247*mean) || !near(r.High, 0.454*mean) || r.Low > 0.05 || r.High < 0.05 {
		t.Errorf("mean of the clock %v, want a band round 50 mV", r)
	}
}

func TestUsualLanes(t *testing.T) {
	tests := []struct {
		clock float64
		bits  int
		load  float64 // bit/s
		lanes int
		rate  float64
		space float64 // bit/s
	}{
		// Rates and 8b/10b of VESA DisplayPort 1.2, from memory; that these panels
		// have so many lanes is common practice, no source.
		{85.5e6, 18, 1.539e9, 1, 2.7e9, 2.16e9},
		{138.5e6, 24, 3.324e9, 2, 2.7e9, 4.32e9},
		{337.75e6, 24, 8.106e9, 4, 2.7e9, 8.64e9},
		{533.25e6, 24, 12.798e9, 4, 5.4e9, 17.28e9}, // 3840x2160 with reduced blanking
		{1000e6, 24, 24e9, 4, 8.1e9, 25.92e9},
	}
	for _, tt := range tests {
		e := need(t, Ask{Mode: mode.Mode{Clock: tt.clock}, Bits: tt.bits, Kind: EDP}).EDP
		if !near(e.Payload, tt.load) || e.Lanes != tt.lanes || e.Rate != tt.rate || !near(e.Capacity, tt.space) || !e.Fits {
			t.Errorf("%g Hz: %g bit/s over %d lanes at %g carrying %g, want %+v", tt.clock, e.Payload, e.Lanes, e.Rate, e.Capacity, tt)
		}
	}
	// The third fits two lanes at twice the rate as well.
	e := need(t, Ask{Mode: mode.Mode{Clock: 337.75e6}, Bits: 24, Lanes: 2}).EDP
	if e.Rate != 5.4e9 || !near(e.Capacity, 8.64e9) || !e.Fits {
		t.Errorf("two lanes: %+v", e.Carry)
	}
}

// kernelFits is the sum that Linux does: the link that is required, in the DisplayPort encoder of
// drivers/gpu/drm/i915/display, and drm_dp_max_dprx_data_rate in
// drivers/gpu/drm/display/drm_dp_helper.c, kB/s from kHz and from units of
// 10 kbit/s, in whole numbers.
func kernelFits(kHz, bits, rate10k, lanes int) bool {
	required := (kHz*bits + 7) / 8
	most := rate10k * 10 * lanes * 800000 / (1000000 * 8)
	return required <= most
}

// panel is a line of testdata/panels.txt.
type panel struct {
	name  string
	link  string
	kHz   int
	mode  mode.Mode
	bits  int
	ports int // 0 when not known
}

func panels(t *testing.T) []panel {
	t.Helper()
	text, err := os.ReadFile("testdata/panels.txt")
	if err != nil {
		t.Fatal(err)
	}
	var out []panel
	for line := range strings.Lines(string(text)) {
		f := strings.Fields(line)
		if f[0] == "#" {
			continue
		}
		var n [6]int
		for i := range n {
			if n[i], err = strconv.Atoi(f[2+i]); err != nil {
				t.Fatalf("%s: %v", f[0], err)
			}
		}
		ports := 0
		if f[9] == "1" || f[9] == "2" {
			ports = int(f[9][0] - '0')
		}
		out = append(out, panel{f[0], f[1], n[0], mode.Mode{
			Clock: float64(n[0]) * 1e3,
			H:     mode.Axis{Active: n[1], Front: n[2] - n[1]},
			V:     mode.Axis{Active: n[3], Front: n[4] - n[3]},
		}, n[5], ports})
	}
	return out
}

// The panels and their sources are described in testdata/README.md.
func TestPublishedLVDSPanels(t *testing.T) {
	count := 0
	for _, p := range panels(t) {
		if p.link != "lvds" {
			continue
		}
		count++
		l := need(t, Ask{Mode: p.mode, Bits: p.bits, Kind: LVDS}).LVDS
		if want := map[int]int{18: 3, 24: 4}[p.bits]; l.Pairs != want { // subdev-formats.rst
			t.Errorf("%s: %d pairs, want %d", p.name, l.Pairs, want)
		}
		// Real panels run over transmitters that exist.
		if l.Clock < minChannel || l.Clock > usualChannel {
			t.Errorf("%s: %g Hz a channel is over what usual parts carry", p.name, l.Clock)
		}
	}
	if count < 25 {
		t.Errorf("only %d LVDS panels read", count)
	}
}

// One or two channels: 27 of the 28 panels whose ports are known come out as
// the source has them, all nine of two ports among them. The miss is
// a panel of 148.5 MHz that the file for one port lists, which can hardly be
// right, since that is over what one channel carries; panels with two ports stood
// in that file before there was one for them. Between 85 and 112 MHz there
// are two panels only, both with two ports: too few to trust the guess there,
// which is why it is Assumed.
func TestPublishedChannels(t *testing.T) {
	hits, all, two := 0, 0, 0
	for _, p := range panels(t) {
		if p.ports == 0 {
			continue
		}
		all++
		l := need(t, Ask{Mode: p.mode, Bits: p.bits, Kind: LVDS}).LVDS
		switch {
		case l.Channels == p.ports:
			hits++
			if p.ports == 2 {
				two++
			}
		case l.ChannelsFrom == Computed && p.ports == 2:
			t.Errorf("%s: one channel is said to be sure and it has two ports", p.name)
		}
	}
	if all < 28 || hits < all-1 || two < 9 {
		t.Errorf("%d of %d right, %d of two ports", hits, all, two)
	}
}

func TestPublishedEDPPanels(t *testing.T) {
	count := 0
	for _, p := range panels(t) {
		if p.link != "edp" {
			continue
		}
		count++
		e := need(t, Ask{Mode: p.mode, Bits: p.bits, Kind: EDP}).EDP
		if !e.Fits || e.Rate > 5.4e9 || e.Rate == 5.4e9 && p.kHz < 300000 {
			t.Errorf("%s: %d lanes at %g", p.name, e.Lanes, e.Rate)
		}
		for _, rate := range Rates() {
			for _, lanes := range []int{1, 2, 4} {
				c := carry(e.Payload, rate, lanes)
				if want := kernelFits(p.kHz, p.bits, int(rate/1e4), lanes); c.Fits != want {
					t.Errorf("%s: %d lanes at %g fit %v, the kernel says %v", p.name, lanes, rate, c.Fits, want)
				}
			}
		}
	}
	if count < 15 {
		t.Errorf("only %d eDP panels read", count)
	}
}

// Readings of the demo boards' panels, written by hand in the board files, must
// follow from the mode: two channels at 59.5 MHz from 119 MHz (VESA DMT 0x39),
// two lanes with 1.35 GHz from 1920x1080.
func TestDemoBoardsSayTheSame(t *testing.T) {
	l := need(t, Ask{Mode: mode.Mode{Clock: 119e6}, Bits: 18, Kind: LVDS}).LVDS
	if l.Channels != 2 || l.Clock != 59.5e6 {
		t.Errorf("1680x1050: %d channels at %g Hz", l.Channels, l.Clock)
	}
	e := need(t, Ask{Mode: mode.Mode{Clock: 138.5e6}, Bits: 24, Kind: EDP}).EDP
	if e.Lanes != 2 || e.Readings[0].Low != 1.35e9 {
		t.Errorf("1920x1080: %d lanes, %g Hz", e.Lanes, e.Readings[0].Low)
	}
}
