package mode_test

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/panel/mode"
)

func TestParseReadsWhatATechnicianTypes(t *testing.T) {
	for _, c := range []struct{ typed, timings, origin string }{
		// The notebook panel of this size has reduced blanking, which DMT has as 56h.
		{"1366x768", "72 MHz 1366+14+56+64 768+1+3+28 +hsync +vsync", "DMT 1.13, id 56h"},
		{" 1366 x 768 @ 60 Hz ", "72 MHz 1366+14+56+64 768+1+3+28 +hsync +vsync", "DMT 1.13, id 56h"},
		{"1366x768 at 60.00 Hz", "72 MHz 1366+14+56+64 768+1+3+28 +hsync +vsync", "DMT 1.13, id 56h"},
		{"1366x768@60 full", "85.5 MHz 1366+70+143+213 768+3+3+24 +hsync +vsync", "DMT 1.13, id 51h"},
		{"1366x768@60.2 dmt full", "85.5 MHz 1366+70+143+213 768+3+3+24 +hsync +vsync", "DMT 1.13, id 51h"},
		{"1366x768@60 cvt", "72 MHz 1360+48+32+80 768+3+5+14 +hsync -vsync", "CVT 1.2, reduced blanking"},
		{"1366x768@60 rb2", "68.54 MHz 1366+8+32+40 768+8+8+6 +hsync -vsync", "CVT 1.2, reduced blanking version 2"},
		{"1920×1080 60Hz", "138.5 MHz 1920+48+32+80 1080+3+5+23 +hsync -vsync", "CVT 1.2, reduced blanking"},
		{"1920X1080P60", "138.5 MHz 1920+48+32+80 1080+3+5+23 +hsync -vsync", "CVT 1.2, reduced blanking"},
		{"1920x1080@60 RB", "138.5 MHz 1920+48+32+80 1080+3+5+23 +hsync -vsync", "CVT 1.2, reduced blanking"},
		{"1920x1080@60 cvt-rbv2", "133.32 MHz 1920+8+32+40 1080+17+8+6 +hsync -vsync", "CVT 1.2, reduced blanking version 2"},
		{"1920x1080 dmt", "148.5 MHz 1920+88+44+148 1080+4+5+36 +hsync +vsync", "DMT 1.13, id 52h"},
		{"1600x900 rb", "108 MHz 1600+24+80+96 900+1+3+96 +hsync +vsync", "DMT 1.13, id 53h"},
		{"1600x900 cvt rb", "97.75 MHz 1600+48+32+80 900+3+5+18 +hsync -vsync", "CVT 1.2, reduced blanking"},
		{"640x480@60 dmt", "25.175 MHz 640+16+96+48 480+10+2+33 -hsync -vsync", "DMT 1.13, id 04h"},
		{"72.3MHz 1366+48+32+114 768+3+6+15", "72.3 MHz 1366+48+32+114 768+3+6+15 -hsync -vsync", "timings as typed"},
		{"72300 kHz, 1366+48+32+114, 768+3+6+15 +HSync -VSync", "72.3 MHz 1366+48+32+114 768+3+6+15 +hsync -vsync", "timings as typed"},
	} {
		m, err := mode.Parse(c.typed)
		if err != nil {
			t.Error(err)
			continue
		}
		if got := m.Timings(); got != c.timings || m.Origin != c.origin {
			t.Errorf("%s\n got %s, %s\nwant %s, %s", c.typed, got, m.Origin, c.timings, c.origin)
		}
	}
}

