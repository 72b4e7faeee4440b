package netlist

import (
	"fmt"
	"iter"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"example.org/walkback/netlist/mistake"
)

// alike warns of names that look like others and are not: letters of two alphabets in
// one name, and letters that can be written in more than one way.
func (c *checker) alike() {
	type named struct {
		name string
		span Span
	}
	var odd []named
	for name, span := range c.b.names() {
		if !isASCII(name) {
			odd = append(odd, named{name, span})
		}
	}
	if len(odd) == 0 {
		return
	}
	first := map[string]string{}
	for name := range c.b.names() {
		if isASCII(name) {
			first[name] = name
		}
	}
	for _, x := range odd {
		other, taken := first[skeleton(x.name)]
		if !taken {
			first[skeleton(x.name)] = x.name
		}
		two := alphabets(x.name)
		switch {
		case taken && other != x.name:
			c.add(x.span, mistake.Warning, "look-alike", fmt.Sprintf("%s looks like %s and is another name: %s is not %s", x.name, other,
				codePoints(x.name), codePoints(other)), "one spelling, or names that differ to the eye", other)
		case two != "":
			c.add(x.span, mistake.Warning, "look-alike", fmt.Sprintf("%s has letters of two alphabets, %s: %s", x.name, two, codePoints(x.name)),
				"letters of one alphabet", "")
		case !norm.NFC.IsNormalString(withoutUnits.Replace(x.name)):
			c.add(x.span, mistake.Warning, "look-alike", fmt.Sprintf("%s is written otherwise than a keyboard writes it: %s", x.name,
				codePoints(x.name)), "letters with their marks in one (Unicode normal form C)", "")
		}
	}
}

func isASCII(name string) bool {
	for i := range len(name) {
		if name[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// names yields what has a name on the board.
func (b *Board) names() iter.Seq2[string, Span] {
	return func(yield func(string, Span) bool) {
		for i := range b.Nets {
			if !yield(b.Nets[i].Name, b.Nets[i].Span) {
				return
			}
		}
		for i := range b.Parts {
			if !yield(b.Parts[i].Name, b.Parts[i].Span) {
				return
			}
		}
		for _, l := range b.Lanes {
			if !yield(l.Name, l.Span) {
				return
			}
		}
		for _, f := range b.Facts {
			if !yield(f.Name, f.Span) {
				return
			}
		}
		for _, s := range b.States {
			if !yield(s.Name, s.Span) {
				return
			}
		}
		for _, s := range b.Symptoms {
			if !yield(s.Name, s.Span) {
				return
			}
		}
	}
}

// withoutUnits takes the signs for Ω and µ away, which are of no alphabet here.
var withoutUnits = strings.NewReplacer("\u2126", "", "\u03a9", "", "\u00b5", "", "\u03bc", "")

// skeleton is what a name looks like.
func skeleton(name string) string {
	return strings.Map(func(r rune) rune {
		if like, ok := likeLatin[r]; ok {
			return like
		}
		return r
	}, norm.NFKD.String(name))
}

// likeLatin are letters of Greek and Cyrillic that look like Latin ones, and the dashes:
// from memory of confusables.txt of Unicode Technical Standard #39.
var likeLatin = func() map[rune]rune {
	m := map[rune]rune{}
	for from, to := range map[string]string{
		"АВЕЗІЈКМНОРСЅТУХҮԚԜ": "ABE3IJKMHOPCSTYXYQW",
		"аеіјорсѕухһԁԛԝ":      "aeijopcsyxhdqw",
		"ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ":      "ABEZHIKMNOPTYX",
		"ονιαρ":               "oviap",
		"‐–—−":                "----",
	} {
		like := []rune(to)
		for i, r := range []rune(from) {
			m[r] = like[i]
		}
	}
	return m
}()

// alphabets names the alphabets of the letters in a name, where there is more than one.
func alphabets(name string) string {
	var found []string
	for _, a := range []struct {
		name  string
		table *unicode.RangeTable
	}{{"Latin", unicode.Latin}, {"Greek", unicode.Greek}, {"Cyrillic", unicode.Cyrillic}} {
		if strings.ContainsFunc(withoutUnits.Replace(name), func(r rune) bool { return unicode.Is(a.table, r) }) {
			found = append(found, a.name)
		}
	}
	if len(found) < 2 {
		return ""
	}
	return strings.Join(found, " and ")
}

// codePoints writes a name with the codes of the letters that are not of ASCII.
func codePoints(name string) string {
	var b strings.Builder
	for _, r := range name {
		if r < utf8.RuneSelf {
			b.WriteRune(r)
		} else {
			fmt.Fprintf(&b, "<%04X>", r)
		}
	}
	return b.String()
}
