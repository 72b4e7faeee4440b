package suspects

import (
	"slices"
	"testing"

	"example.org/walkback/netlist"
)

// A reading of which one of several holds fits a fault that any of them fits and no other,
// and says nothing where a healthy board shows one of them.
func TestOneOfSeveralIsEvidenceForAnyOfThem(t *testing.T) {
	n := demo(t, "siskin15")
	b := n.m.Board
	parse := func(text string) netlist.Reading {
		r, err := b.ParseReading(text, b.Usual())
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	either, a, z := parse("A.0=quiet or B.0=quiet"), parse("A.0=quiet"), parse("B.0=quiet")
	got, ca, cz := agrees(n.column(&either)), agrees(n.column(&a)), agrees(n.column(&z))
	only := [2]int{}
	for i := range got {
		if want := max(ca[i], cz[i]); got[i] != want {
			t.Errorf("stretch %d agrees by %g, want %g", i, got[i], want)
		}
		switch {
		case ca[i] > cz[i]:
			only[0]++
		case cz[i] > ca[i]:
			only[1]++
		}
		if i > 0 {
			x := n.stretches[i]
			if exact := n.exact(n.all[x.low], n.all[x.high], []netlist.Reading{either}); exact[0] != got[i] {
				t.Errorf("%s: simulated alone it agrees by %g, in the sweep by %g", n.m.Name(n.all[x.low].Faults[0]), exact[0], got[i])
			}
		}
	}
	if only[0] == 0 || only[1] == 0 {
		t.Errorf("faults of one lane alone: %v", only)
	}
	if got[0] != 0 {
		t.Error("a healthy board has one of them quiet")
	}
	r, err := n.Narrow([]netlist.Reading{either, parse("A.CLK=alive"), parse("A.2=alive")}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if r.Healthy[0] || !r.Single {
		t.Errorf("as on a healthy board %v, one fault explains it %v", r.Healthy[0], r.Single)
	}
	nothing := parse("A.0=quiet or A.0=alive")
	if c := n.column(&nothing); slices.ContainsFunc(c.fits, func(f fitted) bool { return f != fitted{1, 1} }) {
		t.Error("what always holds is evidence")
	}
}

func agrees(c *column) []float64 {
	list := make([]float64, len(c.fits))
	for s := range list {
		list[s] = c.fits[s].agrees
	}
	return list
}
