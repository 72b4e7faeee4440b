package netlist

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// close to a part in 10^12: a decimal and its binary neighbour are no further apart.
func near(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b))
}

// TestCodesOfTheStandard reads the letter and digit codes of IEC 60062:2016.
func TestCodesOfTheStandard(t *testing.T) {
	for _, row := range []struct {
		code string
		unit Unit
		want float64
	}{
		// Resistance, IEC 60062:2016, clause on the letter and digit code; the
		// first eight are also the examples of the public page "RKM code" of the
		// English Wikipedia, which cites the standard.
		{"R47", Ohm, 0.47}, {"4R7", Ohm, 4.7}, {"470R", Ohm, 470}, {"4K7", Ohm, 4700},
		{"47K", Ohm, 47e3}, {"47K3", Ohm, 47300}, {"470K", Ohm, 470e3}, {"4M7", Ohm, 4.7e6},
		// The same clause, from memory.
		{"R10", Ohm, 0.1}, {"R332", Ohm, 0.332}, {"1R0", Ohm, 1}, {"3R32", Ohm, 3.32},
		{"10R", Ohm, 10}, {"59R0", Ohm, 59}, {"1K0", Ohm, 1000}, {"3K32", Ohm, 3320},
		{"1M0", Ohm, 1e6}, {"10M", Ohm, 10e6}, {"1G0", Ohm, 1e9}, {"R047", Ohm, 0.047},
		// Capacitance, the same clause, from memory.
		{"p10", Farad, 0.1e-12}, {"p332", Farad, 0.332e-12}, {"1p0", Farad, 1e-12}, {"3p3", Farad, 3.3e-12},
		{"3p32", Farad, 3.32e-12}, {"10p", Farad, 10e-12}, {"100p", Farad, 100e-12}, {"n15", Farad, 150e-12},
		{"1n0", Farad, 1e-9}, {"4n7", Farad, 4.7e-9}, {"100n", Farad, 100e-9}, {"1µ0", Farad, 1e-6},
		{"33µ2", Farad, 33.2e-6}, {"1m0", Farad, 1e-3},
		// The same signs as they are typed and used for other units: common
		// practice, no source.
		{"4k7", Ohm, 4700}, {"2k2", Ohm, 2200}, {"4u7", Farad, 4.7e-6}, {"4u7", Henry, 4.7e-6},
		{"3V3", Volt, 3.3}, {"1V8", Volt, 1.8}, {"0R", Ohm, 0}, {"25m", Ohm, 0.025},
		// Plain decimals with unit symbols and prefixes, SI brochure (2019), tables 4 and 7.
		{"12.6V", Volt, 12.6}, {"0V", Volt, 0}, {"20mA", Ampere, 0.02}, {"4.7kΩ", Ohm, 4700},
		{"100nF", Farad, 100e-9}, {"10uH", Henry, 10e-6}, {"200ms", Second, 0.2}, {"71MHz", Hertz, 71e6},
		{"600kHz", Hertz, 600e3}, {"-5V", Volt, -5}, {"+5V", Volt, 5}, {"10", NoUnit, 10},
		// A percentage is a fraction: ISO 80000-1:2009, 6.5.5 (from memory).
		{"5%", Percent, 0.05}, {"0.5%", Percent, 0.005},
		// One sign, two code points each: the micro sign U+00B5 and the Greek mu
		// U+03BC, the ohm sign U+2126 and the Greek omega U+03A9 (Unicode, which
		// prefers the Greek letters).
		{"4.7\u00B5F", Farad, 4.7e-6}, {"4.7\u03BCF", Farad, 4.7e-6}, {"47\u2126", Ohm, 47}, {"47\u03A9", Ohm, 47},
	} {
		got, err := ParseValue(row.code, row.unit)
		if err != nil || !near(got, row.want) {
			t.Errorf("ParseValue(%q, %s) = %v, %v; want %v", row.code, row.unit, got, err, row.want)
		}
	}
}

// The rounded series of IEC 60063:2015, tables for E6, E12 and E24 (also in
// check-values 9.8 and the public page "Component preferred values", qsl.net).
var (
	e6  = []string{"1.0", "1.5", "2.2", "3.3", "4.7", "6.8"}
	e12 = []string{"1.0", "1.2", "1.5", "1.8", "2.2", "2.7", "3.3", "3.9", "4.7", "5.6", "6.8", "8.2"}
	e24 = []string{
		"1.0", "1.1", "1.2", "1.3", "1.5", "1.6", "1.8", "2.0", "2.2", "2.4", "2.7", "3.0",
		"3.3", "3.6", "3.9", "4.3", "4.7", "5.1", "5.6", "6.2", "6.8", "7.5", "8.2", "9.1",
	}
)

