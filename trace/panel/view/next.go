package view

import (
	"fmt"
	"slices"
)

// Question is the next thing to look at.
type Question struct {
	Key     string   `json:"key"`               // as in Seen; empty for a check that is no answer to Suspect
	Show    string   `json:"show"`              // what to do
	Answers []string `json:"answers,omitempty"` // the words that can come
	Left    float64  `json:"left"`              // mean number of groups that stay
}

// Next is the look that separates the groups best, nil when there is none. What is
// answered already is not asked again. When all that is left is a panel without a
// picture no look helps, and it says what to measure.
func Next(groups []Suspicion, seen Seen) *Question {
	dark := func(g Suspicion) bool { return g.Look.Picture != Stable }
	if len(groups) > 0 && (len(groups) == 1 || seen.word("picture") != "") && !slices.ContainsFunc(groups, func(g Suspicion) bool { return !dark(g) }) {
		return &Question{Left: float64(len(groups)), Show: withoutPicture}
	}
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

// withoutPicture is the order of the bench: what is cheap and common first (common
// practice, no source).
const withoutPicture = "check whether the panel has its supply and its light first (a torch held to the glass shows a picture " +
	"without light); then look at the clock pair and pair 2 of channel A, which carries data enable"
