package plan

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
	"example.org/walkback/trace"
	"example.org/walkback/trace/checklist"
	"example.org/walkback/trace/probe"
)

// outcomes fills in what readings mean and where they lead. A point that reads
// right clears all that it needs, so the search goes on with the next need of
// the same owner; when all needs of an owner are right and its own point is
// wrong, the fault is between them.
func (m *maker) outcomes(first int) {
	for i := range first {
		p := &m.all[i]
		for k := range p.Outcomes {
			reading := p.Outcomes[k].Reading
			if (reading == "in range" || reading == "near zero" && m.goOn[i]) && i+1 < len(m.all) {
				p.Outcomes[k].Next = i + 2
			}
		}
	}
	for i := first; i < len(m.all); i++ {
		m.outcome(i, first)
	}
}

func (m *maker) outcome(i, first int) {
	p := &m.all[i]
	right, wrong := "in range", "near zero"
	if p.Probe.Method == netlist.Look {
		right, wrong = "yes", "no"
	}
	s := &m.w.Steps[p.step-1]
	if s.At == netlist.Low && s.Kind == trace.NetStep {
		wrong = "above range"
	}
	if p.Probe.Method == netlist.Activity {
		right, wrong = "alive", "quiet"
	}
	next, means := m.whenRight(i, first)
	p.Outcomes = append(p.Outcomes, checklist.Outcome{Reading: right, Healthy: true, Means: means, Next: next})
	next, means = m.whenWrong(i, first)
	if m.boosted(s) {
		means = "a coil and a diode that are good bring at least the input level: check them cold, then " + means
	}
	if cold := m.coldProbe(s.Net, first); cold > 0 && wrong == "near zero" {
		switch {
		case strings.Contains(means, fmt.Sprintf("(step %d)", cold)):
		case strings.Contains(means, loadLead):
			means += fmt.Sprintf(" (its cold check was step %d)", cold)
		default:
			means += fmt.Sprintf("; a load may hold it down too, so step %d must have read right", cold)
		}
	}
	p.Outcomes = append(p.Outcomes, checklist.Outcome{Reading: wrong, Means: means, Next: next})
	p.Outcomes = append(p.Outcomes, m.further(i, first)...)
}

// further returns the outcomes that are neither right nor missing.
func (m *maker) further(i, first int) []checklist.Outcome {
	p := &m.all[i]
	s := &m.w.Steps[p.step-1]
	switch {
	case s.Kind != trace.NetStep:
		return nil
	case m.sinks(s):
		means := "no current comes through: suspect an open contact, conductor or string on " + p.Target
		if loads := m.loadNames(s); len(loads) > 0 {
			means += ", which leads to " + strings.Join(loads, ", ")
		}
		return []checklist.Outcome{{Reading: "near zero", Means: means}}
	case s.Reason == netlist.Sense:
		next, means := m.whenRight(i, first)
		means = "the divider follows a rail that is not raised, so it is good: " + means
		chip, divider := m.regulates(s)
		low := "below its rail's share the divider is wrong: suspect " + strings.Join(divider, ", ") +
			"; where the rail is as low, it is raised too little: suspect " + chip
		return []checklist.Outcome{{Reading: "at input level", Means: means, Next: next}, {Reading: belowRange, Means: low}}
	case m.boosted(s):
		rests := m.inputText(s) + "the converter does not switch: follow its enable, dimming and sense inputs"
		holders := strings.Join(m.holders(s), ", ")
		return []checklist.Outcome{
			{Reading: "at input level", Means: rests, Next: m.nextChild(i, first)},
			{Reading: belowRange, Means: m.tooLow(s)},
			{Reading: "above range", Means: "no current is drawn, or the divider is wrong: switch off, and check cold " + holders},
		}
	}
	return nil
}

// belowRange is between input level and nominal: a converter that works, but not as it
// should.
const belowRange = "below range"

