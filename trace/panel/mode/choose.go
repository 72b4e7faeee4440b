package mode

import (
	"fmt"
	"strings"
)

// choice says which of the modes of a size and a rate is meant. The zero choice
// is what notebook panels have: reduced blanking, from DMT if possible.
type choice struct {
	standard string    // dmt, cvt, gtf (which has full blanking only); "" for DMT where it has the mode, else CVT
	kind     *blanking // nil: reduced, but full for cvt
}

// take reads a word that says which; known is false for one that is none, fits for one
// that contradicts another.
func (c *choice) take(word string) (known, fits bool) {
	word = strings.ToLower(word)
	switch word {
	case "cvt", "dmt", "gtf":
		fits = c.standard == "" || c.standard == word
		c.standard = word
		return true, fits
	}
	kind, known := map[string]blanking{
		"rb": reduced, "rb1": reduced, "rbv1": reduced, "reduced": reduced, "rb2": reduced2, "rbv2": reduced2, "full": full, "crt": full,
	}[word]
	fits = c.kind == nil || *c.kind == kind
	if known {
		c.kind = &kind
	}
	return known, fits
}

// choiceWords are the words that are offered after a wrong one.
func choiceWords() []string { return []string{"rb", "rb2", "full", "cvt", "dmt", "gtf"} }

// blanking is the one to compute with.
func (c choice) blanking() blanking {
	switch {
	case c.kind != nil:
		return *c.kind
	case c.standard == "cvt":
		return full
	}
	return reduced
}

// choose gives the mode of a size and a rate in Hz. dmt without a blanking takes the
// reduced mode first and then the full one.
func choose(w, h int, rate float64, c choice) (Mode, error) {
	if c.standard == "gtf" {
		if c.kind != nil && *c.kind != full {
			return Mode{}, fmt.Errorf("GTF has no %v, only full blanking", *c.kind)
		}
		return gtf(w, h, rate)
	}
	if c.standard == "cvt" {
		return cvt(w, h, rate, c.blanking())
	}
	m, ok := find(w, h, rate, c.blanking() != full)
	// DMT has version 2 of reduced blanking, with 80 pixels, for 4096x2160 only.
	if ok && c.kind != nil && *c.kind != full {
		ok = (*c.kind == reduced2) == (m.H.Blank() == 80)
	}
	if !ok && c.standard == "dmt" && c.kind == nil {
		m, ok = find(w, h, rate, false)
	}
	switch {
	case ok:
		return m, nil
	case c.standard == "dmt":
		return Mode{}, fmt.Errorf("DMT 1.13 has no such mode at %g Hz; %s", rate, offers(w, h))
	}
	return cvt(w, h, rate, c.blanking())
}

// offers lists what DMT has for a size.
func offers(w, h int) string {
	var has []string
	for _, r := range dmtRows {
		if r.h.Active == w && r.v.Active == h {
			blank := ""
			if r.reduced {
				blank = ", reduced blanking"
			}
			has = append(has, fmt.Sprintf("%g Hz (id %02Xh%s)", r.rate, r.id, blank))
		}
	}
	if has == nil {
		return fmt.Sprintf("nor any other of %dx%d that panels have", w, h)
	}
	return fmt.Sprintf("it has %dx%d at %s", w, h, strings.Join(has, ", "))
}

// Alternatives lists the modes of all standards for a size and a rate in Hz: DMT with
// reduced and full blanking, then CVT with the two reduced blankings and full, then
// GTF. Where two standards give the same numbers there is one mode with both in its
// Origin. It is empty for what is out of range.
func Alternatives(w, h int, rate float64) []Mode {
	var all []Mode
	for _, reduced := range []bool{true, false} {
		if m, ok := find(w, h, rate, reduced); ok {
			all = append(all, m)
		}
	}
	for _, kind := range []blanking{reduced, reduced2, full} {
		if m, err := cvt(w, h, rate, kind); err == nil {
			all = add(all, m)
		}
	}
	if m, err := gtf(w, h, rate); err == nil {
		all = add(all, m)
	}
	return all
}

// add appends a mode, or names its origin with the mode of the same numbers.
func add(all []Mode, m Mode) []Mode {
	for i, a := range all {
		if a.Origin, a.Note = m.Origin, m.Note; a == m {
			all[i].Origin += ", same as " + m.Origin
			return all
		}
	}
	return append(all, m)
}
