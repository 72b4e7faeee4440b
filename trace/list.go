package trace

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"example.org/walkback/netlist"
)

// Parts, Points and Nets are what WriteList can list.
const (
	Parts  = "parts"
	Points = "points"
	Nets   = "nets"
)

// WriteList prints one sort of thing on the walk, a line each, in walking order,
// with tabs between the fields: the name first, so that it pipes well. A part
// that is only a load comes at the place of its net.
func WriteList(out io.Writer, w *Walk, what string) error {
	o := bufio.NewWriter(out)
	b := w.Board
	seen := map[string]bool{}
	line := func(fields ...string) {
		if !seen[fields[0]] {
			seen[fields[0]] = true
			fmt.Fprintln(o, strings.Join(fields, "\t"))
		}
	}
	for i := range w.Steps {
		s := &w.Steps[i]
		switch {
		case what == Parts && s.Kind == PartStep:
			line(s.Name, b.Parts[s.Part].Kind.Name, w.ReasonWord(s), s.Does)
		case what == Nets && s.Kind == NetStep:
			line(s.Name, s.At.String(), w.ReasonWord(s), w.expectField(s.Net))
		case what == Points && s.Kind == NetStep:
			for _, p := range s.Points {
				line(b.Parts[p].Name, s.Name, w.expectField(s.Net), strings.TrimPrefix(strings.TrimPrefix(b.PointText(p), b.Parts[p].Name), " "))
			}
		}
		if what != Parts {
			continue
		}
		for _, l := range s.Loads {
			line(b.Parts[l.Part].Name, b.Parts[l.Part].Kind.Name, netlist.Load.String(), "on "+s.Name+": "+l.How)
		}
	}
	return o.Flush()
}

func (w *Walk) expectField(n netlist.NetID) string {
	if text := w.ExpectText(n); text != "" && !w.Board.Nets[n].Ground {
		return text
	}
	if w.Board.Nets[n].Ground {
		return "ground"
	}
	return "not declared"
}
