package view

import (
	"math"
	"sync"
)

// hue is a word for a colour with what is meant by it. The words are common ones,
// the values invented: a screen has no standard for "dark red".
type hue struct {
	name string
	rgb  uint32
}

func hues() []hue {
	return []hue{
		{"white", 0xFFFFFF}, {"black", 0x000000}, {"grey", 0x808080}, {"dark grey", 0x404040}, {"light grey", 0xC0C0C0},
		{"red", 0xFF0000}, {"green", 0x00FF00}, {"blue", 0x0000FF},
		{"yellow", 0xFFFF00}, {"cyan", 0x00FFFF}, {"magenta", 0xFF00FF},
		{"dark red", 0x800000}, {"dark green", 0x008000}, {"dark blue", 0x000080},
		{"olive", 0x808000}, {"teal", 0x008080}, {"purple", 0x800080},
		{"pink", 0xFF80A0}, {"light green", 0x80FF80}, {"light blue", 0x8080FF},
		{"light yellow", 0xFFFF99}, {"light cyan", 0x99FFFF}, {"light magenta", 0xFF99FF},
		{"orange", 0xFF8000}, {"violet", 0x8000FF}, {"sky blue", 0x0080FF},
		{"pale red", 0xFFC0C0}, {"pale green", 0xC0FFC0}, {"pale blue", 0xC0C0FF},
		{"very dark red", 0x400000}, {"very dark green", 0x004000}, {"very dark blue", 0x000040},
		{"very dark yellow", 0x404000}, {"very dark cyan", 0x004040}, {"very dark magenta", 0x400040},
		{"bluish green", 0x00FFC0}, {"yellowish green", 0x80FF00}, {"bluish red", 0xFF0080},
	}
}

// otherNames are further words for the same colours.
func otherNames() map[string]string {
	return map[string]string{
		"gray": "grey", "dark gray": "dark grey", "light gray": "light grey", "turquoise": "cyan", "aqua": "cyan",
		"fuchsia": "magenta", "navy": "dark blue", "maroon": "dark red", "brown": "dark red", "lime": "yellowish green",
		"dark yellow": "olive", "dark cyan": "teal", "dark magenta": "purple", "light red": "pink", "rose": "bluish red",
		"greenish blue": "sky blue", "yellow green": "yellowish green", "blue green": "bluish green", "greenish yellow": "yellowish green",
	}
}

func colourWords() []string {
	var ws []string
	for _, h := range hues() {
		ws = append(ws, h.name)
	}
	return ws
}

// linear is the light of a value of the sRGB curve, 0 to 1 (IEC 61966-2-1).
func linear(v uint8) float64 {
	x := float64(v) / 255
	if x <= 0.04045 {
		return x / 12.92
	}
	return math.Pow((x+0.055)/1.055, 2.4)
}

func unlinear(x float64) uint8 {
	if x <= 0.0031308 {
		x *= 12.92
	} else {
		x = 1.055*math.Pow(x, 1/2.4) - 0.055
	}
	return uint8(math.Round(255 * max(0, min(x, 1))))
}

func parts(px uint32) (r, g, b uint8) { return uint8(px >> 16), uint8(px >> 8), uint8(px) }

// mix is what the eye makes of two columns side by side: the mean of their light.
func mix(a, b uint32) uint32 {
	if a == b {
		return a
	}
	var px uint32
	for _, s := range []int{16, 8, 0} {
		px |= uint32(unlinear((linear(uint8(a>>s))+linear(uint8(b>>s)))/2)) << s
	}
	return px
}

// lab is a colour in CIELAB, white D65 (CIE 15, IEC 61966-2-1 for the primaries).
func lab(px uint32) [3]float64 {
	r8, g8, b8 := parts(px)
	r, g, b := linear(r8), linear(g8), linear(b8)
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	x := f((0.4124*r + 0.3576*g + 0.1805*b) / 0.9505)
	y := f(0.2126*r + 0.7152*g + 0.0722*b)
	z := f((0.0193*r + 0.1192*g + 0.9505*b) / 1.0890)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

// hueLabs are the hues in CIELAB, computed once.
var hueLabs = sync.OnceValue(func() [][3]float64 {
	var labs [][3]float64
	for _, h := range hues() {
		labs = append(labs, lab(h.rgb))
	}
	return labs
})

// distance is the CIE 1976 colour difference; 2 is just seen, 100 is black to white.
func distance(a, b uint32) float64 {
	return apart(lab(a), lab(b))
}

func apart(p, q [3]float64) float64 {
	return math.Sqrt((p[0]-q[0])*(p[0]-q[0]) + (p[1]-q[1])*(p[1]-q[1]) + (p[2]-q[2])*(p[2]-q[2]))
}

// nearest is the word closest to a colour and its distance.
func nearest(px uint32) (hue, float64) {
	var best hue
	d := math.Inf(1)
	p, labs := lab(px), hueLabs()
	for i, h := range hues() {
		if e := apart(p, labs[i]); e < d {
			best, d = h, e
		}
	}
	return best, d
}

// colourName is the word for a colour.
func colourName(px uint32) string {
	h, _ := nearest(px)
	return h.name
}

// slack is how much farther than the best word, in CIE 1976 units, a word may be
// from a colour before it counts as less fitting, and the width in which it then
// loses all. Invented: wide enough that "cyan" and "bluish green" both pass.
const (
	slack     = 12.0
	slackFade = 60.0
)

// misnamed is how badly a word fits a colour: 0 well, 1 not at all.
func misnamed(px uint32, word string) float64 {
	_, best := nearest(px)
	for i, h := range hues() {
		if h.name == word {
			return max(0, min((apart(lab(px), hueLabs()[i])-best-slack)/slackFade, 1))
		}
	}
	return 1
}
