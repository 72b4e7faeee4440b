package view

import "math"

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

// hsv is hue in degrees, saturation and value, both 0 to 1.
func hsv(px uint32) (h, s, v float64) {
	r8, g8, b8 := parts(px)
	r, g, b := float64(r8)/255, float64(g8)/255, float64(b8)/255
	v = max(r, g, b)
	c := v - min(r, g, b)
	if c == 0 {
		return 0, 0, v
	}
	switch v {
	case r:
		h = (g - b) / c
	case g:
		h = 2 + (b-r)/c
	default:
		h = 4 + (r-g)/c
	}
	return math.Mod(60*h+360, 360), c / v, v
}
