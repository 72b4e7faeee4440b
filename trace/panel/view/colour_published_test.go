package view

import (
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
		if same, ok := otherNames[word]; ok {
			word = same
		}
		if !slices.Contains(colourWords(), word) || word == "dark grey" {
			continue // darkgray is lighter than gray in SVG, an old mistake
		}
		tried++
		if got := misnamed(shadeOf(uint32(c.R)<<16|uint32(c.G)<<8|uint32(c.B)), word); got > 0.5 {
			t.Errorf("%s, %02X%02X%02X, as %q: cost %.2f", name, c.R, c.G, c.B, word, got)
		}
	}
	if tried < 35 {
		t.Errorf("only %d keywords were tried", tried)
	}
}
