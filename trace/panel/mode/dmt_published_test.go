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

// panelModes is the number of modes of the table: those of 59.94, 60 and 120 Hz
// without the sizes that only tubes have.
const panelModes = 43

// Source: edid-decode, SHA cb74358c2896 of 2022-03-30, --dmt for every id
// (testdata/README.md): clock, all porches, syncs, polarities and the rate.
func TestDMTAgainstEDIDDecode(t *testing.T) {
	recorded := lines(t, "edid_decode_dmt.txt")[1+88:]
	n := 0
	for at, line := range recorded {
		var id byte
		if !strings.HasPrefix(line, "DMT 0x") {
			continue
		}
		scan(t, line, "DMT 0x%x:", &id)
		d, ok := byID(id)
		if !ok {
			continue
		}
		want, rate := edidDecode(t, recorded[at:at+3])
		if diff := cmp.Diff(want, timingOf(d.Mode)); diff != "" {
			t.Errorf("id %02Xh (-oracle +ours):\n%s", d.ID, diff)
		}
		if math.Abs(d.Mode.Rate()-rate) > 1e-6 {
			t.Errorf("id %02Xh: %.6f Hz, edid-decode has %.6f Hz", d.ID, d.Mode.Rate(), rate)
		}
		n++
	}
	if all := mode.DMT(); n != panelModes || len(all) != panelModes {
		t.Errorf("%d modes, %d compared", len(all), n)
	}
}

// Source: edid-decode, as above, --list-dmts: which modes have reduced blanking, and
// which carry a code of CVT.
func TestDMTBlankingAgainstEDIDDecode(t *testing.T) {
	reduced := 0
	for id, l := range listed(t) {
		d, ok := byID(id)
		if !ok {
			continue
		}
		if has := strings.Contains(l, "(RB"); d.Reduced != has && id != 0x1a {
			t.Errorf("id %02Xh: reduced blanking %v, edid-decode has %v", id, d.Reduced, has)
		}
		if d.Reduced {
			reduced++
		}
	}
	// edid-decode does not mark 1Ah; its blanking is the 160 pixels of CVT-RB, and
	// the Linux kernel names it RB.
	if d, _ := byID(0x1a); !d.Reduced || d.Mode.H.Blank() != 160 || reduced < 20 {
		t.Errorf("id 1Ah: %+v, %d modes with reduced blanking", d, reduced)
	}
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
	delete(all, 0x0f) // interlaced
	if len(all) != 87 {
		t.Fatalf("%d modes are listed", len(all))
	}
	return all
}

// Source: table drm_dmt_modes of the Linux kernel (testdata/README.md). The
// table of this package was typed in from it, so it checks the making of the
// table; the outside check is edid-decode's. The kernel's polarity of 52h, both
// negative, differs from edid-decode and from CTA-861 for the same timing, which
// have both positive. Its names do not tell that 53h, 54h and 56h are reduced;
// edid-decode does.
func TestDMTAgainstLinux(t *testing.T) {
	n := 0
	for _, l := range lines(t, "linux_dmt.txt") {
		f := strings.Fields(l)
		var id byte
		var nominal float64
		var kHz int
		var h, v [4]int
		scan(t, strings.Join(f[:11], " "), "%x %f %d %d %d %d %d %d %d %d %d",
			&id, &nominal, &kHz, &h[0], &h[1], &h[2], &h[3], &v[0], &v[1], &v[2], &v[3])
		if strings.HasSuffix(l, "interlace") {
			continue
		}
		want := mode.DMTMode{ID: id, Nominal: nominal, Reduced: strings.HasSuffix(l, "rb") || id == 0x53 || id == 0x54 || id == 0x56}
		want.Mode = mode.Mode{
			Clock: float64(kHz) * 1e3,
			H:     mode.Axis{Active: h[0], Front: h[1] - h[0], Sync: h[2] - h[1], Back: h[3] - h[2]},
			V:     mode.Axis{Active: v[0], Front: v[1] - v[0], Sync: v[2] - v[1], Back: v[3] - v[2]},
			HPos:  f[11] == "+" || id == 0x52, VPos: f[12] == "+" || id == 0x52,
			Origin: fmt.Sprintf("DMT 1.13, id %02Xh", id),
		}
		got, ok := byID(id)
		if !ok {
			continue
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("id %02Xh (-kernel +ours):\n%s", id, diff)
		}
		n++
	}
	if n != panelModes {
		t.Errorf("%d rows", n)
	}
}

// Source: VESA DMT 1.13 itself, as recorded above: the modes that carry a CVT
// code, and those of 120 Hz and 4096x2160, are products of the CVT formula.
func TestDMTModesThatCVTMakes(t *testing.T) {
	n, list := 0, listed(t)
	for _, d := range mode.DMT() {
		b, rate := mode.Full, d.Nominal
		switch {
		case d.ID == 0x57 || d.ID == 0x58:
			b = mode.Reduced2
		case d.Reduced:
			b = mode.Reduced
		}
		if d.ID == 0x58 {
			rate = 60 / 1.001 // the option for television rates in CVT 1.2
		}
		if !strings.Contains(list[d.ID], "CVT:") && rate != 120 && b != mode.Reduced2 {
			continue
		}
		n++
		compare(t, asked{d.Mode.H.Active, d.Mode.V.Active, rate, b}, timingOf(d.Mode),
			cvt(t, asked{d.Mode.H.Active, d.Mode.V.Active, rate, b}))
	}
	if n < 29 {
		t.Errorf("%d modes only", n)
	}
}

// Source: VESA DMT 1.13 and CVT 1.2, from memory: clock and totals.
func TestTotals(t *testing.T) {
	for typed, want := range map[string]string{
		"1280x800@60 rb":    "71 1440x823",
		"1280x800@60 full":  "83.5 1680x831",
		"1366x768@60 full":  "85.5 1792x798",
		"1366x768@60":       "72 1500x800",
		"1440x900@60 rb":    "88.75 1600x926",
		"1440x900@60 full":  "106.5 1904x934",
		"1600x900@60 rb":    "108 1800x1000",
		"1680x1050@60 rb":   "119 1840x1080",
		"1680x1050@60 full": "146.25 2240x1089",
		"1920x1080@60 dmt":  "148.5 2200x1125",
		"1920x1080@60 rb":   "138.5 2080x1111",
		"1920x1200@60 rb":   "154 2080x1235",
		"1920x1200@60 full": "193.25 2592x1245",
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
