package trace

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/walkback/netlist"
)

// How a reading with all power out goes against a healthy board. None of them says
// that what should bring a level is missing.
const (
	Loaded  AgainstKind = "loaded"  // a net reads too little to ground
	Open    AgainstKind = "open"    // a part or a net conducts too little
	Bridged AgainstKind = "bridged" // a part, or what lies between two nets, conducts too much
)

// PowerOff reports whether a symptom that was read with all power out shows a load or a
// bridge, or that nothing limits a rail, which must be found before any power.
func (w *Walk) PowerOff() bool {
	return slices.ContainsFunc(w.Against, func(a Against) bool {
		return a.Kind == Loaded || a.Kind == Bridged || w.unlimited(&a) != netlist.None
	})
}

// unlimited returns the rail that nothing limits while a part reads too much from end to
// end; None where no rail hangs on it.
func (w *Walk) unlimited(a *Against) netlist.NetID {
	root := &w.Graph.Goals[a.Root]
	if a.Kind != Open || root.Kind != PartGoal {
		return netlist.None
	}
	return w.Board.UpperLeg(root.Part)
}

// Seen adds the goal that an observation is about and returns its place in Goals: of
// ohms from end to end of a part the part, of ohms between two nets the first.
func (g *Graph) Seen(o netlist.Observation) int {
	switch {
	case o.Cold == nil || o.Target.Net != netlist.None:
		return g.Want(o.Target)
	case o.Cold.Part == netlist.None:
		return g.Want(netlist.Target{Net: o.Cold.Net, Lane: netlist.None, Fact: netlist.None})
	}
	id := g.part(o.Cold.Part)
	g.grow()
	return id
}

// coldOnly reports whether every symptom at a goal was read with all power out, so
// that nothing tells of what should bring its level.
func (k *walker) coldOnly(root int) bool {
	return !slices.ContainsFunc(k.w.Symptoms, func(o netlist.Observation) bool { return o.Cold == nil && k.g.Seen(o) == root })
}

// clears uses a reading with all power out that is as on a healthy board: a net has no
// short, also where one would be felt through parts that conduct; a part conducts.
func (k *walker) clears(o netlist.Observation) {
	p := o.Cold
	k.out, k.apart = true, p.State.Unplugged
	defer func() { k.out, k.apart = false, false }()
	switch {
	case o.Target.Net != netlist.None:
		k.clear[p.Net] = true
		k.hanging(p.Net, netlist.High, func(netlist.NetID) bool { return false },
			func(_ netlist.PartID, _ netlist.Conn, at branch, _ netlist.NetID) {
				k.clear[at.net] = true
			})
	case p.Part != netlist.None:
		for id := range k.g.Goals {
			goal := &k.g.Goals[id]
			if goal.Kind != PassGoal || !o.Through(k.g.Board, goal.Part, goal.Channel) {
				continue
			}
			// What a switch or a diode reads cold does not tell that it carries a level.
			if ps := &k.g.Board.Parts[p.Part].Kind.Passes[goal.Index]; ps.Control == "" && !ps.OneWay && !ps.AC {
				k.conducts[id] = true
			}
		}
	}
}

// coldSymptoms lists the readings with all power out that make a goal a symptom: a load
// first, then a bridge, since these keep power off, whatever else was read there.
func (k *walker) coldSymptoms(root int) []netlist.Observation {
	var list []netlist.Observation
	for _, o := range k.w.Symptoms {
		if o.Cold != nil && k.g.Seen(o) == root {
			list = append(list, o)
		}
	}
	slices.SortStableFunc(list, func(a, b netlist.Observation) int { return cmp.Compare(gravity(a), gravity(b)) })
	return list
}

func gravity(o netlist.Observation) int {
	switch {
	case !o.Below:
		return 2
	case o.Cold.Part != netlist.None || o.Cold.Other != netlist.None:
		return 1
	}
	return 0
}

// againstCold notes a symptom that was read with all power out, and its suspects. The
// gravest at a goal says what hangs on its step.
func (k *walker) againstCold(root, step int, o netlist.Observation, gravest bool) {
	b, p := k.g.Board, o.Cold
	k.out, k.apart = true, p.State.Unplugged
	defer func() { k.out, k.apart = false, false }()
	a := Against{Root: root, Name: b.SayPoint(*p), Seen: b.ObservationText(o), Ohms: o.Value}
	add := func(list ...netlist.PartID) {
		for _, id := range list {
			if !slices.Contains(a.Suspects, id) {
				a.Suspects = append(a.Suspects, id)
			}
		}
	}
	switch {
	case p.Part != netlist.None && o.Below:
		a.Kind = Bridged
		add(p.Part)
		ends, _ := b.ChannelEnds(p.Part, p.Channel)
		add(k.between(ends)...)
	case p.Part != netlist.None:
		a.Kind = Open
		add(p.Part)
	case p.Other != netlist.None && o.Below:
		a.Kind = Bridged
		add(k.between([2]netlist.NetID{p.Net, p.Other})...)
	case p.Other != netlist.None:
		a.Kind = Open
		add(k.conductors(p.Net)...)
		add(k.conductors(p.Other)...)
	case o.Below:
		a.Kind = Loaded
		add(k.hangers(p.Net, netlist.High, func(*netlist.Part) bool { return true })...)
	default:
		a.Kind = Open
		add(k.conductors(p.Net)...)
	}
	k.w.Against = append(k.w.Against, a)
	if !gravest {
		return
	}
	s := &k.w.Steps[step-1]
	s.Held = false
	s.Loads = slices.DeleteFunc(s.Loads, func(l LoadRef) bool { return a.Kind != Loaded || !slices.Contains(a.Suspects, l.Part) })
	if s.Kind == PartStep {
		s.Does = "from end to end, all power out"
	}
}

