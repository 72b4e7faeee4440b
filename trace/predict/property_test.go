package predict

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
)

// eachDemo runs a test on the model of each demo board.
func eachDemo(t *testing.T, check func(t *testing.T, m *Model)) {
	for _, name := range boards.Names() {
		t.Run(name, func(t *testing.T) {
			src, _ := boards.Source(name)
			check(t, modelOf(t, src))
		})
	}
}

func modelOf(t testing.TB, src string) *Model {
	t.Helper()
	b, problems := netlist.Read("test.board", src)
	if netlist.HasErrors(problems) {
		t.Fatal(problems)
	}
	return New(b)
}

// singles are all single faults with what they blow, the healthy board first.
func (m *Model) singles() []Hypothesis {
	hs := []Hypothesis{{}}
	for _, f := range m.AllFaults() {
		hs = append(hs, m.Suppose(f))
	}
	return hs
}

func (m *Model) say(h Hypothesis) string {
	if len(h.Faults) == 0 {
		return "healthy"
	}
	return m.Name(h.Faults[0])
}

// imbalance returns the sum of the currents that leave a free node, the largest
// of them, and what rounding may make of the sum: the voltages are rounded to
// 2⁻⁵³, and their differences are multiplied by conductances. A
// picoampere is a hundredth of what a net at 1 V leaks.
func (c *circuit) imbalance(n int32) (sum, largest, rounding float64) {
	const eps = 1.0 / (1 << 52)
	largest, rounding = math.Abs(c.inject[n]), 1e-12
	for _, b := range c.at(n) {
		if l := c.law[b]; l != nil {
			x := &c.branches[b]
			k := l.segment(c.across(b))
			largest = max(largest, math.Abs(c.current(b)))
			terms := math.Abs(l.g[k]) * (math.Abs(c.v[x.a]) + math.Abs(c.v[x.b]))
			for j := range l.n {
				terms = max(terms, math.Abs(l.i[j])) // the segments meet to this
			}
			rounding += 8 * eps * terms
		}
	}
	return c.leaving(n), largest, rounding
}

// Kirchhoff's current law, at every node that no source holds.
func TestCurrentsSumToZero(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Model) {
		hs := m.singles()
		nodes := 0
		for st := range States(m.Board) {
			for _, r := range m.Sweep(st, hs) {
				if len(r.s.unsteady) > 0 {
					continue
				}
				for n := int32(1); n < int32(m.net.nodes); n++ {
					if r.s.pinned[n] {
						continue
					}
					nodes++
					if sum, largest, rounding := r.s.imbalance(n); !(math.Abs(sum) <= 1e-9*largest+rounding) {
						t.Errorf("%s, %s, net %s: %g A too much beside %g A", m.Board.SettingText(st.Setting), m.say(r.Hypothesis), m.Board.Nets[n-1].Name, sum, largest)
					}
				}
			}
		}
		if nodes < 100*len(hs) {
			t.Errorf("only %d nodes were looked at", nodes)
		}
	})
}

// fromOff simulates a hypothesis from the board being off, whatever the model does.
func (m *Model) fromOff(st State, h Hypothesis) *sim {
	s := m.newSim()
	s.start(st.Setting, st.Unplugged)
	for _, f := range h.Faults {
		s.apply(f)
	}
	for _, x := range h.Blown {
		for _, f := range m.fuses {
			if f.part == x.Part {
				s.cut(f.branch)
			}
		}
	}
	s.run()
	return s
}

// A run that begins where the healthy board stands ends where one ends that
// begins with the board off.
func TestWhereARunBeginsDoesNotMatter(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Model) {
		if m.latches {
			t.Fatal("the model starts every run from off, so there is nothing to compare")
		}
		hs := m.singles()
		skipped := 0
		for st := range States(m.Board) {
			for _, r := range m.Sweep(st, hs) {
				cold := m.fromOff(st, r.Hypothesis)
				if len(cold.unsteady) > 0 || len(r.s.unsteady) > 0 {
					skipped++
					continue
				}
				where := m.Board.SettingText(st.Setting) + ", " + m.say(r.Hypothesis)
				for n := range cold.v {
					if math.Abs(cold.v[n]-r.s.v[n]) > 1e-9*(1+math.Abs(cold.v[n])) || math.Abs(cold.ac[n]-r.s.ac[n]) > 1e-9*(1+math.Abs(cold.ac[n])) {
						t.Errorf("%s, net %s: %.12g V (moves %.12g V), from off %.12g V (%.12g V)", where, m.Board.Nets[n-1].Name, r.s.v[n], r.s.ac[n], cold.v[n], cold.ac[n])
					}
				}
				if !slices.Equal(cold.fact, r.s.fact) || !slices.Equal(cold.lane, r.s.lane) {
					t.Errorf("%s: facts %v, lanes %v, from off %v, %v", where, r.s.fact, r.s.lane, cold.fact, cold.lane)
				}
				if !slices.EqualFunc(cold.blown, r.s.blown, func(a, b Blown) bool { return a.Part == b.Part }) {
					t.Errorf("%s: %v blow, from off %v", where, r.s.blown, cold.blown)
				}
			}
		}
		if skipped > 3 {
			t.Errorf("%d runs do not come to rest", skipped)
		}
	})
}

