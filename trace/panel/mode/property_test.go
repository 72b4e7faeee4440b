package mode_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.org/walkback/trace/panel/mode"
)

// What the formula promises, see cvt.go: steps of the clock, least
// blanking, and that the mode never runs faster than asked.
func TestCVTKeepsItsPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SampledFrom([]mode.Blanking{mode.Reduced, mode.Reduced2}).Draw(t, "blanking")
		w, h := rapid.IntRange(320, 8192).Draw(t, "width"), rapid.IntRange(200, 4320).Draw(t, "height")
		rate := rapid.Float64Range(24, 240).Draw(t, "rate")
		m, err := mode.CVT(w, h, rate, b)
		if err != nil {
			if mostly := float64(w*h) * rate; mostly < mode.MaxClock/2 {
				t.Fatal(err)
			}
			return
		}
		step, cell := 250e3, 8
		if b == mode.Reduced2 {
			step, cell = 1e3, 1
		}
		if math.Mod(m.Clock, step) != 0 {
			t.Errorf("clock %.0f Hz is no multiple of %.0f Hz", m.Clock, step)
		}
		if m.H.Active != w-w%cell || m.V.Active != h {
			t.Errorf("size became %dx%d", m.H.Active, m.V.Active)
		}
		// Rounding down costs up to one step of the clock; full blanking also up
		// to a line more than estimated.
		lost := rate * step / m.Clock
		if b == mode.Full {
			lost += rate / float64(h)
		}
		got := m.Rate()
		clamped := m.V.Back == 6 && b == mode.Full // the least porch makes the frame longer
		if got > rate*(1+1e-12) || got < rate-lost-1e-9 && !clamped {
			t.Errorf("%v runs at %.4f Hz, asked for %.4f Hz, at most %.4f Hz less", m, got, rate, lost)
		}
		blank := float64(m.V.Blank()) / m.LineRate() // s
		least := 460e-6
		if b == mode.Full {
			blank, least = float64(m.V.Sync+m.V.Back)/m.LineRate(), 550e-6
		}
		if blank < least*(1-1e-3) {
			t.Errorf("vertical blanking of %.1f us, at least %.0f us", blank*1e6, least*1e6)
		}
	})
}

func drawMode(t *rapid.T) mode.Mode {
	axis := func(name string) mode.Axis {
		return mode.Axis{
			Active: rapid.IntRange(1, mode.MaxSize).Draw(t, name),
			Front:  rapid.IntRange(0, 500).Draw(t, name+" front"),
			Sync:   rapid.IntRange(0, 500).Draw(t, name+" sync"),
			Back:   rapid.IntRange(0, 500).Draw(t, name+" back"),
		}
	}
	m := mode.Mode{H: axis("h"), V: axis("v")}
	m.HPos, m.VPos = rapid.Bool().Draw(t, "hpos"), rapid.Bool().Draw(t, "vpos")
	m.Clock = float64(rapid.IntRange(1e5, 1e10).Draw(t, "clock"))
	return m
}

func TestTimingsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawMode(t)
		if want.Rate() < mode.MinRate || want.Rate() > mode.MaxRate {
			t.Skip("rate out of range")
		}
		got, err := mode.Parse(want.Timings())
		if err != nil {
			t.Fatal(err)
		}
		if got.Origin = ""; got != want {
			t.Fatalf("%s\n got %+v\nwant %+v", want.Timings(), got, want)
		}
	})
}

func TestEveryDMTModeReadsBackInEveryForm(t *testing.T) {
	for _, d := range mode.DMT() {
		kind := map[mode.Blanking]string{mode.Full: "full", mode.Reduced: "rb"}[d.Kind]
		size := fmt.Sprintf("%dx%d@60 ", d.Mode.H.Active, d.Mode.V.Active)
		forms := []string{d.Mode.Timings(), d.Mode.String() + " dmt " + kind, size + "dmt " + kind, size + kind}
		for _, f := range forms {
			m, err := mode.Parse(f)
			if err != nil {
				t.Error(err)
				continue
			}
			if timingOf(m) != timingOf(d.Mode) {
				t.Errorf("id %02Xh as %q: %s", d.ID, f, m.Timings())
			}
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"1366x768", "1920×1080 60Hz", "1920x1080@60 rb2", "1920x1080 dmt",
		"72.3MHz 1366+48+32+114 768+3+6+15",
		`Modeline "x" 138.50 1920 1968 2000 2080 1080 1083 1088 1111 +hsync -vsync`,
		`"1280x800" 71.00 1280 1328 1360 1440 800 803 809 823 +hsync -vsync`, "71 1280 1328 1360 1440 800 803 809 823",
		`"1366x768"x60.0 69.30 1366 1414 1446 1466 768 771 776 788 (47.3 kHz eP)`, "1080p60", "FHD", "HD+", `""x`, `""x1`,
		"1024x768i@87", "1..2MHz", "\"", "1x1@1", "dmt", "9x16384@1 cvt",
	} {
		f.Add(s)
	}
	for _, d := range mode.DMT() {
		f.Add(d.Mode.String())
		f.Add(d.Mode.Timings())
	}
	f.Fuzz(func(t *testing.T, s string) {
		m, err := mode.Parse(s)
		if err != nil {
			if err.Error() == "" {
				t.Error("an error without words")
			}
			return
		}
		if m.Clock < mode.MinClock || m.Clock > mode.MaxClock || m.H.Active < 1 || m.V.Active < 1 || m.Origin == "" {
			t.Errorf("%q: %+v", s, m)
		}
		for _, n := range []int{m.H.Front, m.H.Sync, m.H.Back, m.V.Front, m.V.Sync, m.V.Back} {
			if n < 0 {
				t.Errorf("%q: negative porch in %s", s, m.Timings())
			}
		}
		again, err := mode.Parse(m.Timings())
		if err != nil || timingOf(again) != timingOf(m) {
			t.Errorf("%q: %s does not read back: %v", s, m.Timings(), err)
		}
	})
}
