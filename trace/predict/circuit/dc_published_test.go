package circuit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// element is a two-terminal element of a circuit in a test.
type element struct {
	a, b int32
	law  *Law
}

func ohm(a, b int32, r float64) element { return element{a, b, Conductor(r)} }

// textbook makes a circuit without the leaks that a board has, since published
// circuits have none.
func textbook(nodes int, list ...element) *Circuit {
	branches := make([]Branch, len(list))
	for i, e := range list {
		branches[i] = Branch{A: e.a, B: e.b}
	}
	c := New(NewNetwork(nodes+1, branches))
	for i, e := range list {
		c.Law[i] = e.law
	}
	for i := 1; i <= nodes; i++ {
		c.Shunt[i] = -Insulation
	}
	return c
}

func (c *Circuit) hold(node int32, volts float64) *Circuit {
	c.Held[node], c.V[node] = true, volts
	return c
}

func (c *Circuit) feed(node int32, amps float64) *Circuit {
	c.Inject[node] += amps
	return c
}

func (c *Circuit) everyNode() []int32 {
	var list []int32
	for n := int32(1); n < int32(c.Nodes); n++ {
		list = append(list, n)
	}
	return list
}

func (c *Circuit) solved(t interface{ Fatal(...any) }) *Circuit {
	if !NewSolver(c.Network).Solve(c, c.everyNode()) {
		t.Fatal("no finite solution")
	}
	return c
}

// isAbout compares to the last digit that is given.
func isAbout(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.10g, want %.10g within %.1g", what, got, want, within)
	}
}

