package bench

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/say"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/suspects"
)

// page collects lines of text no longer than its width.
type page struct {
	width int
	lines []string
}

// line writes text that stands in as far as its first word does.
func (p *page) line(text string) {
	bare := strings.TrimLeft(text, " ")
	p.hang(text[:len(text)-len(bare)], bare)
}

// hang writes text beside a word, in lines that begin below each other.
func (p *page) hang(word, text string) {
	lines := say.Beside(word, text, p.width)
	p.lines = append(p.lines, strings.Split(strings.TrimSuffix(lines, "\n"), "\n")...)
}

// Range tells what a healthy board shows at a probe, with what the board file
// allows.
func (s *Session) Range(p netlist.Probe) string {
	k := slices.IndexFunc(s.d.Probes, p.Same)
	text := ""
	if k >= 0 {
		text = suspects.ValueText(p, s.d.Reads(k, -1))
	} else if p.Method != netlist.Look {
		text = s.n.Should(p)
	}
	if band, _ := s.x.Band(p); band.Value != 0 && band.Tol != 0 {
		unit := netlist.Volt
		if p.Method == netlist.Ohms {
			unit = netlist.Ohm
		}
		text += fmt.Sprintf(" (board file: %s to %s)", probe.LimitText(band.Low(), unit), probe.LimitText(band.High(), unit))
	}
	return text
}

// DoFirst says how the board comes from the last reading's state into that of a
// probe; empty when it is there.
func (s *Session) DoFirst(p netlist.Probe) string { return s.x.Change(s.last(&s.now), p) }

// writeStep writes what is to be done.
func (s *Session) writeStep(o *page) {
	x := s.now.step
	if still := s.still(); len(still) > 0 {
		o.hang("Still wrong  ", s.now.report.Texts(still)+", after the repair of "+s.repairedNames())
	}
	switch x.Kind {
	case Verdict:
		s.writeVerdict(o)
		return
	case Confirmed:
		s.writeConfirmed(o)
		return
	case Ask:
	}
	s.writeDangers(o)
	p := x.Probe
	o.hang(fmt.Sprintf("Probe %d  ", len(s.now.readings)+1), s.x.Ask(x.Probe, x.Again))
	o.hang("  meter    ", s.x.MeterText(p))
	o.hang("  state    ", probe.Condition(s.b, p))
	if text := s.DoFirst(p); text != "" {
		o.hang("  first    ", text)
	}
	o.hang("  healthy  ", s.Range(p))
	// A probe of the gate says so in its reason.
	list := slices.DeleteFunc(s.x.Cautions(p), func(c string) bool { return x.Reason == Gate && c == probe.NoPower })
	if len(list) > 0 {
		o.hang("  caution  ", strings.Join(list, "; "))
	}
	switch x.Reason {
	case Gate:
		text := probe.NoPower + ": " + s.x.GateWhy(p)
		if n := s.gateLeft(&s.now); n > 1 {
			text += fmt.Sprintf("; %d more of this kind", n-1)
		}
		o.hang("  because  ", text)
	case Fuse:
		o.hang("  because  ", s.b.Parts[s.now.report.Fuse.Part].Name+" is open, and "+probe.Fuse)
	case Confirms:
		o.hang("  because  ", fmt.Sprintf("it shows whether the repair helped and nothing else is wrong; %d more of this kind", s.Unchecked()-1))
	case Bridge:
		o.hang("  because  ", "it finds what joins the two")
	case Stands:
		o.hang("  because  ", "the verdict stands on this reading alone, and one misreading would overturn it")
	case Tells:
	}
	o.hang("  answer   ", Expects(p))
}

// still lists the readings since a repair that differ from a healthy board.
func (s *Session) still() []int {
	var list []int
	if len(s.now.repaired) > 0 {
		for k, healthy := range s.now.report.Healthy {
			if !healthy {
				list = append(list, k)
			}
		}
	}
	return list
}

// noneSuspected reports whether nothing that was read differs from a healthy board, and
// something was read or repaired.
func (s *Session) noneSuspected() bool {
	return s.now.report.Fine && (len(s.now.readings) > 0 || len(s.now.repaired) > 0)
}

// lead is a short line of the likeliest suspects.
func (s *Session) lead() string {
	r := s.now.report
	switch {
	case len(r.Readings) > 0:
	case len(s.now.repaired) > 0:
		return "none: nothing was read yet since the repair"
	default:
		return "none by readings yet, only by how often a bench meets them"
	}
	if s.noneSuspected() {
		return "none: nothing so far differs from a healthy board"
	}
	var words []string
	if r.Leads() == suspects.TwoLead || r.Two >= 0.05 {
		words = append(words, strings.TrimSpace(say.Share(r.Two))+" two faults at once")
	}
	for _, x := range r.Suspects[:min(3, len(r.Suspects))] {
		if x.P < 0.005 && len(words) > 0 {
			break
		}
		words = append(words, strings.TrimSpace(say.Share(x.P))+" "+shorter(x.Names))
	}
	words = append(words, strings.TrimSpace(say.Share(r.Other))+" not in the board file")
	return strings.Join(words, "; ")
}

