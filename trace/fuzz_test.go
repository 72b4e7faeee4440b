package trace

import (
	"bytes"
	"errors"
	"slices"
	"testing"
	"time"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
)

// FuzzRun: no board file and no complaint makes the walk panic or hang, and what
// it tells prints. Boards are long texts, so minimising one takes a minute: run it
// with -fuzzminimizetime 1x.
func FuzzRun(f *testing.F) {
	for _, name := range boards.Names() {
		src, _ := boards.Source(name)
		f.Add(src, "dark")
		f.Add(src, "VBL=0V EDID=read --state lid=shut")
	}
	const head = "board b\nstate lid open shut\nnet GND ground\nsupply PS1 -> V\n"
	for _, seed := range []struct{ src, line string }{
		{head + "fuse F1 V -> A r=1\nfuse F2 A -> V r=1\nresistor R1 A -> GND 1\n", "A=0V"},
		{head + "and U1 in=A,B out=C vdd=V gnd=GND\nor U2 in=C out=A vdd=V gnd=GND\n", "C=missing"},
		{head + "mux U1 a=A,B b=C,D out=E,F sel=E vdd=V gnd=GND\n", "E=quiet F=ok"},
		{head + "controller U1 vdd=V gnd=GND\n    drives A when !(B | !A) & lid=open\n    pulls B when A\n    makes X when !X\n", "X=no A=low"},
		{head + "boost U1 in=V lx=A en=V sink=K1..K3 fb=A gnd=GND\ndiode D1 A -> B\nleds DS1 B -> K1..K3\n    makes LIGHT\n",
			"LIGHT=no B=0V --state lid=shut"},
		{head + "source U1 vdd=V gnd=GND\n    reads X from=U2 over=A,B when X\nrom U2 vdd=V scl=A sda=B\n", "X=unread"},
		{head + "connector J1\n    pin 1 A -> B\n    pin 2 A -> B\n    pin 3 V -> A\nlane L A B clock\n", "L=quiet"},
	} {
		f.Add(seed.src, seed.line)
	}
	f.Fuzz(func(t *testing.T, src, line string) {
		if len(src) > 4096 && !slices.ContainsFunc(boards.Names(), func(n string) bool {
			s,
				_ := boards.Source(n)
			return len(src) <= len(s)+256
		}) || len(line) > 256 {
			return
		}
		b, problems := netlist.Read("fuzz.board", src)
		if mistake.HasErrors(problems) {
			return
		}
		start := time.Now()
		Check(b)
		setting, seen, err := observe(b, line)
		if err != nil {
			return
		}
		w, err := Run(b, setting, seen)
		if err != nil {
			if w != nil || errors.Is(err, ErrNoSymptom) && slices.ContainsFunc(seen, func(o netlist.Observation) bool { return o.Wrong }) {
				t.Errorf("a walk and an error, or no symptom among %v: %v", seen, err)
			}
			return
		}
		if len(w.Steps) == 0 || len(w.Roots) != len(w.Symptoms) && len(w.Roots) == 0 {
			t.Errorf("a walk of %d steps from %d symptoms", len(w.Steps), len(w.Symptoms))
		}
		for i := range w.Steps {
			if s := &w.Steps[i]; s.ID != i+1 || s.Parent >= s.ID || s.Again >= s.ID {
				t.Errorf("step %d: number %d, parent %d, again %d", i+1, s.ID, s.Parent, s.Again)
			}
		}
		var out bytes.Buffer
		for _, err := range []error{WriteText(&out, w), WriteJSON(&out, w), WriteList(&out, w, Parts), WriteList(&out, w, Nets),
			WriteList(&out, w, Points)} {
			if err != nil {
				t.Error(err)
			}
		}
		other := slices.Clone(setting)
		for i := range other {
			other[i] = (other[i] + 1) % len(b.States[i].Values)
		}
		if d, err := Compare(w, other); err == nil {
			if err := WriteDifference(&out, d); err != nil {
				t.Error(err)
			}
		}
		if d := time.Since(start); d > 5*time.Second {
			t.Errorf("it took %v", d)
		}
	})
}
