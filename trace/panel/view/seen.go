package view

import "strings"

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

// upside tells whether a colour is upside down.
func (k Look) upside() bool { return k.Colours[0].Down || k.Colours[1].Down || k.Colours[2].Down }

// flat tells whether nothing of a ramp is left.
func (k Look) flat() bool { return k.Colours[0].flat() && k.Colours[1].flat() && k.Colours[2].flat() }

// blocky tells whether the ramp of a colour is broken.
func (k Look) blocky() bool {
	return k.Colours[0].blocky() || k.Colours[1].blocky() || k.Colours[2].blocky()
}

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
	case k.upside():
		return "upside down"
	case !k.flat() && (k.falls() > 0 || k.Steps < posterLimit):
		return "posterised"
	case k.brightest() < 128:
		return "dark"
	case k.darkest() > 127 || k.flat():
		return "bright"
	case k.Steps < k.Of:
		return "banded"
	}
	return "ok"
}
