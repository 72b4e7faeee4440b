package predict

import (
	"math"
	"slices"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/predict/circuit"
)

// eachDemo runs a test on the model of each demo board.
func eachDemo(t *testing.T, check func(t *testing.T, m *Simulator)) {
	for _, name := range boards.Names() {
		t.Run(name, func(t *testing.T) {
			src, _ := boards.Source(name)
			check(t, modelOf(t, src))
		})
	}
}

func modelOf(t testing.TB, src string) *Simulator {
	t.Helper()
	b, problems := netlist.Read("test.board", src)
	if mistake.HasErrors(problems) {
		t.Fatal(problems)
	}
	return New(b)
}

// singles are all single faults with what they blow, the healthy board first.
func (m *Simulator) singles() []Hypothesis {
	hs := []Hypothesis{{}}
	for _, f := range m.AllFaults() {
		hs = append(hs, m.Suppose(f))
	}
	return hs
}

func (m *Simulator) say(h Hypothesis) string {
	if len(h.Faults) == 0 {
		return "healthy"
	}
	return m.Name(h.Faults[0])
}

// imbalance returns the sum of the currents that leave a free node, the largest
// of them, and what rounding may make of the sum: the voltages are rounded to
// 2⁻⁵³, and their differences are multiplied by conductances. A
// picoampere is a hundredth of what a net at 1 V leaks.
func imbalance(c *circuit.Circuit, n int32) (sum, largest, rounding float64) {
	const eps = 1.0 / (1 << 52)
	largest, rounding = math.Abs(c.Inject[n]), 1e-12
	for _, b := range c.At(n) {
		if l := c.Law[b]; l != nil {
			x := &c.Branches[b]
			largest = max(largest, math.Abs(c.Current(b)))
			terms := l.Slope(c.Across(b)) * (math.Abs(c.V[x.A]) + math.Abs(c.V[x.B]))
			for j := range l.Segments() {
				_, _, i := l.Segment(j)
				terms = max(terms, math.Abs(i)) // the segments meet to this
			}
			rounding += 8 * eps * terms
		}
	}
	return c.Leaving(n), largest, rounding
}

// Kirchhoff's current law, at every node that no source holds.
func TestCurrentsSumToZero(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Simulator) {
		hs := m.singles()
		nodes := 0
		for st := range States(m.Board) {
			for _, r := range m.Sweep(st, hs) {
				if len(r.s.unsteady) > 0 {
					continue
				}
				for n := int32(1); n < int32(m.nodes); n++ {
					if r.s.Held[n] {
						continue
					}
					nodes++
					if sum, largest, rounding := imbalance(&r.s.Circuit, n); !(math.Abs(sum) <= 1e-9*largest+rounding) {
						t.Errorf("%s, %s, net %s: %g A too much beside %g A", m.Board.SettingText(st.Setting), m.say(r.Hypothesis), m.Board.Nets[n-1].Name,
							sum, largest)
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
func (m *Simulator) fromOff(st State, h Hypothesis) *sim {
	s := m.newSim()
	s.start(st.Setting, st.Unplugged)
	for _, f := range h.Faults {
		s.apply(f)
	}
	for _, x := range h.Blown {
		s.open(x.Part)
	}
	s.run()
	return s
}

// A run that begins where the healthy board stands ends where one ends that
// begins with the board off.
func TestWhereARunBeginsDoesNotMatter(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Simulator) {
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
				for n := range cold.V {
					if math.Abs(cold.V[n]-r.s.V[n]) > 1e-9*(1+math.Abs(cold.V[n])) || math.Abs(cold.ac[n]-r.s.ac[n]) > 1e-9*(1+math.Abs(cold.ac[n])) {
						t.Errorf("%s, net %s: %.12g V (moves %.12g V), from off %.12g V (%.12g V)", where, m.Board.Nets[n-1].Name, r.s.V[n], r.s.ac[n],
							cold.V[n], cold.ac[n])
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
	eachDemo(t, func(t *testing.T, m *Simulator) {
		compared := 0
		for _, unplug := range []bool{true, false} {
			for _, h := range m.singles() {
				c := m.Cold(unplug, h)
				own := circuit.New(m.net)
				own.CopyFrom(&m.coldSim.Circuit)
				clear(own.V)
				anew := circuit.NewInverse(own, testAmps)
				for n := int32(1); n < int32(m.nodes); n++ {
					name := m.Board.Nets[n-1].Name
					if got, want := c.change.Ohms(n, 0), anew.Ohms(n, 0); !same(got, want, 1e-9*want) {
						t.Errorf("%s, net %s: %.12g Ω, anew %.12g Ω", m.say(h), name, got, want)
					}
					// Where little changes the healthy reading is kept, to 2.5 µV.
					want := diode(m.solver, own, n)
					for _, within := range []struct{ amps, volts float64 }{{0, 1e-9}, {diodeKept, 2.5e-6}} {
						if got := shown(c.change.Take(n, within.amps)); !same(got, want, within.volts) {
							t.Errorf("%s, net %s: %.12g V in diode mode, anew %.12g V", m.say(h), name, got, want)
						}
					}
					compared++
				}
			}
		}
		if compared < 100*len(m.Board.Nets) {
			t.Errorf("only %d readings were compared", compared)
		}
	})
}

func same(a, b, within float64) bool { return a == b || math.Abs(a-b) <= within }

// Reciprocity: a current into one node raises another as much as the same current
// into that one raises the first (Tellegen's theorem; Desoer and Kuh, Basic Circuit
// Theory, from memory). The current is so small that no junction opens.
func TestReciprocity(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Simulator) {
		const amps = 1e-12
		base := m.coldOf(false)
		list := m.all[:min(len(m.all), 40)]
		raised := make([][]float64, m.nodes)
		c := circuit.New(m.net)
		for _, a := range list {
			c.CopyFrom(base.Circuit)
			c.Inject[a] = amps
			if !m.solver.Solve(c, m.all) {
				t.Fatal("no finite solution")
			}
			raised[a] = slices.Clone(c.V)
			if got, want := c.V[a]/amps, base.inverse.Ohms(a, 0); math.Abs(got-want) > 1e-9*want {
				t.Errorf("%s: %.12g Ω by a current, %.12g Ω from the inverse", m.Board.Nets[a-1].Name, got, want)
			}
		}
		for _, a := range list {
			for _, b := range list {
				if x, y := raised[a][b], raised[b][a]; math.Abs(x-y) > 1e-9*max(x, y) {
					t.Errorf("%s to %s: %.12g V one way, %.12g V the other", m.Board.Nets[a-1].Name, m.Board.Nets[b-1].Name, x, y)
				}
			}
		}
	})
}

// Monotonicity after Rayleigh: to cut a conductor never lowers a resistance, to
// join two nodes never raises one (Doyle and Snell, Random Walks and Electric
// Networks, 1984).
func TestRayleighMonotonicity(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Simulator) {
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

// The healthy simulation agrees with every reading that a demo board declares, in
// every state.
func TestHealthyBoardsReadAsDeclared(t *testing.T) {
	eachDemo(t, func(t *testing.T, m *Simulator) {
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
	eachDemo(t, func(t *testing.T, m *Simulator) {
		tell := func(m *Simulator) (list []float64) {
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
