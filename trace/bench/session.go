// Package bench is a dialogue at the bench: it asks for one probe after the other,
// keeps every answer in a case file, names the suspect with its reasons, and
// confirms a repair.
//
//	s, err := bench.New(suspects.New(model), nil)
//	err = s.Answer("12.2")        // to what s.Step() asks for
//
// A Session is the state machine; Dialogue reads and answers lines of text, and
// Screen shows the same on a whole terminal. Nothing here writes to a terminal.
package bench

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/predict"
	"example.org/walkback/trace/probe"
	"example.org/walkback/trace/suspects"
)

// Kind is what a step asks for.
type Kind uint8

// The kinds of steps.
const (
	Ask       Kind = iota // a probe
	Verdict               // a suspect is named, or nothing tells more
	Confirmed             // after a repair all reads as on a healthy board
)

// Step is what is to be done next.
type Step struct {
	Kind    Kind
	Probe   netlist.Probe
	Reason  Reason
	Bits    float64 // expected information about the suspects
	Seconds float64 // with the change of the board's state
	Change  float64 // s of these for the change
	Again   bool    // it was read before

	index int // of the probe in the dictionary
}

// Reason is why a probe is asked for.
type Reason uint8

// The reasons.
const (
	Tells    Reason = iota // it tells most about the suspects for what it costs
	Gate                   // it comes before any power
	Fuse                   // the short behind an open fuse is sought
	Confirms               // it shows that a repair helped
	Stands                 // the verdict stands on it alone
	Bridge                 // what lifts a line to a rail is sought
)

// sure is the share with which a suspect is named.
const sure = 0.9

// Session is a case at the bench. It is not safe for use by several goroutines.
type Session struct {
	// Save puts an entry on disk; nothing counts before it has returned. It may be nil.
	Save func(line string) error

	n       *suspects.Narrower
	d       *predict.Dictionary
	m       *predict.Simulator
	b       *netlist.Board
	x       *probe.Bench
	costs   probe.Costs
	history []string // told at the start
	gates   []int    // probes of the dictionary that come before any power

	entries []Entry
	now     standing
}

// standing is what the entries come to.
type standing struct {
	readings []netlist.Reading // since the last repair
	history  []string          // told at the start, and by symptoms
	skips    []skip
	turned   []string // verdicts that were turned down, as leading has them
	repaired []netlist.PartID
	confirm  []int // probes of the dictionary that confirm the last repair
	report   *suspects.Report
	mass     []live
	step     Step
}

// New starts a case. The error tells of a history that is not known.
func New(n *suspects.Narrower, history []string) (*Session, error) {
	s := &Session{n: n, d: n.Dictionary(), m: n.Model(), b: n.Model().Board, x: n.Bench(), costs: probe.UsualCosts(), history: history}
	var err error
	s.now, err = s.derive(nil)
	return s, err
}

// Step returns what is to be done next.
func (s *Session) Step() Step { return s.now.step }

// Entries returns what counts of the case: what was undone is left out.
func (s *Session) Entries() []Entry { return slices.Clone(s.entries) }

// ErrNothing means that there is nothing to undo or to skip.
var ErrNothing = errors.New("there is nothing to do that with")

// Symptom takes the readings that a symptom of the board file stands for.
func (s *Session) Symptom(name string) error { return s.do(Entry{Verb: "symptom", Text: name}) }

// Read takes a reading in full, such as VBL=12.2V@lid=shut.
func (s *Session) Read(text string) error { return s.do(Entry{Verb: "reading", Text: text}) }

// Answer takes what the probe of the step showed, in short form, or any reading
// in full.
func (s *Session) Answer(text string) error {
	full, err := s.full(text)
	if err != nil {
		return err
	}
	return s.Read(full)
}

