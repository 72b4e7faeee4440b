package netlist

import (
	"fmt"
	"runtime"
	"strings"
	"testing"

	"example.org/walkback/netlist/mistake"
)

// bigBoard makes up a sound board of about n parts: chains of the parts that a
// display path is made of, each from a supply to a point that smooths it, with
// the values and remarks that a careful hand would write.
func bigBoard(n int) string {
	var out strings.Builder
	out.Grow(n * 44)
	out.WriteString("board big \"Generated, for measuring\"\nstate power run sleep\nnet GND ground\n")
	const perChain = 10
	for i := 0; i*perChain < n; i++ {
		fmt.Fprintf(&out, "\n# chain %d\nnet V%d 12.6V 5%% cold=90k diode=0.5V\n    expect 0V when power=sleep\n", i, i)
		fmt.Fprintf(&out, "supply PS%d -> V%d limit=8A\n", i, i)
		fmt.Fprintf(&out, "fuse F%d V%d -> V%d_F rating=3A r=25m\n", i, i, i)
		fmt.Fprintf(&out, "ferrite FB%d V%d_F -> V%d_B r=200m\n", i, i, i)
		fmt.Fprintf(&out, "pfet Q%d V%d_B -> V%d_Q gate=G%d r=45m\n", i, i, i, i)
		fmt.Fprintf(&out, "resistor R%d_1 V%d_B -> G%d 100k\n", i, i, i)
		fmt.Fprintf(&out, "resistor R%d_2 G%d -> GND 47k\n", i, i)
		fmt.Fprintf(&out, "capacitor C%d_1 V%d_B -> GND 4u7 volts=25V\n", i, i)
		fmt.Fprintf(&out, "coil L%d V%d_Q -> V%d_L r=110m l=10u\n", i, i, i)
		fmt.Fprintf(&out, "capacitor C%d_2 V%d_L -> GND 100n volts=25V\n", i, i)
		fmt.Fprintf(&out, "point TP%d V%d_L side=top at=\"near L%d\"\n", i, i, i)
	}
	return out.String()
}

func liveHeap() uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.GC()
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// BenchmarkRead reads a board whole: parse, build and check. Targets, at a
// million parts: under 4 s, at least 25 MB/s, at most 1500 bytes of memory a
// part (live after collection, the text itself not counted).
func BenchmarkRead(b *testing.B) {
	for _, n := range []int{10_000, 1_000_000} {
		b.Run(fmt.Sprintf("parts=%d", n), func(b *testing.B) {
			src := bigBoard(n)
			b.SetBytes(int64(len(src)))
			var board *Board
			before := liveHeap()
			for b.Loop() {
				var problems []mistake.Mistake
				board = nil // not to hold two boards at once
				runtime.KeepAlive(board)
				if board, problems = Read("big.board", src); len(problems) > 0 {
					b.Fatal(problems[0].Report())
				}
			}
			parts := float64(len(board.Parts))
			b.StopTimer()
			b.ReportMetric(parts*float64(b.N)/b.Elapsed().Seconds(), "parts/s")
			b.ReportMetric(float64(liveHeap()-before)/parts, "bytes/part")
			runtime.KeepAlive(board)
		})
	}
}

// BenchmarkFormat prints a board of ten thousand parts. Target: 25 MB/s.
func BenchmarkFormat(b *testing.B) {
	src := bigBoard(10_000)
	f, problems := Parse("big.board", src)
	if len(problems) > 0 {
		b.Fatal(problems[0].Report())
	}
	b.SetBytes(int64(len(src)))
	for b.Loop() {
		Format(f)
	}
}

// TestTheGeneratedBoardIsSound keeps the benchmark honest: a board with problems
// would take another way through the checks.
func TestTheGeneratedBoardIsSound(t *testing.T) {
	board, problems := Read("big.board", bigBoard(1000))
	for _, p := range problems {
		t.Error(p.Report())
	}
	if len(board.Parts) != 1000 {
		t.Errorf("%d parts, want 1000", len(board.Parts))
	}
}