// tooLow says what a raised rail means that is raised too little: the chips that watch
// it with their dividers, and the loads.
func (m *maker) tooLow(rail *trace.Step) string {
	text := "it is raised, but too little: "
	var names []string
	for i := range m.w.Steps {
		s := &m.w.Steps[i]
		if s.Reason != netlist.Sense || s.Net == netlist.None || s.Again != 0 || !m.needs(rail.Goal, s.Goal) {
			continue
		}
		chip, divider := m.regulates(s)
		for _, name := range slices.Concat([]string{chip}, divider) {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	text += "suspect the converter and its divider"
	if len(names) > 0 {
		text += ", " + strings.Join(names, ", ")
	}
	if loads := m.loadNames(rail); len(loads) > 0 {
		text += "; or a load that takes too much: " + strings.Join(loads, ", ")
	}
	return text
}

// regulates names the chip that a sense input belongs to, and the parts that give the
// input its share of the rail.
func (m *maker) regulates(sense *trace.Step) (chip string, divider []string) {
	for _, t := range m.b.Taps(sense.Net) {
		switch p := &m.b.Parts[t.Part]; {
		case p.Pin(p.Conns[t.Conn]).Need == netlist.Sense:
			chip = p.Name
		case p.Kind.Form == netlist.ArrowForm && !slices.Contains(divider, p.Name):
			divider = append(divider, p.Name)
		}
	}
	return chip, divider
}

// holders names what keeps a raised rail from rising further: the parts on the
// sense inputs, and the contacts and strings that draw current.
func (m *maker) holders(rail *trace.Step) []string {
	var names []string
	add := func(list ...string) {
		for _, name := range list {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	for i := range m.w.Steps {
		s := &m.w.Steps[i]
		if s.Reason == netlist.Sense && s.Net != netlist.None {
			add(m.on(s.Net)...)
		}
	}
	for _, t := range m.b.Taps(rail.Net) {
		if p := &m.b.Parts[t.Part]; p.Kind.Form == netlist.RowsForm {
			add(p.Name)
		}
	}
	for i := range m.b.Parts {
		if p := &m.b.Parts[i]; p.Kind.InPanel && p.Kind.Form == netlist.ArrowForm {
			add(p.Name)
		}
	}
	return names
}

// inputText gives the input level of a converter in figures.
func (m *maker) inputText(s *trace.Step) string {
	if e, known := m.w.Expect(m.w.Steps[s.ID].From.Net); known {
		return "about " + netlist.FormatValue(e.Value, netlist.Volt) + " less a diode drop: "
	}
	return ""
}

// sinks reports whether a net is held low by drawing a current through it, so
// that it stands above zero.
func (m *maker) sinks(s *trace.Step) bool { return s.At == netlist.Low && m.x.Sinks(s.Net) }

// boosted reports whether a net gets more than its input from a converter.
func (m *maker) boosted(s *trace.Step) bool {
	if s.Kind != trace.NetStep || s.At != netlist.High || s.ID >= len(m.w.Steps) {
		return false
	}
	next := &m.w.Steps[s.ID]
	return next.Parent == s.ID && next.Part != netlist.None && oneWay(m.b.Parts[next.Part].Kind)
}

// oneWay reports whether a kind conducts one way only, as the diode behind a
// converter does.
func oneWay(k *netlist.Kind) bool {
	return slices.ContainsFunc(k.Passes, func(p netlist.Pass) bool { return p.OneWay })
}

// coldProbe returns the number of the cold check of a net, or 0.
func (m *maker) coldProbe(n netlist.NetID, first int) int {
	if n == netlist.None {
		return 0
	}
	for _, p := range m.all[:first] {
		if p.Probe.Method == netlist.Ohms && p.step > 0 && m.w.Steps[p.step-1].Net == n {
			return p.Number
		}
	}
	return 0
}

// nextChild returns the number of the first probe of what a point needs.
func (m *maker) nextChild(i, first int) int {
	for k := first; k < len(m.all); k++ {
		if m.all[k].parent == i {
			return k + 1
		}
	}
	return 0
}

func (m *maker) whenWrong(i, first int) (next int, means string) {
	if next = m.nextChild(i, first); next != 0 {
		return next, "go on towards the source"
	}
	step := m.all[i].step
	return 0, m.verdict(step, first) + m.inLoop(i, first)
}

// whenRight goes to the next need of the same owner, or ends with the owner as
// the suspect.
func (m *maker) whenRight(i, first int) (next int, means string) {
	p := &m.all[i]
	s := &m.w.Steps[p.step-1]
	means = "all that it needs is right"
	if s.Parent == 0 {
		return m.nextRoot(i), notThere
	}
	root := m.root(p.step)
	for k := i + 1; k < len(m.all); k++ {
		if q := &m.all[k]; q.parent == p.parent && m.root(q.step) == root {
			return k + 1, means
		}
	}
	owner := root
	if p.parent >= 0 {
		owner = m.all[p.parent].step
	} else if parts, _, _ := m.suspects(root); len(parts) == 0 {
		// Nothing stands between a lane and its conductors.
		return m.nextRoot(i), notThere
	}
	return 0, means + ", and " + m.w.Steps[owner-1].Name + " is wrong: " + m.verdict(owner, first)
}

const notThere = "the symptom is not there in this state: read it again, and look for a contact that comes and goes"

// root returns the step of the symptom for which another step is told.
func (m *maker) root(step int) int {
	for m.w.Steps[step-1].Parent != 0 {
		step = m.w.Steps[step-1].Parent
	}
	return step
}

// nextRoot returns the number of the first probe of the next symptom, or 0.
func (m *maker) nextRoot(i int) int {
	root := m.root(m.all[i].step)
	for k := i + 1; k < len(m.all); k++ {
		if q := &m.all[k]; q.parent < 0 && m.root(q.step) != root {
			return k + 1
		}
	}
	return 0
}

// loadLead begins the loads in a verdict.
const loadLead = "; or a load that holds it: "

// verdict names what is left when a point is wrong and all probed needs of it
// are right: the parts that bring it, their contacts, and its loads.
func (m *maker) verdict(step, first int) string {
	parts, loads, fuse := m.suspects(step)
	text := m.readToo(step, first) + "suspect " + strings.Join(parts, ", ")
	if len(parts) == 0 {
		text = "suspect the joint to the point before"
	}
	if len(loads) > 0 {
		text += loadLead + strings.Join(loads, ", ")
	}
	if fuse {
		text += "; " + probe.Fuse + m.shortChecks(step, first)
	}
	return text
}

// shortChecks names the cold checks of a point and of all that it feeds: a short
// behind a switch that is off shows only there.
func (m *maker) shortChecks(step, first int) string {
	var numbers []string
	for _, p := range m.all[:first] {
		if p.Probe.Method == netlist.Ohms && p.step > 0 && m.needs(m.w.Steps[p.step-1].Goal, m.w.Steps[step-1].Goal) {
			numbers = append(numbers, fmt.Sprint(p.Number))
		}
	}
	if len(numbers) == 0 {
		return ""
	}
	return " (step " + strings.Join(numbers, ", ") + ")"
}

// readToo names the points that this one needs as well and that are asked
// elsewhere, since another branch needed them first. Nothing is condemned while
// one of them is wrong.
func (m *maker) readToo(step, first int) string {
	var names []string
	for k := range m.w.Steps {
		s := &m.w.Steps[k]
		if s.Again == 0 || s.Part != netlist.None || s.Proven || s.Loop || !m.between(s, step) {
			continue
		}
		for _, q := range m.all[first:] {
			name := fmt.Sprintf("%s (step %d)", s.Name, q.Number)
			if q.step == s.Again && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "first see that " + strings.Join(names, " and ") + " reads right, and if not go on there; else "
}

// suspects returns the parts between a point and the next ones that are probed,
// and the loads of the point. Fuse tells that one of the parts is a fuse.
func (m *maker) suspects(step int) (parts, loads []string, fuse bool) {
	for k := range m.w.Steps {
		s := &m.w.Steps[k]
		if s.ID == step {
			loads = m.loadNames(s)
		}
		if s.Part == netlist.None || s.Proven || !m.between(s, step) {
			continue
		}
		name := s.Name
		if m.b.Parts[s.Part].Kind.Form == netlist.RowsForm {
			name = partAndPin(s)
		}
		if !slices.Contains(parts, name) {
			parts = append(parts, name)
		}
		fuse = fuse || m.b.Parts[s.Part].Kind.Victim
	}
	return parts, loads, fuse
}

// inLoop adds the suspects of the other points of a feedback loop: when one of
// them is wrong all are, so that the last one read tells no more than the first.
func (m *maker) inLoop(i, first int) string {
	inFeedback := func(id netlist.PartID) bool {
		return slices.ContainsFunc(m.w.Loops, func(l trace.Loop) bool { return l.Kind == trace.Feedback && slices.Contains(l.Parts, id) })
	}
	step := m.all[i].step
	if !slices.ContainsFunc(m.w.Steps, func(s trace.Step) bool {
		return s.Part != netlist.None && m.between(&s, step) && inFeedback(s.Part)
	}) {
		return ""
	}
	goal := func(k int) int { return m.w.Steps[m.all[k].step-1].Goal }
	mine, _, _ := m.suspects(step)
	var points, parts []string
	for k := first; k < len(m.all); k++ {
		if k == i || !m.needs(goal(i), goal(k)) || !m.needs(goal(k), goal(i)) {
			continue
		}
		points = append(points, m.all[k].Target)
		list, _, _ := m.suspects(m.all[k].step)
		for _, name := range list {
			if !slices.Contains(mine, name) && !slices.Contains(parts, name) {
				parts = append(parts, name)
			}
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return fmt.Sprintf(". It is in a feedback loop with %s, and they go wrong together: when these suspects are good, suspect %s",
		strings.Join(points, ", "), strings.Join(parts, ", "))
}

// needs reports whether a goal needs another one, directly or not.
func (m *maker) needs(goal, other int) bool {
	if m.reach[goal] == nil {
		m.reach[goal] = m.w.Graph.Reachable(goal)
	}
	return slices.Contains(m.reach[goal], other)
}

// between reports whether a part stands between a point and the next points that
// were probed on the way to the sources.
func (m *maker) between(s *trace.Step, point int) bool {
	for up := s.Parent; up != 0; up = m.w.Steps[up-1].Parent {
		if up == point {
			return true
		}
		if m.asked[up] {
			return false
		}
	}
	return false
}
