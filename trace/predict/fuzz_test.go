package predict

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/netlist/say"
)

const top = "board b\nnet GND ground\nnet A 3V\nsupply PS1 -> A\n"

// oddBoards are small boards that are hard on a solver or on what acts in it.
var oddBoards = []string{
	"", "board b\n", top,
	// Parts of no resistance, of hardly any and of nearly all.
	top + "resistor R1 A -> B 0\nresistor R2 B -> GND 0\n",
	top + "resistor R1 A -> B 1p\nresistor R2 B -> C 1G\nresistor R3 C -> GND 999G\n",
	top + "resistor R1 A -> B 0\nresistor R2 B -> C 0\nresistor R3 C -> A 0\nresistor R4 C -> GND 1\n",
	top + "resistor R1 A -> B -5\nresistor R2 B -> GND 1\n",
	// Two supplies joined, with and without something between.
	top + "supply PS2 -> B gives=5V\nresistor R1 A -> B 1\n", top + "supply PS2 -> B gives=5V\nresistor R1 A -> B 0\n",
	top + "supply PS2 -> A gives=5V\n", top + "supply PS2 -> B gives=9000V\ndiode D1 B -> A\n",
	"board b\nnet GND ground\nsupply PS1 -> GND gives=5V\n",
	"board b\nnet A 3V\nsupply PS1 -> A\nresistor R1 A -> B 1k\n", // no ground anywhere
	top + "regulator U1 in=A out=B gnd=GND\nregulator U2 in=A out=B gnd=GND\nnet B 2V\nresistor R1 B -> GND 1\n",
	top + "regulator U1 in=A out=B gnd=GND\nregulator U2 in=B out=A gnd=GND\nnet B 2V\n",
	// What never comes to rest, and what has two rests.
	top + "inverter U1 in=B out=B vdd=A gnd=GND\n", top +
		"inverter U1 in=B out=C vdd=A gnd=GND\ninverter U2 in=C out=D vdd=A gnd=GND\ninverter U3 in=D out=B vdd=A gnd=GND\n",
	top + "nand U1 in=S,Q2 out=Q1 vdd=A gnd=GND\nnand U2 in=R,Q1 out=Q2 vdd=A gnd=GND\nresistor R1 A -> S 10k\nresistor R2 A -> R 10k\n",
	top + "pfet Q1 A -> B gate=B\nresistor R1 B -> GND 1k\n", top + "loadswitch U1 A -> B en=B gnd=GND\n",
	top + "nfet Q1 A -> B gate=A\nresistor R1 B -> GND 1\n",
	top + "controller U1 vdd=A gnd=GND\n    drives B when B\n    makes F when !F\n    pulls C when F\nresistor R1 A -> C 1k\n",
	top + "controller U1 vdd=B gnd=GND\n    pulls B when B\nresistor R1 A -> B 10\n",
	// A branch with both ends on one net.
	top + "controller U1 vdd=A gnd=B\n    pulls B when A\nresistor R1 B -> GND 1k\n",
	top + "mux U1 a=C b=B out=C sel=A vdd=A gnd=GND\nresistor R1 C -> GND 1k\n", top + "lane L B B\nresistor R1 A -> B 1\n",
	// Converters.
	"board b\nnet GND ground\nnet V 12V\nsupply PS1 -> V\ncoil L1 V -> LX r=100m\ndiode D1 LX -> O\nboost U1 in=V lx=LX out=O en=V " +
		"sink=K1,K2 gnd=GND limit=36V\nleds DS1 O -> K1,K2\n    makes LIGHT\n",
	"board b\nnet GND ground\nnet V 12V\nsupply PS1 -> V\nfuse F1 V -> W rating=1A\ncoil L1 W -> LX r=0\ndiode D1 LX -> O vf=0\nboost U1 " +
		"in=W lx=LX en=V fb=FB gnd=GND vref=1\nresistor R1 O -> FB 99\nresistor R2 FB -> GND 1\n",
	"board b\nnet GND ground\nnet V 9000V\nsupply PS1 -> V\ncoil L1 V -> LX\nboost U1 in=V lx=LX en=V gnd=GND limit=1V peak=0\n",
	"board b\nnet GND ground\nnet V 3V\nsupply PS1 -> V\ncoil L1 V -> LX\ndiode D1 LX -> O\nboost U1 in=V lx=LX en=O sink=K gnd=GND " +
		"string=900A headroom=1000V\nleds DS1 O -> K series=0 vf=0\n",
	"board b\nnet GND ground\nnet V 1e300V\nsupply PS1 -> V limit=1e300A\nresistor R1 V -> GND 1e-300\nfuse F1 V -> W rating=1e-300\n",
	"board b\nnet GND ground\nnet V 10V\nsupply PS1 -> V\nfuse F1 V -> W rating=1\ncoil L1 W -> LX r=0\ndiode D1 LX -> O vf=0\nboost U1 " +
		"in=W lx=LX en=V fb=FB vref=0\n",
	"board b\nnet GND ground\nnet V 10V\nsupply PS1 -> V\ncoil L1 V -> LX\nboost U1 in=V lx=LX en=V gnd=GND limit=36V\n", // no rectifier
	// Signals.
	top + "source U1 vdd=A gnd=GND\n    sends P N when A\ncapacitor C1 P -> Q 1e30\nlane L Q N\npanel U2 vdd=A gnd=GND\n    makes X when L\n",
	top + "rom U2 vdd=A gnd=GND scl=C sda=D\nresistor R1 A -> C 2k\nresistor R2 A -> D 2k\nsource U1 vdd=A gnd=GND\n    reads X from=U2 " +
		"over=C,D when A\n",
	// Readings of a good board that its parts rule out.
	top + "net B 0V cold=1G diode=9V\nresistor R1 B -> GND 1\nnet C cold=1u diode=1u\nclamp D1 C -> GND\n",
	"board b\nstate s a b\nstate p x y z\nnet GND ground\nnet A 3V cold=5\n    expect 0V when s=b\nsupply PS1 -> A\ncontroller U1 vdd=A " +
		"gnd=GND\n    drives B when s=b | p=z\n",
}