func TestPublishedCircuits(t *testing.T) {
	for _, c := range []struct {
		source  string
		circuit *Circuit
		volts   []float64 // of nodes 1, 2, …
		amps    []float64 // through the elements, in their order; NaN when not given
		given   []float64 // A that the held nodes give, in their order
		within  float64
	}{
		{
			"divider 12 V, 1 kΩ, 2 kΩ: computed with exact fractions",
			textbook(2, ohm(1, 2, 1e3), ohm(2, 0, 2e3)).hold(1, 12),
			[]float64{12, 8}, []float64{4e-3, 4e-3}, []float64{4e-3}, 1e-12,
		},
		{
			"divider 5 V, 150 kΩ, 49.9 kΩ: computed with exact fractions",
			textbook(2, ohm(1, 2, 150e3), ohm(2, 0, 49.9e3)).hold(1, 5),
			[]float64{5, 2495.0 / 1999}, nil, nil, 1e-12,
		},
		{
			"unbalanced bridge, 24 V: allaboutcircuits.com, Solving Unbalanced Wheatstone Bridge Circuits via Mesh Current Method (93.793 mA, " +
				"77.241 mA, 136.092 mA); further digits computed with exact fractions",
			textbook(3, ohm(1, 2, 150), ohm(1, 3, 50), ohm(3, 2, 100), ohm(2, 0, 300), ohm(3, 0, 250)).hold(1, 24),
			[]float64{24, 512.0 / 29, 560.0 / 29}, []float64{42.298851e-3, 93.793103e-3, 16.551724e-3, 58.850575e-3, 77.241379e-3},
			[]float64{136.091954e-3}, 0.6e-9,
		},
		{
			"balanced bridge, 10 V: computed with exact fractions",
			textbook(3, ohm(1, 2, 100), ohm(1, 3, 200), ohm(2, 3, 50), ohm(2, 0, 300), ohm(3, 0, 600)).hold(1, 10),
			[]float64{10, 7.5, 7.5}, []float64{25e-3, 12.5e-3, 0, 25e-3, 12.5e-3}, []float64{37.5e-3}, 1e-12,
		},
		{
			"bridge 5 V, 1k/1k and 1k/1.1k, open detector: computed with exact fractions",
			textbook(3, ohm(1, 2, 1e3), ohm(2, 0, 1e3), ohm(1, 3, 1e3), ohm(3, 0, 1.1e3)).hold(1, 5),
			[]float64{5, 2.5, 55.0 / 21}, nil, nil, 1e-12,
		},
		{
			"two sources 28 V through 4 Ω and 7 V through 1 Ω on 2 Ω: Lessons in Electric Circuits vol. I, ch. 10, Branch Current Method and " +
				"Millman's Theorem (8 V; 5 A, 4 A, 1 A into the 7 V source); from memory",
			textbook(3, ohm(1, 2, 4), ohm(2, 0, 2), ohm(2, 3, 1)).hold(1, 28).hold(3, 7),
			[]float64{28, 8, 7}, []float64{5, 4, 1}, []float64{5, -1}, 1e-12,
		},
		{
			// The floating source has 1 µΩ in series here, 4 µV at 4 A.
			"R1 = 2, R2 = 4, R3 = 8, a floating source of 32 V and 20 V: Cheever, Swarthmore College, Linear Physical Systems Analysis, An " +
				"Algorithm for Modified Nodal Analysis (−8, 24, 20 V; −4, 1 A); from memory",
			textbook(3, ohm(1, 0, 2), ohm(2, 3, 4), ohm(2, 0, 8), element{2, 1, EMF(32, LeastOhms)}).hold(3, 20),
			[]float64{-8, 24, 20}, []float64{-4, 1, 3, -4}, []float64{-1}, 1e-5,
		},
		{
			"two current sources, 3 A and 1 A: computed with exact fractions",
			textbook(2, ohm(1, 0, 10), ohm(1, 2, 5), ohm(2, 0, 20)).feed(1, 3).feed(2, 1),
			[]float64{190.0 / 7, 180.0 / 7}, nil, nil, 1e-12,
		},
		{
			"conductance matrix of four nodes: Alexander and Sadiku, Fundamentals of Electric Circuits, fig. 3.27; solution computed with exact " +
				"fractions",
			textbook(4, ohm(1, 0, 10), ohm(1, 2, 5), ohm(2, 3, 8), ohm(2, 4, 1), ohm(3, 0, 4), ohm(3, 4, 8), ohm(4, 0, 2)).feed(1, 3).feed(2,
				-3).feed(4, 6),
			[]float64{6990.0 / 503, 2940.0 / 503, 1684.0 / 503, 3796.0 / 503}, nil, nil, 1e-12,
		},
	} {
		t.Run(c.source, func(t *testing.T) {
			c.circuit.solved(t)
			for i, want := range c.volts {
				isAbout(t, "V of node "+string(rune('1'+i)), c.circuit.V[i+1], want, c.within*max(1, math.Abs(want)))
			}
			for i, want := range c.amps {
				isAbout(t, "A of element "+string(rune('1'+i)), c.circuit.Current(int32(i)), want, c.within)
			}
			k := 0
			for n := int32(1); n < int32(c.circuit.Nodes) && k < len(c.given); n++ {
				if c.circuit.Held[n] {
					isAbout(t, "A of a source", c.circuit.Leaving(n), c.given[k], c.within)
					k++
				}
			}
			if k != len(c.given) {
				t.Errorf("%d sources, want %d", k, len(c.given))
			}
		})
	}
}

