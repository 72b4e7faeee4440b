package link

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/panel/mode"
)

// xga is an invented panel's mode.
var xga = mode.Mode{Clock: 69.3e6, H: mode.Axis{Active: 1366, Front: 48, Sync: 32, Back: 20}, V: mode.Axis{Active: 768,
	Front: 4, Sync: 6, Back: 10}}

func TestWrongAsks(t *testing.T) {
	tests := []struct {
		ask  Ask
		want string
	}{
		{Ask{}, "pixel clock 0 Hz: want"},
		{Ask{Mode: at(-1)}, "pixel clock -1 Hz"},
		{Ask{Mode: at(math.NaN())}, "pixel clock NaN Hz"},
		{Ask{Mode: at(math.Inf(1))}, "pixel clock +Inf Hz"},
		{Ask{Mode: xga, Bits: 7}, "7 bits a pixel: want 18, 24, 30 or 36"},
		{Ask{Mode: xga, Bits: -18}, "-18 bits"},
		{Ask{Mode: xga, Channels: 3}, "3 channels: LVDS takes 1, 2 or 4 channels"},
		{Ask{Mode: xga, Lanes: 3}, "3 lanes: eDP takes 1, 2 or 4 lanes"},
		{Ask{Mode: xga, Channels: 1, Lanes: 1}, "channels and lanes at once: LVDS takes 1, 2 or 4 channels, eDP takes 1, 2 or 4 lanes"},
		{Ask{Mode: xga, Kind: LVDS, Lanes: 1}, "lanes or a rate for LVDS: LVDS takes 1, 2 or 4 channels"},
		{Ask{Mode: xga, Kind: EDP, Channels: 1}, "channels for eDP: eDP takes 1, 2 or 4 lanes"},
		{Ask{Mode: xga, Kind: LVDS, Bits: 36}, "36 bits a pixel over LVDS"},
		{Ask{Mode: xga, Rate: 3e9}, "3e+09 bit/s: no lane of eDP runs at that rate"},
		{Ask{Mode: xga, Rate: math.NaN()}, "NaN bit/s"},
		{Ask{Mode: xga, Rate: -2.7e9}, "-2.7e+09 bit/s"},
	}
	for _, tt := range tests {
		n, err := Needs(tt.ask)
		if err == nil || !strings.Contains(err.Error(), tt.want) || !cmp.Equal(n, Need{}) {
			t.Errorf("%+v: error %v, want %q", tt.ask, err, tt.want)
		}
	}
}

func TestLinkOfAnAsk(t *testing.T) {
	tests := []struct {
		ask  Ask
		kind Kind
	}{
		{Ask{Mode: xga}, Unknown},
		{Ask{Mode: xga, Kind: LVDS}, LVDS},
		{Ask{Mode: xga, Kind: EDP}, EDP},
		{Ask{Mode: xga, Channels: 2}, LVDS},
		{Ask{Mode: xga, Lanes: 2}, EDP},
		{Ask{Mode: xga, Rate: 2.7e9}, EDP},
		{Ask{Mode: xga, Bits: 36}, EDP},
	}
	for _, tt := range tests {
		n := need(t, tt.ask)
		if n.Kind != tt.kind {
			t.Errorf("%+v: %v, want %v", tt.ask, n.Kind, tt.kind)
		}
		if (n.LVDS != nil) != (tt.kind != EDP) || (n.EDP != nil) != (tt.kind != LVDS) {
			t.Errorf("%+v: lvds %v edp %v", tt.ask, n.LVDS, n.EDP)
		}
	}
}

