package mode_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/trace/panel/mode"
)

// Source: edid-decode, SHA cb74358c2896 of 2022-03-30, --dmt for every id
// (testdata/README.md): clock, all porches, syncs, polarities and the rate. What the
// table of this package leaves out is what CVT makes: each mode of DMT that panels
// have is in the one or comes out of the other, to the pixel and the Hz. Only tubes
// have 1792x1344, 1856x1392 and 1920x1440, the rates from 56 to 85 Hz, and full
// blanking by CVT, which its polarities -hsync +vsync tell (CVT 1.2, from memory).
func TestEveryDMTModeIsInTheTableOrMadeByCVT(t *testing.T) {
	recorded, list := lines(t, "edid_decode_dmt.txt")[1+88:], listed(t)
	rows, made := 0, 0
	for at, line := range recorded {
		var id byte
		if !strings.HasPrefix(line, "DMT 0x") {
			continue
		}
		scan(t, line, "DMT 0x%x:", &id)
		want, rate := edidDecode(t, recorded[at:at+3])
		if d, ok := byID(id); ok {
			if diff := cmp.Diff(want, timingOf(d.Mode)); diff != "" || math.Abs(d.Mode.Rate()-rate) > 1e-6 {
				t.Errorf("id %02Xh: %.6f Hz, edid-decode has %.6f Hz (-oracle +ours):\n%s", id, d.Mode.Rate(), rate, diff)
			}
			if cvtMakes(t, want, 60) {
				t.Errorf("id %02Xh is what CVT makes", id)
			}
			// edid-decode marks reduced blanking.
			if has := strings.Contains(list[id], "(RB"); has != (d.Kind == mode.Reduced) {
				t.Errorf("id %02Xh: blanking %v, edid-decode has reduced blanking: %v", id, d.Kind, has)
			}
			rows++
			continue
		}
		nominal := math.Round(rate)
		tube := want.H.Active == 1792 || want.H.Active == 1856 || want.H.Active == 1920 && want.V.Active == 1440
		if crt := !want.HPos && want.VPos; id == 0x0f || tube || crt || nominal != 60 && nominal != 120 {
			continue
		}
		if id == 0x58 {
			nominal = 60 / 1.001 // the option for television rates in CVT 1.2
		}
		if !cvtMakes(t, want, nominal) {
			t.Errorf("id %02Xh is neither in the table nor what CVT makes: %+v", id, want)
		}
		made++
	}
	if rows != len(mode.DMT()) || rows != 14 || made != 22 {
		t.Errorf("%d modes of the table, %d compared, and %d that CVT makes", len(mode.DMT()), rows, made)
	}
}

// cvtMakes reports whether CVT makes a timing at a rate in Hz, with any blanking.
func cvtMakes(t *testing.T, want timing, rate float64) bool {
	t.Helper()
	return slices.ContainsFunc([]mode.Blanking{mode.Reduced, mode.Reduced2}, func(b mode.Blanking) bool {
		return cvt(t, asked{want.H.Active, want.V.Active, rate, b}) == want
	})
}

func byID(id byte) (mode.DMTMode, bool) {
	all := mode.DMT()
	i := slices.IndexFunc(all, func(d mode.DMTMode) bool { return d.ID == id })
	if i < 0 {
		return mode.DMTMode{}, false
	}
	return all[i], true
}

// listed are the lines of --list-dmts by their ids.
func listed(t *testing.T) map[byte]string {
	t.Helper()
	all := map[byte]string{}
	for _, l := range lines(t, "edid_decode_dmt.txt")[1 : 1+88] {
		var id byte
		scan(t, l, "DMT 0x%x:", &id)
		all[id] = l
	}
	if len(all) != 88 {
		t.Fatalf("%d modes are listed", len(all))
	}
	return all
}

// Source: VESA DMT 1.13 and CVT 1.2, from memory: clock and totals.
func TestTotals(t *testing.T) {
	for typed, want := range map[string]string{
		"1280x800@60 rb":   "71 1440x823",
		"1366x768@60 full": "85.5 1792x798",
		"1366x768@60":      "72 1500x800",
		"1440x900@60 rb":   "88.75 1600x926",
		"1600x900@60 rb":   "108 1800x1000",
		"1680x1050@60 rb":  "119 1840x1080",
		"1920x1080@60 dmt": "148.5 2200x1125",
		"1920x1080@60 rb":  "138.5 2080x1111",
		"1920x1200@60 rb":  "154 2080x1235",
	} {
		m, err := mode.Parse(typed)
		if err != nil {
			t.Error(err)
			continue
		}
		if got := fmt.Sprintf("%g %dx%d", m.Clock/1e6, m.H.Total(), m.V.Total()); got != want {
			t.Errorf("%s: %s, expected %s", typed, got, want)
		}
	}
}