// e96 is made by the rule of IEC 60063:2015: 10^(k/96) rounded to three digits.
// No E96 value departs from the rule (of E192, only 9.20 does).
func e96() []string {
	var out []string
	for k := range 96 {
		out = append(out, strconv.FormatFloat(math.Pow(10, float64(k)/96), 'f', 2, 64))
	}
	return out
}

// TestSeriesTables guards the tables of this test against slips of the pen, so
// that the series test below stands on the standard and not on a typing error.
func TestSeriesTables(t *testing.T) {
	everySecond := func(s []string) (out []string) {
		for i := 0; i < len(s); i += 2 {
			out = append(out, s[i])
		}
		return out
	}
	if diff := cmp.Diff(e6, everySecond(e12)); diff != "" {
		t.Errorf("E6 is not every second value of E12:\n%s", diff)
	}
	if diff := cmp.Diff(e12, everySecond(e24)); diff != "" {
		t.Errorf("E12 is not every second value of E24:\n%s", diff)
	}
	// IEC 60063: eight E24 values are not the rounded powers of 10^(1/24).
	var odd []string
	for k, v := range e24 {
		if strconv.FormatFloat(math.Pow(10, float64(k)/24), 'f', 1, 64) != v {
			odd = append(odd, v)
		}
	}
	if diff := cmp.Diff([]string{"2.7", "3.0", "3.3", "3.6", "3.9", "4.3", "4.7", "8.2"}, odd); diff != "" {
		t.Errorf("E24 values off the powers (-want +got):\n%s", diff)
	}
	// Ends and some middles of the E96 table, same public page.
	s := e96()
	got := []string{s[0], s[1], s[2], s[24], s[48], s[49], s[72], s[95]}
	if diff := cmp.Diff([]string{"1.00", "1.02", "1.05", "1.78", "3.16", "3.24", "5.62", "9.76"}, got); diff != "" {
		t.Errorf("E96 (-want +got):\n%s", diff)
	}
}

// TestEverySeriesValueParses writes each preferred value in code style, 4R7 or
// 47k or 470n, and as a decimal, at every decade the code reaches.
func TestEverySeriesValueParses(t *testing.T) {
	letters := map[Unit][]struct {
		sign string
		exp  int
	}{
		Ohm:   {{"R", 0}, {"k", 3}, {"K", 3}, {"M", 6}, {"G", 9}},
		Farad: {{"p", -12}, {"n", -9}, {"u", -6}, {"µ", -6}, {"m", -3}},
		Henry: {{"n", -9}, {"u", -6}, {"m", -3}},
		Volt:  {{"V", 0}, {"k", 3}, {"m", -3}},
	}
	checked := 0
	for name, series := range map[string][]string{"E6": e6, "E12": e12, "E24": e24, "E96": e96()} {
		for unit, signs := range letters {
			for _, l := range signs {
				for _, v := range series {
					digits := strings.Replace(v, ".", "", 1)
					for decade := range len(digits) {
						want, _ := strconv.ParseFloat(fmt.Sprintf("%se%d", v, l.exp+decade), 64)
						code := digits[:1+decade] + l.sign + digits[1+decade:]
						plain := digits[:1+decade] + "." + digits[1+decade:] + "0" + l.sign
						for _, text := range []string{code, plain} {
							got, err := ParseValue(text, unit)
							if err != nil || !near(got, want) {
								t.Errorf("%s: ParseValue(%q, %s) = %v, %v; want %v", name, text, unit, got, err, want)
							}
							checked++
						}
					}
				}
			}
		}
	}
	// 6+12+24 values at 2 decades and 96 at 3, 16 signs, two spellings.
	if want := (42*2 + 96*3) * 16 * 2; checked != want {
		t.Errorf("checked %d spellings, want %d", checked, want)
	}
}

