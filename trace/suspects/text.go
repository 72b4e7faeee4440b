package suspects

import (
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
)

// WriteText prints a report for people at the bench.
func WriteText(out io.Writer, r *Report) error {
	o := say.NewWriter(out)
	r.Board.WriteHead(o)
	r.writeReadings(o)
	r.writeVerdict(o)
	r.writeActions(o)
	if r.Leads() == TwoLead {
		r.writePairs(o)
		r.writeSuspects(o)
	} else {
		r.writeSuspects(o)
		r.writePairs(o)
	}
	r.writeFuse(o)
	r.writeDangers(o)
	r.writeRunaway(o)
	r.writeNext(o)
	r.writeProofs(o)
	r.writeCleared(o)
	return o.Flush()
}

func (r *Report) writeReadings(o *say.Writer) {
	if len(r.History) > 0 {
		o.Beside("history   ", strings.Join(netlist.HistoryTexts(r.History), "; "))
	}
	if len(r.Readings) == 0 {
		fmt.Fprintln(o)
		o.Hang("", "  ", "No reading yet: suspects by how often a bench meets them.")
		return
	}
	fmt.Fprintln(o, "\nReadings")
	t := &say.Table{Indent: "  ", Words: []int{1}}
	for k := range r.Readings {
		t.Rows = append(t.Rows, say.Row(r.Readings[k].Text, r.Standing(k)))
	}
	o.Table(t)
}

// Standing says how a reading stands to a healthy board.
func (r *Report) Standing(k int) string {
	x := &r.Readings[k]
	where := r.stateText(x.Probe)
	switch {
	case r.Healthy[k] && r.Absent[k]:
		return r.notValid[k]
	case r.Healthy[k]:
		return "as on a healthy board"
	case r.Absent[k]:
		return fmt.Sprintf("differs: a healthy board does not have it while %s, it shows %s", where, r.Should[k])
	}
	return "differs: a healthy board shows " + r.Should[k]
}

// stateText names what differs from the usual state.
func (r *Report) stateText(p netlist.Probe) string {
	var words []string
	for i, v := range p.State.Setting {
		if v != 0 {
			words = append(words, r.Board.States[i].Name+"="+r.Board.States[i].Values[v])
		}
	}
	if p.State.Unplugged {
		words = append(words, "the panel is unplugged")
	}
	return strings.Join(words, " and ")
}

func (r *Report) writeVerdict(o *say.Writer) {
	tell := func(text string) { fmt.Fprintln(o); o.Beside("", text) }
	switch {
	case len(r.Readings) == 0:
		return
	case r.Fine:
		tell("Nothing here differs from a healthy board. Read what the complaint is about, in the state in which it is seen.")
		return
	case r.Single:
	case len(r.Pairs) > 0:
		tell("No single fault in the board file explains every reading; two independent faults do.")
	default:
		tell("No single fault in the board file explains every reading, and no pair of those that were tried does.")
	}
	if len(r.Clash) > 0 {
		fmt.Fprintln(o)
		o.Hang("", "  ", "These cannot all be true, read them again")
		for i, set := range r.Clash {
			if i == mostShown {
				fmt.Fprintf(o, "  and %d sets more\n", len(r.Clash)-i)
				break
			}
			o.Beside("  - ", r.Texts(set))
		}
	}
	if r.Leads() == OtherLeads {
		tell("A cause that is not in the board file leads: look for parts, joints and traces that the file leaves out, and check the file " +
			"against the board.")
	}
}

// Texts lists readings as they were typed.
func (r *Report) Texts(set []int) string { return strings.Join(r.list(set), ", ") }

// fewShown bounds the suspects in the text; the rest is told as a sum.
const fewShown = 8

