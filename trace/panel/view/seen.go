package view

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/walkback/netlist"
)

// Answer is one thing that a person saw.
type Answer struct {
	Key  string `json:"key"`
	Word string `json:"word"`
}

// Seen is all that a person saw.
type Seen []Answer

// String is the text that ParseSeen reads.
func (s Seen) String() string {
	var p []string
	for _, a := range s {
		p = append(p, a.Key+"="+a.Word)
	}
	return strings.Join(p, " ")
}

// word is the answer to a key, or "".
func (s Seen) word(key string) string {
	for _, a := range s {
		if a.Key == key {
			return a.Word
		}
	}
	return ""
}

// seenKeys are the keys, first the fields.
func seenKeys() []string {
	var ks []string
	for _, f := range testFields() {
		ks = append(ks, f.name)
	}
	return append(ks, "columns", "picture", "specks")
}

// wordsFor gives the words of a key, and other spellings of them.
func wordsFor(key string) (words []string, same map[string]string) {
	switch key {
	case "columns":
		return []string{"all", "second", "odd", "even", "exchanged", "ok"}, map[string]string{
			"every": "all", "each": "all", "every second": "second", "half": "second", "right": "ok", "ragged": "exchanged"}
	case "picture":
		return []string{Stable, NoneSeen, Unstable}, map[string]string{
			"ok": Stable, "yes": Stable, "no": NoneSeen, "dark": NoneSeen, "black": NoneSeen, "unstable": Unstable, "flickers": Unstable}
	case "specks":
		return []string{"yes", "no"}, nil
	case "grey":
		same = maps.Clone(otherNames())
		same["banding"], same["right"], same["posterized"] = "banded", "ok", "posterised"
		return append([]string{"ok", "banded", "posterised", "tinted", "dark", "bright"}, colourWords()...), same
	}
	return colourWords(), otherNames()
}

// ParseSeen reads answers such as "white=cyan black=black columns=second"; a colour
// may have two words ("white=light blue").
func ParseSeen(text string) (Seen, error) {
	ts := cutWords(text, "=,;")
	var s Seen
	for i := 0; i < len(ts); {
		if ts[i].word == "," || ts[i].word == ";" {
			i++
			continue
		}
		a, next, err := readAnswer(text, ts, i)
		if err != nil {
			return nil, err
		}
		if old := s.word(a.Key); old != "" {
			return nil, &SyntaxError{Text: text, Column: ts[i].column, Msg: fmt.Sprintf("%s has an answer already, %q", a.Key, old)}
		}
		s, i = append(s, a), next
	}
	if len(s) == 0 {
		return nil, &SyntaxError{Text: text, Column: 1, Msg: "no answer", Want: "such as white=cyan columns=second"}
	}
	return s, nil
}

func isMark(w string) bool { return w == "=" || w == "," || w == ";" }

// readAnswer reads "key = word..." from token i on.
func readAnswer(text string, ts []token, i int) (Answer, int, error) {
	key := strings.ToLower(ts[i].word)
	if key == "gray" || key == "ramp" {
		key = "grey"
	}
	if !slices.Contains(seenKeys(), key) {
		return Answer{}, 0, &SyntaxError{Text: text, Column: ts[i].column, Msg: fmt.Sprintf("%q is nothing to look at", ts[i].word),
			Want: strings.Join(seenKeys(), ", "), Near: netlist.Nearest(ts[i].word, seenKeys())}
	}
	if i+1 >= len(ts) || ts[i+1].word != "=" {
		return Answer{}, 0, &SyntaxError{Text: text, Column: ts[i].column + len(ts[i].word), Msg: "no = after " + key, Want: key + "=..."}
	}
	first, end := i+2, i+2
	for end < len(ts) && !isMark(ts[end].word) && (end+1 >= len(ts) || ts[end+1].word != "=") {
		end++
	}
	words, same := wordsFor(key)
	if first == end {
		return Answer{}, 0, &SyntaxError{Text: text, Column: ts[i+1].column + 1, Msg: "nothing after " + key + "=", Want: strings.Join(words, ", ")}
	}
	var got []string
	for _, t := range ts[first:end] {
		got = append(got, strings.ToLower(strings.ReplaceAll(t.word, "-", " ")))
	}
	word := strings.Join(got, " ")
	if w, ok := same[word]; ok {
		word = w
	}
	if !slices.Contains(words, word) {
		return Answer{}, 0, &SyntaxError{Text: text, Column: ts[first].column, Msg: fmt.Sprintf("%q is no answer for %s", word, key),
			Want: strings.Join(words, ", "), Near: netlist.Nearest(word, append(words, slices.Sorted(maps.Keys(same))...))}
	}
	return Answer{key, word}, end, nil
}

// Seen are the answers of a person with good eyes and all test fields.
func (k Look) Seen() Seen {
	s := Seen{{"picture", k.Picture}}
	if k.Picture != Stable {
		return s
	}
	for i, f := range testFields() {
		word := k.Fields[i].Name
		if f.name == "grey" {
			word = k.greyWord()
		}
		s = append(s, Answer{f.name, word})
	}
	specks := "no"
	if k.Specks {
		specks = "yes"
	}
	return append(s, Answer{"columns", k.Columns}, Answer{"specks", specks})
}

// posterLimit is the number of steps below which bands jump to the eye; from
// fineLimit on a person may well see none. Invented.
const (
	posterLimit = 32
	fineLimit   = 48
)

func (k Look) falls() int {
	return max(k.Colours[0].Falls, k.Colours[1].Falls, k.Colours[2].Falls)
}

// brightest and darkest are of the three colours together.
func (k Look) brightest() int { return max(k.Colours[0].Max, k.Colours[1].Max, k.Colours[2].Max) }
func (k Look) darkest() int   { return min(k.Colours[0].Min, k.Colours[1].Min, k.Colours[2].Min) }

func (k Look) greyWord() string {
	switch {
	case k.Tinted:
		return "tinted"
	case k.falls() > 0 || k.Steps < posterLimit:
		return "posterised"
	case k.brightest() < 128:
		return "dark"
	case k.darkest() > 127:
		return "bright"
	case k.Steps < k.Of:
		return "banded"
	}
	return "ok"
}
