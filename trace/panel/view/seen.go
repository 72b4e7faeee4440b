package view

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
)

// Answer is one thing that a person saw.
type Answer struct {
	Key  string `json:"key"`
	Word string `json:"word"`
}

// String is such as "white=cyan".
func (a Answer) String() string { return a.Key + "=" + a.Word }

// Seen is all that a person saw.
type Seen []Answer

// String is the text that ParseSeen reads.
func (s Seen) String() string {
	var p []string
	for _, a := range s {
		p = append(p, a.String())
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

// Seen are the answers of a person with good eyes and all test fields.
func (k Look) Seen() Seen { return k.seen }

func (k Look) answers() Seen {
	s := Seen{{"picture", k.Picture}}
	if k.Picture != Stable {
		return s
	}
	for i, f := range testFields() {
		word := k.Fields[i].Name
		if f.name == "grey" {
			word = k.grey.word()
		}
		s = append(s, Answer{f.name, word})
	}
	specks := "no"
	if k.Specks {
		specks = "yes"
	}
	return append(s, Answer{"columns", k.Columns}, Answer{"specks", specks})
}

// columnNames are other words for the columns, pictureNames for the picture, rampNames
// for a ramp of grey.
var (
	columnNames = map[string]string{
		"every": "all", "each": "all", "every second": "second", "half": "second", "right": "ok", "ragged": "exchanged",
	}
	pictureNames = map[string]string{
		"ok": Stable, "yes": Stable, "no": NoneSeen, "dark": NoneSeen, "black": NoneSeen, "gone": NoneSeen, "missing": NoneSeen,
		"unstable": Unstable, "flickers": Unstable,
	}
	rampNames = map[string]string{
		"banding": "banded", "right": "ok", "posterized": "posterised", "inverted": "upside down", "negative": "upside down",
	}
)

// wordsFor gives the words of a key, other spellings of them, and what an error
// says of them.
func wordsFor(key string) (words []string, same map[string]string, want string) {
	switch key {
	case "columns":
		words, same = []string{"all", "second", "odd", "even", "exchanged", "ok"}, columnNames
	case "picture":
		words, same = []string{Stable, NoneSeen, Unstable}, pictureNames
	case "specks":
		words = []string{"yes", "no"}
	case "grey":
		same = maps.Clone(otherNames)
		maps.Copy(same, rampNames)
		return append(slices.Clone(greyWords), colourWords()...), same, strings.Join(greyWords, ", ") + ", or " + someColours
	default: // a colour that is gone is a black field, and one that is right its own
		same = maps.Clone(otherNames)
		for _, w := range []string{"gone", "missing", "no", "none", "off", "absent"} {
			same[w] = "black"
		}
		for _, w := range []string{"ok", "right", "fine"} {
			same[w] = key
		}
		return append(colourWords(), "wrong"), same, someColours + "; or gone, wrong, ok"
	}
	return words, same, strings.Join(words, ", ")
}

// someColours stands for the list of words, which is too long for a line.
const someColours = "a colour such as white, black, red, cyan, pink, dark blue, light green"

// seenExample is in errors on texts that are not understood.
const seenExample = ` "white=cyan, red is gone, columns=second"`

// sentences are what people write in place of "key=word". What takes their place is as long,
// so that columns in errors stay.
var sentences = []struct {
	form *regexp.Regexp
	as   func(text string) string
}{
	{regexp.MustCompile(`["'“”]`), blanks},
	{regexp.MustCompile(`(?i)\bthe\s`), blanks},
	{regexp.MustCompile(`(?i)\s(?:is|looks)\s`), func(s string) string { return "=" + blanks(s[1:]) }},
	{regexp.MustCompile(`(?i)[a-z]\s+(?:gone|missing|absent)\b`), func(s string) string { return s[:1] + "=" + s[2:] }},
	{regexp.MustCompile(`(?i)(?:^|[,;])\s*no\s[a-z]+`), func(s string) string {
		at := strings.IndexAny(s, "nN")
		return s[:at] + s[at+3:] + "=no"
	}},
}

func blanks(s string) string { return strings.Repeat(" ", len(s)) }

// ParseSeen reads answers such as "white=cyan black=black columns=second"; a colour
// may have two words, with a blank or a hyphen and with or without quotes ("white=light
// blue"). It also reads "red is gone", "red gone", "no red", "the white looks cyan" and, of a ramp of
// grey, "everything looks green".
func ParseSeen(text string) (Seen, error) {
	plain := text
	for _, x := range sentences {
		plain = x.form.ReplaceAllStringFunc(plain, x.as)
	}
	ts := cutWords(plain, seenTokens)
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
			return nil, wrong(text, ts[i], fmt.Sprintf("%s has an answer already, %q", a.Key, old), "one answer for each", "")
		}
		s, i = append(s, a), next
	}
	if len(s) == 0 {
		return nil, wrong(text, token{"", 1}, "no answer", "such as white=cyan columns=second", "")
	}
	return s, nil
}

// wrong is a mistake at a word of a text.
func wrong(text string, at token, msg, want, near string) error {
	if utf8.RuneCountInString(text) > mostShown {
		return mistake.Mistake{Code: "words", Msg: msg, Want: want, Near: near}
	}
	column := utf8.RuneCountInString(text[:min(at.column-1, len(text))]) + 1
	return mistake.Mistake{
		Text: text, Column: column, Width: max(1, utf8.RuneCountInString(at.word)),
		Code: "words", Msg: msg, Want: want, Near: near,
	}
}

// mostShown is how long a text is shown with what is wrong in it, in characters.
const mostShown = 100

func seenKey(word string) string {
	key := strings.ToLower(word)
	if key == "gray" || key == "ramp" || key == "everything" {
		key = "grey"
	}
	return key
}

// readAnswer reads "key = word..." from token i on.
func readAnswer(text string, ts []token, i int) (Answer, int, error) {
	key := seenKey(ts[i].word)
	if !slices.Contains(seenKeys(), key) {
		return Answer{}, 0, wrong(text, ts[i], quote(ts[i].word)+" is nothing to look at",
			strings.Join(seenKeys(), ", ")+", as in"+seenExample, mistake.Nearest(ts[i].word, seenKeys()))
	}
	if i+1 >= len(ts) || ts[i+1].word != "=" {
		return Answer{}, 0, wrong(text, token{"", ts[i].column + len(ts[i].word)}, "no = after "+key, key+"=..., as in"+seenExample, "")
	}
	words, same, want := wordsFor(key)
	var got []string
	end := i + 2
	for ; end < len(ts) && !slices.Contains([]string{"=", ",", ";"}, ts[end].word) && (end+1 >= len(ts) || ts[end+1].word != "="); end++ {
		got = append(got, strings.ToLower(strings.ReplaceAll(ts[end].word, "-", " ")))
	}
	at := token{"", ts[i+1].column + 1}
	if i+2 < len(ts) {
		at = ts[i+2]
	}
	word := strings.Join(got, " ")
	if word == "" {
		return Answer{}, 0, wrong(text, at, "nothing after "+key+"=", want, "")
	}
	if w, ok := same[word]; ok {
		word = w
	}
	if !slices.Contains(words, word) {
		return Answer{}, 0, wrong(text, at, quote(word)+" is no answer for "+key, want,
			mistake.Nearest(word, append(words, slices.Sorted(maps.Keys(same))...)))
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
