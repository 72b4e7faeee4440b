package mode

import (
	"fmt"
	"math"
	"strings"
)

// Standard names a standard that gives timings to a size and a rate.
type Standard string

// The standards to choose from.
const (
	AnyStandard Standard = "" // DMT where it has the mode, else CVT
	OnlyDMT     Standard = "dmt"
	OnlyCVT     Standard = "cvt"
	OnlyGTF     Standard = "gtf" // has full blanking only
)

// Choice says which of the modes of a size and a rate is meant. The zero Choice
// is what notebook panels have: reduced blanking, from DMT if possible.
type Choice struct {
	Standard   Standard
	Blanking   *Blanking // nil: reduced, but full for OnlyCVT
	Interlaced bool
}

// choiceWord is what one word says.
func choiceWord(s string) (Choice, bool) {
	blank := func(b Blanking) (Choice, bool) { return Choice{Blanking: &b}, true }
	switch strings.ToLower(s) {
	case "rb", "rb1", "rbv1", "reduced":
		return blank(Reduced)
	case "rb2", "rbv2":
		return blank(Reduced2)
	case "full", "crt":
		return blank(Full)
	case "cvt":
		return Choice{Standard: OnlyCVT}, true
	case "dmt":
		return Choice{Standard: OnlyDMT}, true
	case "gtf":
		return Choice{Standard: OnlyGTF}, true
	}
	return Choice{}, false
}

// choiceWords are the words that are offered after a wrong one.
func choiceWords() []string { return []string{"rb", "rb2", "full", "cvt", "dmt", "gtf"} }

// add joins what another word says; false if that contradicts.
func (c *Choice) add(o Choice) bool {
	if o.Standard != AnyStandard {
		if c.Standard != AnyStandard && c.Standard != o.Standard {
			return false
		}
		c.Standard = o.Standard
	}
	if o.Blanking != nil {
		if c.Blanking != nil && *c.Blanking != *o.Blanking {
			return false
		}
		c.Blanking = o.Blanking
	}
	return true
}

// blanking is the one to compute with.
func (c Choice) blanking() Blanking {
	switch {
	case c.Blanking != nil:
		return *c.Blanking
	case c.Standard == OnlyCVT:
		return Full
	}
	return Reduced
}

// Choose gives the mode of a size and a rate in Hz. OnlyDMT without a blanking
// takes the reduced mode first and then the full one; Reduced2 is in DMT for
// 4096x2160 only.
func Choose(w, h int, rate float64, c Choice) (Mode, error) {
	if err := checkAsked(w, h, rate); err != nil {
		return Mode{}, err
	}
	if c.Interlaced {
		return chooseInterlaced(w, h, rate)
	}
	if c.Standard == OnlyGTF {
		if c.Blanking != nil && *c.Blanking != Full {
			return Mode{}, fmt.Errorf("GTF has no %v, only full blanking", *c.Blanking)
		}
		return GTF(w, h, rate)
	}
	if c.Standard != OnlyCVT {
		if m, ok := chooseDMT(w, h, rate, c); ok {
			return m, nil
		}
	}
	if c.Standard == OnlyDMT {
		return Mode{}, fmt.Errorf("DMT 1.13 has no such mode at %g Hz; %s", rate, offers(w, h))
	}
	return CVT(w, h, rate, c.blanking())
}

func chooseInterlaced(w, h int, rate float64) (Mode, error) {
	if d, ok := find(w, h, rate, inter); ok {
		return d.Mode, nil
	}
	return Mode{}, fmt.Errorf("only DMT has interlaced modes here, and none of %dx%d at %g Hz; %s", w, h, rate, offers(w, h))
}

func chooseDMT(w, h int, rate float64, c Choice) (Mode, bool) {
	if d, ok := Find(w, h, rate, c.blanking() != Full); ok && fitsVersion(d.Mode, c) {
		return d.Mode, true
	}
	if c.Standard == OnlyDMT && c.Blanking == nil {
		d, ok := Find(w, h, rate, false)
		return d.Mode, ok
	}
	return Mode{}, false
}

// fitsVersion keeps the two versions of reduced blanking apart where a word asks
// for one. Version 2 has 80 pixels, and nothing else in DMT has so few.
func fitsVersion(m Mode, c Choice) bool {
	if c.Blanking == nil || *c.Blanking == Full {
		return true
	}
	return (*c.Blanking == Reduced2) == (m.H.Blank() == 80)
}

// offers lists what DMT has for a size, or else the size next to it.
func offers(w, h int) string {
	var has []string
	near, nearOff := dmtRows[0], math.MaxInt
	for _, r := range dmtRows {
		if r.h.Active == w && r.height() == h {
			has = append(has, fmt.Sprintf("%g Hz (id %02Xh%s)", r.rate, r.id, r.kind))
		}
		if off := absInt(r.h.Active-w) + absInt(r.height()-h); off < nearOff {
			near, nearOff = r, off
		}
	}
	if has == nil {
		return fmt.Sprintf("its nearest size is %dx%d", near.h.Active, near.height())
	}
	return fmt.Sprintf("it has %dx%d at %s", w, h, strings.Join(has, ", "))
}

// String is put behind an id.
func (k dmtKind) String() string {
	switch k {
	case rb:
		return ", reduced blanking"
	case inter:
		return ", interlaced"
	}
	return ""
}

func absInt(n int) int { return max(n, -n) }

// Alternatives lists the modes of all standards for a size and a rate in Hz: DMT
// with reduced and full blanking and interlaced, then CVT with the two reduced
// blankings and full, then GTF. Where two standards give the same numbers there is one mode
// with both in its Origin. It is empty for what is out of range.
func Alternatives(w, h int, rate float64) []Mode {
	var all []Mode
	for _, kind := range []dmtKind{rb, 0, inter} {
		if d, ok := find(w, h, rate, kind); ok {
			all = append(all, d.Mode)
		}
	}
	for _, compute := range []func() (Mode, error){
		func() (Mode, error) { return CVT(w, h, rate, Reduced) },
		func() (Mode, error) { return CVT(w, h, rate, Reduced2) },
		func() (Mode, error) { return CVT(w, h, rate, Full) },
		func() (Mode, error) { return GTF(w, h, rate) },
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
