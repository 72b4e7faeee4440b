package view

import (
	"cmp"
	"slices"
	"strings"
)

// Candidate is a fault with the links on which it gives the look.
type Candidate struct {
	Fault *Fault   `json:"fault"` // nil: the link is healthy
	Links []Link   `json:"links"`
	Also  []string `json:"also,omitempty"` // what is said of it beyond what all of the group share
}

// String names the fault.
func (c Candidate) String() string {
	if c.Fault == nil {
		return "no fault of the link"
	}
	return c.Fault.String()
}

// Suspicion is a group of faults that give the same answers to all test fields.
type Suspicion struct {
	Candidates []Candidate `json:"candidates"`
	Shared     []string    `json:"shared"`    // what is said of all candidates
	Look       Look        `json:"look"`      // of the first candidate on its first link
	Cost       float64     `json:"cost"`      // 0: all answers fit
	Disagrees  []string    `json:"disagrees"` // answers that do not fit

	vague   int // answers in other words than the look has, though they fit
	answers int
	members []member
}

// Text is what all of a group share, in one line.
func (s Suspicion) Text() string { return strings.Join(s.Shared, "; ") }

// member is a fault on one link.
type member struct {
	fault *Fault
	link  Link
	look  Look
}

// Fits tells whether there is a group to which all answers fit. When not, Suspect
// gives the nearest ones.
func Fits(groups []Suspicion) bool {
	return slices.ContainsFunc(groups, func(s Suspicion) bool { return len(s.Disagrees) == 0 })
}

// Suspect ranks the faults of the links by how well their look agrees with what
// was seen, and by how common they are. Groups that disagree in nothing come
// alone; when there are none, those with the fewest disagreements come, and a
// healthy link is not among them.
func Suspect(links []Link, seen Seen) ([]Suspicion, error) {
	all, err := everyLook(links)
	if err != nil {
		return nil, err
	}
	return rank(all, seen), nil
}

// everyLook describes each fault of each link, and the links themselves.
func everyLook(links []Link) ([]member, error) {
	var all []member
	for _, l := range links {
		if err := l.Check(); err != nil {
			return nil, err
		}
		for _, f := range append([]*Fault{nil}, pointers(Singles(l))...) {
			k, err := Describe(l, list(f))
			if err != nil {
				return nil, err
			}
			all = append(all, member{f, l, k})
		}
	}
	return all, nil
}

func rank(members []member, seen Seen) []Suspicion {
	var all []Suspicion
	at := map[string]int{}
	for _, m := range members {
		key := m.look.Seen().String()
		i, ok := at[key]
		if !ok {
			i = len(all)
			at[key] = i
			all = append(all, Suspicion{})
		}
		all[i].members = append(all[i].members, m)
	}
	for i := range all {
		all[i].judge(seen)
	}
	all = fewestDisagreements(all, seen)
	for i := range all {
		all[i].settle()
	}
	slices.SortStableFunc(all, func(a, b Suspicion) int { return cmp.Compare(a.score(), b.score()) })
	return all
}

// fewestDisagreements leaves out the groups that disagree in more than others do.
func fewestDisagreements(all []Suspicion, seen Seen) []Suspicion {
	broken := func(m member) bool { return m.fault != nil }
	least, healthy := len(seen)+1, len(seen)+1
	for _, s := range all {
		if slices.ContainsFunc(s.members, broken) {
			least = min(least, len(s.Disagrees))
		} else {
			healthy = min(healthy, len(s.Disagrees))
		}
	}
	if healthy == 0 {
		least = 0
	}
	if least > 0 { // something is wrong, so it is not nothing
		for i := range all {
			all[i].members = slices.DeleteFunc(all[i].members, func(m member) bool { return m.fault == nil })
		}
	}
	return slices.DeleteFunc(all, func(s Suspicion) bool { return len(s.Disagrees) > least || len(s.members) == 0 })
}

// Remarks are what is to be said of answers that no fault of the links can give.
func Remarks(links []Link, seen Seen) []string {
	word := seen.word("columns")
	two := func(l Link) bool { return l.Channels == 2 }
	if !slices.Contains([]string{ColumnsOdd, ColumnsEven, ColumnsExchanged, "second"}, word) || slices.ContainsFunc(links, two) {
		return nil
	}
	return []string{"columns=" + word + ": a link with one channel cannot do this, it sends all columns over the same pairs; " +
		"look whether the panel has two channels, or whether it is the glass"}
}

func pointers(fs []Fault) []*Fault {
	var ps []*Fault
	for i := range fs {
		ps = append(ps, &fs[i])
	}
	return ps
}

func list(f *Fault) []Fault {
	if f == nil {
		return nil
	}
	return []Fault{*f}
}

// settle makes candidates of the members: equal faults of which the same is said
// share one.
func (s *Suspicion) settle() {
	slices.SortStableFunc(s.members, func(a, b member) int { return cmp.Compare(a.rarity(), b.rarity()) })
	s.Look = s.members[0].look
	shared := s.Look.said
	for _, m := range s.members[1:] {
		shared = shared.pick(m.look.said, true)
	}
	s.Shared = shared.words()
	for _, m := range s.members {
		c := Candidate{m.fault, []Link{m.link}, m.look.said.pick(shared, false).words()}
		i := slices.IndexFunc(s.Candidates, func(o Candidate) bool {
			return o.String() == c.String() && slices.Equal(o.Also, c.Also)
		})
		if i < 0 {
			s.Candidates = append(s.Candidates, c)
		} else {
			s.Candidates[i].Links = append(s.Candidates[i].Links, m.link)
		}
	}
}

