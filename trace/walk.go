package trace

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
)

// StepKind is what a step of a walk stands at.
type StepKind string

// The kinds of step.
const (
	NetStep    StepKind = "net"
	PartStep   StepKind = "part"
	LaneStep   StepKind = "lane"
	FactStep   StepKind = "fact"
	StateStep  StepKind = "state"  // the state of the board that is asked for
	ChoiceStep StepKind = "choice" // one of several that follow, indented
)

// Step is one line of a walk. Steps at greater depth are branches of the last
// step with less.
type Step struct {
	ID     int // from 1
	Parent int // ID of the step that needs this one, 0 for a symptom
	Depth  int
	Kind   StepKind
	Name   string
	Net    netlist.NetID  // of a net step, else None
	Part   netlist.PartID // of a part step, else None
	Goal   int
	At     netlist.Quantity
	Reason netlist.Reason // why the step above needs it
	Does   string         // what the part does here: "carries VMAIN to VBL_F"
	From   Pin            // the side of the part that brings it
	To     Pin            // the side of the part that passes it on
	Points []netlist.PartID
	Loads  []LoadRef // what hangs on the net and can spoil it
	Single bool      // a single point of failure of the symptom
	Source bool      // the walk ends here
	Proven bool      // an observation shows that it is right
	Held   bool      // not meant to be there in this state of the board
	Again  int       // ID of the step that shows it already, 0 when this is the first
	Loop   bool      // that step is one that this one is a need of
}

// Pin is one side of a part.
type Pin struct {
	Net   netlist.NetID // None when the part has no such side
	Label string
}

// LoadRef is a part that hangs on a net and can pull it to the wrong level.
type LoadRef struct {
	Part    netlist.PartID
	Pin     string
	How     string
	Through netlist.PartID // the part behind which it hangs, or None
	Far     netlist.NetID  // for a branch, the net it leads to, else None
}

// Walk is the answer to: what lies between these symptoms and their sources?
type Walk struct {
	Board    *netlist.Board
	Setting  netlist.Setting
	Symptoms []netlist.Observation // those that differ from healthy
	Given    []netlist.Observation // those that do not
	History  []string              // what happened to the machine, in words of netlist.Histories
	Steps    []Step
	Roots    []int // IDs of the steps of the symptoms
	Singles  []Unit
	Common   []netlist.PartID // parts of which one function, failing, explains every symptom; loads included
	Several  []netlist.PartID // chips that explain every symptom, but only if several of their functions fail
	Loops    []Loop
	Redundant
	Held []netlist.StateIs // states that keep a symptom's point from being there
	// absent names what was seen to be right by not being there in this state, and
	// absentIn the states that keep it from that.
	absent   []string
	absentIn []netlist.StateIs
	Sources  []Source
	Against  []Against    // symptoms that are not for want of something
	Graph    *Graph       // what the walk was told from
	Proven   map[int]bool // goals that the observations given show to be right
	// Computed is what a simulation of the healthy board in this state gives for each
	// net; nil when there was none.
	Computed []Computed
}

// Source is a part at which the walk ends.
type Source struct {
	Part   netlist.PartID
	Proven bool // an observation shows that it is right
}

// Redundant lists nets that survive a single fault.
type Redundant []Redundancy

// ErrNoSymptom is returned when no observation differs from healthy.
var ErrNoSymptom = errors.New("nothing here differs from a healthy board")

// walker builds a Walk.
type walker struct {
	g         *Graph
	w         *Walk
	healthy   []bool
	stepOf    map[int]int            // goal to step
	partAt    map[netlist.PartID]int // part to its first step
	open      map[int]int            // goals whose needs are being told, with the sense inputs above them
	senses    int                    // sense inputs on the way to the goal at hand
	proven    map[int]bool
	provenNet map[netlist.NetID]bool
	conducts  map[int]bool // goals of parts that a reading shows to conduct, whatever they need
	loaded    map[netlist.PartID]bool
	apart     bool                   // the panel is unplugged: what plugs leads nowhere
	out       bool                   // all power is out: switches are off, and a meter makes no diode conduct
	clear     map[netlist.NetID]bool // nets that a reading shows to have no short
	bare      map[int]bool           // goals of which only readings with all power out tell
}

