package trace

import (
	"fmt"
	"slices"
	"strings"

	"example.org/walkback/netlist"
)

// Against is a symptom that no missing need explains: a level that is too high,
// a current that does not come through, or something that is on when the state
// of the board should keep it off. The walk tells what brings the point; the
// suspects here are what fails to hold it.
type Against struct {
	Root     int // goal
	Name     string
	Seen     string  // of a reading with all power out: as typed
	Ohms     float64 // of a reading with all power out, in Ω or in V of diode mode; +Inf for OL
	Kind     AgainstKind
	While    []netlist.StateIs // of StuckOn: what should keep it off
	Suspects []netlist.PartID
}

// AgainstKind tells how a symptom goes against the walk.
type AgainstKind string

// The kinds.
const (
	TooHigh   AgainstKind = "too-high"
	NoCurrent AgainstKind = "no-current"
	StuckOn   AgainstKind = "stuck-on"
)

// sortSeen tells symptoms from observations that agree with a healthy board. A
// fact or a lane that is there while the state should keep it off is a symptom.
func sortSeen(w *Walk, seen []netlist.Observation) {
	for _, o := range seen {
		id := w.Graph.Seen(o)
		idle := o.Target.Lane != netlist.None && w.Board.Lanes[o.Target.Lane].Idle
		if !o.Wrong && !idle && o.Target.Net == netlist.None && !w.Graph.Holds()[id] {
			o.Wrong, o.Above = true, true
		}
		if o.Wrong {
			w.Symptoms = append(w.Symptoms, o)
		} else {
			w.Given = append(w.Given, o)
		}
	}
}

// against notes a symptom that goes against the walk.
func (k *walker) against(root, step int) {
	if list := k.coldSymptoms(root); len(list) > 0 {
		for i, o := range list {
			k.againstCold(root, step, o, i == 0)
		}
		return
	}
	goal := &k.g.Goals[root]
	var seen netlist.Observation
	for _, o := range k.w.Symptoms {
		if k.g.Seen(o) == root {
			seen = o
		}
	}
	a := Against{Root: root, Name: k.g.Name(root)}
	switch {
	case !k.healthy[root] && seen.Above:
		a.Kind = StuckOn
		a.While = k.lost(root)
		if a.Suspects = k.switches(root); len(a.Suspects) == 0 && goal.Kind == NetGoal {
			// Nothing is switched on the way: what else is on the net can hold it up.
			a.Suspects = k.hangers(goal.Net, netlist.Low, func(p *netlist.Part) bool { return len(p.Kind.Passes) == 0 || !p.Kind.Passes[0].AC })
		}
	case goal.Kind == NetGoal && goal.At == netlist.High && seen.Above:
		a.Kind = TooHigh
		a.Suspects = k.holders(root, goal)
	case goal.Kind == NetGoal && goal.At == netlist.Low && seen.Below:
		a.Kind = NoCurrent
		a.Suspects = k.hangers(goal.Net, netlist.High, func(*netlist.Part) bool { return true })
	default:
		return
	}
	k.w.Steps[step-1].Held = false
	k.w.Against = append(k.w.Against, a)
}

func (k *walker) isAgainst(root int) *Against {
	i := slices.IndexFunc(k.w.Against, func(a Against) bool { return a.Root == root })
	if i < 0 {
		return nil
	}
	return &k.w.Against[i]
}

// lost returns the present states that keep a goal from holding, none when it
// holds.
func (k *walker) lost(root int) []netlist.StateIs {
	if k.healthy[root] {
		return nil
	}
	var list []netlist.StateIs
	for _, id := range k.g.reachable(root, k.healthy) {
		goal := &k.g.Goals[id]
		if goal.Kind != StateGoal || goal.Index == netlist.None || k.healthy[id] {
			continue
		}
		if is := (netlist.StateIs{State: goal.Index, Value: k.g.Setting[goal.Index]}); !slices.Contains(list, is) {
			list = append(list, is)
		}
	}
	return list
}

// stands reports whether the board file expects a level on a net in this state, though
// another than the walk asks for: a rail at the level of its input.
func (k *walker) stands(id int) bool {
	goal := &k.g.Goals[id]
	if goal.Kind != NetGoal || goal.At == netlist.Low {
		return false
	}
	e, known := k.g.Board.ExpectIn(goal.Net, k.g.Setting)
	return known && (goal.At == netlist.Toggling && e.Swing > 0 || goal.At != netlist.Toggling && e.Value >= netlist.LowBelow)
}

