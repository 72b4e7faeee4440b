package predict

import (
	"fmt"
	"strings"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// BenchmarkAllFaults simulates every single fault of a demo board: in every state
// with power, and the readings of every net with all power out, panel in and out.
func BenchmarkAllFaults(b *testing.B) {
	for _, name := range boards.Names() {
		src, _ := boards.Source(name)
		m := modelOf(b, src)
		hs := m.singles()
		runs := 0
		b.Run(name+"/powered", func(b *testing.B) {
			sum := 0.0
			for b.Loop() {
				runs = 0
				hs := m.singles()
				for st := range States(m.Board) {
					for _, r := range m.Sweep(st, hs) {
						runs++
						for n := range r.Moved() {
							sum += r.Volts(n) + r.Swing(n)
						}
					}
				}
			}
			if sum == 0 {
				b.Fatal("nothing moves")
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*runs), "µs/run")
		})
		// As the dictionary is made: the states that differ, and every point that a
		// probe can reach. To reach: 50 ms.
		b.Run(name+"/all", func(b *testing.B) {
			var points []netlist.NetID
			for i := range m.Board.Nets {
				if Reachable(m.Board, netlist.NetID(i)) {
					points = append(points, netlist.NetID(i))
				}
			}
			faults, sum := m.AllFaults(), 0.0
			for b.Loop() {
				m.Every(faults, func(_ int, r *Run) {
					for _, n := range points {
						sum += r.Volts(n) + r.Swing(n)
					}
				}, func(_ int, c *Cold) {
					for _, n := range points {
						sum += c.Ohms(n) + c.Diode(n)
					}
				})
			}
			if sum == 0 {
				b.Fatal("nothing is read")
			}
		})
		for _, what := range []struct {
			name string
			read func(*Cold, netlist.NetID) float64
		}{{"ohms", (*Cold).Ohms}, {"diode", (*Cold).Diode}} {
			b.Run(name+"/"+what.name, func(b *testing.B) {
				sum := 0.0
				for b.Loop() {
					for _, unplug := range []bool{true, false} {
						for _, h := range hs {
							c := m.Cold(unplug, h)
							for i := range m.Board.Nets {
								sum += what.read(c, netlist.NetID(i))
							}
						}
					}
				}
				if sum == 0 {
					b.Fatal("all readings are 0")
				}
				b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*2*len(hs)), "µs/fault")
			})
		}
	}
}

// large writes a board of so many parts: behind a fuse a path of 100 parts in
// series to a load, the rest as chains of three with a load, on the rail, on the
// path and on supplies of their own.
func large(parts int) string {
	var s strings.Builder
	s.WriteString("board large\nnet GND ground\nnet VMAIN 12V\nsupply PS1 -> VMAIN\nfuse F1 VMAIN -> P0 rating=3A r=25m\n")
	for i := 1; i < 99; i++ {
		fmt.Fprintf(&s, "ferrite FB%d P%d -> P%d r=10m\n", i, i-1, i)
	}
	s.WriteString("resistor R1 P98 -> GND 100\n")
	for n, k := 101, 0; n < parts; k++ {
		from := "VMAIN"
		switch k % 3 {
		case 1:
			from = fmt.Sprintf("P%d", k%98)
		case 2:
			from = fmt.Sprintf("V%d", k)
			fmt.Fprintf(&s, "supply PS%d -> %s gives=5V\n", k+2, from)
			n++
		}
		fmt.Fprintf(&s, "resistor R%d %s -> A%d 1k\ncapacitor C%d A%d -> GND 1u\nresistor RN%d A%d -> GND 10k\ndiode D%d A%d -> B%d\n", k+2, from,
			k, k+2, k, k+2, k, k+2, k, k)
		n += 4
	}
	return s.String()
}

// BenchmarkLargeBoard simulates every fault of a path of 100 parts in a board of
// 10,000, in the usual state. What is far away must not cost.
func BenchmarkLargeBoard(b *testing.B) {
	src := large(10_000)
	board, problems := netlist.Read("large.board", src)
	if mistake.HasErrors(problems) {
		b.Fatal(problems)
	}
	b.Run("model", func(b *testing.B) {
		for b.Loop() {
			New(board)
		}
		b.ReportMetric(float64(len(board.Parts)), "parts")
	})
	m := New(board)
	st := State{Setting: board.Usual()}
	var faults []Fault
	for id := range 100 {
		faults = append(faults, m.Faults(netlist.PartID(id+1))...)
	}
	end, _ := board.Net("P98")
	b.Run("path", func(b *testing.B) {
		lost := 0
		for b.Loop() {
			lost = 0
			hs := make([]Hypothesis, len(faults))
			for i, f := range faults {
				hs[i] = m.Suppose(f)
			}
			for _, r := range m.Sweep(st, hs) {
				if r.Volts(end) < 1 {
					lost++
				}
			}
		}
		if lost < 99 {
			b.Fatalf("the end is lost by %d faults", lost)
		}
		b.ReportMetric(float64(len(faults)), "faults")
		b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*len(faults)), "µs/fault")
	})
}
