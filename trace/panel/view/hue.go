package view

import (
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
)

// shade is a place among all colours: the angle and the length of the first two numbers
// are hue and the root of colourfulness, so that the hue of a pale colour counts too; the
// third is brightness. All are 0 to 1.
type shade [3]float64

func shadeAt(degrees, colourful, bright float64) shade {
	a, r := degrees*math.Pi/180, math.Sqrt(colourful)
	return shade{r * math.Cos(a), r * math.Sin(a), bright}
}

func shadeOf(px uint32) shade {
	h, s, v := hsv(px)
	return shadeAt(h, s*v, v)
}

// from is how far apart two shades are: black and white by 1, red and cyan by 2.
func (s shade) from(o shade) float64 {
	x, y, z := s[0]-o[0], s[1]-o[1], s[2]-o[2]
	return math.Sqrt(x*x + y*y + z*z)
}

// seenLimit is the distance from which on a full field is seen to be of another colour
// when there is no right one beside it. Invented.
const seenLimit = 0.2

// The words for colours are those of a tone and a hue, or of a grey. Their places are
// invented, close to the twelve equal parts of the hue circle: yellow and cyan are
// narrower for the eye, green and blue wider.
var (
	hues = []struct {
		name    string
		degrees float64
	}{
		{"red", 0}, {"orange", 33}, {"yellow", 59}, {"yellowish green", 83}, {"green", 120}, {"bluish green", 154},
		{"cyan", 180}, {"greenish blue", 206}, {"blue", 237}, {"violet", 272}, {"magenta", 304}, {"bluish red", 331},
	}
	tones = []struct {
		name              string
		colourful, bright float64
	}{
		{"", 1, 1}, {"", 0.72, 0.77}, {"light ", 0.5, 1}, {"pale ", 0.22, 1}, {"greyish ", 0.2, 0.55}, {"dark ", 0.48, 0.5}, {"dark ", 0.68, 0.7},
		{"very dark ", 0.23, 0.25},
	}
	greys = []struct {
		name   string
		bright float64
	}{{"black", 0}, {"dark grey", 0.25}, {"grey", 0.5}, {"light grey", 0.74}, {"white", 1}}
)

// shortNames are usual words for a tone of a hue, otherNames further words for colours.
var (
	shortNames = map[string]string{
		"dark yellow": "olive", "dark cyan": "teal", "dark magenta": "purple", "dark orange": "brown", "very dark orange": "dark brown",
		"pale magenta": "pink", "pale bluish red": "pink", "light bluish red": "pink",
	}
	otherNames = map[string]string{
		"gray": "grey", "dark gray": "dark grey", "light gray": "light grey", "silver": "light grey",
		"aqua": "cyan", "aquamarine": "turquoise", "fuchsia": "magenta", "navy": "dark blue", "maroon": "dark red",
		"lime": "green", "rose": "pink", "crimson": "bluish red", "beige": "pale orange", "sky blue": "light blue", "baby blue": "light blue",
		"yellow green": "yellowish green", "blue green": "turquoise", "green blue": "turquoise", "greenish yellow": "yellowish green",
		"light pink": "pink", "pale pink": "pink", "pinkish": "pink", "hot pink": "pink", "lilac": "purplish", "dark purple": "purple",
		"light purple": "purplish", "violet red": "bluish red",
	}
)

// everyday are words that people say of a wide range of colours: of light cyan they say
// light blue, of magenta pink, and bluish of all that is more blue than it should be. A
// star is any tone. Invented.
var everyday = map[string][]string{
	"pink":       {"magenta", "light magenta", "pale magenta", "bluish red", "light red", "pale red", "pale bluish red", "light bluish red"},
	"purple":     {"* violet", "* magenta"},
	"brown":      {"dark red", "dark orange", "greyish orange", "dark yellow"},
	"light blue": {"cyan", "light cyan", "pale cyan", "light greenish blue", "pale greenish blue", "light blue", "pale blue"},
	"turquoise":  {"cyan", "light cyan", "dark cyan", "bluish green", "light bluish green"},
	"bluish":     {"* cyan", "* greenish blue", "* blue", "* violet"},
	"greenish":   {"* yellowish green", "* green", "* bluish green", "* cyan"},
	"reddish":    {"* red", "* bluish red", "* orange", "* magenta"},
	"yellowish":  {"* yellow", "* orange", "* yellowish green"},
	"purplish":   {"* violet", "* magenta"},
	"orangish":   {"* orange"},
}

// named is a word with one of the shades that it is said of.
type named struct {
	word string
	grey bool
	shade
}

// namedShades are the shades that have names of their own, and all shades of each word.
var namedShades = sync.OnceValues(func() (list []named, of map[string][]shade) {
	of = map[string][]shade{}
	for _, g := range greys {
		s := shade{0, 0, g.bright}
		list, of[g.name] = append(list, named{g.name, true, s}), []shade{s}
	}
	for _, h := range hues {
		for _, t := range tones {
			s := shadeAt(h.degrees, t.colourful, t.bright)
			name := t.name + h.name
			of["* "+h.name] = append(of["* "+h.name], s)
			of[name] = append(of[name], s)
			if short, ok := shortNames[name]; ok {
				name = short
				of[name] = append(of[name], s)
			}
			list = append(list, named{name, false, s})
		}
	}
	wide := map[string][]shade{}
	for word, names := range everyday {
		for _, name := range names {
			wide[word] = append(wide[word], of[name]...)
		}
	}
	for word, shades := range wide {
		of[word] = append(of[word], shades...)
	}
	return list, of
})

// colourWords are all words for colours, sorted.
func colourWords() []string {
	_, of := namedShades()
	return slices.DeleteFunc(slices.Sorted(maps.Keys(of)), func(word string) bool { return strings.HasPrefix(word, "* ") })
}

// Below greyLimit a colour is called grey, below blackLimit black. Invented.
const (
	greyLimit  = 0.3
	blackLimit = 0.11
)

// colourName is the word for a colour: that of the nearest grey, or of the nearest shade
// with a hue.
func colourName(px uint32) string {
	list, _ := namedShades()
	s := shadeOf(px)
	grey := s[2] < blackLimit || math.Hypot(s[0], s[1]) < greyLimit
	best, word := math.Inf(1), ""
	for _, n := range list {
		if d := s.from(n.shade); n.grey == grey && d < best {
			best, word = d, n.word
		}
	}
	return word
}

// A word fits a colour that is as near as nearLimit to one of its shades, and counts as
// a disagreement half way to farLimit: one hue beside passes, two do not. Invented.
const (
	nearLimit = 0.15
	farLimit  = 0.9
)

// misnamed is how badly a word fits a colour: 0 well, 1 not at all.
func misnamed(colour shade, word string) float64 {
	_, of := namedShades()
	off := farLimit
	for _, s := range of[word] {
		off = min(off, s.from(colour))
	}
	return max(0, off-nearLimit) / (farLimit - nearLimit)
}

// isGrey reports whether a word has no hue.
func isGrey(word string) bool {
	for _, g := range greys {
		if g.name == word {
			return true
		}
	}
	return false
}
