package netlist

import (
	"errors"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/walkback/netlist/mistake"
)

// or stands between readings of which one holds.
const or = " or "

// parseOr reads "A.0=quiet or B.0=quiet", of which one holds and nobody knows which: what
// is seen in a picture can come of several lanes.
func (b *Board) parseOr(text string, usual Setting) (Reading, error) {
	var r Reading
	for at := 0; at <= len(text); {
		part, _, _ := strings.Cut(text[at:], or)
		one, err := b.ParseReading(part, usual)
		if err != nil {
			var m mistake.Mistake
			if errors.As(err, &m) {
				m.Text, m.Column = text, m.Column+utf8.RuneCountInString(text[:at])
				return Reading{}, m
			}
			return Reading{}, err
		}
		if at == 0 {
			r = one
		} else {
			r.Or = append(r.Or, one)
		}
		if o := one.Probe.State.Setting; !slices.Equal(o, r.Probe.State.Setting) || one.Seen == nil || one.Seen.Target.Lane == None {
			p := readingParser{b: b, r: Reading{Text: text}}
			return Reading{}, p.fail(piece{part, at}, "only what is seen of lanes in one state may be one of several",
				"such as A.0=quiet or B.0=quiet", "")
		}
		at += len(part) + len(or)
	}
	r.Text = text
	return r, nil
}
