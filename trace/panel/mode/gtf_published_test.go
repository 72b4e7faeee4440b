package mode_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/trace/panel/mode"
)

// Source: edid-decode, SHA cb74358c2896 of 2022-03-30, --gtf (testdata/README.md).
// It gives the clock to the kHz.
func TestGTFAgainstEDIDDecode(t *testing.T) {
	n := 0
	for ls := lines(t, "edid_decode_gtf.txt")[1:]; len(ls) >= 4; ls = ls[4:] {
		var w, h int
		var rate float64
		scan(t, strings.TrimSuffix(ls[0], " gtf"), "%dx%d %f", &w, &h, &rate)
		want, _ := edidDecode(t, ls[1:4])
		m, err := mode.GTF(w, h, rate)
		if err != nil {
			t.Error(err)
			continue
		}
		if math.Abs(m.Clock-want.Clock) > 1e3 {
			t.Errorf("%s: clock %.0f Hz, edid-decode has %.0f Hz", ls[0], m.Clock, want.Clock)
		}
		want.Clock = m.Clock
		if diff := cmp.Diff(want, timingOf(m)); diff != "" {
			t.Errorf("%s (-oracle +ours):\n%s", ls[0], diff)
		}
		n++
	}
	if n != 60 {
		t.Errorf("%d modes", n)
	}
}

func TestGTFRefusesWhatItCannotMake(t *testing.T) {
	for _, c := range []struct {
		w, h int
		rate float64
		want string
	}{
		{0, 480, 60, "GTF: width 0 is out of range, 1 to 16384"},
		{8, 480, 60, "GTF: 8x480 at 60 Hz is too small: no room is left for the sync"},
		{640, 8, 24, "GTF: 640x8 at 24 Hz is too small: no room is left for the sync"},
		{16384, 16384, 60, "is out of range, 0.1 to 10000 MHz"},
	} {
		if m, err := mode.GTF(c.w, c.h, c.rate); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, %v, expected %s", m, err, c.want)
		}
	}
}