// Ohms by one update of the healthy inverse, and diode mode from where the healthy
// board stands, are those of a circuit that is solved anew.
func TestColdReadingsByUpdateEqualNewFactors(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Model) {
		updates := 0
		for _, unplug := range []bool{true, false} {
			for _, h := range m.singles() {
				c := m.Cold(unplug, h)
				if c.own == nil {
					continue
				}
				fresh := c.full == nil
				ohms, diode := make([]float64, len(m.Board.Nets)), make([]float64, len(m.Board.Nets))
				for i := range m.Board.Nets {
					ohms[i], diode[i] = c.Ohms(netlist.NetID(i)), c.Diode(netlist.NetID(i))
				}
				if fresh && c.full == nil {
					updates++
				}
				c.refactor()
				for i := range m.Board.Nets {
					name := m.Board.Nets[i].Name
					if want := c.Ohms(netlist.NetID(i)); !same(ohms[i], want, 1e-9*want) {
						t.Errorf("%s, net %s: %.12g Ω, anew %.12g Ω", m.say(h), name, ohms[i], want)
					}
					if m.Board.Nets[i].Ground {
						continue
					}
					// Where little changes the healthy reading is kept, to 2.5 µV.
					within := 1e-9
					if c.unmoved(c.base.probe(m, int32(i)+1)) {
						within = 2.5e-6
					}
					clear(c.own.v)
					if want := m.diode(&c.own.circuit, int32(i)+1); !same(diode[i], want, within) {
						t.Errorf("%s, net %s: %.12g V in diode mode, anew %.12g V", m.say(h), name, diode[i], want)
					}
				}
			}
		}
		if updates < 100 {
			t.Errorf("only %d updates were compared", updates)
		}
	})
}

func same(a, b, within float64) bool { return a == b || math.Abs(a-b) <= within }

// Reciprocity: a current into one node raises another as much as the same current
// into that one raises the first (Tellegen's theorem; Desoer and Kuh, Basic Circuit
// Theory, from memory).
func TestReciprocity(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Model) {
		base := m.coldOf(false)
		list := m.all[:min(len(m.all), 40)]
		for _, a := range list {
			base.sv.response(&base.circuit, a, 0)
			row := slices.Clone(base.sv.next)
			for _, b := range list {
				base.sv.response(&base.circuit, b, 0)
				if x, y := row[b], base.sv.next[a]; math.Abs(x-y) > 1e-9*max(x, y) {
					t.Errorf("%s to %s: %.12g Ω one way, %.12g Ω the other", m.Board.Nets[a-1].Name, m.Board.Nets[b-1].Name, x, y)
				}
			}
			if z := base.sv.zdiag[a]; math.Abs(row[a]-z) > 1e-9*z {
				t.Errorf("%s: %.12g Ω by a current, %.12g Ω from the inverse", m.Board.Nets[a-1].Name, row[a], z)
			}
		}
	})
}

// Monotonicity after Rayleigh: to cut a conductor never lowers a resistance, to
// join two nodes never raises one (Doyle and Snell, Random Walks and Electric
// Networks, 1984).
func TestRayleighMonotonicity(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Model) {
		healthy := m.Cold(false, Hypothesis{})
		want := make([]float64, len(m.Board.Nets))
		for i := range want {
			want[i] = healthy.Ohms(netlist.NetID(i))
		}
		checked := 0
		for _, f := range m.AllFaults() {
			up := f.Mode.Does == netlist.Opens
			if !up && f.Mode.Does != netlist.Grounds && f.Mode.Does != netlist.Bridges {
				continue
			}
			c := m.Cold(false, Hypothesis{Faults: []Fault{f}})
			for i, w := range want {
				got := c.Ohms(netlist.NetID(i))
				if checked++; up && got < w*(1-1e-9) || !up && got > w*(1+1e-9) {
					t.Errorf("%s, net %s: %.12g Ω, healthy %.12g Ω", m.Name(f), m.Board.Nets[i].Name, got, w)
				}
			}
		}
		if checked == 0 {
			t.Error("nothing was compared")
		}
	})
}