// Run walks from the observations that differ from healthy to the sources.
// Observations that agree with a healthy board cut the walk short: what they
// prove is marked and not followed further. It returns ErrNoSymptom when there
// is nothing to walk from.
func Run(b *netlist.Board, s netlist.Setting, seen []netlist.Observation) (*Walk, error) {
	if len(b.Nets) == 0 {
		return nil, ErrNoSymptom
	}
	w := &Walk{Board: b, Setting: slices.Clone(s), Proven: map[int]bool{}}
	g := NewGraph(b, w.Setting)
	w.Graph = g
	sortSeen(w, seen)
	if len(w.Symptoms) == 0 {
		return nil, ErrNoSymptom
	}
	k := &walker{g: g, w: w, stepOf: map[int]int{}, partAt: map[netlist.PartID]int{}, open: map[int]int{}, proven: w.Proven,
		provenNet: map[netlist.NetID]bool{}, conducts: map[int]bool{}, loaded: map[netlist.PartID]bool{}, clear: map[netlist.NetID]bool{},
		bare: map[int]bool{}}
	roots := k.targets(w.Symptoms)
	hot, cold := split(w.Given)
	// A meter shows the same mean on a line that moves and on one that is frozen.
	hot = slices.DeleteFunc(hot, func(o netlist.Observation) bool { return o.Levels() && g.Goals[g.Seen(o)].At == netlist.Toggling })
	given := k.targets(hot)
	k.healthy = slices.Clone(g.Holds())
	for _, id := range given {
		if len(k.lost(id)) > 0 && !k.stands(id) {
			w.absent = append(w.absent, g.Name(id))
			for _, is := range k.lost(id) {
				if !slices.Contains(w.absentIn, is) {
					w.absentIn = append(w.absentIn, is)
				}
			}
		}
		k.prove(id)
	}
	for _, o := range cold {
		k.clears(o)
	}
	for _, o := range w.Symptoms {
		k.proveInput(o)
	}
	for _, r := range roots {
		if k.proven[r] {
			return nil, fmt.Errorf("%s is said to be wrong, and another observation shows that it is right", g.Name(r))
		}
	}
	for _, r := range roots {
		k.bare[r] = k.coldOnly(r)
	}
	// What only cold readings tell of is told last, so that it cuts no other walk.
	slices.SortStableFunc(roots, func(a, b int) int { return order(k.bare[a]) - order(k.bare[b]) })
	for _, r := range roots {
		w.Roots = append(w.Roots, len(w.Steps)+1)
		k.tell(r, 0, 0, netlist.NoReason)
	}
	k.loads()
	for i, r := range roots {
		k.against(r, w.Roots[i])
	}
	k.summarise(roots)
	return w, nil
}

// split parts observations by whether power was on.
func split(list []netlist.Observation) (hot, cold []netlist.Observation) {
	for _, o := range list {
		if o.Cold == nil {
			hot = append(hot, o)
		} else {
			cold = append(cold, o)
		}
	}
	return hot, cold
}

func order(last bool) int {
	if last {
		return 1
	}
	return 0
}