func TestParseSaysWhatIsWrongAndWhere(t *testing.T) {
	for typed, want := range map[string]string{
		"":           "column 1: read the end, expected a size or a clock, such as 1366x768@60",
		"1366":       "column 1: a number alone is no mode, expected width and height, such as 1366x768@60, or a clock with its unit",
		"1366y768":   `column 5: read "y768", expected "x" between width and height`,
		"1366x":      "column 6: read the end, expected height",
		"1366x768.5": `column 6: read "768.5", expected height as a whole number`,
		"1920×1080 " +
			"rp": `column 11: read "rp", expected one of rb, rb2, full, cvt, dmt or the end; did you mean "rb"?`,
		"1920x1080 rb rb2":                       `column 14: read "rb2", expected a word that does not contradict the one before`,
		"1920x1080 cvt dmt":                      `column 15: read "dmt", expected a word that does not contradict`,
		"1920x1080@":                             "column 11: read the end, expected a rate in Hz",
		"1920x1080@6.0.0":                        `column 11: read "6.0.0", expected a rate in Hz with one point at most`,
		"1920x1080@2000":                         "column 11: rate 2000 Hz is out of range, 1 to 1000 Hz",
		"0x1080":                                 "column 1: width 0 is out of range, 1 to 16384",
		"1920x16385":                             "column 6: height 16385 is out of range, 1 to 16384",
		"1920x99999999999999999999":              "column 6: height 99999999999999999999 is out of range, 1 to 16384",
		"7x1080 rb":                              "7 pixels are too narrow",
		"16384x16384@240 rb":                     "is out of range, 0.1 to 10000 MHz",
		"1920x1080@75 dmt":                       "there is no mode of 1920x1080 at 75 Hz that panels have by DMT and not by CVT",
		"1366x769 dmt":                           "there is no mode of 1366x769 at 60 Hz that panels have by DMT",
		"1920x1080i@60":                          `column 10: read "i", expected one of rb`,
		"0.05MHz 1366+48+32+114 768+3+6+15":      "column 1: pixel clock 0.05 MHz is out of range, 0.1 to 10000 MHz",
		"72.3MHz 1366+48+32 768+3+6+15":          `column 20: read "768", expected "+" and the back porch in pixels`,
		"72.3MHz 1366+48+32+114":                 "column 23: read the end, expected active lines",
		"723MHz 1366+48+32+114 20+3+6+15":        "723 MHz over 1560 pixels and 44 lines: rate 10533.2 Hz is out of range, 1 to 1000 Hz",
		"72.3MHz 1366+48+32+114 768+3+6+15 +hs":  `column 36: read "hs", expected hsync or vsync, such as +hsync`,
		"72.3MHz 1366+48+32+114 768+3+6+15 fast": `column 35: read "fast", expected +hsync, -hsync`,
		"72.3MHz 1366+48+32+114 768+3+6+15 +hsnc": `column 36: read "hsnc", expected hsync or vsync, such as +hsync; ` +
			`did you mean "hsync"?`,
		"72.3MHz 1366+48+32+114 768+3+6+15 (47 kHz)": `read "(", expected +hsync`,
		// Names of sizes.
		"1080p":     `column 1: read "1080", expected width and height; did you mean "1920x1080"?`,
		"1080p60":   `did you mean "1920x1080"?`,
		"1080i":     `did you mean "1920x1080"?`,
		"1080 P":    `did you mean "1920x1080"?`,
		"720p@60":   `did you mean "1280x720"?`,
		"FHD":       `column 1: read "FHD", expected width and height; did you mean "1920x1080"?`,
		"fhd rb":    `did you mean "1920x1080"?`,
		"HD":        `did you mean "1366x768"?`,
		"HD+":       `did you mean "1600x900"?`,
		"WUXGA":     `did you mean "1920x1200"?`,
		"4K":        `did you mean "3840x2160"?`,
		"uhd@60":    `did you mean "3840x2160"?`,
		"WSXGA+ 60": `did you mean "1680x1050"?`,
		"1081p":     `column 5: read "p", expected "x" between width and height`,
		"HD +":      `did you mean "1366x768"?`,
	} {
		_, err := mode.Parse(typed)
		if err == nil {
			t.Errorf("%q: no error, expected %q", typed, want)
			continue
		}
		if m := mistakeOf(t, err); !strings.Contains(said(m), want) || m.Text != typed {
			t.Errorf("%q:\n got %s\nwant %s", typed, said(m), want)
		}
	}
}

func TestMistakeShowsThePlace(t *testing.T) {
	_, err := mode.Parse("1920×1080 rp")
	want := mistake.Mistake{
		Text: "1920×1080 rp", Column: 11, Width: 2, Code: "mode", Msg: `read "rp"`,
		Want: "one of rb, rb2, full, cvt, dmt or the end", Near: "rb",
	}
	if diff := cmp.Diff(want, mistakeOf(t, err)); diff != "" {
		t.Error(diff)
	}
}

