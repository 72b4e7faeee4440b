package suspects

import (
	"testing"

	"example.org/walkback/trace/predict"

	"example.org/walkback/boards/boardtest"
)

// BenchmarkNarrow reads a board file's model once and narrows two faults with all
// pairs considered: 1 s is to be reached, each time from nothing.
func BenchmarkNarrow(b *testing.B) {
	for _, c := range []struct{ board, readings string }{
		{"larkspur13", "dark VBL=12.2V A.0=quiet EDID=read"},
		{"siskin15", "two"},
	} {
		b.Run(c.board, func(b *testing.B) {
			m := predict.New(boardtest.Demo(b, c.board))
			readings := read(b, &Narrower{m: m}, c.readings)
			pairs := 0
			for b.Loop() {
				r, err := Narrow(predict.New(boardtest.Demo(b, c.board)), readings, nil)
				if err != nil {
					b.Fatal(err)
				}
				pairs = len(r.Pairs)
			}
			if pairs == 0 {
				b.Fatal("no pairs")
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "s/narrow")
		})
	}
}
