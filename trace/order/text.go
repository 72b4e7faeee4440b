package order

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/sequence"
	"example.org/walkback/trace/suspects"
)

// Step is one probe of the checklist.
type Step struct {
	Number  int
	Probe   netlist.Probe
	Gate    bool    // it comes before any power
	Change  float64 // s to bring the board into its condition
	Cost    float64 // s
	Share   float64 // how often the plan comes here
	Results []Result
}

// Result is what a reading leads to.
type Result struct {
	Value   float64 // typical, as predict.Run.Value has it
	Healthy bool
	Share   float64 // of those that come to the step
	Next    int     // number of the next step, 0 at the end
	Left    []Suspect
}

// Suspect is a part that is left at the end, with its faults.
type Suspect struct {
	Part   netlist.PartID
	Share  float64 // of all that come to this end
	Faults []string
	Blown  []predict.Blown
}

// Steps numbers the tree: each step before those that it leads to, the likeliest
// branch first.
func (p *Plan) Steps() []Step {
	var list []Step
	var add func(n *sequence.Node) int
	add = func(n *sequence.Node) int {
		at := len(list)
		k := p.Probes[n.Probe]
		list = append(list, Step{Number: at + 1, Probe: p.Dict.Probes[k], Gate: slices.Contains(p.Gate, n.Probe), Change: n.Change, Cost: n.Cost, Share: n.Share})
		branches := slices.Clone(n.Branches)
		slices.SortStableFunc(branches, func(a, b sequence.Branch) int {
			switch {
			case a.Node.Share > b.Node.Share:
				return -1
			case a.Node.Share < b.Node.Share:
				return 1
			}
			return 0
		})
		for _, b := range branches {
			r := Result{Value: p.reads(k, b.Node, b.Outcome), Healthy: b.Outcome == p.Dict.Healthy[k], Share: b.Node.Share / n.Share}
			if b.Node.Probe >= 0 {
				r.Next = add(b.Node)
			} else {
				r.Left = p.left(b.Node)
			}
			list[at].Results = append(list[at].Results, r)
		}
		return at + 1
	}
	if p.Tree.Root.Probe >= 0 {
		add(p.Tree.Root)
	}
	return list
}

// reads is what the likeliest suspect behind a branch shows, or the healthy board
// when that is in the same class.
func (p *Plan) reads(k int, n *sequence.Node, class uint16) float64 {
	if class == p.Dict.Healthy[k] {
		return p.Dict.Reads(k, -1)
	}
	best := n.Suspects[0]
	for _, h := range n.Suspects {
		if p.P[p.Faults[h]] > p.P[p.Faults[best]] {
			best = h
		}
	}
	return p.Dict.Reads(k, p.Faults[best])
}

// left lists the parts at the end of a branch, the likeliest first.
func (p *Plan) left(n *sequence.Node) []Suspect {
	var list []Suspect
	for _, h := range n.Suspects {
		i := p.Faults[h]
		f := &p.Dict.Faults[i]
		part := f.Faults[0].Part
		k := slices.IndexFunc(list, func(s Suspect) bool { return s.Part == part })
		if k < 0 {
			k = len(list)
			list = append(list, Suspect{Part: part})
		}
		list[k].Share += p.P[i] / n.Share
		list[k].Faults = append(list[k].Faults, p.Dict.Names[i])
		for _, b := range f.Blown {
			if !slices.ContainsFunc(list[k].Blown, func(x predict.Blown) bool { return x.Part == b.Part }) {
				list[k].Blown = append(list[k].Blown, b)
			}
		}
	}
	sum := 0.0
	for _, s := range list {
		sum += s.Share
	}
	for k := range list {
		list[k].Share /= sum
	}
	slices.SortStableFunc(list, func(a, b Suspect) int {
		switch {
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		}
		return 0
	})
	return list
}