// tangle is a random network of resistors, junctions, sources at their limit and
// the other laws, with some nodes held.
func tangle(t *rapid.T) *circuit {
	nodes := rapid.IntRange(1, 20).Draw(t, "nodes")
	node := rapid.IntRange(0, nodes)
	r := func() float64 { return math.Pow(10, rapid.Float64Range(-3, 6).Draw(t, "decade")) }
	volts := rapid.Float64Range(0.1, 30)
	var list []element
	for n := range rapid.IntRange(1, 4*nodes).Draw(t, "elements") {
		a, b := node.Draw(t, "a"), node.Draw(t, "b")
		if n < nodes {
			a = n + 1
		}
		e := element{int32(a), int32(b), nil}
		switch rapid.IntRange(0, 8).Draw(t, "law") {
		case 0, 1, 2:
			e.law = conductor(r())
		case 3, 4:
			e.law = junction(volts.Draw(t, "vf"), r())
		case 5:
			e.law = clamping(volts.Draw(t, "low"), volts.Draw(t, "high"), r())
		case 6:
			e.law = limited(r(), rapid.Float64Range(1e-3, 5).Draw(t, "amps"))
		case 7:
			e.law = drawing(rapid.Float64Range(1e-3, 5).Draw(t, "amps"), volts.Draw(t, "full"))
		default:
			e.law = giving(rapid.Float64Range(1e-3, 5).Draw(t, "amps"), volts.Draw(t, "volts"))
		}
		list = append(list, e)
	}
	c := textbook(nodes, list...)
	clear(c.shunt)
	for n := int32(1); n <= int32(nodes); n++ {
		if rapid.IntRange(0, 4).Draw(t, "held") == 0 {
			c.hold(n, rapid.Float64Range(-30, 30).Draw(t, "volts"))
		}
	}
	return c
}

// One solution, wherever the search begins (the uniqueness theorem of Duffin,
// Nonlinear networks, 1947, for monotone elements).
func TestOneSolutionFromAnyStart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := tangle(t)
		sv := newSolver(c.network)
		solve := func() []float64 {
			if !sv.solve(c, c.everyNode()) {
				t.Fatal("no finite solution")
			}
			return slices.Clone(c.v)
		}
		first := solve()
		for _, n := range c.everyNode() {
			if c.pinned[n] {
				continue
			}
			if sum, largest, rounding := c.imbalance(n); !(math.Abs(sum) <= 1e-9*largest+rounding) {
				t.Errorf("node %d: %g A too much beside %g A", n, sum, largest)
			}
		}
		for _, n := range c.everyNode() {
			if c.pinned[n] {
				continue
			}
			c.v[n] = rapid.Float64Range(-1000, 1000).Draw(t, "start")
		}
		second := solve()
		// What rounding leaves of the currents moves a node by no more than this
		// times its resistance to ground, which is large where leaks alone hold it.
		total := 0.0
		for _, n := range c.everyNode() {
			_, _, rounding := c.imbalance(n)
			total += rounding
		}
		sv.invert(c)
		for _, n := range c.everyNode() {
			if d := math.Abs(first[n] - second[n]); !c.pinned[n] && !(d <= 1e-9*(1+math.Abs(first[n]))+total*sv.zdiag[n]) {
				t.Errorf("node %d: %.15g V, from another start %.15g V", n, first[n], second[n])
			}
		}
	})
}

// The healthy simulation agrees with every reading that a demo board declares, in
// every state.
func TestHealthyBoardsReadAsDeclared(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Model) {
		b := m.Board
		if len(m.Unknown) > 0 {
			t.Errorf("%d sources without a level", len(m.Unknown))
		}
		checked := 0
		for st := range States(b) {
			r := m.Run(st, Hypothesis{})
			if len(r.Unsteady()) > 0 || len(r.Blew()) > 0 {
				t.Errorf("%s: %v never rest, %v blow", b.SettingText(st.Setting), r.Unsteady(), r.Blew())
			}
			for i := range b.Nets {
				e, ok := b.ExpectIn(netlist.NetID(i), st.Setting)
				if !ok {
					continue
				}
				checked++
				if v := r.Volts(netlist.NetID(i)); !(v >= e.Low() && v <= e.High()) {
					t.Errorf("%s, net %s: a meter reads %.3f V, declared %g V ± %g%%", b.SettingText(st.Setting), b.Nets[i].Name, v, e.Value, e.Tol*100)
				}
				if moves := r.Swing(netlist.NetID(i)); e.Swing != 0 && !(moves >= 0.5*e.Swing && moves <= 2*e.Swing) {
					t.Errorf("%s, net %s: moves by %.3f V, declared %g V", b.SettingText(st.Setting), b.Nets[i].Name, moves, e.Swing)
				}
			}
		}
		if checked < 50 {
			t.Errorf("only %d declared readings", checked)
		}
	})
}

// Two models of one board say the same to the last bit.
func TestTheSameEachTime(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Model) {
		tell := func(m *Model) (list []float64) {
			for _, h := range m.singles() {
				for _, st := range []State{{Setting: m.Board.Usual()}, {Setting: m.Board.Usual(), Unplugged: true}} {
					r, c := m.Run(st, h), m.Cold(st.Unplugged, h)
					for i := range m.Board.Nets {
						n := netlist.NetID(i)
						list = append(list, r.Volts(n), r.Swing(n), r.Ohms(n), c.Ohms(n))
					}
					for _, x := range r.Blew() {
						list = append(list, float64(x.Part), x.Amps)
					}
				}
			}
			return list
		}
		if !slices.Equal(tell(m), tell(New(m.Board))) {
			t.Error("two models of one board disagree")
		}
	})
}