// shorter names the first faults of a group.
func shorter(names []string) string {
	const few = 2
	parts := strings.Split(suspects.Short(names), ", ")
	if len(parts) <= few {
		return strings.Join(parts, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(parts[:few], ", "), len(parts)-few)
}

// faultText names a group with the fuses that it opens.
func (s *Session) faultText(names []string, blown []predict.Blown) string {
	text := suspects.Short(names)
	var fuses []string
	for _, x := range blown {
		fuses = append(fuses, s.b.Parts[x.Part].Name)
	}
	if len(fuses) > 0 {
		text += ", which opens " + strings.Join(fuses, " and ")
	}
	return text
}

// writeSuspects lists the suspects with what speaks for and against them.
func (s *Session) writeSuspects(o *page, most int) {
	r := s.now.report
	if s.noneSuspected() {
		o.line("  " + s.lead())
		return
	}
	for i, x := range r.Suspects {
		if i == most || i > 0 && x.P < 0.005 {
			break
		}
		o.hang("  "+say.Share(x.P)+"  ", s.faultText(x.Names, x.Blown))
		if len(x.For) > 0 {
			o.hang("         for      ", s.now.report.Texts(x.For))
		}
		if len(x.Against) > 0 {
			o.hang("         against  ", s.now.report.Texts(x.Against))
		}
		if x.Settle != "" && i == 0 {
			o.hang("         no probe tells these apart: ", x.Settle)
		}
	}
	s.writePairs(o, 3)
	o.hang("  "+say.Share(r.Other)+"  ", "a cause that is not in the board file")
}

func (s *Session) writePairs(o *page, most int) {
	for i, x := range s.now.report.Pairs {
		if i == most {
			break
		}
		o.hang("  "+say.Share(x.P)+"  ", "two at once: "+shorter(x.Names[0])+" and "+s.faultText([]string{shorter(x.Names[1])}, x.Blown))
	}
}

// writeVerdict names the suspect, or says that nothing tells more.
func (s *Session) writeVerdict(o *page) {
	r := s.now.report
	certain := s.isSure(&s.now)
	if len(r.Dangers) > 0 && !s.leadsToDanger() {
		o.hang("Verdict  ", "first what keeps power off; what else is wrong is sought after that.")
		s.writePlaces(o)
		o.line("  then r PART when it is repaired; or a reading in full, u to take one back")
		return
	}
	switch lead := r.Leads(); {
	case lead == suspects.NoneLeads:
		o.hang("Verdict  ", "nothing that was read differs from a healthy board. Read what the complaint is about, in the state in which it is "+
			"seen; give it in full, as VBL=12.2V@lid=shut.")
		return
	case lead == suspects.OtherLeads:
		o.hang("Verdict  ", "nothing in the board file explains the readings well. Read the odd ones again, compare the file with the board, "+
			"and look for parts, joints and traces that it leaves out.")
	case lead == suspects.TwoLead:
		o.hang("Verdict  ", "no single fault explains every reading; two at once do:")
		s.writePairs(o, 5)
	case certain:
		o.hang("Verdict  ", s.faultText(r.Suspects[0].Names, r.Suspects[0].Blown)+", "+strings.TrimSpace(say.Share(r.Suspects[0].P)))
	default:
		o.hang("Verdict  ", "no probe tells more. The likeliest is "+s.faultText(r.Suspects[0].Names,
			r.Suspects[0].Blown)+", "+strings.TrimSpace(say.Share(r.Suspects[0].P)))
	}
	for _, set := range r.Clash {
		o.hang("  read again   ", s.now.report.Texts(set)+": these cannot all be true of one fault")
	}
	if r.Leads() == suspects.OneLeads {
		x := r.Suspects[0]
		if len(x.For) > 0 {
			o.hang("  for it       ", s.now.report.Texts(x.For))
		}
		if len(r.Unsaid) > 0 {
			o.hang("  unexplained  ", s.now.report.Texts(r.Unsaid))
		}
		if x.Settle != "" {
			o.hang("  to settle    ", x.Settle)
		}
		if !certain {
			s.writeSuspects(o, 5)
		}
	}
	s.writeLimits(o)
	s.writeProofs(o)
	o.line("  then r when it is repaired; or g to go on probing, a reading in full, u to take one back")
}

// writeDangers says why no power may come.
func (s *Session) writeDangers(o *page) {
	for i := range s.now.report.Dangers {
		o.hang("! ", s.x.DangerText(&s.now.report.Dangers[i].Danger))
	}
}

// writeOpened warns of a new fuse before what opened the old one was repaired.
func (s *Session) writeOpened(o *page, before *standing) {
	fuses, cause := s.opened(before, s.now.repaired)
	if len(fuses) == 0 {
		return
	}
	o.hang("! ", fmt.Sprintf("%s was opened by what was not repaired, %s, and %s. The cold check comes first.", strings.Join(fuses, " and "),
		cause, probe.Fuse))
}

// leadsToDanger reports whether what leads shows what keeps power off, so that one
// verdict is for both.
func (s *Session) leadsToDanger() bool {
	return slices.ContainsFunc(s.now.report.Dangers, func(d suspects.Danger) bool {
		return slices.ContainsFunc(strings.Fields(leading(s.now.report)), func(name string) bool { return slices.Contains(d.Names, name) })
	})
}

// writePlaces names where what keeps power off may be, and what finds it.
func (s *Session) writePlaces(o *page) {
	for i := range s.now.report.Dangers {
		d := &s.now.report.Dangers[i]
		o.hang("  ! ", s.x.DangerText(&d.Danger))
		if names := d.Few(); names != "" {
			o.hang("    shown by   ", names)
		}
		o.hang("    to find it ", d.Action)
	}
}

// writeLimits says what was not sought.
func (s *Session) writeLimits(o *page) {
	r := s.now.report
	if f := r.Fuse; f != nil {
		text := s.b.Parts[f.Part].Name + " is open, and " + probe.Fuse + ". "
		if len(f.Unsought) > 0 {
			text += "Not ruled out with all power out: " + strings.Join(f.Unsought, ", ") + ". Do not put in a new one before."
		} else {
			text += "Nothing in the board file that could have blown it is left: look at it and at its place for damage."
		}
		o.hang("  ! ", text)
	}
	s.writePlaces(o)
	if len(r.Dangers) > 0 || s.gatePassed(&s.now) {
		return
	}
	var names []string
	for _, k := range s.gates {
		if passes, read := s.gateRead(&s.now, k); read && !passes {
			names = append(names, s.b.SayPoint(s.d.Probes[k]))
		}
	}
	if len(names) > 0 {
		o.hang("  ! ", probe.NoPower+", cold: "+strings.Join(names, ", "))
	} else if len(s.now.skips) > 0 {
		o.hang("  ! ", "the cold check of the high rail is not complete, so that no probe with power on was asked for")
	}
}

// writeProofs asks for a second proof for each kind that is named.
func (s *Session) writeProofs(o *page) {
	for parts, proof := range s.now.report.SecondProofs() {
		o.hang("  second proof ", parts+": "+proof)
	}
}

func (s *Session) writeConfirmed(o *page) {
	names := s.repairedNames()
	switch n := s.Unchecked(); {
	case len(s.now.readings) == 0:
		o.hang("Not confirmed  ", names+": no probe that would confirm it can be made.")
	case n > 0:
		o.hang("Confirmed in part  ", fmt.Sprintf("%s: all %d readings since are as on a healthy board, but %d probes were not made.", names,
			len(s.now.readings), n))
	default:
		o.hang("Confirmed  ", fmt.Sprintf("%s: the fault is gone, and all %d readings since are as on a healthy board.", names,
			len(s.now.readings)))
	}
	o.line("  Leave it running for a while, move the lid through its angle, and look again. x ends; all is saved.")
}

func (s *Session) repairedNames() string {
	var names []string
	for _, id := range s.now.repaired {
		names = append(names, s.b.Parts[id].Name)
	}
	return strings.Join(names, ", ")
}

// writeWhy tells why the probe of the step is asked for.
func (s *Session) writeWhy(o *page) {
	x := s.now.step
	if x.Kind != Ask {
		o.line("No probe is asked for.")
		return
	}
	o.line(fmt.Sprintf("%.2f bits for about %.0f s, %.0f s of them to bring the board into its state.", x.Bits, x.Seconds, x.Change))
	if x.Reason == Gate {
		o.line("No probe with power on is asked for before this one has passed: " + probe.Leak + ".")
	}
	if x.Reason == Bridge {
		o.line("No probe with power on is asked for before this one: what joins the two would destroy what hangs on the line.")
		return
	}
	if x.Reason == Confirms {
		o.line("After a repair each point that the fault changed is read, then what the power-up order needs.")
		return
	}
	for _, out := range s.Outcomes() {
		if out.P < 0.005 && !out.Healthy {
			continue
		}
		shows := suspects.ValueText(x.Probe, out.Value)
		if out.Healthy {
			shows += ", as on a healthy board"
		}
		var left []string
		for i, g := range out.Leaves {
			if i == 3 || g.P < 0.02 {
				left = append(left, fmt.Sprintf("%d more", len(out.Leaves)-i))
				break
			}
			name := shorter(g.Names[0])
			if len(g.Names) > 1 {
				name += " with " + shorter(g.Names[1])
			}
			left = append(left, fmt.Sprintf("%s %s", name, strings.TrimSpace(say.Share(g.P))))
		}
		o.hang("  "+say.Share(out.P)+"  ", shows+": leaves "+strings.Join(left, "; "))
	}
}

// writeOthers lists the probes to choose from.
func (s *Session) writeOthers(o *page) {
	list := s.Others()
	if len(list) == 0 {
		o.line("No other probe tells anything.")
		return
	}
	for i, x := range list {
		text := s.x.Ask(x.Probe, x.Again) + "; " + probe.Condition(s.b, x.Probe)
		o.hang(fmt.Sprintf("  %d  ", i+1), fmt.Sprintf("%s; %.2f bits, about %.0f s", text, x.Bits, x.Seconds))
	}
	o.line("  o with a number takes one of them")
}
