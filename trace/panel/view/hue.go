package view

import (
	"maps"
	"math"
	"slices"
	"sync"
)

// sector is a part of the hue circle. The borders are invented, close to the
// twelve equal parts: yellow and cyan are narrower for the eye, green and blue wider.
type sector struct {
	name   string
	lo, hi float64 // degrees of HSV
}

func sectors() []sector {
	return []sector{
		{"red", -15, 15}, {"orange", 15, 48}, {"yellow", 48, 70}, {"yellowish green", 70, 95},
		{"green", 95, 145}, {"bluish green", 145, 165}, {"cyan", 165, 193}, {"greenish blue", 193, 220},
		{"blue", 220, 255}, {"violet", 255, 290}, {"magenta", 290, 318}, {"bluish red", 318, 345},
	}
}

// sectorOf is the sector of a hue from 0 to 360.
func sectorOf(h float64) sector {
	for _, s := range sectors() {
		if h >= s.lo && h < s.hi || h-360 >= s.lo && h-360 < s.hi {
			return s
		}
	}
	return sectors()[0]
}

// region is what a word may be said of: a range of hues, saturations and values.
// The ranges of words overlap, as people differ.
type region struct {
	hue, spread float64 // degrees; a spread of 180 is any hue
	s, v        [2]float64
	grey        bool // s bounds the difference of the colours, not the saturation
}

// tone is a word before the hue, with the widest region that it is said of.
type tone struct {
	name string
	s, v [2]float64
}

func tones() []tone {
	return []tone{
		{"", [2]float64{0.35, 1}, [2]float64{0.33, 1}},
		{"light ", [2]float64{0.12, 0.75}, [2]float64{0.6, 1}},
		{"pale ", [2]float64{0.05, 0.4}, [2]float64{0.6, 1}},
		{"greyish ", [2]float64{0.08, 0.5}, [2]float64{0.2, 0.75}},
		{"dark ", [2]float64{0.3, 1}, [2]float64{0.2, 0.75}},
		{"very dark ", [2]float64{0.2, 1}, [2]float64{0.05, 0.4}},
	}
}

// toneOf is the tone of a colour that is not grey.
func toneOf(s, v float64) string {
	switch {
	case v < 0.33:
		return "very dark "
	case v < 0.66 && s < 0.32:
		return "greyish "
	case v < 0.66:
		return "dark "
	case s < 0.32:
		return "pale "
	case s < 0.65:
		return "light "
	}
	return ""
}

// greys are the words without a hue, with the value below which they are given.
func greys() []struct {
	name  string
	below float64
	v     [2]float64
} {
	return []struct {
		name  string
		below float64
		v     [2]float64
	}{
		{"black", 0.1, [2]float64{0, 0.12}}, {"dark grey", 0.38, [2]float64{0.08, 0.5}}, {"grey", 0.62, [2]float64{0.25, 0.8}},
		{"light grey", 0.92, [2]float64{0.55, 0.95}}, {"white", 2, [2]float64{0.85, 1}},
	}
}

// greyLimit is the difference of the colours, 0 to 1, up to which a colour is
// called grey. Invented.
const greyLimit = 0.08

// shortNames are usual words for a tone of a hue.
func shortNames() map[string]string {
	return map[string]string{
		"dark yellow": "olive", "dark cyan": "teal", "dark magenta": "purple", "dark orange": "brown", "very dark orange": "dark brown",
		"pale magenta": "pink", "pale bluish red": "pink", "light bluish red": "pink",
	}
}

// otherNames are further words for the same colours.
func otherNames() map[string]string {
	same := map[string]string{
		"gray": "grey", "dark gray": "dark grey", "light gray": "light grey", "silver": "light grey",
		"aqua": "cyan", "aquamarine": "turquoise", "fuchsia": "magenta", "navy": "dark blue", "maroon": "dark red",
		"lime": "green", "rose": "pink", "crimson": "bluish red", "beige": "pale orange", "sky blue": "light blue", "baby blue": "light blue",
		"yellow green": "yellowish green", "blue green": "turquoise", "green blue": "turquoise", "greenish yellow": "yellowish green",
		"light pink": "pink", "pale pink": "pink", "pinkish": "pink", "hot pink": "pink", "lilac": "purplish", "dark purple": "purple",
		"light purple": "purplish", "violet red": "bluish red",
	}
	maps.Copy(same, shortNames())
	return same
}