// switches returns the parts that should be off on the way to a goal, and what
// should hold their inputs at the level that keeps them off.
func (k *walker) switches(root int) []netlist.PartID {
	var list []netlist.PartID
	add := func(p netlist.PartID) {
		if !slices.Contains(list, p) {
			list = append(list, p)
		}
	}
	for _, id := range k.g.reachable(root, k.healthy) {
		goal := &k.g.Goals[id]
		switch {
		case k.healthy[id]:
		case goal.Kind == PassGoal:
			// Only what is switched can fail to be off.
			if k.g.Board.Parts[goal.Part].Kind.Passes[goal.Index].Control != "" {
				add(goal.Part)
			}
		case goal.Kind == GiveGoal, goal.Kind == RuleGoal && !k.g.Board.Parts[goal.Part].Kind.InPanel:
			add(goal.Part)
		case goal.Kind == NetGoal && k.stepOf[id] != 0 && k.w.Steps[k.stepOf[id]-1].Reason == netlist.Enable:
			for _, l := range k.w.Steps[k.stepOf[id]-1].Loads {
				if l.Through == netlist.None && k.g.Board.Parts[l.Part].Kind.EitherWay {
					add(l.Part)
				}
			}
		}
	}
	return list
}

// holders returns what keeps a level from rising: the sense inputs of what makes
// it, with all that hangs on them, and what draws current from it.
func (k *walker) holders(root int, goal *Goal) []netlist.PartID {
	var list []netlist.PartID
	add := func(p netlist.PartID) {
		if !slices.Contains(list, p) {
			list = append(list, p)
		}
	}
	for _, id := range k.g.reachable(root, k.healthy) {
		for _, e := range k.g.Goals[id].All {
			if e.Reason != netlist.Sense {
				continue
			}
			sense := &k.g.Goals[e.To]
			for _, t := range k.g.Board.Taps(sense.Net) {
				if k.g.Board.Parts[t.Part].Kind.Form != netlist.SingleForm {
					add(t.Part)
				}
			}
		}
	}
	if len(list) == 0 {
		// Nothing senses the level: what makes it is left.
		for _, e := range viable(goal.Any, k.healthy) {
			add(k.g.Goals[e.To].Part)
		}
	}
	for _, p := range k.hangers(goal.Net, netlist.High,
		func(p *netlist.Part) bool { return p.Kind.InPanel || p.Kind.Form == netlist.RowsForm }) {
		add(p)
	}
	return list
}

// hangers returns the parts that hang on a net, also behind parts that conduct.
func (k *walker) hangers(n netlist.NetID, q netlist.Quantity, want func(*netlist.Part) bool) []netlist.PartID {
	var list []netlist.PartID
	k.hanging(n, q, func(far netlist.NetID) bool { return k.provenNet[far] || k.clear[far] },
		func(id netlist.PartID, _ netlist.Conn, _ branch, _ netlist.NetID) {
			if want(&k.g.Board.Parts[id]) && !slices.Contains(list, id) {
				list = append(list, id)
			}
		})
	return list
}

// AgainstText says in a sentence each what the walk alone would get wrong.
func (w *Walk) AgainstText() []string {
	var lines []string
	for i := range w.Against {
		a := &w.Against[i]
		suspects := strings.Join(w.partList(a.Suspects), ", ")
		switch a.Kind {
		case StuckOn:
			if len(a.While) == 0 {
				lines = append(lines,
					fmt.Sprintf("%s is there though nothing in the board file should bring it in this state. Suspect what can hold it up: %s.", a.Name,
						suspects))
				break
			}
			lines = append(lines, fmt.Sprintf("%s is there though %s should keep it off. One of these does not switch off: %s.", a.Name,
				w.stateList(a.While), suspects))
		case TooHigh:
			lines = append(lines, fmt.Sprintf("%s is too high, so nothing that brings it is missing. Suspect what should hold it: %s.", a.Name,
				suspects))
		case Loaded, Open, Bridged:
			lines = append(lines, w.coldText(a))
		case NoCurrent:
			lines = append(lines,
				fmt.Sprintf("%s is too low, so no current comes to it. Suspect what should bring one, an open contact, conductor or string: %s.",
					a.Name, suspects))
		}
	}
	return lines
}

// inputShare is how far below its input the output of a converter that does not
// switch may stand: a coil and a diode drop. Common practice: 0.2 to 0.4 V.
const inputShare = 0.85

// proveInput uses a rail that stands at the input level of its converter: the
// coil and the diode carry that level, so they conduct and all before them is right.
func (k *walker) proveInput(o netlist.Observation) {
	if o.Cold != nil || o.Target.Net == netlist.None || !o.Below {
		return
	}
	var path []int
	id := k.g.Want(o.Target)
	for {
		goal := &k.g.Goals[id]
		if goal.Kind != NetGoal || len(viable(goal.Any, k.healthy)) != 1 {
			return
		}
		pass := viable(goal.Any, k.healthy)[0].To
		if k.g.Goals[pass].Kind != PassGoal {
			return
		}
		path = append(path, pass)
		raised := len(goal.All) > 0
		all := k.g.Goals[pass].All
		id = all[len(all)-1].To
		if raised {
			break
		}
	}
	e, known := k.g.Board.ExpectIn(k.g.Goals[id].Net, k.w.Setting)
	v, err := netlist.ParseValue(o.Word, netlist.Volt)
	if o.Word != "input" && (err != nil || !known || v < e.Value*inputShare || v > e.High()) {
		return
	}
	k.prove(id)
	for _, pass := range path {
		k.conducts[pass] = true
	}
}