// WriteText prints the plan as a numbered checklist.
func WriteText(out io.Writer, p *Plan) error {
	o := bufio.NewWriter(out)
	b := p.Board
	fmt.Fprint(o, b.Head())
	words := make([]string, len(p.Readings))
	for i, r := range p.Readings {
		words[i] = r.Text
	}
	if len(words) > 0 {
		fmt.Fprintf(o, "read      %s\n", strings.Join(words, ", "))
	}
	steps := p.Steps()
	fmt.Fprintf(o, "order     %s, %d steps for %d faults of %d parts\n", p.Order, len(steps), len(p.Faults), p.parts())
	p.writeCosts(o)
	fmt.Fprintln(o)
	for _, c := range Cautions {
		fmt.Fprintf(o, "  ! %s\n", c)
	}
	last := ""
	for i := range steps {
		s := &steps[i]
		if c := suspects.Condition(b, s.Probe); c != last {
			last = c
			fmt.Fprintf(o, "\n%s\n", c)
		}
		p.writeStep(o, s)
	}
	fmt.Fprintln(o, "\nShares are of what comes to the step. A reading that fits no line: read it again, then look for two faults")
	fmt.Fprintln(o, "or a cause that is not in the board file; walkback narrow weighs readings together.")
	return o.Flush()
}

func (p *Plan) parts() int {
	seen := map[netlist.PartID]bool{}
	for _, i := range p.Faults {
		seen[p.Dict.Faults[i].Faults[0].Part] = true
	}
	return len(seen)
}

func minutes(s float64) string {
	if s < 90 {
		return fmt.Sprintf("%.0f s", s)
	}
	return fmt.Sprintf("%.1f min", s/60)
}

func (p *Plan) writeCosts(o *bufio.Writer) {
	t := p.Tree
	proof := fmt.Sprintf("no order costs less than %s", minutes(t.Lower))
	if t.Optimal {
		proof = "proven: no order costs less"
	}
	fmt.Fprintf(o, "costs     %s on average, %s at worst; %s\n", minutes(t.Expected), minutes(t.Worst), proof)
	line := ""
	if p.Walk != nil && p.Order != Walk {
		line = fmt.Sprintf("in walking order %s, at worst %s", minutes(p.Walk.Expected), minutes(p.Walk.Worst))
	}
	if p.Order != Half {
		if line != "" {
			line += "; "
		}
		line += fmt.Sprintf("by halves %s, at worst %s", minutes(p.Half.Expected), minutes(p.Half.Worst))
	}
	fmt.Fprintf(o, "against   %s\n", line)
}

// Cautions stand above every plan.
var Cautions = []string{
	"Cold steps: adapter and battery out, power button held for 10 s, capacitors discharged; volts on each point first: under 50 mV, only then ohms or diode mode.",
	"Never plug or unplug the panel cable with power or battery connected. ESD strap on. A swollen cell goes out of the building first.",
	"After liquid: clean and dry first, then the cold steps, then power from a current-limited supply. Local codes and licensed practice come first.",
}

func (p *Plan) writeStep(o *bufio.Writer, s *Step) {
	b := p.Board
	name := p.Model.At(s.Probe)
	fmt.Fprintf(o, "\n[ ] %2d  %s", s.Number, name)
	if place := suspects.Place(b, s.Probe); place != "" {
		fmt.Fprintf(o, "   at %s", place)
	}
	fmt.Fprintf(o, "\n        %s\n", suspects.Meter(s.Probe))
	if s.Gate {
		fmt.Fprintln(o, "        before any power")
	}
	for _, r := range s.Results {
		mark := ""
		if r.Healthy {
			mark = ", as it should be"
		}
		lead := fmt.Sprintf("        %s%s (%.0f %%)", suspects.ValueText(s.Probe, r.Value), mark, 100*r.Share)
		if r.Next > 0 {
			fmt.Fprintf(o, "%s -> step %d\n", lead, r.Next)
			continue
		}
		trace.Wrap(o, strings.TrimLeft(lead, " ")+" -> "+p.verdict(r.Left), "        ")
	}
	if c := suspects.Caution(b, s.Probe); c != "" && !s.Probe.Cold() {
		fmt.Fprintf(o, "        ! %s\n", c)
	}
}

// verdict names what is left, and what the fault has led to.
func (p *Plan) verdict(left []Suspect) string {
	var words []string
	for _, s := range left[:min(len(left), 4)] {
		text := suspects.Short(s.Faults)
		for _, x := range s.Blown {
			text += " (has blown " + p.Board.Parts[x.Part].Name + ")"
		}
		if len(left) > 1 {
			text += fmt.Sprintf(" %.0f %%", 100*s.Share)
		}
		words = append(words, text)
	}
	if n := len(left) - 4; n > 0 {
		words = append(words, fmt.Sprintf("%d more", n))
	}
	return strings.Join(words, "; ")
}
