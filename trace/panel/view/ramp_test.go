package view

import (
	"strings"
	"testing"
)

func describe(t *testing.T, l Link, text string) Look {
	t.Helper()
	fs, err := ParseFaults(text)
	if err != nil {
		t.Fatal(err)
	}
	k, err := Describe(l, fs)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestRampsAreSaidAsTheyLook(t *testing.T) {
	v, j, l18 := Link{1, 24, VESA}, Link{1, 24, JEIDA}, Link{1, 18, VESA}
	for _, c := range []struct {
		link  Link
		fault string
		say   string
	}{
		{v, "missing A.0=low", "a ramp of grey is tinted"},
		{l18, "inverted A.0", "a ramp of grey is tinted"},
		{v, "missing A.3=low", "a ramp of grey is posterised"},
		{v, "missing A.3=high", "a ramp of grey is posterised"},
		{v, "wrong depth=low", "a ramp of grey is dark"},
		{v, "wrong map", "a ramp of grey is posterised"},
		{j, "missing A.3=low", "a ramp of grey is banded"},
		{v, "inverted A.0, inverted A.1", "a ramp of grey is tinted"},
	} {
		if k := describe(t, c.link, c.fault); !strings.Contains(k.Text(), c.say) {
			t.Errorf("%v %s: %q, want %q", c.link, c.fault, k.Text(), c.say)
		}
	}
}

// One bit of green is inverted with pair 0; nobody sees that in a ramp.
func TestSmallTeethAreNotTold(t *testing.T) {
	for _, l := range []Link{{1, 18, VESA}, {1, 24, VESA}, {1, 24, JEIDA}} {
		if k := describe(t, l, "inverted A.0"); k.grey.curves[1].back > jumpLimit || strings.Contains(k.Text(), "jumps") {
			t.Errorf("%v: %s", l, k.Text())
		}
	}
}

// A ramp with one colour in blocks may be called by the tint or by the blocks.
func TestBlocksOfOneColourAreTintedAndPosterised(t *testing.T) {
	for _, fault := range []string{"missing A.0=low", "missing A.1=high", "inverted A.0"} {
		k := describe(t, Link{1, 24, VESA}, fault)
		for word, want := range map[string]bool{"tinted": true, "posterised": true, "banded": true, "ok": false} {
			if got := k.cost(Answer{"grey", word}) <= 0.5; got != want {
				t.Errorf("%s: grey=%s fits: %v", fault, word, got)
			}
		}
	}
	k := describe(t, Link{2, 18, VESA}, "inverted B.0, inverted B.1, inverted B.2")
	if k.grey.word() != "upside down" || k.cost(Answer{"grey", "upside down"}) != 0 || k.cost(Answer{"grey", "ok"}) != 1 {
		t.Errorf("all inverted: grey is %s", k.grey.word())
	}
}

func TestCurves(t *testing.T) {
	line := func(f func(v uint32) uint32) []uint32 {
		out := make([]uint32, 256)
		for v := range out {
			out[v] = f(uint32(v))
		}
		return out
	}
	for _, c := range []struct {
		name string
		f    func(v uint32) uint32
		want curve
	}{
		{"straight", func(v uint32) uint32 { return v }, curve{0, 255, 256, 0, 1, false}},
		{"turned", func(v uint32) uint32 { return 255 - v }, curve{0, 255, 256, 1, 1, true}},
		{"low six turned", func(v uint32) uint32 { return v ^ 63 }, curve{0, 255, 256, 1, 127, false}},
		{"top two turned", func(v uint32) uint32 { return v ^ 192 }, curve{0, 255, 256, 127, 127, false}},
		{"top four turned", func(v uint32) uint32 { return v ^ 240 }, curve{0, 255, 256, 31, 31, true}},
		{"lowest turned", func(v uint32) uint32 { return v ^ 1 }, curve{0, 255, 256, 1, 3, false}},
		{"low six", func(v uint32) uint32 { return v & 63 }, curve{0, 63, 64, 63, 63, false}},
		{"top two", func(v uint32) uint32 { return v & 192 }, curve{0, 192, 4, 0, 64, false}},
		{"level", func(uint32) uint32 { return 7 }, curve{7, 7, 1, 0, 0, false}},
	} {
		if got := curveOf(line(c.f), 0); got != c.want {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

func TestNotesSayWhoseMap(t *testing.T) {
	k := describe(t, Link{1, 24, JEIDA}, "wrong map")
	if text := strings.Join(k.Notes, " "); !strings.Contains(text, "The map is the panel's, jeida; the sender uses the other one, vesa.") {
		t.Error(text)
	}
	k = describe(t, Link{2, 24, JEIDA}, "missing B")
	if text := strings.Join(k.Notes, " "); !strings.Contains(text, `("missing B") and "clock gone B.CLK" are the same`) {
		t.Error(text)
	}
}