func (k *walker) targets(list []netlist.Observation) []int {
	var ids []int
	for _, o := range list {
		if id := k.g.Seen(o); !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return ids
}

// good reports whether what a goal is about is known to be right.
func (k *walker) good(id int) bool { return k.proven[id] || k.conducts[id] }

// prove marks what must hold when a goal does: the goals without which it
// could not.
func (k *walker) prove(root int) {
	if !k.healthy[root] {
		// In this state the point is right by not being there, which proves
		// nothing of what would bring it.
		return
	}
	e := k.g.evaluator()
	for _, id := range k.g.reachable(root, k.healthy) {
		if !k.proven[id] && k.healthy[id] && !e.runWithout(id)[root] {
			k.proven[id] = true
			if goal := &k.g.Goals[id]; goal.Kind == NetGoal {
				k.provenNet[goal.Net] = true
			}
		}
	}
}

// Name names what a goal is about.
func (g *Graph) Name(id int) string {
	goal := &g.Goals[id]
	switch goal.Kind {
	case NetGoal:
		return g.Board.Nets[goal.Net].Name
	case LaneGoal:
		return g.Board.Lanes[goal.Index].Name
	case FactGoal:
		return g.Board.Facts[goal.Index].Name
	case StateGoal:
		return g.stateName(goal)
	case NotGoal:
		if GoalKind(goal.Value) == LaneGoal {
			return "no " + g.Board.Lanes[goal.Index].Name
		}
		return "no " + g.Board.Facts[goal.Index].Name
	case TermGoal:
		return "one of"
	}
	return g.Board.Parts[goal.Part].Name
}

func (g *Graph) stateName(goal *Goal) string {
	if goal.Index == netlist.None {
		return "never"
	}
	st := &g.Board.States[goal.Index]
	if goal.truth {
		return st.Name + "=" + st.Values[goal.Value]
	}
	return st.Name + " other than " + st.Values[goal.Value]
}

var stepKinds = [...]StepKind{NetGoal: NetStep, LaneGoal: LaneStep, FactGoal: FactStep, StateGoal: StateStep, PartGoal: PartStep,
	PassGoal: PartStep, GiveGoal: PartStep, RuleGoal: PartStep, TermGoal: ChoiceStep, NotGoal: StateStep}

func (k *walker) emit(id, parent, depth int, reason netlist.Reason) *Step {
	goal := &k.g.Goals[id]
	s := Step{ID: len(k.w.Steps) + 1, Parent: parent, Depth: depth, Kind: stepKinds[goal.Kind], Name: k.g.Name(id), Net: netlist.None,
		Part: goal.Part, Goal: id, At: goal.At, Reason: reason, From: Pin{Net: netlist.None}, To: Pin{Net: netlist.None},
		Proven: k.good(id), Held: !k.healthy[id] && !k.stands(id)}
	if s.Kind == NetStep {
		s.Net = goal.Net
		s.Points = slices.Collect(k.g.Board.Points(goal.Net))
	}
	if s.Kind == ChoiceStep {
		s.Part = netlist.None
	}
	k.w.Steps = append(k.w.Steps, s)
	return &k.w.Steps[len(k.w.Steps)-1]
}

// tell writes the steps of a goal and of all that it needs.
func (k *walker) tell(id, parent, depth int, reason netlist.Reason) {
	goal := &k.g.Goals[id]
	ground := goal.Kind == NetGoal && k.g.Board.Nets[goal.Net].Ground
	if first := k.stepOf[id]; first != 0 {
		if !ground {
			s := k.emit(id, parent, depth, reason)
			senses, open := k.open[id]
			s.Again, s.Loop, s.Points = first, open && k.senses > senses, nil
		}
		return
	}
	s := k.emit(id, parent, depth, reason)
	me := s.ID
	k.stepOf[id] = me
	if ground {
		s.Source = true
		return
	}
	if s.Kind == PartStep {
		k.describe(s, goal)
	}
	// What a proven goal needs is proven too, and is not told.
	// Nor is what brings a level that no reading with power on calls wrong.
	if k.proven[id] || parent == 0 && k.bare[id] {
		return
	}
	k.open[id] = k.senses
	defer delete(k.open, id)
	switch goal.Kind {
	case NetGoal, FactGoal, TermGoal, LaneGoal:
		k.tellNeeds(goal.All, me, depth)
		k.tellChoices(goal, me, depth)
	case PassGoal:
		k.tellNeeds(goal.All[:len(goal.All)-1], me, depth)
		k.tell(goal.All[len(goal.All)-1].To, me, depth, reason)
	case GiveGoal, RuleGoal:
		k.tellNeeds(goal.All, me, depth)
		k.tellChoices(goal, me, depth)
	case PartGoal:
		k.tellNeeds(goal.All, me, depth)
	}
}

// tellNeeds writes what must hold as branches. A part's own supply is told in
// place, so that the part is not named twice.
func (k *walker) tellNeeds(list []Edge, me, depth int) {
	for _, e := range list {
		t := &k.g.Goals[e.To]
		if t.Kind == PartGoal && t.Part == k.w.Steps[me-1].Part {
			if k.stepOf[e.To] == 0 && !k.proven[e.To] {
				k.stepOf[e.To] = me
				k.tellNeeds(t.All, me, depth)
			}
			continue
		}
		if e.Reason == netlist.Sense {
			k.senses++
		}
		k.tell(e.To, me, depth+1, e.Reason)
		if e.Reason == netlist.Sense {
			k.senses--
		}
	}
}

// tellChoices writes the ways in which a goal can be met: one goes on in line,
// several are branches.
func (k *walker) tellChoices(goal *Goal, me, depth int) {
	ways := viable(goal.Any, k.healthy)
	groups := k.parallel(ways)
	for _, group := range groups {
		switch {
		case len(group) > 1 && len(groups) == 1:
			k.tellParallel(group, me, depth)
		case len(group) > 1:
			k.tellParallel(group, me, depth+1)
		case len(groups) == 1 && goal.Kind != TermGoal:
			k.tell(group[0].To, me, depth, netlist.Series)
		case goal.Kind == NetGoal:
			k.tell(group[0].To, me, depth+1, netlist.Series)
		default:
			k.tell(group[0].To, me, depth+1, group[0].Reason)
		}
	}
	for _, e := range goal.Any {
		if len(ways) < len(goal.Any) && !k.healthy[e.To] && k.stepOf[e.To] == 0 {
			// Held says that this way is closed in the present state.
			if s := k.emit(e.To, me, depth+1, netlist.NoReason); s.Kind == PartStep {
				k.describe(s, &k.g.Goals[e.To])
			}
		}
	}
}

// parallel groups ways that run side by side through one part, such as the
// ground pins of a connector.
func (k *walker) parallel(ways []Edge) [][]Edge {
	var groups [][]Edge
	for _, e := range ways {
		goal := &k.g.Goals[e.To]
		i := slices.IndexFunc(groups, func(group []Edge) bool {
			first := &k.g.Goals[group[0].To]
			return goal.Kind == PassGoal && first.Kind == PassGoal && first.Part == goal.Part && first.From == goal.From && k.stepOf[e.To] == 0
		})
		if i < 0 {
			groups = append(groups, []Edge{e})
		} else {
			groups[i] = append(groups[i], e)
		}
	}
	return groups
}

// tellParallel writes one step for ways side by side through one part.
func (k *walker) tellParallel(group []Edge, me, depth int) {
	first := &k.g.Goals[group[0].To]
	p := &k.g.Board.Parts[first.Part]
	from, to := pinOn(p, first.From, first.Channel), pinOn(p, first.Net, first.Channel)
	for _, e := range group[1:] {
		goal := &k.g.Goals[e.To]
		k.stepOf[e.To] = len(k.w.Steps) + 1
		from += ", " + strings.TrimPrefix(pinOn(p, goal.From, goal.Channel), "pin ")
		to += ", " + strings.TrimPrefix(pinOn(p, goal.Net, goal.Channel), "pin ")
	}
	at := len(k.w.Steps)
	k.tell(group[0].To, me, depth, netlist.Series)
	s := &k.w.Steps[at]
	s.From.Label, s.To.Label = plural(from), plural(to)
}

func plural(pins string) string {
	if rest, ok := strings.CutPrefix(pins, "pin "); ok {
		return "pins " + rest
	}
	return pins
}

// describe fills in what a part does in a step.
func (k *walker) describe(s *Step, goal *Goal) {
	b, p := k.g.Board, &k.g.Board.Parts[goal.Part]
	if first := k.partAt[goal.Part]; first == 0 {
		k.partAt[goal.Part] = s.ID
	} else {
		s.Again = first
	}
	s.Source = p.Kind.Form == netlist.OutForm
	switch goal.Kind {
	case PassGoal:
		s.From = Pin{goal.From, pinOn(p, goal.From, goal.Channel)}
		s.To = Pin{goal.Net, pinOn(p, goal.Net, goal.Channel)}
		s.Does = fmt.Sprintf("%s -> %s", b.Nets[goal.From].Name, b.Nets[goal.Net].Name)
		// Another contact of a connector is another thing that can fail.
		if u, _ := k.g.unit(goal); u.Channel != netlist.None {
			s.Again = 0
		}
	case GiveGoal:
		if goal.Channel == answers {
			s.Does = "must answer when it is read"
			break
		}
		s.To = Pin{goal.Net, pinOn(p, goal.Net, netlist.None)}
		switch {
		case goal.Channel == drivesBus:
			s.Does = "drives " + b.Nets[goal.Net].Name + " to read " + b.Facts[p.Rules[goal.Index].Fact].Name
		case p.Kind.Logic == netlist.NoLogic && p.Kind.Gives[goal.Index].Adds:
			s.Does = "switches " + b.Nets[goal.Net].Name
		case goal.At == netlist.Low:
			s.Does = "holds " + b.Nets[goal.Net].Name + " low"
		case goal.At == netlist.Toggling:
			s.Does = "passes the signal on to " + b.Nets[goal.Net].Name
		default:
			s.Does = "gives " + b.Nets[goal.Net].Name
		}
	case RuleGoal:
		s.Does = k.ruleText(p, goal)
	case PartGoal:
		s.Does = "must be powered"
	}
}

func (k *walker) ruleText(p *netlist.Part, goal *Goal) string {
	b, r := k.g.Board, &p.Rules[goal.Index]
	word := r.Word
	when := ""
	if r.When != nil {
		when = " when " + b.ExprText(r.When)
	}
	if word == "pulls" && goal.At == netlist.High {
		word = "lets go of"
		when = " unless " + b.ExprText(r.When)
	}
	if word == "drives" && goal.At == netlist.Low {
		word = "holds low"
		if r.When != nil {
			when = " unless " + b.ExprText(r.When)
		}
	}
	var what []string
	if r.Fact != netlist.None {
		what = append(what, b.Facts[r.Fact].Name)
		if r.From != netlist.None {
			what = append(what, "from", b.Parts[r.From].Name)
		}
	} else {
		for _, n := range r.Nets {
			what = append(what, b.Nets[n].Name)
		}
	}
	return word + " " + strings.Join(what, " ") + when
}

// pinOn names the pin of a part on a net; channel None means any.
func pinOn(p *netlist.Part, n netlist.NetID, channel int) string {
	for _, c := range p.Conns {
		if c.Net == n && (channel == netlist.None || int(c.Channel) == channel) {
			if p.Kind.Form == netlist.ArrowForm && c.Pin < 2 && p.Pin(c).Doc != "" && c.Num == "" {
				return pinWord(p.Pin(c))
			}
			return p.PinLabel(c)
		}
	}
	return ""
}

// pinWord is the name of a pin that has a word of its own; the ends of a fuse
// have none.
func pinWord(pin *netlist.Pin) string {
	switch pin.Doc {
	case "anode", "cathode", "source", "drain", "input", "output":
		return pin.Doc
	}
	return ""
}
