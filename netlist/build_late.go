package netlist

import (
	"fmt"
	"slices"
	"strconv"

	"example.org/walkback/netlist/mistake"
)

// clashes finds lanes and facts whose name a net took further down.
func (b *builder) clashes() {
	taken := func(s Span, name string) {
		if _, ok := b.board.netIndex[name]; ok {
			b.fail(s, "duplicate", fmt.Sprintf("the name %s is taken by a net", name), "a name of its own for each net, lane and fact", "")
		}
	}
	for _, l := range b.board.Lanes {
		taken(l.Span, l.Name)
	}
	for _, f := range b.board.Facts {
		taken(f.Span, f.Name)
	}
}

// lateStatement reads symptoms and stages, once every name is known.
func (b *builder) lateStatement(st Stmt) {
	word := b.f.Text(st.Args[0].Span)
	name, ok := b.plain(st.Args[1])
	if !ok {
		b.fail(st.Args[1].Span, "name", fmt.Sprintf("the name of a %s is one word", word), b.form(word), "")
		return
	}
	if len(b.problems) >= maxProblems {
		return // nothing more is printed, and each look for a name costs time
	}
	switch word {
	case "symptom":
		b.symptomLine(name, st)
		return
	case "weight":
		b.weightLine(name, st)
		return
	}
	n, err := strconv.Atoi(name)
	if err != nil || n < 0 {
		b.fail(st.Args[1].Span, "stage-number", fmt.Sprintf("%s is not a stage number", name), b.form("stage"), "")
		return
	}
	s := Stage{Number: n, Span: st.Args[1].Span}
	for _, a := range st.Args[2:] {
		if a.Kind == TextArg {
			s.Words = unquote(b.f.Text(a.Span))
			continue
		}
		if a.Kind != WordArg {
			b.fail(a.Span, "syntax", fmt.Sprintf("%s is not expected on a stage line", b.f.Text(a.Span)), b.form("stage"), "")
			return
		}
		for _, v := range b.f.Vals(a) {
			target := b.f.Text(v.From)
			t, ok := b.board.Lookup(target)
			if !ok || v.To != (Span{}) {
				b.fail(v.From, "unknown-name", fmt.Sprintf("no net, lane or fact is called %q", target), b.form("stage"), b.near(target))
				return
			}
			s.Targets = append(s.Targets, t)
		}
	}
	if len(s.Targets) == 0 {
		b.fail(s.Span, "stage-empty", fmt.Sprintf("the stage %d has nothing that proves it", n), b.form("stage"), "")
		return
	}
	if slices.ContainsFunc(b.board.Stages, func(x Stage) bool { return x.Number == n }) {
		b.fail(s.Span, "duplicate", fmt.Sprintf("the stage %d stands twice", n), "a number of its own for each stage", "")
		return
	}
	b.board.Stages = append(b.board.Stages, s)
}

func (b *builder) weightLine(what string, st Stmt) {
	if len(st.Args) != 3 {
		b.fail(after(st.Args), "weight", "a weight is one name and one factor", b.form("weight"), "")
		return
	}
	w, m := b.board.weight(what, b.f.Text(st.Args[2].Span))
	if m == nil {
		b.board.Weights = append(b.board.Weights, w)
		return
	}
	at := st.Args[1].Span
	if m.Text == b.f.Text(st.Args[2].Span) {
		at = st.Args[2].Span
	}
	b.fail(at, "weight", m.Msg, m.Want, m.Near)
}

func (b *builder) symptomLine(name string, st Stmt) {
	s := Symptom{Name: name, Span: st.Args[1].Span}
	for i, a := range st.Args[2:] {
		last := st.Args[i+1]
		switch a.Kind {
		case TextArg:
			s.Words = unquote(b.f.Text(a.Span))
		case PairArg:
			if !b.symptomReading(&s, a) {
				return
			}
		default:
			word := b.f.Text(a.Span)
			if _, err := FindHistory(word); err != nil {
				b.noReading(a, last)
				return
			}
			if slices.Contains(s.History, word) {
				b.fail(a.Span, "duplicate", fmt.Sprintf("%s stands twice", word), "", "")
				return
			}
			s.History = append(s.History, word)
		}
	}
	if len(s.Seen) == len(s.Readings) && !slices.ContainsFunc(s.Seen, func(o Observation) bool { return o.Wrong }) {
		b.fail(s.Span, "symptom", fmt.Sprintf("the symptom %s has nothing wrong in it", name),
			"an observation that differs from healthy, such as LIGHT=no", "")
		return
	}
	if slices.ContainsFunc(b.board.Symptoms, func(x Symptom) bool { return x.Name == name }) {
		b.fail(s.Span, "duplicate", fmt.Sprintf("the symptom %s stands twice", name), "", "")
		return
	}
	b.board.Symptoms = append(b.board.Symptoms, s)
}

// noReading refuses what stands on a symptom line behind another word and is no reading:
// with a blank before it, a unit is a word of its own.
func (b *builder) noReading(a, last Arg) {
	text := b.f.Text(a.Span)
	if last.Kind == PairArg && last.list == 0 && apartUnit.MatchString(b.f.Text(last.Val.From)+" "+text) {
		b.fail(Span{last.Val.From.Start, a.Span.End}, "syntax", "in a board file a blank parts words", "number and unit together",
			b.f.word(last)+text)
		return
	}
	if near := mistake.Nearest(text, HistoryNames()); near != "" {
		b.fail(a.Span, "history", fmt.Sprintf("%s is nothing that happens to a machine", text), mistake.OneOf(HistoryNames()), near)
		return
	}
	b.fail(a.Span, "syntax", fmt.Sprintf("%s is not an observation", text), b.form("symptom"), "")
}

// symptomReading reads one reading of a symptom line. What the file alone cannot
// judge, such as ohms of a net without a declared value, is judged by who walks.
func (b *builder) symptomReading(s *Symptom, a Arg) bool {
	if a.Pin != (Span{}) || slices.ContainsFunc(b.f.Vals(a), func(v Val) bool { return v.To != (Span{}) }) {
		b.fail(a.Span, "syntax", fmt.Sprintf("%s is not an observation", b.f.Text(a.Span)), "TARGET=SEEN, with one word seen", "")
		return false
	}
	// The signs of a reading have no blanks round them, whatever the line has.
	text := b.f.word(a)
	at := a.Span
	if text != b.f.Text(at) {
		at = a.Key
	}
	r, err := b.board.ParseReading(text, b.board.Usual())
	if err != nil {
		b.failTyped(at, "observation", err)
		return false
	}
	s.Readings = append(s.Readings, r)
	if o, err := b.board.Judge(r, nil); err == nil {
		s.Seen = append(s.Seen, o)
	}
	return true
}