func (r *Report) writeSuspects(o *say.Writer) {
	fmt.Fprintln(o)
	o.Hang("", "  ", "Suspects, each as the only fault, the likeliest first")
	rest := r.Rest
	for _, p := range r.Pairs {
		rest += p.P
	}
	rest -= r.Two // told by itself
	for i, s := range r.Suspects {
		if i >= fewShown || i > 0 && s.P < 0.005 {
			rest += s.P
			continue
		}
		o.Beside(fmt.Sprintf("  %s  ", say.Share(s.P)), r.faultText(s.Names, s.Blown))
		if s.Size != nil {
			o.Beside("            size     ", s.Size.String())
		}
		switch {
		case len(s.For) == len(r.Readings) && len(s.For) > 1:
			o.Beside("            for      ", "every reading")
		case len(s.For) > 0:
			o.Beside("            for      ", r.Texts(s.For))
		}
		if len(s.Against) > 0 {
			o.Beside("            against  ", r.Texts(s.Against))
		}
		if s.Settle != "" {
			o.Beside("            no probe tells these apart: ", s.Settle)
		}
	}
	o.Beside(fmt.Sprintf("  %s  ", say.Share(r.Other)), "a cause that is not in the board file")
	if r.Two > 0 {
		fmt.Fprintf(o, "  %s  two faults at once, see there\n", say.Share(r.Two))
	}
	fmt.Fprintf(o, "  %s  all others together\n", say.Share(rest))
}

// faultText prints a group with the fuses that it opens: what blew a fuse is the
// cause, and the fuse its victim.
func (r *Report) faultText(names []string, blown []predict.Blown) string {
	if len(blown) == 0 {
		return Short(names)
	}
	var alone, causes, fuses []string
	for _, n := range names {
		place, _, _ := strings.Cut(n, ":")
		if slices.ContainsFunc(blown, func(b predict.Blown) bool { return r.Board.Parts[b.Part].Name == place }) {
			alone = append(alone, n)
		} else {
			causes = append(causes, n)
		}
	}
	for _, b := range blown {
		fuses = append(fuses, fmt.Sprintf("%s (%s through %s)", r.Board.Parts[b.Part].Name, netlist.FormatValue(b.Amps, netlist.Ampere),
			netlist.FormatValue(b.Over, netlist.Ampere)))
	}
	text := Short(causes) + ", which blew " + strings.Join(fuses, " and ")
	if len(alone) > 0 {
		text = Short(alone) + " alone; or " + text
	}
	return text
}

const fewPairs = 5

func (r *Report) writePairs(o *say.Writer) {
	if len(r.Pairs) == 0 {
		return
	}
	fmt.Fprintln(o)
	o.Hang("", "  ", "Two faults that explain every reading between them")
	for i, p := range r.Pairs {
		if i == fewPairs {
			fmt.Fprintf(o, "         and %d pairs more\n", len(r.Pairs)-i)
			break
		}
		o.Beside(fmt.Sprintf("  %s  ", say.Share(p.P)), Short(p.Names[0]))
		o.Beside("         and  ", r.faultText(p.Names[1], p.Blown))
	}
}

func (r *Report) writeFuse(o *say.Writer) {
	if r.Fuse == nil {
		return
	}
	name := r.Board.Parts[r.Fuse.Part].Name
	fmt.Fprintln(o)
	text := name + " is open, and " + probe.Fuse + "."
	switch len(r.Fuse.Unsought) {
	case 0:
		text += " With all power out nothing that could have blown it is left in the board file: look at it and at its place for damage."
	default:
		text += " Not yet ruled out with all power out: " + strings.Join(r.Fuse.Unsought, ", ") + ". Do not put in a new one before."
		if r.Fuse.Probe == netlist.None {
			text += " No probe on the board tells them from it; see above what does."
		}
	}
	o.Beside("! ", text)
}

// writeDangers says why no power may come, where the cause may be, and what to do.
func (r *Report) writeDangers(o *say.Writer) {
	for i := range r.Dangers {
		d := &r.Dangers[i]
		fmt.Fprintln(o)
		o.Beside("! ", r.Bench.DangerText(&d.Danger))
		if names := d.Few(); names != "" {
			o.Beside("    shown by  ", names)
		}
		o.Beside("    then      ", d.Action)
		if d.Rail != netlist.None {
			o.Beside("    give it   ", r.Board.SayForm(d.Bridge()))
		}
	}
}

// writeRunaway says of what may be open and would take the limit from a rail what not to do.
func (r *Report) writeRunaway(o *say.Writer) {
	if r.Runaway != netlist.None {
		fmt.Fprintln(o)
		o.Beside("! ", probe.Sentence(r.Bench.Runaway(r.Runaway)+"; read it from end to end first, one end lifted"))
	}
}