// Skip notes that the point of the step cannot be reached; with "scope" that there
// is none.
func (s *Session) Skip(what string) error {
	if what == "" {
		if s.now.step.Kind != Ask {
			return fmt.Errorf("no point is asked for: %w", ErrNothing)
		}
		what = s.b.SayPoint(s.now.step.Probe)
	}
	return s.do(Entry{Verb: "skip", Text: what})
}

// More turns a verdict down: probes go on until another suspect has nearly all, or
// none tells more.
func (s *Session) More() error {
	if s.now.step.Kind != Verdict || !s.isSure(&s.now) {
		return fmt.Errorf("no verdict that could be turned down: %w", ErrNothing)
	}
	return s.do(Entry{Verb: "not", Text: leading(s.now.report)})
}

// Repaired notes what was repaired, parts or faults; without any, the one part
// that a verdict names.
func (s *Session) Repaired(text string) error {
	if text == "" {
		parts := s.named()
		if len(parts) != 1 {
			return mistake.Mistake{Code: "word", Msg: "say which part was repaired", Want: "r PART, such as r C34, or r PART:FAULT"}
		}
		text = s.b.Parts[parts[0]].Name
	}
	return s.do(Entry{Verb: "repaired", Text: strings.Join(strings.Fields(text), " ")})
}

// Undo takes the last entry back and returns it.
func (s *Session) Undo() (Entry, error) {
	n := len(s.entries)
	if n == 0 {
		return Entry{}, fmt.Errorf("no answer to take back: %w", ErrNothing)
	}
	last := s.entries[n-1]
	return last, s.commit(s.entries[:n-1:n-1], Entry{Verb: "undo"})
}

// undoesSymptom is an error where undoing takes a symptom back that is not named: it
// mostly came with the command.
func (s *Session) undoesSymptom(named string) error {
	n := len(s.entries)
	if n == 0 || s.entries[n-1].Verb != "symptom" || s.entries[n-1].Text == named {
		return nil
	}
	name := s.entries[n-1].Text
	return mistake.Mistake{Code: "word", Msg: "this would take the symptom " + name + " back",
		Want: "u " + name + " to take it back, or x to leave"}
}

// opened lists the fuses among the repaired parts that what leads opens, and names it;
// none where a part of what leads was repaired too.
func (s *Session) opened(now *standing, parts []netlist.PartID) (fuses []string, cause string) {
	var blown []predict.Blown
	var names []string
	switch r := now.report; r.Leads() {
	case suspects.OneLeads:
		blown, names = r.Suspects[0].Blown, r.Suspects[0].Names
	case suspects.TwoLead:
		blown, names = r.Pairs[0].Blown, slices.Concat(r.Pairs[0].Names[0], r.Pairs[0].Names[1])
	case suspects.OtherLeads, suspects.NoneLeads:
	}
	for _, id := range parts {
		name := s.b.Parts[id].Name
		switch {
		case slices.ContainsFunc(blown, func(x predict.Blown) bool { return x.Part == id }):
			fuses = append(fuses, name)
		case slices.ContainsFunc(names, func(fault string) bool {
			return strings.HasPrefix(fault, name+":") || strings.HasPrefix(fault, name+".")
		}):
			return nil, ""
		}
	}
	return fuses, suspects.Short(names)
}

// do adds an entry.
func (s *Session) do(e Entry) error {
	return s.commit(append(slices.Clip(s.entries), e), e)
}

// commit makes entries count once they are on disk.
func (s *Session) commit(entries []Entry, e Entry) error {
	now, err := s.derive(entries)
	if err != nil {
		return err
	}
	if s.Save != nil {
		if err := s.Save(e.String()); err != nil {
			return err
		}
	}
	s.entries, s.now = entries, now
	return nil
}

// derive computes from the entries all that a session knows.
func (s *Session) derive(entries []Entry) (standing, error) {
	now := standing{history: s.history}
	s.stand(now.history)
	for _, e := range entries {
		if err := s.apply(&now, e); err != nil {
			return now, err
		}
	}
	var err error
	if now.report, err = s.n.Narrow(now.readings, now.history); err != nil {
		return now, err
	}
	if now.mass, err = s.mass(now.report); err != nil {
		return now, err
	}
	now.step = s.next(&now)
	return now, nil
}