func TestGivenLanesAndRate(t *testing.T) {
	tests := []struct {
		ask    Ask
		lanes  int
		rate   float64
		ln, rt From
		fits   bool
	}{
		{Ask{Mode: xga, Bits: 18, Kind: EDP}, 1, 2.7e9, Assumed, Assumed, true},
		{Ask{Mode: xga, Bits: 18, Lanes: 1}, 1, 1.62e9, Given, Assumed, true},
		{Ask{Mode: xga, Bits: 24, Lanes: 1}, 1, 2.7e9, Given, Assumed, true},
		{Ask{Mode: xga, Bits: 24, Rate: 1.62e9}, 2, 1.62e9, Assumed, Given, true},
		{Ask{Mode: xga, Bits: 24, Lanes: 1, Rate: 1.62e9}, 1, 1.62e9, Given, Given, false},
		{Ask{Mode: xga, Bits: 24, Lanes: 4, Rate: 8.1e9}, 4, 8.1e9, Given, Given, true},
	}
	for _, tt := range tests {
		e := need(t, tt.ask).EDP
		if e.Lanes != tt.lanes || e.Rate != tt.rate || e.LanesFrom != tt.ln || e.RateFrom != tt.rt || e.Fits != tt.fits {
			t.Errorf("%+v: %+v %v %v", tt.ask, e.Carry, e.LanesFrom, e.RateFrom)
		}
	}
}

func TestNeedInAFewWords(t *testing.T) {
	tests := []struct {
		ask  Ask
		want string
	}{
		{Ask{Mode: xga, Bits: 18, Kind: LVDS}, "1366x768 at 59.99 Hz, LVDS, one channel of three data pairs"},
		{Ask{Mode: at(154e6), Bits: 24, Kind: LVDS}, "154.00 MHz, LVDS, two channels of four data pairs"},
		{Ask{Mode: xga, Bits: 18, Lanes: 2}, "1366x768 at 59.99 Hz, eDP, two lanes"},
		{Ask{Mode: xga}, "1366x768 at 59.99 Hz"},
	}
	for _, tt := range tests {
		if got := need(t, tt.ask).String(); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}

}

// told is the text of what a panel asks for.
func told(n Need) string {
	var out bytes.Buffer
	o := say.NewWriter(&out)
	Text(o, n)
	if err := o.Flush(); err != nil {
		return err.Error()
	}
	return out.String()
}

func TestText(t *testing.T) {
	tests := []struct {
		name string
		ask  Ask
		want string
	}{
		{"lvds", Ask{Mode: xga, Bits: 18, Kind: LVDS}, `pixel clock   69.30 MHz (1366x768 at 59.99 Hz)
link          LVDS, one channel (computed): clock pair 69.30 MHz, three data pairs at 485.1 Mbit/s
              each (7 bits a clock)
depth         18 bits a pixel
readings      clock pair, frequency: 69.30 MHz (the pixel clock, shared among the channels)
              data pair, fastest square wave: 242.55 MHz (bits that change every time: half of seven
              bits a clock)
              one bit: 2.06 ns (a seventh of the clock's period)
              pair, middle against ground: 1.125 V to 1.375 V (TIA/EIA-644-A)
              pair, swing between conductors: 0.247 V to 0.454 V (TIA/EIA-644-A, with 100 ohms
              across the pair)
              clock pair, mean between conductors: 35.3 mV to 64.9 mV (four bits high and three low:
              a seventh of the swing)
`},
		{"edp", Ask{Mode: xga, Kind: EDP, Lanes: 1}, `pixel clock   69.30 MHz (1366x768 at 59.99 Hz)
link          eDP, one lane at 2.7 Gbit/s (assumed): 2.16 Gbit/s of data, 77 % of it used
depth         24 bits a pixel, assumed: the depth is not known
payload       1.663 Gbit/s, pixel clock times bits
settled       when panel and picture chip train the link; the panel's limits are its DPCD registers
              MAX_LINK_RATE and MAX_LANE_COUNT
readings      lane, fastest square wave: 1350.00 MHz (bits that change every time: half of the rate)
              one bit: 370 ps (the inverse of the rate)
`},
	}
	for _, tt := range tests {
		var out bytes.Buffer
		out.WriteString(told(need(t, tt.ask)))
		if diff := cmp.Diff(tt.want, out.String()); diff != "" {
			t.Errorf("%s (-want +got)\n%s", tt.name, diff)
		}
	}
}