// Two of the circuits are published as matrices: gonum solves those, and the
// elements must give the same.
func TestPublishedMatrixIsTheCircuit(t *testing.T) {
	// Alexander and Sadiku, fig. 3.27, as printed; Cheever's matrix from memory.
	for _, c := range []struct {
		name string
		rows [][]float64
		rhs  []float64
		got  *Circuit
		n    int // nodes among the unknowns
		sure float64
	}{
		{
			"Alexander and Sadiku",
			[][]float64{{.3, -.2, 0, 0}, {-.2, 1.325, -.125, -1}, {0, -.125, .5, -.125}, {0, -1, -.125, 1.625}}, []float64{3, -3, 0, 6},
			textbook(4, ohm(1, 0, 10), ohm(1, 2, 5), ohm(2, 3, 8), ohm(2, 4, 1), ohm(3, 0, 4), ohm(3, 4, 8), ohm(4, 0, 2)).feed(1, 3).feed(2,
				-3).feed(4, 6), 4, 1e-12,
		},
		{
			"Cheever",
			[][]float64{{.5, 0, 0, -1, 0}, {0, .375, -.25, 1, 0}, {0, -.25, .25, 0, 1}, {-1, 1, 0, 0, 0}, {0, 0, 1, 0, 0}},
			[]float64{0, 0, 0, 32, 20},
			textbook(3, ohm(1, 0, 2), ohm(2, 3, 4), ohm(2, 0, 8), element{2, 1, EMF(32, LeastOhms)}).hold(3, 20), 3, 1e-5,
		},
	} {
		a := mat.NewDense(len(c.rows), len(c.rows), nil)
		for i, row := range c.rows {
			a.SetRow(i, row)
		}
		var x mat.VecDense
		if err := x.SolveVec(a, mat.NewVecDense(len(c.rhs), c.rhs)); err != nil {
			t.Fatal(err)
		}
		c.got.solved(t)
		for i := range c.n {
			isAbout(t, c.name, c.got.V[i+1], x.AtVec(i), c.sure)
		}
	}
}

// A diode by hand: guess its voltage, find the current, correct the voltage by so
// many volts a decade.
func TestDiodeByIteration(t *testing.T) {
	for _, c := range []struct {
		source string
		decade float64
		steps  [][2]float64 // mA and V after each round
		fixed  [2]float64
	}{
		// Further digits than the book's computed.
		{"Sedra and Smith, Microelectronic Circuits, Iterative Analysis Using the Exponential Model (4.3 mA, 0.738 V; 4.262 mA), 60 mV a " +
			"decade; from memory", 0.06, [][2]float64{{4.3, 0.738008}, {4.261992, 0.737777}}, [2]float64{4.262222, 0.737778}},
		{"the same example with 100 mV a decade: expertsmind.com, Introduction to pn junction diode, Iterative analysis through example (4.237 " +
			"mA, 0.762 V); further digits computed", 0.1, [][2]float64{{4.3, 0.763347}, {4.236653, 0.762702}}, [2]float64{4.237291, 0.762709}},
	} {
		t.Run(c.source, func(t *testing.T) {
			vd, i := 0.7, 0.0
			for round := range 30 {
				at := textbook(2, ohm(1, 2, 1e3), element{2, 0, Junction(vd, LeastOhms)}).hold(1, 5).solved(t)
				i = at.Current(1)
				vd = 0.7 + c.decade*math.Log10(i/1e-3)
				if round < len(c.steps) {
					isAbout(t, "mA", i*1e3, c.steps[round][0], 1e-6)
					isAbout(t, "V", vd, c.steps[round][1], 1e-6)
				}
			}
			isAbout(t, "mA at the end", i*1e3, c.fixed[0], 1e-6)
			isAbout(t, "V at the end", vd, c.fixed[1], 1e-6)
		})
	}
}

// Newton's method on Shockley's law, the tangent as an element: the test does the
// outer steps, the solver the circuit. Digits computed by Newton's method.
func TestShockleyDiode(t *testing.T) {
	for _, c := range []struct{ supply, is, vt, start, volts, amps float64 }{
		{5, 1e-14, 25.85e-3, 0.75, 0.692490375, 4.307509625e-3},
		{1, 1e-15, 25e-3, 0.75, 0.663543377, 0.336456623e-3},
	} {
		v, i := c.start, 0.0
		for range 60 {
			g := c.is / c.vt * math.Exp(v/c.vt)
			tangent := &Law{n: 1}
			tangent.g[0], tangent.i[0] = g, c.is*(math.Exp(v/c.vt)-1)-g*v
			at := textbook(2, ohm(1, 2, 1e3), element{2, 0, tangent}).hold(1, c.supply).solved(t)
			v, i = at.V[2], at.Current(1)
		}
		isAbout(t, "V", v, c.volts, 1e-9)
		isAbout(t, "A", i, c.amps, 1e-12)
	}
}

