package netlist

import (
	"fmt"
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
	var odd, plain []named
	add := func(name string, s Span) {
		if strings.IndexFunc(name, func(r rune) bool { return r >= utf8.RuneSelf }) >= 0 {
			odd = append(odd, named{name, s})
		} else {
			plain = append(plain, named{name, s})
		}
	}
	b := c.b
	for i := range b.Nets {
		add(b.Nets[i].Name, b.Nets[i].Span)
	}
	for i := range b.Parts {
		add(b.Parts[i].Name, b.Parts[i].Span)
	}
	for _, l := range b.Lanes {
		add(l.Name, l.Span)
	}
	for _, f := range b.Facts {
		add(f.Name, f.Span)
	}
	for _, s := range b.States {
		add(s.Name, s.Span)
	}
	for _, s := range b.Symptoms {
		add(s.Name, s.Span)
	}
	if len(odd) == 0 {
		return
	}
	first := map[string]string{}
	for _, x := range plain {
		first[skeleton(x.name)] = x.name
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
