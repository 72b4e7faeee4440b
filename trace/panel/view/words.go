package view

import (
	"fmt"
	"slices"
	"strings"
)

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
		s = append(s, k.causes()...)
	}
	if k.Faint {
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
	for i, own := range k.Fields {
		if own.Bad == own.Show || k.right(i) {
			continue
		}
		text := own.Show + " looks " + own.Bad
		if own.Name != own.Bad {
			text += " (from a distance " + own.Name + ")"
		}
		s = append(s, text)
	}
	return s
}

// right reports whether a field is seen as the colour that is sent.
func (k Look) right(i int) bool {
	bad, _ := k.wrong(k.Fields[i])
	return distance(bad, testFields()[i].rgb) <= slack
}

// causes says what is wrong with each colour, or with all alike.
func (k Look) causes() []string {
	var said []string
	for i, name := range []string{"red", "green", "blue"} {
		if text := k.Colours[i].words(k.Of); text != "" {
			said = append(said, name+" "+strings.TrimPrefix(text, " and "))
		}
	}
	if all := k.Colours[0].words(k.Of); all != "" && all == k.Colours[1].words(k.Of) && all == k.Colours[2].words(k.Of) {
		return []string{"every colour " + strings.TrimPrefix(all, " and ")}
	}
	if len(said) == 0 && k.Steps < k.Of {
		said = append(said, fmt.Sprintf("grey has %d of %d steps", k.Steps, k.Of))
	}
	return slices.Clip(said)
}
