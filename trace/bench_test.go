package trace

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
)

const pathParts = 100 // parts between the symptom and the source

// crowded writes a board of n parts: a path of 100 parts from the supply to END,
// half of the rest as chains that hang from the rail which feeds the path, half as
// chains elsewhere with a supply each. With a fuse in front the rail is fed
// through a part, else it is the supply's own net.
func crowded(n, hanging int, fused bool) string {
	var b strings.Builder
	b.Grow(n * 32)
	b.WriteString("board crowded\nnet GND ground\nsupply PS1 -> VMAIN\n")
	rail := "VMAIN"
	parts := 1
	if fused {
		b.WriteString("fuse F1 VMAIN -> VRAIL r=25m\n")
		rail, parts = "VRAIL", 2
	}
	chain := func(name, from string, length int) {
		for i := range length {
			to := fmt.Sprintf("%s_%d", name, i)
			if name == "END" && i == length-1 {
				to = "END"
			}
			fmt.Fprintf(&b, "ferrite FB%d %s -> %s r=50m\n", parts, from, to)
			from = to
			parts++
		}
	}
	chain("END", rail, pathParts-parts)
	b.WriteString("capacitor C1 END -> GND 1u\n")
	parts++
	length := max(1, (n-parts)/2/hanging)
	for k := 0; parts < n; k++ {
		from := rail
		if k >= hanging {
			from = fmt.Sprintf("V%d", k)
			fmt.Fprintf(&b, "supply PS%d -> %s\n", k+1, from)
			parts++
		}
		chain(fmt.Sprintf("N%d", k), from, min(length, n-parts))
	}
	return b.String()
}

func runCrowded(b *testing.B, n, hanging int, fused bool) {
	board := boardtest.Build(b, crowded(n, hanging, fused))
	setting, seen, err := observe(board, "END=missing")
	if err != nil {
		b.Fatal(err)
	}
	var w *Walk
	for b.Loop() {
		if w, err = Run(board, setting, seen); err != nil {
			b.Fatal(err)
		}
	}
	if got := len(w.parts()); got != pathParts {
		b.Fatalf("the walk passes %d parts, want %d", got, pathParts)
	}
	b.ReportMetric(float64(len(board.Parts)), "parts")
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N), "ms/walk")
}

// BenchmarkRunOnAGrowingBoard walks the same 100 parts on boards of 10 thousand,
// 100 thousand and 1 million parts, with 200 chains on the rail. To reach: under 20 ms on the largest, and a
// cost that grows with the path and not with the board.
func BenchmarkRunOnAGrowingBoard(b *testing.B) {
	for _, c := range []struct {
		rail  string
		fused bool
	}{{"supply", false}, {"fused", true}} {
		for _, n := range []int{10_000, 100_000, 1_000_000} {
			b.Run(fmt.Sprintf("rail=%s/parts=%d", c.rail, n), func(b *testing.B) { runCrowded(b, n, 200, c.fused) })
		}
	}
}

// BenchmarkRunOnAWideRail has ever more chains on the rail that feeds the path:
// what hangs on the path belongs to the walk, so here the cost may grow.
func BenchmarkRunOnAWideRail(b *testing.B) {
	for _, hanging := range []int{10, 100, 1000} {
		b.Run(fmt.Sprintf("chains=%d", hanging), func(b *testing.B) { runCrowded(b, 100_000, hanging, true) })
	}
}

// BenchmarkRunDemo walks the longest named symptom of a demo board.
func BenchmarkRunDemo(b *testing.B) {
	board := boardtest.Demo(b, "siskin15")
	setting, seen, err := observe(board, "black")
	if err != nil {
		b.Fatal(err)
	}
	steps := 0
	for b.Loop() {
		w, err := Run(board, setting, seen)
		if err != nil {
			b.Fatal(err)
		}
		steps = len(w.Steps)
	}
	b.ReportMetric(float64(steps), "steps")
}

// TestWalkOnALargeBoardIsFast guards the target on a board of 100 thousand
// parts, with room for a busy machine.
func TestWalkOnALargeBoardIsFast(t *testing.T) {
	if testing.Short() {
		t.Skip("a board of 100 thousand parts")
	}
	for _, fused := range []bool{false, true} {
		b := boardtest.Build(t, crowded(100_000, 200, fused))
		setting, seen, err := observe(b, "END=missing")
		if err != nil {
			t.Fatal(err)
		}
		best := time.Hour
		for range 3 {
			start := time.Now()
			w, err := Run(b, setting, seen)
			if err != nil {
				t.Fatal(err)
			}
			best = min(best, time.Since(start))
			if got := len(w.parts()); got != pathParts || len(w.Singles) != pathParts {
				t.Fatalf("fused %t: %d parts, %d single points of failure, want %d", fused, got, len(w.Singles), pathParts)
			}
		}
		if best > 500*time.Millisecond {
			t.Errorf("fused %t: %v for a walk of %d parts in %d", fused, best, pathParts, len(b.Parts))
		}
	}
	var none []netlist.Observation
	if _, err := Run(boardtest.Build(t, crowded(300, 2, false)), nil, none); err == nil {
		t.Error("a walk from nothing")
	}
}
