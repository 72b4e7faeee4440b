package trace

import (
	"errors"
	"fmt"
	"io"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
)

// Difference is what a walk in one state has that the same walk in another has
// not.
type Difference struct {
	A, B  *Walk
	OnlyA []*Step // of A
	OnlyB []*Step // of B
	Reads []ReadChange
}

// ReadChange is a net on both walks that reads differently.
type ReadChange struct {
	Net  netlist.NetID
	A, B string
}

// Compare walks from the same observations in another setting.
func Compare(a *Walk, other netlist.Setting) (*Difference, error) {
	seen := append(append([]netlist.Observation{}, a.Symptoms...), a.Given...)
	b, err := Run(a.Board, other, seen)
	if err != nil && !errors.Is(err, ErrNoSymptom) {
		return nil, err
	}
	d := &Difference{A: a, B: b}
	d.OnlyA, d.OnlyB = only(a, b), only(b, a)
	done := map[netlist.NetID]bool{}
	for _, w := range []*Walk{a, b} {
		for i := range w.Steps {
			n := w.Steps[i].Net
			if n == netlist.None || done[n] {
				continue
			}
			done[n] = true
			x, y := a.expectField(n), b.expectField(n)
			if x != y {
				d.Reads = append(d.Reads, ReadChange{n, x, y})
			}
		}
	}
	return d, nil
}

type stepName struct {
	kind StepKind
	name string
	does string
	lost bool // a state that is asked for and is not the present one
}

func only(a, b *Walk) []*Step {
	have := map[stepName]bool{}
	key := func(s *Step) stepName { return stepName{s.Kind, s.Name, s.Does, s.Held && s.Kind == StateStep} }
	for i := range b.Steps {
		have[key(&b.Steps[i])] = true
	}
	var list []*Step
	for i := range a.Steps {
		s := &a.Steps[i]
		if k := key(s); !have[k] {
			have[k] = true
			list = append(list, s)
		}
	}
	return list
}

// WriteDifference prints a difference for people.
func WriteDifference(out io.Writer, d *Difference) error {
	o := say.NewWriter(out)
	b := d.A.Board
	o.Beside(b.Name+"  ", b.Title)
	o.Beside("symptom   ", d.A.Observed(d.A.Symptoms))
	for _, side := range []struct {
		w    *Walk
		list []*Step
	}{{d.A, d.OnlyA}, {d.B, d.OnlyB}} {
		fmt.Fprintln(o)
		o.Beside("Only with ", b.SettingText(side.w.Setting))
		if len(side.w.Held) > 0 {
			o.Wrap("  ", "a healthy board does not have it while "+side.w.heldText())
		}
		t := &say.Table{Indent: "  ", Words: []int{3}, Groups: []int{3}}
		for _, s := range side.list {
			// The steps that it points to may not be among those shown.
			alone := *s
			alone.Again = 0
			t.Rows = append(t.Rows, say.Row(s.Name, side.w.kindWord(s), side.w.ReasonWord(s), side.w.detail(&alone)))
		}
		if len(side.list) == 0 {
			t.Rows = append(t.Rows, say.Row("nothing"))
		}
		o.Table(t)
	}
	fmt.Fprintln(o, "\nReads differently")
	t := &say.Table{Indent: "  ", Words: []int{1, 2}}
	for _, r := range d.Reads {
		t.Rows = append(t.Rows, say.Row(b.Nets[r.Net].Name, r.A, "| "+r.B))
	}
	if len(d.Reads) == 0 {
		t.Rows = append(t.Rows, say.Row("nothing on this path"))
	}
	o.Table(t)
	return o.Flush()
}
