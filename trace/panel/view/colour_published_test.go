package view

import (
	"math"
	"testing"
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