// finite fails when a number is none.
func finite(t *testing.T, what string, list ...float64) {
	for _, v := range list {
		if math.IsNaN(v) {
			t.Fatalf("%s is not a number", what)
		}
	}
}

// sound looks at everything that a run tells.
func sound(t *testing.T, m *Simulator, r *Run) {
	for i := range m.Board.Nets {
		n, name := netlist.NetID(i), m.Board.Nets[i].Name
		low, high := r.Between(n)
		finite(t, name, r.Volts(n), r.Level(n), r.Ohms(n), r.Swing(n), low, high)
		if math.IsInf(r.Level(n), 0) || low > high {
			t.Fatalf("%s: %v V between %v and %v", name, r.Level(n), low, high)
		}
	}
	for _, b := range r.Blew() {
		finite(t, "A of a fuse", b.Amps, b.Over)
	}
	for _, x := range r.Regimes() {
		if x.Text == "" {
			t.Fatal("a regime without a word")
		}
	}
	r.Unsteady()
}

// Bounds of one fuzzed board: what is modest, how much of it is simulated, and
// how long that may take on a busy machine.
const (
	modestText   = 4000
	modestParts  = 400
	fuzzedStates = 4
	fuzzedFaults = 12
	fuzzedTime   = 2 * time.Second
)

