package circuit

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func ladder(nodes int) *Circuit {
	var list []element
	for n := int32(1); n < int32(nodes); n++ {
		list = append(list, ohm(n, n+1, 1), ohm(n+1, 0, 1000))
	}
	return textbook(nodes, list...).hold(1, 10)
}

func grid(nodes int) *Circuit {
	side := 1
	for (side+1)*(side+1) <= nodes {
		side++
	}
	at := func(x, y int) int32 { return int32(y*side+x) + 1 }
	var list []element
	for y := range side {
		for x := range side {
			if x+1 < side {
				list = append(list, ohm(at(x, y), at(x+1, y), 1))
			}
			if y+1 < side {
				list = append(list, ohm(at(x, y), at(x, y+1), 1))
			}
		}
	}
	list = append(list, ohm(at(side-1, side-1), 0, 1))
	return textbook(side*side, list...).feed(1, 1)
}

// sparse is a random tree with half as many further links, which fills more than
// boards do.
func sparse(nodes int) *Circuit {
	r := rand.New(rand.NewPCG(1, 2))
	var list []element
	for n := 1; n <= nodes; n++ {
		list = append(list, ohm(int32(n), int32(r.IntN(n)), 1+100*r.Float64()))
	}
	for range nodes / 2 {
		a := 1 + r.IntN(nodes)
		list = append(list, ohm(int32(a), int32(max(0, a-1-r.IntN(10))), 1+100*r.Float64()))
	}
	return textbook(nodes, list...).feed(int32(nodes), 1)
}

// BenchmarkSolve shows how solving from new factors grows with the circuit, beside
// gonum's dense LU.
func BenchmarkSolve(b *testing.B) {
	for _, kind := range []struct {
		name string
		make func(int) *Circuit
	}{{"ladder", ladder}, {"grid", grid}, {"sparse", sparse}} {
		for _, nodes := range []int{10, 30, 100, 300, 1000, 3000} {
			c := kind.make(nodes)
			b.Run(fmt.Sprintf("%s/nodes=%d/own", kind.name, nodes), func(b *testing.B) {
				sv, all := NewSolver(c.Network), c.everyNode()
				for b.Loop() {
					if !sv.Solve(c, all) {
						b.Fatal("no finite solution")
					}
				}
				b.ReportMetric(float64(c.slots), "slots")
			})
			if nodes > 1000 {
				continue // a dense matrix takes half a second there
			}
			b.Run(fmt.Sprintf("%s/nodes=%d/lu", kind.name, nodes), func(b *testing.B) {
				a, rhs, _ := dense(c)
				var lu mat.LU
				var x mat.VecDense
				for b.Loop() {
					lu.Factorize(a)
					if err := lu.SolveVecTo(&x, false, rhs); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
