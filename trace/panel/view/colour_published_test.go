package view

import (
	"math"
	"slices"
	"strings"
	"testing"

	"golang.org/x/image/colornames"
)

// Black and white columns of equal number look like grey 188: half the light on the
// curve of IEC 61966-2-1, 1.055*0.5^(1/2.4) - 0.055 = 0.7354 of 255.
func TestMixIsOfLight(t *testing.T) {
	if got := mix(0x000000, 0xFFFFFF); got != 0xBCBCBC {
		t.Errorf("black and white mix to %06X, want BCBCBC", got)
	}
}

// The primaries of sRGB in CIELAB under D65 (from memory, two decimals).
func TestLabOfPrimaries(t *testing.T) {
	for px, want := range map[uint32][3]float64{
		0xFFFFFF: {100, 0, 0},
		0xFF0000: {53.24, 80.09, 67.20},
		0x00FF00: {87.73, -86.18, 83.18},
		0x0000FF: {32.30, 79.19, -107.86},
	} {
		got := lab(px)
		for i := range got {
			if math.Abs(got[i]-want[i]) > 0.1 {
				t.Errorf("%06X is %.2f, want %.2f", px, got, want)
				break
			}
		}
	}
}

// The colour keywords of SVG 1.1, section 4.4 "Recognized color keyword names", as
// in golang.org/x/image/colornames: a keyword that is a word here, with or without
// light, pale or dark before it, must not contradict its colour.
func TestWordsFitTheKeywordsOfSVG(t *testing.T) {
	tried := 0
	for name, c := range colornames.Map {
		word := name
		for _, tone := range []string{"light", "pale", "dark"} {
			if base, ok := strings.CutPrefix(name, tone); ok {
				word = tone + " " + base
			}
		}
		if same, ok := otherNames()[word]; ok {
			word = same
		}
		if !slices.Contains(colourWords(), word) || word == "dark grey" {
			continue // darkgray is lighter than gray in SVG, an old mistake
		}
		tried++
		if got := misnamed(uint32(c.R)<<16|uint32(c.G)<<8|uint32(c.B), word); got > 0.5 {
			t.Errorf("%s, %02X%02X%02X, as %q: cost %.2f", name, c.R, c.G, c.B, word, got)
		}
	}
	if tried < 35 {
		t.Errorf("only %d keywords were tried", tried)
	}
}
