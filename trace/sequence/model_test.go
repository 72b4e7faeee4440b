package sequence

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestLog2IsThatOfTheLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := math.Ldexp(rapid.Float64Range(1, 2).Draw(t, "mantissa"), rapid.IntRange(-1000, 1000).Draw(t, "exponent"))
		if got, want := log2(x), math.Log2(x); math.Abs(got-want) > 1e-15*(1+math.Abs(want)) {
			t.Fatalf("log2(%g) = %.17g, want %.17g", x, got, want)
		}
	})
}
