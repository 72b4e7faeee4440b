package power

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// windowOf returns a window of a built-in profile.
func windowOf(t *testing.T, profile, name string) Window {
	t.Helper()
	p, ok := Named(profile)
	if !ok {
		t.Fatalf("no profile %q", profile)
	}
	w := p.window(name)
	if w == nil {
		t.Fatalf("no window %s in %s", name, profile)
	}
	return *w
}

// Linux kernel, drivers/gpu/drm/i915/display, the panel power sequencer, function
// pps_init_delays_spec, commit 00423c4a7dd7790efb7454c0fdbe7cc33f893967: "Upper
// limits from eDP 1.3 spec".
func TestEDPAgreesWithTheLimitsOfADriver(t *testing.T) {
	w := func(name string) Window { return windowOf(t, "edp", name) }
	for _, tt := range []struct {
		what string
		got  Time
		want float64 // ms
	}{
		{"T1+T3, 10 + 200", w("T1").Max + w("T3").Max, 210},
		{"T8: no limit, T7 is used instead", w("T8").Min, 50},
		{"T10", w("T10").Max, 500},
		{"T11+T12, 10 + 500", w("T11").Max + w("T12").Min, 510},
	} {
		if tt.got != ms(tt.want) {
			t.Errorf("%s: %s, want %g ms", tt.what, tt.got, tt.want)
		}
	}
	if m := w("T8").Max; m != Unlimited {
		t.Errorf("T8 has the limit %s, the driver says that there is none", m)
	}
}

// Linux kernel, drivers/gpu/drm/panel/panel-edp.c, commit
// 0089d6ee3bb6d961f6e193d9384705ed41496adf, struct panel_delay: hpd_absent "is T3-max
// on eDP timing diagrams", unprepare "is T12-min", disable "is T9-min". A driver
// beside it, for an OLED panel of 2021: "T3 VCC to HPD high is max 200 ms".
func TestEDPWindowsAreOnTheSideThatTheKernelNames(t *testing.T) {
	if w := windowOf(t, "edp", "T3"); w.Max != ms(200) || w.To != HPDOn {
		t.Errorf("T3 is %s to %s", w.Span, w.To)
	}
	if w := windowOf(t, "edp", "T9"); w.Max != Unlimited || w.From != LightOff || w.To != DataOff {
		t.Errorf("T9 is %s, %s to %s", w.Span, w.From, w.To)
	}
	if w := windowOf(t, "edp", "T12"); w.Max != Unlimited || w.To != SupplyAgain {
		t.Errorf("T12 is %s to %s", w.Span, w.To)
	}
}

