package circuit_test

import (
	"fmt"

	"example.org/walkback/trace/predict/circuit"
)

// A junction of 0.6 V with 10 Ω on 5 V behind 1 kΩ; then the resistance at its node
// with the source off, and with a leak of 2 kΩ instead of the junction.
func Example() {
	n := circuit.NewNetwork(3, []circuit.Branch{{A: 1, B: 2}, {A: 2, B: 0}})
	c := circuit.New(n)
	c.Law[0], c.Law[1] = circuit.Conductor(1000), circuit.Junction(0.6, 10)
	c.Held[1], c.V[1] = true, 5
	if !circuit.NewSolver(n).Solve(c, []int32{2}) {
		fmt.Println("no solution")
	}
	fmt.Printf("%.4f V, %.3f mA from the source\n", c.V[2], 1e3*c.Leaving(1))

	off := circuit.New(n)
	copy(off.Law, c.Law)
	off.Shunt[1] = 1e6
	inverse := circuit.NewInverse(off, 1e-3)
	leaky := circuit.New(n)
	leaky.CopyFrom(off)
	leaky.Law[1] = circuit.Conductor(2000)
	fmt.Printf("%.1f Ω, with the leak %.1f Ω\n", inverse.Ohms(2, 0), inverse.Change(leaky).Ohms(2, 0))
	// Output:
	// 0.6436 V, 4.356 mA from the source
	// 1000.0 Ω, with the leak 666.7 Ω
}