func TestTextOfTheUnknownAndTheTooMuch(t *testing.T) {
	tests := []struct {
		ask  Ask
		want []string
	}{
		{Ask{Mode: at(69.3e6)}, []string{"pixel clock   69.30 MHz\n", "link          not known", "if LVDS       LVDS, one channel",
			"if eDP        eDP, one lane"}},
		{Ask{Mode: at(2e9), Bits: 30, Kind: EDP}, []string{"eDP: over what can be carried by four lanes (assumed) at 8.1 Gbit/s (assumed):\n",
			"25.92 Gbit/s", "(DSC)"}},
		{Ask{Mode: at(297e6), Bits: 24, Kind: LVDS}, []string{"LVDS, four channels (assumed): clock pair 74.25 MHz"}},
	}
	for _, tt := range tests {
		var out bytes.Buffer
		out.WriteString(told(need(t, tt.ask)))
		for _, part := range tt.want {
			if !strings.Contains(out.String(), part) {
				t.Errorf("%+v: no %q in\n%s", tt.ask, part, &out)
			}
		}
		for l := range strings.Lines(out.String()) {
			if len(l) > say.Width+1 {
				t.Errorf("line of %d: %s", len(l), l)
			}
		}
	}
}

// A panel of 10 bits a colour runs with 8 where the lanes carry no more: 337.75 MHz
// times 24 bits are 8.106 Gbit/s, four lanes at 2.7 Gbit/s carry 8.64 (VESA
// DisplayPort: 8 of 10 bits on the wire are data), and 30 bits would be 10.13.
func TestGreatestDepthIsNotThatOfTheLink(t *testing.T) {
	ask := Ask{Mode: at(337.75e6), Most: 30, Kind: EDP, Lanes: 4, Rate: 2.7e9}
	e := need(t, ask).EDP
	if !e.Fits || e.Bits != 24 || e.Most != 30 || e.BitsFrom != Computed {
		t.Errorf("%+v", e)
	}
	if got := told(need(t, ask)); !strings.Contains(got,
		"24 bits a pixel: the panel takes up to 30, which this link does not carry") {
		t.Error(got)
	}
	ask.Bits = 30
	if e := need(t, ask).EDP; e.Fits || e.Bits != 30 || e.BitsFrom != Given {
		t.Errorf("30 bits that were said: %+v", e)
	}
	// Where lanes and rate are open, the greatest depth settles them.
	if e := need(t, Ask{Mode: at(337.75e6), Most: 30, Kind: EDP}).EDP; !e.Fits || e.Bits != 30 || e.Rate != 5.4e9 {
		t.Errorf("lanes and rate open: %+v", e)
	}
	// 720 MHz over two lanes: 21.6 and 17.28 Gbit/s are over 12.96 of 8.1 Gbit/s a lane, 18 bits are not.
	fit := need(t, Ask{Mode: at(720e6), Most: 30, Kind: EDP}).On(lanesOf("L0 L1"))
	if want := "With two lanes of the board the link must run at 8.1 Gbit/s or faster, with 18 bits a pixel."; !fit.OK() ||
		!slices.Contains(fit.Notes, want) {
		t.Errorf("problems %q, notes %q", fit.Problems, fit.Notes)
	}
}

// What no link can be has no readings.
func TestNoReadingsOfALinkThatCannotBe(t *testing.T) {
	for _, ask := range []Ask{
		{Mode: at(2e9), Bits: 30, Kind: EDP},
		{Mode: at(600e6), Bits: 24, Kind: LVDS, Channels: 1},
		{Mode: at(5e6), Bits: 18, Kind: LVDS},
		{Mode: at(5e9)},
	} {
		n := need(t, ask)
		var out bytes.Buffer
		out.WriteString(told(n))
		if n.EDP != nil && n.EDP.Readings != nil || n.LVDS != nil && n.LVDS.Readings != nil || strings.Contains(out.String(),
			"readings") || strings.Contains(out.String(), "one bit") {
			t.Errorf("%+v:\n%s", ask, &out)
		}
	}
}