// mesh is a random resistor network that hangs together, some nodes held, some fed.
func mesh(t *rapid.T) *Circuit {
	nodes := rapid.IntRange(1, 40).Draw(t, "nodes")
	size := rapid.Float64Range(0, 3) // decades
	var list []element
	for n := 1; n <= nodes; n++ {
		list = append(list, ohm(int32(n), int32(rapid.IntRange(0, n-1).Draw(t, "to")), math.Pow(10, size.Draw(t, "ohms"))))
	}
	for range rapid.IntRange(0, 2*nodes).Draw(t, "more") {
		a, b := rapid.IntRange(0, nodes).Draw(t, "a"), rapid.IntRange(0, nodes).Draw(t, "b")
		list = append(list, ohm(int32(a), int32(b), math.Pow(10, size.Draw(t, "ohms"))))
	}
	c := textbook(nodes, list...)
	for n := int32(1); n <= int32(nodes); n++ {
		switch rapid.IntRange(0, 5).Draw(t, "role") {
		case 0:
			c.hold(n, rapid.Float64Range(-20, 20).Draw(t, "volts"))
		case 1:
			c.feed(n, rapid.Float64Range(-1, 1).Draw(t, "amps"))
		}
	}
	return c
}

// dense is the conductance matrix of the free nodes and what flows into them.
func dense(c *Circuit) (*mat.Dense, *mat.VecDense, []int32) {
	var free []int32
	row := map[int32]int{}
	for _, n := range c.everyNode() {
		if !c.Held[n] {
			row[n] = len(free)
			free = append(free, n)
		}
	}
	if len(free) == 0 {
		return nil, nil, nil
	}
	a, rhs := mat.NewDense(len(free), len(free), nil), mat.NewVecDense(len(free), nil)
	for k, n := range free {
		a.Set(k, k, Insulation+c.Shunt[n])
		rhs.SetVec(k, c.Inject[n])
	}
	for i, b := range c.Branches {
		if b.A == b.B {
			continue
		}
		g := c.Law[i].g[0]
		for _, e := range [][2]int32{{b.A, b.B}, {b.B, b.A}} {
			k, ok := row[e[0]]
			if !ok {
				continue
			}
			a.Set(k, k, a.At(k, k)+g)
			if j, ok := row[e[1]]; ok {
				a.Set(k, j, a.At(k, j)-g)
			} else {
				rhs.SetVec(k, rhs.AtVec(k)+g*c.V[e[1]])
			}
		}
	}
	return a, rhs, free
}

// Oracle: gonum v0.17.0, mat.LU.
func TestRandomNetworksAgreeWithLU(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := mesh(t)
		a, rhs, free := dense(c)
		if len(free) == 0 {
			return
		}
		var lu mat.LU
		lu.Factorize(a)
		var x mat.VecDense
		if err := lu.SolveVecTo(&x, false, rhs); err != nil {
			t.Skip(err)
		}
		sv := NewSolver(c.Network)
		if !sv.Solve(c, c.everyNode()) {
			t.Fatal("no finite solution")
		}
		largest := 0.0
		for k := range free {
			largest = max(largest, math.Abs(x.AtVec(k)))
		}
		for k, n := range free {
			if d := math.Abs(c.V[n] - x.AtVec(k)); d > 1e-9*largest {
				t.Errorf("node %d: %.15g V, LU %.15g V", n, c.V[n], x.AtVec(k))
			}
		}
		// The diagonal of the inverse is the resistance to ground.
		sv.invert(c)
		var inverse mat.Dense
		if err := inverse.Inverse(a); err != nil {
			t.Skip(err)
		}
		for k, n := range free {
			if want := inverse.At(k, k); math.Abs(sv.zdiag[n]-want) > 1e-9*want {
				t.Errorf("node %d: %.15g Ω to ground, LU %.15g Ω", n, sv.zdiag[n], want)
			}
		}
	})
}