// Public data sheet of a notebook chipset with an LVDS port (graphics and memory
// controller hub), table 43, panel power sequence timing parameters: T1+T2
// from 0.1 Vdd to LVDS active 0 to 60 ms, T5 LVDS active to backlight on 200 ms at
// least, TX backlight off to LVDS off left open, T3 LVDS off to start of power off
// 0 to 50 ms, T4 power off to power on 400 ms at least.
func TestLVDSAgreesWithAChipset(t *testing.T) {
	w := func(name string) Window { return windowOf(t, "lvds", name) }
	if t1, t2 := w("T1"), w("T2"); t1.Max+t2.Max != ms(60) || t1.From != SupplyOn || t1.To != t2.From || t2.To != DataOn {
		t.Errorf("T1+T2 is %s + %s", t1.Max, t2.Max)
	}
	type row struct {
		From, To Event
		Span     Span
	}
	for name, want := range map[string]row{
		"T5": {DataOn, LightOn, Span{ms(200), Unlimited}},
		"T3": {DataOff, SupplyOff, Span{0, ms(50)}},
		"T4": {SupplyDown, SupplyAgain, Span{ms(400), Unlimited}},
	} {
		got := w(name)
		if diff := cmp.Diff(want, row{got.From, got.To, got.Span}); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// table reads one of the tables of testdata: a name, numbers in ms, and the
// windows that do not agree.
func table(t *testing.T, file string, columns int, each func(name string, v []float64, apart string)) int {
	t.Helper()
	text, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	n, seen := 0, map[string]bool{}
	for line := range strings.Lines(string(text)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(strings.TrimSpace(line), "\t")
		if len(cells) != columns+2 || seen[cells[0]] {
			t.Fatalf("%s: line %q", file, line)
		}
		seen[cells[0]] = true
		v := make([]float64, columns)
		for i := range v {
			if v[i], err = strconv.ParseFloat(cells[i+1], 64); err != nil {
				t.Fatalf("%s: %v", file, err)
			}
		}
		n++
		each(cells[0], v, cells[columns+1])
	}
	return n
}

// apartFrom judges the delays of a panel as if they were measured, and returns
// the windows that they are outside of. A delay of 0 is none.
func apartFrom(t *testing.T, profile string, delays []Value) string {
	t.Helper()
	p, _ := Named(profile)
	var m Measured
	for _, v := range delays {
		if v.Time != 0 {
			m.Values = append(m.Values, v)
		}
	}
	var apart []string
	for _, r := range Check(p, m).Results {
		if _, given := m.value(r.Name); given != (r.Status != NotMeasured) {
			t.Errorf("%s: %s", r.Name, r.Status)
		}
		if r.Status.Wrong() {
			apart = append(apart, r.Name)
		}
	}
	if len(apart) == 0 {
		return "-"
	}
	return strings.Join(apart, " ")
}

// testdata/edp_panels.tsv, from the Linux kernel, panel-edp.c; README.md there. Of
// 170 panels all have a T3 of 200 ms at most where it is given, and six ask for
// less than 500 ms off; these stand in the file by name.
func TestEDPAgreesWithPanelsOfTheKernel(t *testing.T) {
	good := 0
	n := table(t, "edp_panels.tsv", 7, func(name string, v []float64, want string) {
		reliable, absent, enable, unprepare := ms(v[0]), ms(v[1]), ms(v[4]), ms(v[6])
		t3 := absent
		if t3 == 0 && reliable > 0 {
			// The older entries put T1 and T3 into one number.
			t3 = max(reliable-windowOf(t, "edp", "T1").Max, 0)
		}
		got := apartFrom(t, "edp", []Value{{Window: "T3", Time: t3}, {Window: "T8", Time: enable}, {Window: "T12", Time: unprepare}})
		if got != want {
			t.Errorf("%s: apart in %s, the table says %s", name, got, want)
		}
		if got == "-" {
			good++
		}
	})
	if n != 170 || good < 160 {
		t.Errorf("%d of %d panels agree", good, n)
	}
}

// The same table: what the notes of the profile say of single panels.
func TestNotesOfEDPSayWhatPanelsAskFor(t *testing.T) {
	least := func(a, b float64) float64 {
		if a == 0 || b > 0 && b < a {
			return b
		}
		return a
	}
	var light, off [2]float64
	table(t, "edp_panels.tsv", 7, func(_ string, v []float64, _ string) {
		light = [2]float64{least(light[0], v[4]), max(light[1], v[4])}
		off = [2]float64{least(off[0], v[5]), max(off[1], v[5])}
	})
	if light != [2]float64{20, 250} || off != [2]float64{10, 200} {
		t.Errorf("data to light %v ms, light off to data off %v ms", light, off)
	}
	p, _ := Named("edp")
	if !strings.Contains(strings.Join(p.Notes, " "), "from 20 to 250 ms") || !strings.Contains(p.window("T9").Doc, "10 to 200 ms") {
		t.Error("the profile says something else")
	}
}

// testdata/lvds_panels.tsv, from the Linux kernel, panel-simple.c; README.md there.
// prepare is the time until the panel can receive data, enable from data to the
// first valid picture, disable until the picture is gone, unprepare the time off.
func TestLVDSBesidePanelsOfTheKernel(t *testing.T) {
	agree := map[string]int{}
	n := table(t, "lvds_panels.tsv", 4, func(name string, v []float64, want string) {
		t2 := max(ms(v[0])-windowOf(t, "lvds", "T1").Max, 0)
		got := apartFrom(t, "lvds", []Value{
			{Window: "T2", Time: t2}, {Window: "T5", Time: ms(v[1])}, {Window: "T6", Time: ms(v[2])}, {Window: "T4", Time: ms(v[3])},
		})
		if !sameWords(got, want) {
			t.Errorf("%s: apart in %s, the table says %s", name, got, want)
		}
		for i, w := range []string{"T2", "T5", "T6", "T4"} {
			if v[i] > 0 && !strings.Contains(got, w) {
				agree[w]++
			}
		}
	})
	if diff := cmp.Diff(map[string]int{"T2": 5, "T5": 6, "T6": 3, "T4": 5}, agree); diff != "" || n != 11 {
		t.Errorf("%d panels; those that agree: %s", n, diff)
	}
}

func sameWords(a, b string) bool {
	x, y := map[string]bool{}, map[string]bool{}
	for _, w := range strings.Fields(a) {
		x[w] = true
	}
	for _, w := range strings.Fields(b) {
		y[w] = true
	}
	return cmp.Equal(x, y)
}