// everyday are words that people say of a wide range of colours: of light cyan they say
// light blue, of magenta pink, and bluish of all that is more blue than it should be.
// Invented, as all borders here.
func everyday() map[string]region {
	any, bright := [2]float64{0.05, 1}, [2]float64{0.6, 1}
	return map[string]region{
		"pink": {hue: 322, spread: 48, s: any, v: bright}, "purple": {hue: 290, spread: 35, s: [2]float64{0.3, 1}, v: [2]float64{0.2, 1}},
		"brown": {hue: 25, spread: 28, s: [2]float64{0.3, 1}, v: [2]float64{0.15, 0.75}}, "light blue": {hue: 210, spread: 45, s: any, v: bright},
		"turquoise": {hue: 175, spread: 25, s: [2]float64{0.2, 1}, v: [2]float64{0.4, 1}},
		"bluish":    {hue: 215, spread: 60, s: any, v: [2]float64{0.2, 1}}, "greenish": {hue: 125, spread: 60, s: any, v: [2]float64{0.2, 1}},
		"reddish": {hue: 355, spread: 45, s: any, v: [2]float64{0.2, 1}}, "yellowish": {hue: 55, spread: 35, s: any, v: [2]float64{0.3, 1}},
		"purplish": {hue: 290, spread: 50, s: any, v: [2]float64{0.2, 1}}, "orangish": {hue: 30, spread: 30, s: any, v: [2]float64{0.3, 1}},
	}
}

// regions gives each word its region; words is their order.
var regions = sync.OnceValues(func() (words []string, of map[string]region) {
	of = map[string]region{}
	put := func(name string, r region) {
		if _, there := of[name]; !there {
			words = append(words, name)
		}
		of[name] = r
	}
	for _, g := range greys() {
		put(g.name, region{spread: 180, s: [2]float64{0, 1.5 * greyLimit}, v: g.v, grey: true})
	}
	for _, t := range tones() {
		for _, s := range sectors() {
			name := t.name + s.name
			if short, ok := shortNames()[name]; ok {
				name = short
			}
			put(name, region{hue: (s.lo + s.hi) / 2, spread: (s.hi-s.lo)/2 + 8, s: t.s, v: t.v})
		}
	}
	for _, name := range slices.Sorted(maps.Keys(everyday())) {
		put(name, everyday()[name])
	}
	return words, of
})

func colourWords() []string {
	words, _ := regions()
	return slices.Clone(words)
}

// colourName is the word for a colour: hue first, then saturation and value.
func colourName(px uint32) string {
	h, s, v := hsv(px)
	if s*v < greyLimit || v < greys()[0].below {
		for _, g := range greys() {
			if v < g.below {
				return g.name
			}
		}
	}
	name := toneOf(s, v) + sectorOf(h).name
	if short, ok := shortNames()[name]; ok {
		return short
	}
	return name
}

// A word that is off by so much fits not at all; half of it counts as a
// disagreement. Invented: one sector of hue passes, two do not.
const (
	hueFade  = 60.0
	toneFade = 0.5
)

// misnamed is how badly a word fits a colour: 0 well, 1 not at all.
func misnamed(px uint32, word string) float64 {
	_, of := regions()
	r, ok := of[word]
	if !ok {
		return 1
	}
	h, s, v := hsv(px)
	turn := math.Abs(math.Mod(h-r.hue+540, 360) - 180)
	if s*v < greyLimit {
		turn = 0 // a hue that nobody sees
	}
	if r.grey {
		s *= v
	}
	off := math.Hypot(max(0, turn-r.spread)/hueFade, math.Hypot(outside(s, r.s), outside(v, r.v))/toneFade)
	return min(off, 1)
}

// isGrey reports whether a word has no hue.
func isGrey(word string) bool {
	_, of := regions()
	return of[word].grey
}

// outside is how far a value is out of a range.
func outside(x float64, r [2]float64) float64 { return max(0, r[0]-x, x-r[1]) }