// Few names the likeliest faults that show a danger.
func (d *Danger) Few() string {
	const few = 8
	text := Short(d.Names[:min(len(d.Names), few)])
	if n := len(d.Names) - few; n > 0 {
		text += fmt.Sprintf(" and %d more", n)
	}
	return text
}

func (r *Report) writeNext(o *say.Writer) {
	if len(r.Next) == 0 || r.Fine && len(r.Readings) > 0 && len(r.Suspects) == 0 {
		return
	}
	fmt.Fprintln(o)
	if first := r.Bench.FirstText(r.Unread()); r.Bench.Wet() && first != "" {
		o.Beside("! ", probe.Sentence(first))
		fmt.Fprintln(o)
	}
	o.Hang("", "  ", "Next, the best for its time first")
	for i, x := range r.Next {
		p := x.Probe
		o.Beside(fmt.Sprintf("  %d  ", i+1), r.Bench.Ask(p, x.Again))
		if first := r.Bench.FirstText(r.First(p)); first != "" {
			o.Beside("     first    ", first)
		}
		o.Beside("     meter    ", r.Bench.MeterText(p))
		o.Beside("     state    ", probe.Condition(r.Board, p))
		if list := r.Bench.Cautions(p); len(list) > 0 {
			o.Beside("     caution  ", strings.Join(list, "; "))
		}
		for _, out := range x.Outcomes {
			if out.P < 0.005 && !out.Healthy {
				continue
			}
			shows := ValueText(p, out.Value)
			if out.Healthy {
				shows += ", as on a healthy board"
			}
			var leaves []string
			for _, names := range out.Leaves {
				leaves = append(leaves, shorter(names))
			}
			text := fmt.Sprintf("%s: %s", shows, strings.Join(leaves, "; "))
			if out.More > 0 {
				text += fmt.Sprintf("; %d more", out.More)
			}
			o.Beside(fmt.Sprintf("     %s    ", say.Share(out.P)), text)
		}
		o.Beside("     give it  ", r.Board.SayForm(p))
	}
}

// shorter names the first faults of a group.
func shorter(names []string) string {
	const few = 2
	text := Short(names)
	if parts := strings.Split(text, ", "); len(parts) > few {
		return strings.Join(parts[:few], ", ") + "…"
	}
	return text
}

func (r *Report) writeProofs(o *say.Writer) {
	if len(r.Unsaid) > 0 {
		fmt.Fprintln(o)
		o.Beside("Not explained by "+Short(r.Suspects[0].Names)+": ", r.Texts(r.Unsaid))
	}
	if len(r.Proofs) == 0 || len(r.Readings) == 0 {
		return
	}
	fmt.Fprintln(o)
	o.Beside("", "Before a part is replaced, a second proof that does not rest on these readings")
	for parts, proof := range r.SecondProofs() {
		o.Beside("  "+parts+": ", proof)
	}
}

// SecondProofs goes through the parts that need a second proof, "C34, C35", and what
// proves it; parts of one proof stand together.
func (r *Report) SecondProofs() iter.Seq2[string, string] {
	var proofs []string
	parts := map[string][]string{}
	for _, id := range r.Proofs {
		p := &r.Board.Parts[id]
		if parts[p.Kind.Proof] == nil {
			proofs = append(proofs, p.Kind.Proof)
		}
		parts[p.Kind.Proof] = append(parts[p.Kind.Proof], p.Name)
	}
	return func(yield func(string, string) bool) {
		for _, proof := range proofs {
			if !yield(strings.Join(parts[proof], ", "), proof) {
				return
			}
		}
	}
}

func (r *Report) writeCleared(o *say.Writer) {
	if len(r.Cleared) == 0 {
		return
	}
	fmt.Fprintln(o)
	o.Hang("", "  ", "Hardly any more, and the reading that says so")
	for k := range r.Readings {
		var names []string
		for _, c := range r.Cleared {
			if c.By == k {
				names = append(names, r.Board.Parts[c.Part].Name)
			}
		}
		if len(names) > 0 {
			o.Beside("  "+r.Readings[k].Text+"  ", strings.Join(names, " "))
		}
	}
}