// between lists the parts that stand on both of two nets, and can bridge them.
func (k *walker) between(ends [2]netlist.NetID) []netlist.PartID {
	var list []netlist.PartID
	for _, t := range k.g.Board.Taps(ends[0]) {
		p := &k.g.Board.Parts[t.Part]
		if p.Kind.Form != netlist.SingleForm && slices.ContainsFunc(p.Conns, func(c netlist.Conn) bool { return c.Net == ends[1] }) {
			list = append(list, t.Part)
		}
	}
	return list
}

// conductors lists the parts on a net through which a meter's current flows on a
// healthy board: all but capacitors and what is unplugged.
func (k *walker) conductors(n netlist.NetID) []netlist.PartID {
	var list []netlist.PartID
	for _, t := range k.g.Board.Taps(n) {
		p := &k.g.Board.Parts[t.Part]
		if k.apart && p.Kind.Plugs {
			continue
		}
		if p.Kind.Form != netlist.SingleForm && (len(p.Kind.Passes) == 0 || !p.Kind.Passes[0].AC) {
			list = append(list, t.Part)
		}
	}
	return list
}

// coldText says what a symptom that was read with all power out means.
func (w *Walk) coldText(a *Against) string {
	list := strings.Join(w.partList(a.Suspects), ", ")
	if list == "" {
		list = "nothing in the board file"
	}
	root := &w.Graph.Goals[a.Root]
	switch {
	case a.Kind == Loaded:
		return fmt.Sprintf("%s, less than on a healthy board: something loads %s, so nothing that brings it needs to be missing. Suspect what "+
			"hangs on it, also behind parts that conduct: %s. Put no power on before it is found.", a.Seen, a.Name, list)
	case a.Kind == Bridged && a.Ohms >= bridgeOhms:
		return fmt.Sprintf("%s, less than on a healthy board: a way beside %s conducts that should not, or its own resistance has fallen. "+
			"Suspect %s, what else leads from one end to the other, or dirt and liquid beside them.", a.Seen, a.Name, list)
	case a.Kind == Bridged:
		return fmt.Sprintf("%s, less than on a healthy board: something bridges %s. Suspect %s, or a bridge of solder or dirt beside them. "+
			"Put no power on before it is found.", a.Seen, a.Name, list)
	case root.Kind == PartGoal:
		text := a.risen() + fuseText(&w.Board.Parts[root.Part])
		if rail := w.unlimited(a); rail != netlist.None {
			text += fmt.Sprintf(" It is the upper leg of the divider that limits %s: do not power, the rail can run away.", w.Board.Nets[rail].Name)
		}
		return text
	}
	return fmt.Sprintf("%s, more than on a healthy board: what should conduct there does not. Suspect an open part, joint or contact: %s, "+
		"or a test point that is not joined to the net.", a.Seen, list)
}

// bridgeOhms is up to what a bridge of solder or a shorted part reads, in Ω with the leads
// of the meter; common practice, no source.
const bridgeOhms = 10

// risen says that a part reads too much from end to end.
func (a *Against) risen() string {
	if math.IsInf(a.Ohms, 1) {
		return fmt.Sprintf("%s, more than on a healthy board: %s does not conduct. Suspect it and its joints.", a.Seen, a.Name)
	}
	return fmt.Sprintf("%s, more than on a healthy board: %s conducts, but not as well as it should. Suspect that its resistance has risen, "+
		"a "+
		"poor joint or contact of it, or a way beside it that is open.", a.Seen, a.Name)
}

// fuseText says what comes before a new fuse; empty for another part.
func fuseText(p *netlist.Part) string {
	if !p.Kind.Victim {
		return ""
	}
	return " It is a fuse: find what overloaded it before a new one goes in."
}

// SamePoint reports whether two observations were made in the same way at the same
// point, so that only one of them can be right.
func SamePoint(a, b netlist.Observation) bool {
	switch {
	case a.Target != b.Target || (a.Cold == nil) != (b.Cold == nil):
		return false
	case a.Cold != nil:
		return a.Cold.Same(*b.Cold)
	}
	return a.Moves() == b.Moves()
}
