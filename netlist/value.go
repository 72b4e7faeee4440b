package netlist

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Unit is the SI unit that an attribute is measured in.
type Unit uint8

// The units that attributes use.
const (
	NoUnit Unit = iota // a plain number
	Volt
	Ampere
	Ohm
	Farad
	Henry
	Hertz
	Second
	Percent // a fraction, written with a percent sign
)

// unitNames lists, for each unit, the symbol printed first and the spellings
// that are read.
var unitNames = [...][]string{
	NoUnit: {""}, Volt: {"V"}, Ampere: {"A"}, Ohm: {"Ω", "\u2126", "ohm", "ohms", "R"},
	Farad: {"F"}, Henry: {"H"}, Hertz: {"Hz"}, Second: {"s"}, Percent: {"%"},
}

// String returns the unit's symbol.
func (u Unit) String() string { return unitNames[u][0] }

// prefixes are the multipliers of the SI brochure that occur on boards. K is
// the capital that IEC 60062 uses for kilo.
var prefixes = []struct {
	name string
	mul  float64
}{{"p", 1e-12}, {"n", 1e-9}, {"u", 1e-6}, {"µ", 1e-6}, {"μ", 1e-6}, {"m", 1e-3}, {"k", 1e3}, {"K", 1e3}, {"M", 1e6}, {"G", 1e9}}

// ParseValue reads a value in unit u, such as 4.7k, 4k7, R047, 3V3, 100n,
// 12.6V or 8%. A letter may stand in the place of the decimal point, as in the
// code for resistance and capacitance values of IEC 60062:2016. The unit may be
// left out, except for a percent sign. The value returned is in the plain unit
// (volts, ohms, a fraction for percent).
func ParseValue(s string, u Unit) (float64, error) {
	fail := func(why string) (float64, error) { return 0, fmt.Errorf("%q is not %s: %s", s, unitPhrase(u), why) }
	rest, sign := s, 1.0
	if strings.HasPrefix(rest, "-") {
		rest, sign = rest[1:], -1
	} else if strings.HasPrefix(rest, "+") {
		rest = rest[1:]
	}
	whole, rest := digits(rest)
	frac, pointed := "", false
	if strings.HasPrefix(rest, ".") {
		pointed = true
		frac, rest = digits(rest[1:])
		if frac == "" {
			return fail("digits are missing after the point")
		}
	}
	mul, unitSeen, letterSeen := 1.0, false, false
	if m, n := prefixAt(rest, u); n > 0 {
		mul, rest, letterSeen = m, rest[n:], true
	} else if n := unitAt(rest, u); n > 0 {
		rest, unitSeen, letterSeen = rest[n:], true, true
	}
	if letterSeen && !pointed && u != Percent {
		frac, rest = digits(rest)
	}
	if whole == "" && frac == "" {
		return fail("it has no digits")
	}
	if n := unitAt(rest, u); n > 0 && !unitSeen {
		rest, unitSeen = rest[n:], true
	}
	if rest != "" {
		for other := Volt; other <= Percent; other++ {
			if other != u && unitAt(rest, other) == len(rest) {
				return fail("it is in " + other.String())
			}
		}
		return fail(fmt.Sprintf("%q is not understood", rest))
	}
	if u == Percent {
		if !unitSeen {
			return fail("the percent sign is missing")
		}
		mul = 0.01
	}
	v, err := strconv.ParseFloat("0"+whole+"."+frac+"0", 64)
	if err != nil || math.IsInf(v*mul, 0) {
		return fail("it is out of range")
	}
	return sign * v * mul, nil
}

func digits(s string) (digits, rest string) {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return s[:n], s[n:]
}

// prefixAt reports the multiplier at the start of s and its length in bytes.
// A percent takes none, and the letter of a unit is no prefix.
func prefixAt(s string, u Unit) (float64, int) {
	if u == Percent {
		return 1, 0
	}
	for _, p := range prefixes {
		if strings.HasPrefix(s, p.name) {
			return p.mul, len(p.name)
		}
	}
	return 1, 0
}

// unitAt reports the length of the unit's spelling at the start of s.
func unitAt(s string, u Unit) int {
	best := 0
	for _, name := range unitNames[u] {
		if len(name) > best && strings.HasPrefix(s, name) {
			best = len(name)
		}
	}
	return best
}

func unitPhrase(u Unit) string {
	switch u {
	case NoUnit:
		return "a number"
	case Volt:
		return "a voltage such as 3.3V or 3V3"
	case Ampere:
		return "a current such as 3A or 20mA"
	case Ohm:
		return "a resistance such as 4k7, 25m or R047"
	case Farad:
		return "a capacitance such as 100n or 4u7"
	case Henry:
		return "an inductance such as 4u7"
	case Hertz:
		return "a frequency such as 200Hz"
	case Second:
		return "a time such as 200ms"
	default:
		return "a percentage such as 5%"
	}
}

// FormatValue prints v in unit u with three significant digits and an SI
// prefix: 0.025 Ω gives "25 mΩ". Volts keep no prefix, as meters show them.
func FormatValue(v float64, u Unit) string {
	if u == Percent {
		return strconv.FormatFloat(math.Round(v*1e4)/1e2, 'g', -1, 64) + " %"
	}
	name, mul := "", 1.0
	if a := math.Abs(v); a != 0 && u != NoUnit && (u != Volt || a < 0.1) {
		for _, p := range []struct {
			name string
			mul  float64
		}{{"G", 1e9}, {"M", 1e6}, {"k", 1e3}, {"", 1}, {"m", 1e-3}, {"µ", 1e-6}, {"n", 1e-9}, {"p", 1e-12}} {
			name, mul = p.name, p.mul
			if a >= p.mul*0.9995 {
				break
			}
		}
	}
	text := strconv.FormatFloat(v/mul, 'g', 3, 64)
	if strings.Contains(text, "e") {
		text = strconv.FormatFloat(v/mul, 'f', 0, 64)
	}
	if u == NoUnit {
		return text
	}
	return text + " " + name + u.String()
}

// Band is a value with its tolerance.
type Band struct {
	Value float64 // in the unit of its field
	Tol   float64 // fraction of Value, 0.05 for 5 %
}

// Low and High are the ends of the band. A band round zero is as wide as the
// noise that a meter shows on a grounded point, 0.1 of the unit.
func (b Band) Low() float64 { return min(b.Value*(1-b.Tol), b.Value*(1+b.Tol)) - b.floor() }

// High is the upper end of the band.
func (b Band) High() float64 { return max(b.Value*(1-b.Tol), b.Value*(1+b.Tol)) + b.floor() }

func (b Band) floor() float64 {
	if b.Value == 0 {
		return 0.1
	}
	return 0
}
