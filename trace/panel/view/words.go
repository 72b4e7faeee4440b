package view

import (
	"fmt"
	"slices"
	"strings"
)

// remarks are what is said of a look: of full fields, of ramps, and the rest.
type remarks struct {
	fields []string // such as "white looks cyan"
	ramps  []string
	rest   []string
	half   bool // the fields are those of every second column
}

// mostFields is how many fields are told.
const mostFields = 4

// words are the sentences of a technician.
func (r remarks) words() []string {
	var s []string
	if len(r.fields) > 0 {
		fs := r.fields
		if len(fs) > mostFields {
			fs = append(slices.Clone(fs[:mostFields]), "and more")
		}
		text := strings.Join(fs, ", ")
		if r.half {
			text = "in the bad columns " + text
		}
		s = append(s, text)
	}
	return append(append(s, r.ramps...), r.rest...)
}

// pick keeps the remarks that are, or are not, among those of o.
func (r remarks) pick(o remarks, among bool) remarks {
	keep := func(own, other []string) (kept []string) {
		for _, s := range own {
			if slices.Contains(other, s) == among {
				kept = append(kept, s)
			}
		}
		return kept
	}
	return remarks{keep(r.fields, o.fields), keep(r.ramps, o.ramps), keep(r.rest, o.rest), r.half}
}

func (k Look) remarks() remarks {
	switch k.Picture {
	case NoneSeen:
		return remarks{rest: []string{"no picture"}}
	case Unstable:
		return remarks{rest: []string{"no stable picture: it rolls, tears or stays away"}}
	}
	r := remarks{half: k.Columns == ColumnsOdd || k.Columns == ColumnsEven}
	if k.Columns != ColumnsOK && k.Columns != ColumnsExchanged {
		r.fields, r.ramps = k.changed(), k.causes()
		if k.Faint {
			r.rest = append(r.rest, "hardly to be seen")
		}
		if k.Stretch {
			r.rest = append(r.rest, "the left half is drawn over the whole width")
		}
	}
	switch k.Columns {
	case ColumnsOdd:
		r.rest = append(r.rest, "every second column (1,3,5...)")
	case ColumnsEven:
		r.rest = append(r.rest, "every second column (2,4,6...)")
	case ColumnsAll:
		r.rest = append(r.rest, "every column")
	case ColumnsExchanged:
		r.rest = append(r.rest, "plain areas are right, but neighbouring columns are mixed up: upright edges and small letters are ragged")
	}
	if k.Specks {
		r.rest = append(r.rest, "specks on a picture that is right otherwise, or worse")
	}
	if len(r.words()) == 0 {
		r.rest = append(r.rest, "looks right")
	}
	return r
}

// Text is all words in one line.
func (k Look) Text() string { return strings.Join(k.Words, "; ") }

// changed names the fields that look different, in the wrong columns and, where
// that is another word, from where the eye mixes them with the right ones.
func (k Look) changed() []string {
	var s []string
	for i, f := range testFields() {
		own := k.Fields[i]
		if bad, _ := k.wrong(own); own.Bad == f.name || distance(bad, f.rgb) <= slack {
			continue
		}
		text := f.name + " looks " + own.Bad
		if own.Name != own.Bad {
			text += " (from a distance " + own.Name + ")"
		}
		s = append(s, text)
	}
	return s
}

// causes says what is wrong with each colour, equal ones together.
func (k Look) causes() []string {
	names := [3]string{"red", "green", "blue"}
	var said []string
	var who [][]string
	for i, c := range k.Colours {
		text := c.words(k.Of)
		if text == "" {
			continue
		}
		at := slices.Index(said, text)
		if at < 0 {
			at = len(said)
			said, who = append(said, text), append(who, nil)
		}
		who[at] = append(who[at], names[i])
	}
	for i := range said {
		subject := strings.Join(who[i], " and ")
		if len(who[i]) == 3 {
			subject = "all colours"
		}
		said[i] = subject + " " + conjugate(said[i], len(who[i]) > 1)
	}
	if len(said) == 0 && k.Steps < k.Of {
		said = append(said, fmt.Sprintf("grey has %d of %d steps", k.Steps, k.Of))
	}
	return said
}

// conjugate puts a sentence's verbs, its first word and one after "and", into the plural.
func conjugate(text string, plural bool) string {
	if !plural {
		return text
	}
	verb, rest, _ := strings.Cut(text, " ")
	rest = strings.NewReplacer(" and jumps", " and jump", " and stops", " and stop", " and stays", " and stay").Replace(rest)
	switch verb {
	case "is":
		verb = "are"
	case "has":
		verb = "have"
	default:
		verb = strings.TrimSuffix(verb, "s")
	}
	return verb + " " + rest
}