func TestValuesThatAreRefusedSayWhy(t *testing.T) {
	for _, row := range []struct {
		text string
		unit Unit
		want string // part of the message
	}{
		{"3A", Volt, "it is in A"},
		{"3V", Ampere, "it is in V"},
		{"100n", Percent, `"n" is not understood`},
		{"5F", Ohm, "it is in F"},
		{"20mA", Volt, "it is in A"},
		{"4k7Hz", Ohm, "it is in Hz"},
		{"5%", Volt, "it is in %"},
		{"10V", NoUnit, "it is in V"},
		{"", Volt, "no digits"},
		{"V", Volt, "no digits"},
		{"R", Ohm, "no digits"},
		{"-", Volt, "no digits"},
		{"k", Ohm, "no digits"},
		{"3.", Volt, "digits are missing after the point"},
		{".V", Volt, "digits are missing after the point"},
		{"1.2.3V", Volt, `".3V" is not understood`},
		{"4k7k", Ohm, `"k" is not understood`},
		{"4.7k3", Ohm, `"3" is not understood`},
		{"4R7R", Ohm, `"R" is not understood`},
		{"3V3V", Volt, `"V" is not understood`},
		{"4,7", Ohm, `",7" is not understood`},
		{"1e3", Ohm, `"e3" is not understood`},
		{"--5V", Volt, "no digits"},
		{"5", Percent, "the percent sign is missing"},
		{"5%3", Percent, `"3" is not understood`},
		{"5 V", Volt, `" V" is not understood`},
		{"NaN", Volt, "no digits"},
		{"Inf", Volt, "no digits"},
		{"0x10", Ohm, `"x10" is not understood`},
		{strings.Repeat("9", 400), Volt, "out of range"},
		{strings.Repeat("9", 305) + "G", Ohm, "out of range"},
	} {
		_, err := ParseValue(row.text, row.unit)
		if err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("ParseValue(%q, %s): %v, want a message with %q", row.text, row.unit, err, row.want)
		}
		if err != nil && !strings.Contains(err.Error(), unitPhrase(row.unit)) {
			t.Errorf("ParseValue(%q, %s): %v does not say what was expected", row.text, row.unit, err)
		}
	}
}

func TestValuesPrintAsAMeterShowsThem(t *testing.T) {
	for _, row := range []struct {
		v    float64
		unit Unit
		want string
	}{
		{0.025, Ohm, "25 mΩ"}, {4700, Ohm, "4.7 kΩ"}, {1e6, Ohm, "1 MΩ"}, {999.6, Ohm, "1 kΩ"},
		{0, Ohm, "0 Ω"}, {100e-9, Farad, "100 nF"}, {4.7e-6, Henry, "4.7 µH"}, {3.3, Volt, "3.3 V"},
		{12.64, Volt, "12.6 V"}, {0.05, Volt, "50 mV"}, {-5, Volt, "-5 V"}, {1200, Volt, "1200 V"},
		{71e6, Hertz, "71 MHz"}, {0.05, Percent, "5 %"}, {10, NoUnit, "10"}, {0.02, Ampere, "20 mA"},
	} {
		if got := FormatValue(row.v, row.unit); got != row.want {
			t.Errorf("FormatValue(%v, %s) = %q, want %q", row.v, row.unit, got, row.want)
		}
	}
}

// TestPrintedValuesReadBack prints a value with three digits and reads it again.
func TestPrintedValuesReadBack(t *testing.T) {
	units := []Unit{Volt, Ampere, Ohm, Farad, Henry, Hertz, Second}
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(units).Draw(t, "unit")
		exp := rapid.Float64Range(-11.9, 10.9).Draw(t, "exponent")
		v := math.Pow(10, exp)
		if rapid.Bool().Draw(t, "negative") {
			v = -v
		}
		text := FormatValue(v, u)
		got, err := ParseValue(strings.Replace(text, " ", "", 1), u)
		// Three digits are wrong by at most half of the last, 0.5 in 100.
		if err != nil || math.Abs(got-v) > 0.005*math.Abs(v) {
			t.Fatalf("%v %s prints as %q and reads back as %v, %v", v, u, text, got, err)
		}
	})
}

// TestPrintedPercentagesReadBack checks the two decimals that a percentage keeps.
func TestPrintedPercentagesReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1, 1).Draw(t, "fraction")
		text := FormatValue(v, Percent)
		got, err := ParseValue(strings.Replace(text, " ", "", 1), Percent)
		if err != nil || math.Abs(got-v) > 0.000051 {
			t.Fatalf("%v prints as %q and reads back as %v, %v", v, text, got, err)
		}
	})
}

func TestBandEndsStandInOrder(t *testing.T) {
	type ends struct{ Low, High float64 }
	for _, row := range []struct {
		band Band
		want ends
	}{
		{Band{10, 0.05}, ends{9.5, 10.5}},
		{Band{-10, 0.05}, ends{-10.5, -9.5}},
		{Band{10, 0}, ends{10, 10}},
		{Band{0, 0.05}, ends{-0.1, 0.1}}, // the noise of a meter on a grounded point
	} {
		if diff := cmp.Diff(row.want, ends{row.band.Low(), row.band.High()}); diff != "" {
			t.Errorf("%v (-want +got):\n%s", row.band, diff)
		}
	}
}