// FuzzPredict simulates any board that reads without errors.
func FuzzPredict(f *testing.F) {
	for _, s := range oddBoards {
		f.Add(s, uint16(0))
	}
	for _, name := range boards.Names() {
		src, _ := boards.Source(name)
		f.Add(src, uint16(7))
	}
	f.Fuzz(func(t *testing.T, src string, first uint16) {
		demo := strings.HasPrefix(src, "# ") && len(src) < 1<<16
		if len(src) > modestText && !demo {
			t.Skip()
		}
		b, problems := netlist.Read("fuzz.board", src)
		if mistake.HasErrors(problems) || len(b.Parts) > modestParts {
			t.Skip()
		}
		begin := time.Now()
		m := New(b)
		hs := []Hypothesis{{}}
		all := m.AllFaults()
		for k := range min(len(all), fuzzedFaults) {
			hs = append(hs, m.Suppose(all[(int(first)+k*(len(all)/fuzzedFaults+1))%len(all)]))
		}
		if len(all) > 1 {
			hs = append(hs, m.Suppose(all[int(first)%len(all)], all[int(first)/7%len(all)]))
		}
		states := 0
		for st := range States(b) {
			if states++; states > fuzzedStates {
				break
			}
			for _, r := range m.Sweep(st, hs) {
				sound(t, m, r)
			}
			sound(t, m, m.Run(State{Setting: st.Setting, Unplugged: true}, hs[len(hs)-1]))
		}
		for _, h := range hs {
			for _, unplug := range []bool{false, true} {
				c := m.Cold(unplug, h)
				for i := range b.Nets {
					n := netlist.NetID(i)
					ohms, diode := c.Ohms(n), c.Diode(n)
					finite(t, "a cold reading of "+b.Nets[i].Name, ohms, diode)
					if ohms < 0 {
						t.Fatalf("%s reads %v Ω cold", b.Nets[i].Name, ohms)
					}
				}
			}
		}
		if took := time.Since(begin); took > fuzzedTime {
			t.Fatalf("took %v for %d parts, %d faults, %d states", took, len(b.Parts), len(hs), states)
		}
	})
}

// FuzzParseFault reads any text as a fault. What is read names itself, what is
// refused says why.
func FuzzParseFault(f *testing.F) {
	src, _ := boards.Source("larkspur13")
	b, problems := netlist.Read("larkspur13.board", src)
	if mistake.HasErrors(problems) {
		f.Fatal(problems)
	}
	m := New(b)
	for _, s := range []string{"F3:open", "J2.7:open", "FL2.A0P:open", "U7:stuck-low", "U7.BL_EN:stuck-low", "DS91.BL_K1:open", "F3", ":", ".",
		"F3.", "F3.:open", "F3:", "J2.99:open", "F3.x:open", "Ж:ж", "F3:open:open", "J2.7.8:open", "\xff:\x00", "C1:Open", "c1:ȺȺ", "U7.Ⱥ:open"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		list, err := m.ParseFault(text)
		if err != nil {
			var m mistake.Mistake
			if !errors.As(err, &m) || m.Msg == "" || m.Text != text || m.Column+m.Width > utf8.RuneCountInString(text)+1 ||
				!strings.Contains(err.Error(), say.PlainLines(m.Msg)) || list != nil {
				t.Fatalf("%q: %v faults and an error that says too little: %#v", text, list, err)
			}
			return
		}
		if len(list) == 0 {
			t.Fatalf("%q is neither refused nor a fault", text)
		}
		target, mode, _ := strings.Cut(text, ":")
		name, _, named := strings.Cut(target, ".")
		for _, x := range list {
			full := m.Name(x)
			fullTarget, fullMode, _ := strings.Cut(full, ":")
			fullName, _, _ := strings.Cut(fullTarget, ".")
			if named && !strings.EqualFold(full, text) || !strings.EqualFold(fullName, name) || !strings.EqualFold(fullMode, mode) {
				t.Errorf("%q is read as %s", text, full)
			}
			if again, err := m.ParseFault(m.Name(x)); err != nil || len(again) == 0 {
				t.Errorf("%s does not read back: %v", m.Name(x), err)
			}
		}
	})
}
