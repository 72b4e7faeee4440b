package view

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/walkback/netlist"
)

// wordsFor gives the words of a key, other spellings of them, and what an error
// says of them.
func wordsFor(key string) (words []string, same map[string]string, want string) {
	switch key {
	case "columns":
		words = []string{"all", "second", "odd", "even", "exchanged", "ok"}
		return words, map[string]string{
			"every": "all", "each": "all", "every second": "second", "half": "second", "right": "ok", "ragged": "exchanged"}, strings.Join(words, ", ")
	case "picture":
		words = []string{Stable, NoneSeen, Unstable}
		return words, map[string]string{
			"ok": Stable, "yes": Stable, "no": NoneSeen, "dark": NoneSeen, "black": NoneSeen, "gone": NoneSeen, "missing": NoneSeen,
			"unstable": Unstable, "flickers": Unstable}, strings.Join(words, ", ")
	case "specks":
		words = []string{"yes", "no"}
		return words, nil, "yes, no"
	case "grey":
		ramp := []string{"ok", "banded", "posterised", "tinted", "upside down", "dark", "bright"}
		same = maps.Clone(otherNames())
		maps.Copy(same, map[string]string{"banding": "banded", "right": "ok", "posterized": "posterised", "inverted": "upside down", "negative": "upside down"})
		return append(slices.Clone(ramp), colourWords()...), same, strings.Join(ramp, ", ") + ", or " + someColours
	}
	// A colour that is gone is a black field, and one that is right its own.
	same = maps.Clone(otherNames())
	for _, w := range []string{"gone", "missing", "no", "none", "off", "absent"} {
		same[w] = "black"
	}
	for _, w := range []string{"ok", "right", "fine"} {
		same[w] = key
	}
	return append(colourWords(), "wrong"), same, someColours + "; or gone, wrong, ok"
}

// someColours stands for the list of words, which is too long for a line.
const someColours = "a colour such as white, black, red, cyan, pink, dark blue, light green"

// seenExample is in errors on texts that are not understood.
const seenExample = ` "white=cyan, red is gone, columns=second"`

// ParseSeen reads answers such as "white=cyan black=black columns=second"; a colour
// may have two words ("white=light blue"). It also reads "red is gone", "red gone",
// "no red", "the white looks cyan" and, of a ramp of grey, "everything looks green".
func ParseSeen(text string) (Seen, error) {
	ts := cutWords(text, "=,;")
	ts = asEquations(ts)
	var s Seen
	for i := 0; i < len(ts); {
		if ts[i].word == "," || ts[i].word == ";" {
			i++
			continue
		}
		a, next := readNone(ts, i)
		var err error
		if next == i {
			a, next, err = readAnswer(text, ts, i)
		}
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

// asEquations drops "the" and puts a "=" in the place of "is" and "looks", and
// between a key and "gone" or the like.
func asEquations(ts []token) []token {
	var out []token
	for i, t := range ts {
		w := strings.ToLower(t.word)
		starts := i == 0 || ts[i-1].word == "," || ts[i-1].word == ";"
		after := len(out) > 0 && slices.Contains(seenKeys(), seenKey(out[len(out)-1].word))
		switch {
		case w == "the" && starts && i+1 < len(ts):
			continue
		case (w == "is" || w == "looks") && i > 0:
			t.word = "="
		case (w == "gone" || w == "missing" || w == "absent") && after:
			out = append(out, token{"=", t.column})
		}
		out = append(out, t)
	}
	return out
}

func isMark(w string) bool { return w == "=" || w == "," || w == ";" }

func seenKey(word string) string {
	key := strings.ToLower(word)
	if key == "gray" || key == "ramp" || key == "everything" {
		key = "grey"
	}
	return key
}

// readNone reads "no red" from token i on; without that it steps over nothing.
func readNone(ts []token, i int) (Answer, int) {
	if strings.ToLower(ts[i].word) != "no" || i+1 >= len(ts) {
		return Answer{}, i
	}
	key := seenKey(ts[i+1].word)
	if _, same, _ := wordsFor(key); slices.Contains(seenKeys(), key) && same["no"] != "" {
		return Answer{key, same["no"]}, i + 2
	}
	return Answer{}, i
}

// readAnswer reads "key = word..." from token i on.
func readAnswer(text string, ts []token, i int) (Answer, int, error) {
	key := seenKey(ts[i].word)
	if !slices.Contains(seenKeys(), key) {
		return Answer{}, 0, &SyntaxError{Text: text, Column: ts[i].column, Msg: quote(ts[i].word) + " is nothing to look at",
			Want: strings.Join(seenKeys(), ", ") + ", as in" + seenExample, Near: netlist.Nearest(ts[i].word, seenKeys())}
	}
	if i+1 >= len(ts) || ts[i+1].word != "=" {
		return Answer{}, 0, &SyntaxError{Text: text, Column: ts[i].column + len(ts[i].word), Msg: "no = after " + key, Want: key + "=..., as in" + seenExample}
	}
	first, end := i+2, i+2
	for end < len(ts) && !isMark(ts[end].word) && (end+1 >= len(ts) || ts[end+1].word != "=") {
		end++
	}
	words, same, want := wordsFor(key)
	if first == end {
		at := ts[i+1].column + 1
		if first < len(ts) {
			at = ts[first].column
		}
		return Answer{}, 0, &SyntaxError{Text: text, Column: at, Msg: "nothing after " + key + "=", Want: want}
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
		return Answer{}, 0, &SyntaxError{Text: text, Column: ts[first].column, Msg: quote(word) + " is no answer for " + key,
			Want: want, Near: netlist.Nearest(word, append(words, slices.Sorted(maps.Keys(same))...))}
	}
	return Answer{key, word}, end, nil
}

// quote shows what was read, cut when it is long.
func quote(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return fmt.Sprintf("%q...", string(r[:most]))
	}
	return fmt.Sprintf("%q", s)
}
