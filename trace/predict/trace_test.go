package predict_test

import (
	"slices"
	"testing"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace"
	"example.org/walkback/trace/predict"
)

// TestSimulationAgreesWithTheWalk: two ways of telling what a fact hangs on, the
// AND/OR walk and the simulation, must name the same parts. A single point of
// failure of the walk must lose the fact in the simulation by one of its faults,
// in all its units at once where it has several; and a part that stops working
// must not lose the fact unless the walk names it, as a single point of failure or
// as a load, such as the lower leg of a divider.
func TestSimulationAgreesWithTheWalk(t *testing.T) {
	stops := []netlist.Effect{netlist.Opens, netlist.Dies, netlist.StaysOff, netlist.Frees}
	for _, name := range boards.Names() {
		src, _ := boards.Source(name)
		b, problems := netlist.Read(name, src)
		if mistake.HasErrors(problems) {
			t.Fatal(problems)
		}
		m := predict.New(b)
		st := netlist.Condition{Setting: b.Usual()}
		checked := 0
		for i := range b.Facts {
			o, err := b.Observe(b.Facts[i].Name, "no", b.Usual())
			if err != nil {
				t.Fatal(err)
			}
			w, err := trace.Run(b, b.Usual(), []netlist.Observation{o})
			if err != nil {
				t.Fatal(err)
			}
			for id := range b.Parts {
				loads := slices.ContainsFunc(w.Steps, func(s trace.Step) bool {
					return slices.ContainsFunc(s.Loads, func(l trace.LoadRef) bool { return int(l.Part) == id })
				})
				single := slices.ContainsFunc(w.Singles, func(u trace.Unit) bool { return int(u.Part) == id })
				for _, f := range m.Faults(netlist.PartID(id)) {
					if !slices.Contains(stops, f.Mode.Does) {
						continue
					}
					r := m.Run(st, m.Suppose(f))
					if lost := !r.Holds(i); lost && !single && !loads {
						t.Errorf("%s: %s loses %s, and the walk does not name it", name, m.Name(f), b.Facts[i].Name)
					}
					checked++
				}
				if !single {
					continue
				}
				if !slices.ContainsFunc(b.Parts[id].Kind.Faults, func(f netlist.Fault) bool {
					all, err := m.ParseFault(b.Parts[id].Name + ":" + f.Name)
					return err == nil && !m.Run(st, m.Suppose(all...)).Holds(i)
				}) {
					t.Errorf("%s: the walk names %s for %s, and no fault of it loses it", name, b.Parts[id].Name, b.Facts[i].Name)
				}
			}
		}
		if checked < 500 {
			t.Errorf("%s: only %d checks", name, checked)
		}
	}
}
