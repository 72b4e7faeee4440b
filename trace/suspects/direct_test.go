package suspects

import (
	"slices"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/trace/predict"
)

// Open from end to end is the part's own: what conducts when healthy and reads OL with all
// power out has failed, or is a fuse that something blew. Common practice, no source.
func TestOpenFromEndToEndConvictsThePart(t *testing.T) {
	for _, name := range demos {
		n := demo(t, name)
		count := 0
		for _, p := range n.d.Probes {
			if p.Method != netlist.Across || p.Part == netlist.None || !p.State.Unplugged {
				continue
			}
			part := &n.m.Board.Parts[p.Part]
			if !slices.Contains([]string{"coil", "ferrite", "filter", "choke", "fuse"}, part.Kind.Name) {
				continue
			}
			count++
			at := n.m.At(p)
			r := narrow(t, n, read(t, n, at+"=OL"))
			if r.Leads() != OneLeads || len(r.Suspects) == 0 {
				t.Errorf("%s %s=OL: no single fault leads", name, at)
				continue
			}
			s := r.Suspects[0]
			blown := slices.ContainsFunc(s.Blown, func(b predict.Blown) bool { return b.Part == p.Part })
			if !slices.Contains(s.Parts, p.Part) && !blown {
				t.Errorf("%s %s=OL: %.2f %s", name, at, s.P, s.Names)
			}
		}
		if count < 2 {
			t.Errorf("%s: only %d parts read", name, count)
		}
	}
}
