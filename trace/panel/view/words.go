package view

import "strings"

// mostFields is how many fields are told.
const mostFields = 4

// describe says a look in the sentences of a technician.
func (k Look) describe() []string {
	switch k.Picture {
	case NoneSeen:
		return []string{"no picture"}
	case Unstable:
		return []string{"no stable picture: it rolls, tears or stays away"}
	}
	var s []string
	if k.Columns != ColumnsOK && k.Columns != ColumnsExchanged {
		if fields := k.changed(); len(fields) > 0 {
			if len(fields) > mostFields {
				fields = append(fields[:mostFields], "and more")
			}
			text := strings.Join(fields, ", ")
			if k.second() {
				text = "in the bad columns " + text
			}
			s = append(s, text)
		}
		if word := k.grey.word(); word != "ok" {
			s = append(s, "a ramp of grey is "+word)
		}
	}
	if k.faint {
		s = append(s, "hardly to be seen")
	}
	if k.Stretch {
		s = append(s, "the left half is drawn over the whole width")
	}
	if text := columnWords[k.Columns]; text != "" {
		s = append(s, text)
	}
	if k.Specks {
		s = append(s, "specks on a picture that is right otherwise, or worse")
	}
	if len(s) == 0 {
		s = append(s, "looks right")
	}
	return s
}

var columnWords = map[string]string{
	ColumnsOdd: "every second column (1,3,5...)", ColumnsEven: "every second column (2,4,6...)", ColumnsAll: "every column",
	ColumnsExchanged: "plain areas are right, but neighbouring columns are mixed up: upright edges and small letters are ragged",
}

// Text is all words in one line.
func (k Look) Text() string { return strings.Join(k.Words, "; ") }

// changed names the fields that look different, in the wrong columns and, where
// that is another word, from where the eye mixes them with the right ones.
func (k Look) changed() []string {
	var s []string
	for _, f := range k.Fields {
		if f.Bad == f.Show || f.right() {
			continue
		}
		text := f.Show + " looks " + f.Bad
		if f.Name != f.Bad {
			text += " (from a distance " + f.Name + ")"
		}
		s = append(s, text)
	}
	return s
}
