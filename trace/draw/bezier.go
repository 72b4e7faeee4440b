package draw

import "example.org/walkback/trace/draw/ink"

// crossing is where a curve passes a cut.
type crossing struct {
	cut int // index of the cut
	at  ink.Point
}

// cutCurve splits a chain of Bézier pieces wherever it crosses one of the
// vertical cuts. Neighbouring pieces on the same side stay together.
func cutCurve(curve []ink.Point, cuts []float64) ([][]ink.Point, []crossing) {
	var out [][]ink.Point
	var crossings []crossing
	current := []ink.Point{curve[0]}
	for i := 0; i+3 < len(curve); i += 3 {
		rest := [4]ink.Point(curve[i : i+4])
		for {
			t, cut := firstCrossing(rest, cuts)
			if cut < 0 {
				break
			}
			var before [4]ink.Point
			before, rest = split(rest, t)
			// The exact position of the cut, so that both sides agree.
			before[3].X, rest[0].X = cuts[cut], cuts[cut]
			current = append(current, before[1:]...)
			out = append(out, current)
			current = []ink.Point{rest[0]}
			crossings = append(crossings, crossing{cut, rest[0]})
		}
		current = append(current, rest[1:]...)
	}
	return append(out, current), crossings
}

// firstCrossing finds the smallest t at which the piece passes from one side
// of a cut to the other, by sampling and bisection; -1 if there is none. A
// start on a cut does not count, since that is where the last split was.
func firstCrossing(p [4]ink.Point, cuts []float64) (t float64, cut int) {
	const samples = 32
	const eps = 1e-6
	for i := range samples {
		t0, t1 := float64(i)/samples, float64(i+1)/samples
		x0, x1 := at(p, t0).X, at(p, t1).X
		for c, x := range cuts {
			if abs(x0-x) < eps || (x0 < x) == (x1 < x) {
				continue
			}
			for range 40 {
				mid := (t0 + t1) / 2
				if (at(p, mid).X < x) == (x0 < x) {
					t0 = mid
				} else {
					t1 = mid
				}
			}
			return t1, c
		}
	}
	return 0, -1
}

// at is the point of the piece at t, by de Casteljau's construction.
func at(p [4]ink.Point, t float64) ink.Point {
	_, after := split(p, t)
	return after[0]
}

func split(p [4]ink.Point, t float64) (before, after [4]ink.Point) {
	mix := func(a, b ink.Point) ink.Point { return ink.Pt(a.X+(b.X-a.X)*t, a.Y+(b.Y-a.Y)*t) }
	ab, bc, cd := mix(p[0], p[1]), mix(p[1], p[2]), mix(p[2], p[3])
	abc, bcd := mix(ab, bc), mix(bc, cd)
	m := mix(abc, bcd)
	return [4]ink.Point{p[0], ab, abc, m}, [4]ink.Point{m, bcd, cd, p[3]}
}

// middleOf is a point well inside a curve, by which its row is told.
func middleOf(curve []ink.Point) ink.Point {
	pieces := (len(curve) - 1) / 3
	i := pieces / 2 * 3
	t := 0.5
	if pieces%2 == 0 {
		t = 0
	}
	return at([4]ink.Point(curve[i:i+4]), t)
}
