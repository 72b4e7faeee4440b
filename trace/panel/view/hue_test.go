package view

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestColourNamesAreTolerant(t *testing.T) {
	for _, c := range []struct {
		px   uint32
		word string
		ok   bool
	}{
		{0x00FBFF, "cyan", true}, {0x00FBFF, "bluish green", true}, {0x00FBFF, "red", false},
		{0xC0FEFF, "light cyan", true}, {0xFF04F3, "magenta", true}, {0xFF04F3, "green", false},
		{0x3F3F3F, "dark grey", true}, {0x3F3F3F, "black", true}, {0x3F3F3F, "white", false},
	} {
		if got := misnamed(shadeOf(c.px), c.word) <= 0.5; got != c.ok {
			t.Errorf("%06X as %s: %v (cost %.2f)", c.px, c.word, got, misnamed(shadeOf(c.px), c.word))
		}
	}
}

// clock is the place of a colour word on the hue circle in twelve parts of 30
// degrees, red 0; -1 for greys.
func clock(word string) int {
	switch word {
	case "olive":
		return 2
	case "teal":
		return 6
	case "purple":
		return 10
	case "pink":
		return 11
	case "brown", "dark brown":
		return 1
	}
	order := []string{
		"red",
		"orange",
		"yellow",
		"yellowish green",
		"green",
		"bluish green",
		"cyan",
		"greenish blue",
		"blue",
		"violet",
		"magenta",
		"bluish red",
	}
	for _, t := range []string{"very dark ", "dark ", "greyish ", "pale ", "light "} {
		if base, ok := strings.CutPrefix(word, t); ok {
			return slices.Index(order, base)
		}
	}
	return slices.Index(order, word)
}

// checkHue compares a colour's word with the twelve equal parts of the HSV circle,
// computed here in another way: by the angle in the plane across the grey axis.
func checkHue(px uint32) error {
	word := colourName(px)
	r8, g8, b8 := parts(px)
	r, g, b := float64(r8), float64(g8), float64(b8)
	spread := max(r, g, b) - min(r, g, b)
	if at := clock(word); at >= 0 {
		angle := math.Atan2(math.Sqrt(3)*(g-b), 2*r-g-b) * 180 / math.Pi
		off := math.Abs(math.Mod(angle-30*float64(at)+900, 360) - 180)
		if off > 45 { // one part and a half: the next one at most
			return fmt.Errorf("%06X is called %q, %.0f degrees off", px, word, off)
		}
		return nil
	}
	if spread > 30 && max(r, g, b) > 40 {
		return fmt.Errorf("%06X is called %q, and has a hue", px, word)
	}
	return nil
}

func TestHueWordsAreNearTheHue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		px := rapid.Uint32Range(0, 0xFFFFFF).Draw(t, "colour")
		if err := checkHue(px); err != nil {
			t.Fatal(err)
		}
		if word := colourName(px); misnamed(shadeOf(px), word) > 0.5 || !slices.Contains(colourWords(), word) {
			t.Fatalf("%06X is called %q, which fits by %.2f only", px, word, misnamed(shadeOf(px), word))
		}
	})
}

// The words that describe a look are the words that find it.
func TestAllColoursOfAllSheets(t *testing.T) {
	for _, l := range AllLinks() {
		all, err := everyLook([]Link{l})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range all {
			w, err := newWire(l, faultsOf(Candidate{Fault: m.fault}))
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range testFields() {
				var got [2]uint32
				w.line(got[:], []uint32{f.rgb, f.rgb}, 0)
				for _, px := range []uint32{got[0], got[1], mix(got[0], got[1])} {
					if err := checkHue(px); err != nil {
						t.Errorf("%v %v: %v", l, m.fault, err)
					}
				}
			}
			for _, f := range m.look.Fields {
				if f.cost(f.Bad) != 0 || f.cost(f.Name) != 0 || misnamed(f.wrong, f.Bad) > 0.5 || misnamed(f.all, f.Name) > 0.5 {
					t.Errorf("%v %v: %s is called %s and %s", l, m.fault, f.Show, f.Bad, f.Name)
				}
			}
		}
	}
}

func TestColourNames(t *testing.T) {
	for px, want := range map[uint32]string{
		0xFFFFFF: "white", 0xFBFFFF: "white", 0xC0C0C0: "light grey", 0xBCBCBC: "light grey", 0x808080: "grey", 0x3F3F3F: "dark grey",
		0x040404: "black",
		0xFF0000: "red", 0xC00000: "red", 0x800000: "dark red", 0x3F0100: "very dark red", 0xFF8080: "light red", 0xFFC0C0: "pale red",
		0xFF8000: "orange", 0x804000: "brown",
		0xFFFF00: "yellow", 0x808000: "olive", 0xFFFF99: "light yellow", 0xFFFFC3: "pale yellow",
		0x80FF00: "yellowish green", 0x00FF00: "green", 0x00C100: "green", 0x008000: "dark green", 0x003E03: "very dark green",
		0x80FF80: "light green", 0xC0FFC0: "pale green",
		0x00FF80: "bluish green", 0x00FFFF: "cyan", 0x00FBFF: "cyan", 0x03FBFF: "cyan", 0x008080: "teal", 0xC0FEFF: "pale cyan",
		0x0080FF: "greenish blue", 0x0000FF: "blue", 0x000080: "dark blue", 0x8080FF: "light blue", 0xC0C0FF: "pale blue",
		0x8000FF: "violet", 0xFF00FF: "magenta", 0xFF04F3: "magenta", 0x800080: "purple",
		0xFFC100: "orange", 0xC000FF: "violet", 0xFFC1FC: "pink", 0xFFBDF9: "pink", 0xFF80C0: "pink", 0xFF0080: "bluish red",
		0x807060: "greyish orange",
	} {
		if got := colourName(px); got != want {
			t.Errorf("%06X is called %q, want %q", px, got, want)
		}
	}
	if got := colourName(mix(0xFF04F3, 0xFFFFFF)); got != "pink" {
		t.Errorf("magenta and white columns are called %q", got)
	}
}
