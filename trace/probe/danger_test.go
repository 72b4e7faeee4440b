package probe

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/boards/boardtest"
)

// A short, a bridge and a line at a rail's voltage keep power off; a leak of a signal,
// an open load and a level that should not be there do not.
func TestWhatKeepsPowerOff(t *testing.T) {
	const noPower = "no power before this reads right; find and clear it"
	for _, c := range []struct {
		board, reading string
		should         float64 // Ω or V, with all power out
		want           string  // the beginning; empty for no danger
	}{
		{"larkspur13", "VBL=ohms:0.1", 40e3, "VBL reads 0.1 Ω: " + noPower},
		{"larkspur13", "VBL=ohms:4k", 40e3, "VBL reads 4 kΩ: " + noPower}, // of the gate whatever reads too low
		{"larkspur13", "VBL=ohms:OL", 40e3, ""},
		{"larkspur13", "VBL/BL_K4=5ohm", math.Inf(1), "VBL to BL_K4 reads 5 Ω: " + noPower},
		{"larkspur13", "BL_K4/VBL=5ohm", math.Inf(1), "BL_K4 to VBL reads 5 Ω: " + noPower},
		{"larkspur13", "VBL=diode:0.02V", 0.62, "VBL reads 20 mV in diode mode: " + noPower},
		{"larkspur13", "V3_RUN=ohms:0.1", 650, "V3_RUN reads 0.1 Ω: " + noPower},
		{"larkspur13", "V3_RUN=ohms:300", 650, ""}, // a leak
		{"larkspur13", "V3_ID=ohms:0.3", 650, "V3_ID reads 0.3 Ω: " + noPower},
		{"larkspur13", "BL_K4=ohms:0.1", 1e6, "BL_K4 reads 0.1 Ω: " + noPower},
		{"larkspur13", "ID_DAT_J=ohms:0.1", 10e3, ""}, // no rail, and beside none
		{"larkspur13", "VMAIN/ID_DAT_J=5ohm", 85e3, "VMAIN to ID_DAT_J reads 5 Ω: " + noPower},
		{"larkspur13", "VBL_F/VBL_SW=0.1", 50e3, ""}, // its switch
		{"larkspur13", "F3=0.1ohm", 0.2, ""},
		{"teasel14", "VBL_SW=ohms:0.1", 150e3, "VBL_SW reads 0.1 Ω: " + noPower},
		{"siskin15", "ID_DAT_J=16.8V", 0, "power out now: ID_DAT_J stands at about 16.8 V, as on VMAIN; then ohms from ID_DAT_J to VMAIN; "},
		{"siskin15", "ID_DAT_J=16.2V", 0, "power out now: ID_DAT_J stands at about 16.2 V, as on VMAIN"},
		{"siskin15", "ID_DAT_J=3.5V", 0, ""},
		{"larkspur13", "V1_RUN=3.3V", 0, "power out now: V1_RUN stands at about 3.3 V, as on V3_"},
		{"siskin15", "V1_G2=ohms:20", 35, ""}, // a big chip
		{"siskin15", "V1_G2=ohms:0.1", 35, "V1_G2 reads 0.1 Ω: " + noPower},
		{"siskin15", "V1_G2=diode:0.02V", 0.035, ""},
		{"larkspur13", "BL_K4=31V", 0, "power out now: BL_K4 stands at about 31 V, as on VBL; then ohms from BL_K4 to VBL"},
		{"larkspur13", "BL_K3=3.4V", 0, ""}, // an element of its string bridged
		{"larkspur13", "VBL=38V", 0, ""},    // an open string: there is no rail as high
		{"larkspur13", "VBL=12.2V", 0, ""},
		{"larkspur13", "EDID=unread", 0, ""},
		{"larkspur13", "R36=OL", 72e3, "R36 reads OL: it is the upper leg of the divider that limits VBL; do not power"},
		{"larkspur13", "R36=1.5Mohm", 72e3, "R36 reads 1.5 MΩ: it is the upper leg"},
		{"larkspur13", "R36=20k", 72e3, ""}, // less limit is no danger
		{"larkspur13", "R37=OL", 35e3, ""},
		{"larkspur13", "R31=OL", 90e3, ""},
	} {
		b := boardtest.Demo(t, c.board)
		r, err := b.ParseReading(c.reading, b.Usual())
		if err != nil {
			t.Fatal(err)
		}
		x := On(b, nil)
		var got []string
		for _, d := range x.Dangers([]Judged{{Reading: r, Should: c.should}}) {
			got = append(got, x.DangerText(&d))
		}
		text := strings.Join(got, "\n")
		if (text == "") != (c.want == "") || !strings.HasPrefix(text, c.want) {
			t.Errorf("%s %s: it says %q, not %q", c.board, c.reading, text, c.want)
		}
	}
}

// The last reading of a probe counts, and ohms to the rail let a line be read again.
func TestADangerEndsWhenItReadsRight(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	x := On(b, nil)
	short, right := "VBL=ohms:0.1", "VBL=ohms:40k"
	high, again, apart, bridged := "ID_DAT_J=12.6V", "ID_DAT_J=3.3V", "ID_DAT_J/VMAIN=85k", "ID_DAT_J/VMAIN=5ohm"
	for _, c := range []struct{ readings, want []string }{
		{[]string{short}, []string{"VBL"}},
		{[]string{short, right}, nil},
		{[]string{right, short}, []string{"VBL"}},
		{[]string{short, high}, []string{"ID_DAT_J", "VBL"}}, // the gravest first
		{[]string{high, again}, nil},
		{[]string{high, apart}, nil},
		{[]string{high, bridged}, []string{"ID_DAT_J to VMAIN"}},
		{[]string{apart, high}, []string{"ID_DAT_J"}},
	} {
		var list []Judged
		for _, text := range c.readings {
			r, err := b.ParseReading(text, b.Usual())
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, Judged{r, text == right || text == again || text == apart, 85e3})
		}
		var got []string
		for _, d := range x.Dangers(list) {
			got = append(got, At(b, d.Probe))
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%v:\n%s", c.readings, diff)
		}
	}
}