// stand takes the bench as it is after what happened to the machine.
func (s *Session) stand(history []string) {
	s.x, s.gates = s.n.Bench().After(history), nil
	for k := range s.d.Probes {
		if s.x.Gates(s.d.Probes[k]) {
			s.gates = append(s.gates, k)
		}
	}
}

// apply takes one entry.
func (s *Session) apply(now *standing, e Entry) error {
	switch e.Verb {
	case "symptom":
		list, err := s.b.Readings(e.Text, s.b.Usual())
		if s.b.Symptom(e.Text) < 0 {
			list, err = nil, mistake.Mistake{Code: "word", Text: e.Text, Msg: fmt.Sprintf("no symptom is called %q", e.Text),
				Want: "one of " + strings.Join(s.b.SymptomNames(), ", "), Near: mistake.Nearest(e.Text, s.b.SymptomNames())}
		}
		now.readings = append(now.readings, list...)
		now.history = netlist.WithHistory(now.history, list)
		s.stand(now.history)
		return err
	case "reading":
		r, err := s.b.ParseReading(e.Text, s.b.Usual())
		if err != nil {
			return err
		}
		now.readings = append(now.readings, r)
		return nil
	case "skip":
		k, err := s.parseSkip(e.Text)
		now.skips = append(now.skips, k)
		return err
	case "not":
		for _, word := range strings.Fields(e.Text) {
			if word != notListed && !slices.Contains(s.d.Names, word) {
				return mistake.Mistake{Code: "word", Text: word, Msg: fmt.Sprintf("the board has no fault %q", word), Want: "a fault such as C34:short",
					Near: mistake.Nearest(word, s.d.Names)}
			}
		}
		now.turned = append(now.turned, e.Text)
		return nil
	case "repaired":
		return s.applyRepair(now, e.Text)
	}
	return mistake.Mistake{Code: "word", Text: e.Verb, Msg: fmt.Sprintf("%q is no entry of a case", e.Verb),
		Want: "one of " + strings.Join(verbs, ", "), Near: mistake.Nearest(e.Verb, verbs)}
}

// named lists the parts that a verdict names.
func (s *Session) named() []netlist.PartID {
	r := s.now.report
	if s.now.step.Kind != Verdict || r.Leads() != suspects.OneLeads {
		return nil
	}
	return r.Suspects[0].Parts
}

// skip is a point that cannot be reached, or a kind of probe that cannot be made.
type skip struct {
	probe netlist.Probe
	scope bool
}

// parseSkip reads a point as a reading names it.
func (s *Session) parseSkip(text string) (skip, error) {
	if text == "scope" {
		if _, taken := s.b.Lookup(text); !taken {
			return skip{scope: true}, nil
		}
	}
	p, err := s.b.ParsePoint(text)
	if err != nil {
		return skip{}, err
	}
	return skip{probe: p}, nil
}

// covers reports whether a probe cannot be made: a net that is out of reach is so
// for every probe that needs it.
func (k skip) covers(p netlist.Probe) bool {
	q := k.probe
	switch {
	case k.scope:
		return p.Method == netlist.Activity
	case q.Part != netlist.None:
		return p.Part == q.Part && p.Channel == q.Channel
	case q.Other != netlist.None:
		return p.Net == q.Net && p.Other == q.Other || p.Net == q.Other && p.Other == q.Net
	case q.Net != netlist.None:
		return p.Net == q.Net || p.Other == q.Net
	}
	return q.Fact != netlist.None && p.Fact == q.Fact
}

func skipped(skips []skip, p netlist.Probe) bool {
	return slices.ContainsFunc(skips, func(k skip) bool { return k.covers(p) })
}
