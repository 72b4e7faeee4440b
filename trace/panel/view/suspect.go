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

// Suspicion is a group of faults that look alike, in words, in all test fields.
type Suspicion struct {
	Candidates []Candidate `json:"candidates"`
	Looks      string      `json:"looks"`               // what all candidates look like
	Disagrees  []string    `json:"disagrees,omitempty"` // answers that do not fit
	Look       Look        `json:"-"`                   // of the first candidate on its first link
	Cost       float64     `json:"-"`                   // 0: all answers fit

	vague   int // answers in other words than the look has, though they fit
	members []member
}

// member is a fault on one link.
type member struct {
	fault *Fault
	link  Link
	look  Look
}

// Fits reports whether there is a group to which all answers fit. When not, Suspect
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
		k, err := Describe(l, nil)
		if err != nil {
			return nil, err
		}
		all = append(all, member{nil, l, k})
		for _, f := range Singles(l) {
			if k, err = Describe(l, []Fault{f}); err != nil {
				return nil, err
			}
			all = append(all, member{&f, l, k})
		}
	}
	return all, nil
}

func rank(members []member, seen Seen) []Suspicion {
	groups := map[string]*Suspicion{}
	var order []*Suspicion
	for _, m := range members {
		key := m.look.Seen().String() + m.look.Text()
		if groups[key] == nil {
			groups[key] = &Suspicion{}
			order = append(order, groups[key])
		}
		groups[key].members = append(groups[key].members, m)
	}
	least := len(seen) + 1
	for _, s := range order {
		s.judge(seen)
		if len(s.Disagrees) > 0 { // something is wrong, so it is not nothing
			s.members = slices.DeleteFunc(s.members, func(m member) bool { return m.fault == nil })
		}
		if len(s.members) > 0 {
			least = min(least, len(s.Disagrees))
		}
	}
	var all []Suspicion
	for _, s := range order {
		if len(s.members) > 0 && len(s.Disagrees) == least {
			s.settle()
			all = append(all, *s)
		}
	}
	slices.SortStableFunc(all, func(a, b Suspicion) int { return cmp.Compare(a.score(len(seen)), b.score(len(seen))) })
	return all
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

// settle makes candidates of the members, the common ones first; equal faults of
// several links share one.
func (s *Suspicion) settle() {
	slices.SortStableFunc(s.members, func(a, b member) int { return cmp.Compare(a.rarity(), b.rarity()) })
	s.Look = s.members[0].look
	s.Looks = s.Look.Text()
	for _, m := range s.members {
		c := Candidate{m.fault, []Link{m.link}}
		i := slices.IndexFunc(s.Candidates, func(o Candidate) bool { return o.String() == c.String() })
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

// score is what groups are ordered by, low first: the more answers are in the very words
// of a look, the less counts how rare its faults are. A look that hardly anyone would come
// with comes behind. Invented.
func (s Suspicion) score(answers int) float64 {
	x := s.members[0].rarity()
	if s.vague == 0 {
		x /= 1 + float64(answers)/4
	}
	x += s.Cost + 0.2*float64(s.vague)
	if s.Look.faint {
		x += 0.25
	}
	return x
}

// judge weighs the answers. Members give the same answers in words, yet their
// colours differ a little, so the best of them counts.
func (s *Suspicion) judge(seen Seen) {
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

// says reports whether an answer has the very word of the look, of the wrong columns
// alone or of all.
func (k Look) says(a Answer) bool {
	own := k.Seen().word(a.Key)
	return own == a.Word || a.Key == "columns" && a.Word == "second" && k.second() ||
		slices.ContainsFunc(k.Fields, func(f Field) bool { return f.Show == a.Key && (f.Bad == a.Word || f.Name == a.Word) })
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
	switch {
	case a.Key == "picture" && a.Word != k.Picture && a.Word != Stable && k.Picture != Stable:
		return 0.3 // a rolling and an absent picture come of the same faults
	case a.Key == "picture":
		return unless(a.Word == k.Picture)
	case k.Picture != Stable && (a.Word == "black" || a.Word == "dark"):
		return 0.4 // a panel without a picture is dark
	case k.Picture != Stable:
		return 1
	case a.Key == "columns" && (a.Word == k.Columns || a.Word == "second" && k.second()):
		return 0
	case a.Key == "columns" && k.faint && a.Word != ColumnsExchanged:
		return 0.3 // who can see that?
	case a.Key == "columns":
		return 1
	case a.Key == "specks":
		return unless((a.Word == "yes") == k.Specks)
	case a.Key == "grey" && slices.Contains(greyWords, a.Word):
		return k.grey.cost(a.Word)
	}
	i := slices.IndexFunc(k.Fields, func(f Field) bool { return f.Show == a.Key })
	return k.Fields[i].cost(a.Word)
}

// cost is that of a word for a full field. Of a colour that is right nobody says another
// name.
func (f Field) cost(word string) float64 {
	switch {
	case word == "wrong":
		return unless(!f.right())
	case word == f.Bad || word == f.Name:
		return 0
	case f.right() && !(isGrey(word) && misnamed(f.sent, word) <= 0.5):
		return unless(word == f.Show)
	}
	return min(misnamed(f.wrong, word), misnamed(f.all, word))
}

// Question is the next thing to look at.
type Question struct {
	Show    string   `json:"show"`              // what to do
	Answers []string `json:"answers,omitempty"` // the words that can come

	left float64 // mean number of groups that stay
}

// withoutPicture is the order of the bench: what is cheap and common first (common
// practice, no source).
const withoutPicture = "check whether the panel has its supply and its light first (a torch held to the glass shows a picture " +
	"without light); then look at the clock pair and pair 2 of channel A, which carries data enable"

// Next is the look that separates the groups best, nil when there is none. What is
// answered already is not asked again. When all that is left is a panel without a
// picture no look helps, and it says what to measure.
func Next(groups []Suspicion, seen Seen) *Question {
	lit := func(g Suspicion) bool { return g.Look.Picture == Stable }
	if len(groups) > 0 && (len(groups) == 1 || seen.word("picture") != "") && !slices.ContainsFunc(groups, lit) {
		return &Question{Show: withoutPicture}
	}
	var best *Question
	for _, key := range append([]string{"picture"}, seenKeys()...) {
		if word := seen.word(key); word != "" && word != "second" {
			continue
		}
		q := ask(groups, key)
		if q.left < float64(len(groups)) && len(q.Answers) > 1 && (best == nil || q.left < best.left) {
			best = &q
		}
	}
	return best
}

// shows tells what to do for an answer.
var shows = map[string]string{
	"columns": "look at the glass with a loupe: which columns are wrong, counted from the left (1 is odd)?",
	"picture": "is the picture stable, does it roll, or is there none?",
	"specks":  "look for single specks that flicker",
	"grey":    "show a ramp of grey: is it smooth, banded, posterised or tinted?",
}

// ask weighs a question: for each group its own answer, and how many groups agree
// with that. A word that would also be said of the others separates nothing.
func ask(groups []Suspicion, key string) Question {
	const none = "no picture" // the answer for a field when there is none
	q := Question{Show: cmp.Or(shows[key], fmt.Sprintf("show full %s: which colour is it?", key))}
	left := map[string]int{}
	for _, g := range groups {
		word := cmp.Or(g.Look.Seen().word(key), none)
		if left[word] == 0 {
			q.Answers = append(q.Answers, word)
			for _, o := range groups {
				lost := o.Look.Picture != Stable
				if word == none && lost || word != none && o.Look.cost(Answer{key, word}) <= 0.5 {
					left[word]++
				}
			}
		}
		q.left += float64(left[word]) / float64(len(groups))
	}
	return q
}