// rarity is how far a fault comes behind a common one, in units of cost. That an
// open, stuck or turned pair is more usual than exchanged ones is common practice,
// the figures are invented.
func (m member) rarity() float64 {
	if m.fault == nil {
		return 0
	}
	switch m.fault.Kind {
	case Inverted, Leg:
		return 0.05
	case WrongMap, WrongDepth:
		return 0.1
	case Exchanged, OneChannel:
		return 0.15
	case Swapped:
		if m.fault.Lane.Channel != m.fault.Other.Channel {
			return 0.5
		}
		return 0.4
	case Missing, Stuck, ClockGone:
	}
	return 0
}

// How much an answer in other words, and a look that hardly anyone would come
// with, put a group back. Invented.
const (
	vagueness = 0.2
	faintness = 0.25
)

// score is what groups are ordered by, low first. The more answers have the very
// words of a look, the less counts how rare its faults are.
func (s Suspicion) score() float64 {
	x := s.members[0].rarity()
	if s.vague == 0 {
		x /= 1 + float64(s.answers)/4
	}
	x += s.Cost + vagueness*float64(s.vague)
	if s.Look.Faint {
		x += faintness
	}
	return x
}

// judge weighs the answers. Members give the same answers in words, yet their
// colours differ a little, so the best of them counts.
func (s *Suspicion) judge(seen Seen) {
	s.answers = len(seen)
	for _, a := range seen {
		c, said := 1.0, false
		for _, m := range s.members {
			c, said = min(c, m.look.cost(a)), said || m.look.says(a)
		}
		s.Cost += c
		if !said {
			s.vague++
		}
		if c > 0.5 {
			s.Disagrees = append(s.Disagrees, a.String())
		}
	}
}

// says tells whether an answer has the very word of the look, of the wrong columns
// alone or of all.
func (k Look) says(a Answer) bool {
	own := k.Seen().word(a.Key)
	if own == a.Word || a.Key == "columns" && a.Word == "second" && k.second() {
		return true
	}
	return slices.ContainsFunc(k.Fields, func(f Field) bool { return f.Show == a.Key && (f.Bad == a.Word || f.Name == a.Word) })
}

// second tells whether every second column is wrong.
func (k Look) second() bool { return k.Columns == ColumnsOdd || k.Columns == ColumnsEven }

func unless(ok bool) float64 {
	if ok {
		return 0
	}
	return 1
}

// cost is how badly an answer fits a look: 0 well, 1 not at all, above 0.5 it
// counts as a disagreement.
func (k Look) cost(a Answer) float64 {
	if a.Key == "picture" {
		if a.Word != k.Picture && a.Word != Stable && k.Picture != Stable {
			return 0.3 // a rolling and an absent picture come of the same faults
		}
		return unless(a.Word == k.Picture)
	}
	if k.Picture != Stable {
		if a.Word == "black" || a.Word == "dark" {
			return 0.4 // a panel without a picture is dark
		}
		return 1
	}
	switch a.Key {
	case "columns":
		if a.Word == k.Columns || a.Word == "second" && k.second() {
			return 0
		}
		if k.Faint && a.Word != ColumnsExchanged {
			return 0.3 // who can see that?
		}
		return 1
	case "specks":
		return unless((a.Word == "yes") == k.Specks)
	case "grey":
		if c, ok := k.greyCost(a.Word); ok {
			return c
		}
	}
	for i, f := range k.Fields {
		if f.Show != a.Key {
			continue
		}
		bad, all := k.wrong(f)
		if a.Word == "wrong" {
			return unless(distance(bad, testFields()[i].rgb) > slack)
		}
		return min(misnamed(bad, a.Word), misnamed(all, a.Word))
	}
	return 1
}

// greyCost is the cost of a word for a ramp of grey; not ok for a colour.
func (k Look) greyCost(word string) (cost float64, ok bool) {
	coarse := k.Steps < k.Of
	switch word {
	case "ok":
		if k.Tinted || k.upside() || k.falls() > 0 || k.Steps < fineLimit || k.brightest() < 128 || k.darkest() > 127 {
			return 1, true
		}
		return unless(!coarse) * 0.3, true
	case "banded", "posterised":
		if k.Tinted && k.blocky() {
			return 0.1, true // a person who sees the tint says that first
		}
		if word == "posterised" && coarse && k.falls() == 0 && k.Steps >= posterLimit {
			return 0.4, true
		}
		return unless(!k.flat() && (coarse || k.falls() > 0)), true
	case "tinted":
		return unless(k.Tinted), true
	case "upside down":
		return unless(k.upside()), true
	case "dark":
		return unless(k.brightest() < 200), true
	case "bright":
		return unless(k.darkest() > 55), true
	}
	return 0, false
}
