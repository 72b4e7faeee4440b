package view

import (
	"fmt"
	"strings"
)

// sentences are the words of a technician.
func (k Look) sentences() []string {
	switch k.Picture {
	case NoneSeen:
		return []string{"no picture"}
	case Unstable:
		return []string{"no stable picture: it rolls, tears or stays away"}
	}
	var s []string
	if k.Columns != ColumnsOK && k.Columns != ColumnsExchanged {
		if f := k.changed(); f != "" {
			s = append(s, f)
		}
		s = append(s, k.causes()...)
		if k.Faint {
			s = append(s, "hardly to be seen")
		}
		if k.Stretch {
			s = append(s, "the left half is drawn over the whole width")
		}
	}
	switch k.Columns {
	case ColumnsOdd:
		s = append(s, "every second column (1,3,5...)")
	case ColumnsEven:
		s = append(s, "every second column (2,4,6...)")
	case ColumnsAll:
		s = append(s, "every column")
	case ColumnsExchanged:
		s = append(s, "plain areas are right, but neighbouring columns are mixed up: upright edges and small letters are ragged")
	}
	if k.Specks {
		s = append(s, "specks on a picture that is right otherwise, or worse")
	}
	if len(s) == 0 {
		s = append(s, "looks right")
	}
	return s
}

// Text is all words in one line.
func (k Look) Text() string { return strings.Join(k.Words, "; ") }

// changed names the fields that look different in the wrong columns.
func (k Look) changed() string {
	var s []string
	for i, f := range testFields() {
		w, _ := k.wrong(k.Fields[i])
		if name := colourName(w); name != f.name && distance(w, f.rgb) > slack {
			s = append(s, f.name+" looks "+name)
		}
	}
	if len(s) > 4 {
		s = append(s[:4], "and more")
	}
	return strings.Join(s, ", ")
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
		at := 0
		for at < len(said) && said[at] != text {
			at++
		}
		if at == len(said) {
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

// conjugate puts a sentence's verb, its first word, into the plural.
func conjugate(text string, plural bool) string {
	verb, rest, _ := strings.Cut(text, " ")
	if plural && verb == "is" {
		verb, rest = "are", strings.Replace(rest, " jumps", " jump", 1)
	} else if plural && verb == "has" {
		verb = "have"
	} else if plural {
		verb = strings.TrimSuffix(verb, "s")
	}
	return verb + " " + rest
}

// words is what follows "red"; of is the number of steps of a healthy panel.
func (c Curve) words(of int) string {
	switch {
	case c.Max-c.Min <= 12 && c.Max <= 40:
		return "is missing"
	case c.Max-c.Min <= 12 && c.Min >= 215:
		return "is always full"
	case c.Max-c.Min <= 12:
		return "stays at one level"
	case c.Down && c.Falls == 0:
		return "is upside down (dark is bright)"
	case c.Falls > 0:
		s := "jumps back to dark " + times(c.Falls)
		if c.Max < 128 {
			s = "is dark and " + s
		} else if c.Min >= 128 {
			s = "is bright and jumps back " + times(c.Falls)
		}
		return s
	case c.Max < 200:
		return fmt.Sprintf("stops at %d %%", c.Max*100/255)
	case c.Min > 55:
		return fmt.Sprintf("stays above %d %%", (c.Min-1)*100/255)
	case c.Steps < of:
		return fmt.Sprintf("has %d steps instead of %d", c.Steps, of)
	}
	return ""
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
