package mode

import (
	"fmt"
	"math"
	"strings"
)

// choice says which of the modes of a size and a rate is meant. The zero choice
// is what notebook panels have: reduced blanking, from DMT if possible.
type choice struct {
	standard string    // dmt, cvt, gtf (which has full blanking only); "" for DMT where it has the mode, else CVT
	kind     *blanking // nil: reduced, but full for cvt
}

// take reads a word that says which; false for one that is none.
func (c *choice) take(word string) (known, fits bool) {
	kind := func(b blanking) (bool, bool) {
		fits := c.kind == nil || *c.kind == b
		c.kind = &b
		return true, fits
	}
	switch strings.ToLower(word) {
	case "rb", "rb1", "rbv1", "reduced":
		return kind(reduced)
	case "rb2", "rbv2":
		return kind(reduced2)
	case "full", "crt":
		return kind(full)
	case "cvt", "dmt", "gtf":
		fits = c.standard == "" || c.standard == strings.ToLower(word)
		c.standard = strings.ToLower(word)
		return true, fits
	}
	return false, false
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
// reduced mode first and then the full one; DMT has version 2 of reduced blanking for
// 4096x2160 only.
func choose(w, h int, rate float64, c choice) (Mode, error) {
	if err := checkAsked(w, h, rate); err != nil {
		return Mode{}, err
	}
	if c.standard == "gtf" {
		if c.kind != nil && *c.kind != full {
			return Mode{}, fmt.Errorf("GTF has no %v, only full blanking", *c.kind)
		}
		return gtf(w, h, rate)
	}
	if c.standard != "cvt" {
		if m, ok := chooseDMT(w, h, rate, c); ok {
			return m, nil
		}
	}
	if c.standard == "dmt" {
		return Mode{}, fmt.Errorf("DMT 1.13 has no such mode at %g Hz; %s", rate, offers(w, h))
	}
	return cvt(w, h, rate, c.blanking())
}

func chooseDMT(w, h int, rate float64, c choice) (Mode, bool) {
	if d, ok := find(w, h, rate, c.blanking() != full); ok && fitsVersion(d.Mode, c) {
		return d.Mode, true
	}
	if c.standard == "dmt" && c.kind == nil {
		d, ok := find(w, h, rate, false)
		return d.Mode, ok
	}
	return Mode{}, false
}

// fitsVersion keeps the two versions of reduced blanking apart where a word asks
// for one. Version 2 has 80 pixels, and nothing else in DMT has so few.
func fitsVersion(m Mode, c choice) bool {
	if c.kind == nil || *c.kind == full {
		return true
	}
	return (*c.kind == reduced2) == (m.H.Blank() == 80)
}

// offers lists what DMT has for a size, or else the size next to it.
func offers(w, h int) string {
	var has []string
	near, nearOff := dmtRows[0], math.MaxInt
	for _, r := range dmtRows {
		if r.h.Active == w && r.v.Active == h {
			blank := ""
			if r.reduced {
				blank = ", reduced blanking"
			}
			has = append(has, fmt.Sprintf("%g Hz (id %02Xh%s)", r.rate, r.id, blank))
		}
		if off := absInt(r.h.Active-w) + absInt(r.v.Active-h); off < nearOff {
			near, nearOff = r, off
		}
	}
	if has == nil {
		return fmt.Sprintf("its nearest size is %dx%d", near.h.Active, near.v.Active)
	}
	return fmt.Sprintf("it has %dx%d at %s", w, h, strings.Join(has, ", "))
}

func absInt(n int) int { return max(n, -n) }

// Alternatives lists the modes of all standards for a size and a rate in Hz: DMT
// with reduced and full blanking, then CVT with the two reduced
// blankings and full, then GTF. Where two standards give the same numbers there is one mode
// with both in its Origin. It is empty for what is out of range.
func Alternatives(w, h int, rate float64) []Mode {
	var all []Mode
	for _, reduced := range []bool{true, false} {
		if d, ok := find(w, h, rate, reduced); ok {
			all = append(all, d.Mode)
		}
	}
	for _, compute := range []func() (Mode, error){
		func() (Mode, error) { return cvt(w, h, rate, reduced) },
		func() (Mode, error) { return cvt(w, h, rate, reduced2) },
		func() (Mode, error) { return cvt(w, h, rate, full) },
		func() (Mode, error) { return gtf(w, h, rate) },
	} {
		m, err := compute()
		if err != nil {
			continue
		}
		if i := sameTimings(all, m); i >= 0 {
			all[i].Origin += ", same as " + m.Origin
			continue
		}
		all = append(all, m)
	}
	return all
}

// sameTimings finds the mode with the numbers of m, or -1.
func sameTimings(all []Mode, m Mode) int {
	for i, a := range all {
		a.Origin, a.Note = m.Origin, m.Note
		if a == m {
			return i
		}
	}
	return -1
}