func mistakeOf(t testing.TB, err error) mistake.Mistake {
	t.Helper()
	var m mistake.Mistake
	if !errors.As(err, &m) {
		t.Fatalf("%T is no mistake: %v", err, err)
	}
	return m
}

// said is a mistake on one line.
func said(m mistake.Mistake) string {
	text := m.Msg
	if m.Column > 0 {
		text = fmt.Sprintf("column %d: %s", m.Column, text)
	}
	if m.Want != "" {
		text += ", expected " + m.Want
	}
	if m.Near != "" {
		text += "; did you mean " + strconv.Quote(m.Near) + "?"
	}
	return text
}

func TestNotesTellWhatWasRoundedOrTaken(t *testing.T) {
	for typed, want := range map[string]string{
		"1366x768":           "",
		"1920x1080@120":      "",
		"1920x1080@59.94 rb": "",
		"1920x1080@48 rb2":   "",
		"1366x768@60 cvt":    "CVT counts in cells of 8 pixels: 1366 became 1360; rb2 keeps 1366",
		"1920x1080@48":       "CVT reduced blanking version 1 is meant for 60 Hz and its multiples",
		"1366x768@48": "CVT counts in cells of 8 pixels: 1366 became 1360; rb2 keeps 1366; CVT " +
			"reduced blanking version 1 is meant for 60 Hz and its multiples",
		"72.3MHz 1366+48+32+114 768+3+6+15": "no sync polarity is given: taken as negative",
	} {
		m, err := mode.Parse(typed)
		if err != nil {
			t.Error(err)
			continue
		}
		if m.Note != want {
			t.Errorf("%s: note %q, expected %q", typed, m.Note, want)
		}
	}
}

func TestAlternativesListAllStandards(t *testing.T) {
	list := func(w, h int, rate float64) (out []string) {
		for _, m := range mode.Alternatives(w, h, rate) {
			out = append(out, m.Origin)
		}
		return out
	}
	for _, c := range []struct {
		w, h int
		rate float64
		want []string
	}{
		{1366, 768, 60, []string{
			"DMT 1.13, id 56h", "DMT 1.13, id 51h",
			"CVT 1.2, reduced blanking", "CVT 1.2, reduced blanking version 2",
		}},
		{1280, 800, 60, []string{
			"CVT 1.2, reduced blanking", "CVT 1.2, reduced blanking version 2",
		}},
		{4, 768, 60, []string{"CVT 1.2, reduced blanking version 2"}},
		{0, 768, 60, nil},
	} {
		if diff := cmp.Diff(c.want, list(c.w, c.h, c.rate)); diff != "" {
			t.Errorf("%dx%d at %g Hz (-want +got):\n%s", c.w, c.h, c.rate, diff)
		}
	}
}

func TestCVTNamesTheRange(t *testing.T) {
	for _, c := range []struct {
		w, h int
		rate float64
		b    mode.Blanking
		want string
	}{
		{0, 768, 60, mode.Reduced, "CVT: width 0 is out of range, 1 to 16384"},
		{1366, -1, 60, mode.Reduced, "CVT: height -1 is out of range, 1 to 16384"},
		{1366, 768, 0.5, mode.Reduced, "CVT: rate 0.5 Hz is out of range, 1 to 1000 Hz"},
		{1000, 200, 1, mode.Reduced, "CVT: 1000x200 at 1 Hz with reduced blanking: after rounding the clock down to 0.25 " +
			"MHz the rate 0.984097 Hz is out of range, 1 to 1000 Hz"},
		{320, 16, 1, mode.Reduced2, "CVT: 320x16 at 1 Hz with reduced blanking version 2: pixel clock 0.012 MHz is out of " +
			"range, 0.1 to 10000 MHz"},
	} {
		_, err := mode.CVT(c.w, c.h, c.rate, c.b)
		if err == nil || err.Error() != c.want {
			t.Errorf("got %v, expected %s", err, c.want)
		}
	}
}

func TestModeWithoutNumbersHasNoRate(t *testing.T) {
	var m mode.Mode
	if m.Rate() != 0 || m.LineRate() != 0 {
		t.Errorf("%v Hz, %v lines a second", m.Rate(), m.LineRate())
	}
}
