package view

import (
	"cmp"
	"fmt"
	"slices"
)

// Candidate is a fault with the links on which it gives the look.
type Candidate struct {
	Fault *Fault `json:"fault"` // nil: the link is healthy
	Links []Link `json:"links"`
}

// String names the fault.
func (c Candidate) String() string {
	if c.Fault == nil {
		return "no fault of the link"
	}
	return c.Fault.String()
}

// Suspicion is a group of faults that no test field can tell apart.
type Suspicion struct {
	Candidates []Candidate `json:"candidates"`
	Look       Look        `json:"look"`
	Cost       float64     `json:"cost"`      // 0: all answers fit
	Disagrees  []string    `json:"disagrees"` // answers that do not fit

	exact int // answers in the very word that the look has
}

// Question is the next thing to look at.
type Question struct {
	Key     string   `json:"key"`     // as in Seen
	Show    string   `json:"show"`    // what to do
	Answers []string `json:"answers"` // the words that can come
	Left    float64  `json:"left"`    // mean number of groups that stay
}

// Suspect ranks the faults of the links by how well their look agrees with what
// was seen. Groups that disagree in nothing come alone; when there are none, those
// with the fewest disagreements come.
func Suspect(links []Link, seen Seen) ([]Suspicion, error) {
	var all []Suspicion
	at := map[string]int{}
	for _, l := range links {
		if err := l.Check(); err != nil {
			return nil, err
		}
		for _, f := range append([]*Fault{nil}, pointers(Singles(l))...) {
			k, err := Describe(l, list(f))
			if err != nil {
				return nil, err
			}
			key := k.Seen().String()
			i, ok := at[key]
			if !ok {
				i = len(all)
				at[key] = i
				all = append(all, judge(k, seen))
			}
			all[i].add(f, l)
		}
	}
	least := len(seen) + 1
	for _, s := range all {
		least = min(least, len(s.Disagrees))
	}
	all = slices.DeleteFunc(all, func(s Suspicion) bool { return len(s.Disagrees) > least })
	slices.SortStableFunc(all, func(a, b Suspicion) int { return cmp.Or(cmp.Compare(a.Cost, b.Cost), cmp.Compare(b.exact, a.exact)) })
	return all, nil
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

func (s *Suspicion) add(f *Fault, l Link) {
	for i, c := range s.Candidates {
		if c.Fault == nil && f == nil || c.Fault != nil && f != nil && *c.Fault == *f {
			s.Candidates[i].Links = append(s.Candidates[i].Links, l)
			return
		}
	}
	s.Candidates = append(s.Candidates, Candidate{f, []Link{l}})
}

func judge(k Look, seen Seen) Suspicion {
	s := Suspicion{Look: k}
	own := k.Seen()
	for _, a := range seen {
		if own.word(a.Key) == a.Word {
			s.exact++
		}
		c := k.cost(a)
		s.Cost += c
		if c > 0.5 {
			s.Disagrees = append(s.Disagrees, a.Key+"="+a.Word)
		}
	}
	return s
}

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
		if k.Faint && a.Word != k.Columns && a.Word != ColumnsExchanged {
			return 0.3 // who can see that?
		}
		second := k.Columns == ColumnsOdd || k.Columns == ColumnsEven
		return unless(a.Word == k.Columns || a.Word == "second" && second)
	case "specks":
		return unless((a.Word == "yes") == k.Specks)
	case "grey":
		if c, ok := k.greyCost(a.Word); ok {
			return c
		}
	}
	for _, f := range k.Fields {
		if f.Show == a.Key {
			wrong, all := k.wrong(f)
			return min(misnamed(wrong, a.Word), misnamed(all, a.Word))
		}
	}
	return 1
}

// greyCost is the cost of a word for a ramp of grey; not ok for a colour.
func (k Look) greyCost(word string) (cost float64, ok bool) {
	coarse := k.Steps < k.Of
	switch word {
	case "ok":
		if k.Tinted || k.falls() > 0 || k.Steps < fineLimit || k.brightest() < 128 || k.darkest() > 127 {
			return 1, true
		}
		return unless(!coarse) * 0.3, true
	case "banded", "posterised":
		if word == "posterised" && coarse && k.falls() == 0 && k.Steps >= posterLimit {
			return 0.4, true
		}
		return unless(coarse || k.falls() > 0), true
	case "tinted":
		return unless(k.Tinted), true
	case "dark":
		return unless(k.brightest() < 200), true
	case "bright":
		return unless(k.darkest() > 55), true
	}
	return 0, false
}

// Next is the look that separates the groups best, nil when there is none. What is
// answered already is not asked again.
func Next(groups []Suspicion, seen Seen) *Question {
	var best *Question
	for _, key := range append([]string{"picture"}, seenKeys()...) {
		if seen.word(key) != "" && (key != "columns" || seen.word(key) != "second") || best != nil && key == best.Key {
			continue
		}
		q := ask(groups, key)
		if q.Left < float64(len(groups)) && len(q.Answers) > 1 && (best == nil || q.Left < best.Left) {
			best = &q
		}
	}
	return best
}

// ask weighs a question: for each group its own answer, and how many groups agree
// with that. A word that would also be said of the others separates nothing.
func ask(groups []Suspicion, key string) Question {
	q := Question{Key: key}
	left := map[string]int{}
	for _, g := range groups {
		word := g.Look.Seen().word(key)
		if word == "" {
			word = noAnswer
		}
		if left[word] == 0 {
			q.Answers = append(q.Answers, word)
			left[word] = agreeing(groups, Answer{key, word})
		}
		q.Left += float64(left[word]) / float64(len(groups))
	}
	switch key {
	case "columns":
		q.Show = "look at the glass with a loupe: which columns are wrong, counted from the left (1 is odd)?"
	case "picture":
		q.Show = "is the picture stable, does it roll, or is there none?"
	case "specks":
		q.Show = "look for single specks that flicker"
	case "grey":
		q.Show = "show a ramp of grey: is it smooth, banded, posterised or tinted?"
	default:
		q.Show = fmt.Sprintf("show full %s: which colour is it?", key)
	}
	return q
}

// noAnswer is the answer for a field when there is no picture.
const noAnswer = "no picture"

func agreeing(groups []Suspicion, a Answer) (n int) {
	for _, g := range groups {
		lost := g.Look.Picture != Stable
		if a.Word == noAnswer && lost || a.Word != noAnswer && g.Look.cost(a) <= 0.5 {
			n++
		}
	}
	return n
}
