package view

import (
	"errors"
	"image"
	"image/color"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/walkback/netlist/mistake"
)

func TestHealthyLinkIsIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.SampledFrom(AllLinks()).Draw(t, "link")
		in := rapid.SliceOfN(rapid.Uint32Range(0, 0xFFFFFF), 1, 9).Draw(t, "line")
		w, err := newWire(l, nil)
		if err != nil {
			t.Fatal(err)
		}
		out := make([]uint32, len(in))
		w.line(out, in, 0)
		for i := range in {
			for _, shift := range []int{0, 8, 16} {
				sent, got := int(in[i]>>shift&255), int(out[i]>>shift&255)
				if l.Bits == 18 { // 63 steps over the full scale, to the nearest below or above
					step := float64(sent>>2) * 255 / 63
					if float64(got) <= step-1 || float64(got) >= step+1 {
						t.Fatalf("%06X came as %06X", in[i], out[i])
					}
				} else if got != sent {
					t.Fatalf("%06X came as %06X", in[i], out[i])
				}
			}
		}
	})
}

func TestEveryValueComesThrough(t *testing.T) {
	for _, l := range AllLinks() {
		w, err := newWire(l, nil)
		if err != nil {
			t.Fatal(err)
		}
		in, out := make([]uint32, 3*256), make([]uint32, 3*256)
		for v := range uint32(256) {
			in[v], in[256+v], in[512+v] = v, v<<8, v<<16
		}
		w.line(out, in, 0)
		for i := range in {
			low := uint32(0)
			if l.Bits == 18 {
				low = 0x030303
			}
			if in[i]&^low != out[i]&^low {
				t.Fatalf("%v: %06X came as %06X", l, in[i], out[i])
			}
		}
	}
}

func suspected(t *testing.T, ls []Link, s Seen, f Fault) bool {
	t.Helper()
	groups, err := Suspect(ls, s)
	if err != nil {
		t.Fatal(err)
	}
	return slices.ContainsFunc(groups, func(g Suspicion) bool {
		return len(g.Disagrees) == 0 && slices.ContainsFunc(g.Candidates, func(c Candidate) bool { return c.Fault != nil && *c.Fault == f })
	})
}

func TestSuspectFromThePhone(t *testing.T) {
	for _, c := range []struct {
		links []Link
		seen  string
		fault Fault
	}{
		{[]Link{{1, 18, VESA}}, "white=cyan black=black red=black", Fault{Kind: Missing, Level: Low}},
		{[]Link{{1, 18, VESA}}, "white=bluish-green", Fault{Kind: Missing, Level: Low}},
		{[]Link{{2, 18, VESA}}, "white=cyan black=black columns=second", Fault{Kind: Missing, Lane: Lane{1, 0}, Level: Low}},
		{[]Link{{2, 24, JEIDA}}, "black=green columns=even", Fault{Kind: Missing, Lane: Lane{1, 1}, Level: High}},
		{[]Link{{1, 24, VESA}}, "grey=posterised", Fault{Kind: WrongMap}},
		{[]Link{{1, 24, VESA}}, "picture=none", Fault{Kind: ClockGone, Lane: Lane{0, Clock}, Level: Low}},
		{[]Link{{2, 24, VESA}}, "columns=exchanged", Fault{Kind: Exchanged}},
		{[]Link{{2, 24, JEIDA}}, "white=white grey=ok columns=ok", Fault{Kind: Missing, Lane: Lane{0, 3}, Level: High}},
		{AllLinks(), "white=cyan", Fault{Kind: Missing, Level: Low}},
	} {
		s, err := ParseSeen(c.seen)
		if err != nil {
			t.Fatal(err)
		}
		if !suspected(t, c.links, s, c.fault) {
			t.Errorf("%v %q: %s is not suspected", c.links, c.seen, c.fault)
		}
	}
}

func TestSuspectSaysWhatIsAllRight(t *testing.T) {
	healthy, err := Describe(Link{1, 24, VESA}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if healthy.Text() != "looks right" {
		t.Errorf("a healthy link %s", healthy.Text())
	}
	groups, err := Suspect([]Link{{1, 24, VESA}}, healthy.Seen())
	if err != nil {
		t.Fatal(err)
	}
	if got := groups[0].Candidates[0].String(); got != "no fault of the link" {
		t.Errorf("first suspect is %s", got)
	}
}

func TestNextAsksWhatSeparates(t *testing.T) {
	seen, err := ParseSeen("picture=stable columns=second")
	if err != nil {
		t.Fatal(err)
	}
	groups, err := Suspect([]Link{{2, 18, VESA}}, seen)
	if err != nil {
		t.Fatal(err)
	}
	q := Next(groups, seen)
	if q == nil || len(q.Answers) < 2 || q.left >= float64(len(groups)) {
		t.Fatalf("%d groups, next %+v", len(groups), q)
	}
	if q := Next(groups[:1], seen); q != nil {
		t.Errorf("one group needs no question, got %+v", q)
	}
}

func TestFaultsAreReadAsWritten(t *testing.T) {
	for _, l := range AllLinks() {
		for _, f := range Singles(l) {
			got, err := ParseFaults(f.String())
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff([]Fault{f}, got); d != "" {
				t.Errorf("%s:\n%s", f, d)
			}
		}
	}
	got, err := ParseFaults("missing 2, swapped B.1 / A.0; inverted B.3, missing b, exchanged a / b")
	if err != nil {
		t.Fatal(err)
	}
	want := []Fault{
		{Kind: Missing, Lane: Lane{0, 2}}, {Kind: Swapped, Lane: Lane{0, 0}, Other: Lane{1, 1}},
		{Kind: Inverted, Lane: Lane{1, 3}}, {Kind: ClockGone, Lane: Lane{1, Clock}}, {Kind: Exchanged},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func TestMistakesAreExplained(t *testing.T) {
	for _, c := range []struct {
		text   string
		column int
		say    string
	}{
		{"mising A.0", 1, `did you mean "missing"?`},
		{"missing A.7", 9, "pairs are 0 to 3"},
		{"missing C.0", 9, "channels are A and B"},
		{"stuck A.1", 10, "=high or =low"},
		{"missing A.1=hihg", 13, `did you mean "high"?`},
		{"missing lane 0", 9, "all lanes carry all colours in turn"},
		{"edp", 1, "not of LVDS"},
		{"swapped A.0", 12, "the other pair"},
		{"wrong mop", 1, `did you mean "wrong map"?`},
		{"", 1, "the text ends here"},
		{"stuck A.CLK=high", 7, "a data pair"},
	} {
		_, err := ParseFaults(c.text)
		var e mistake.Mistake
		if !errors.As(err, &e) || e.Column != c.column || !strings.Contains(e.Report(), c.say) {
			t.Errorf("%q: %v, want column %d and %q", c.text, e.Report(), c.column, c.say)
		}
	}
	for _, c := range []struct {
		text   string
		column int
		say    string
	}{
		{"whit=cyan", 1, `did you mean "white"?`},
		{"white=cyna", 7, `did you mean "cyan"?`},
		{"white cyan", 6, "no = after white"},
		{"white=", 7, "nothing after white="},
		{"white=red white=blue", 11, "has an answer already"},
		{"columns=secnd", 9, `did you mean "second"?`},
		{" ", 1, "no answer"},
	} {
		_, err := ParseSeen(c.text)
		var e mistake.Mistake
		if !errors.As(err, &e) || e.Column != c.column || !strings.Contains(e.Report(), c.say) {
			t.Errorf("%q: %v, want column %d and %q", c.text, e.Report(), c.column, c.say)
		}
	}
}

func TestFaultsThatTheLinkCannotHave(t *testing.T) {
	img := TestPattern(8, 8)
	for _, c := range []struct {
		link  Link
		fault Fault
		say   string
	}{
		{Link{1, 18, VESA}, Fault{Kind: Missing, Lane: Lane{0, 3}}, "pairs 0 to 2"},
		{Link{1, 24, VESA}, Fault{Kind: Missing, Lane: Lane{1, 0}}, "no channel B"},
		{Link{1, 18, VESA}, Fault{Kind: WrongMap}, "one map only"},
		{Link{1, 24, VESA}, Fault{Kind: Exchanged}, "one channel only"},
		{Link{1, 24, VESA}, Fault{Kind: Swapped}, "expected two"},
		{Link{1, 24, VESA}, Fault{Kind: Kind(77)}, "unknown kind"},
		{Link{3, 24, VESA}, Fault{}, "1 or 2 channels"},
		{Link{1, 20, VESA}, Fault{}, "18 or 24 bits"},
	} {
		_, err := Render(img, c.link, []Fault{c.fault})
		if err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%v %v: %v, want %q", c.link, c.fault, err, c.say)
		}
	}
}

func TestRenderPaintsEvenColumnsOnly(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 5, 2)) // an odd width
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	img.SetRGBA(0, 0, color.RGBA{0, 0, 0, 255})
	p, err := Render(img, Link{2, 24, JEIDA}, []Fault{{Kind: Missing, Lane: Lane{1, 0}, Level: Low}})
	if err != nil {
		t.Fatal(err)
	}
	white, cyan := color.RGBA{255, 255, 255, 255}, color.RGBA{3, 251, 255, 255}
	want := []color.RGBA{{0, 0, 0, 255}, cyan, white, cyan, white, white, cyan, white, cyan, white}
	var got []color.RGBA
	for i := range 10 {
		got = append(got, p.RGBAAt(i%5, i/5))
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	k, err := Describe(Link{2, 24, JEIDA}, []Fault{{Kind: Missing, Lane: Lane{1, 0}, Level: Low}})
	if err != nil || k.Picture != Stable || len(k.Notes) == 0 {
		t.Errorf("no word about what an open pair reads: %v %v", k, err)
	}
}

func TestLostPicturesAreBlackAndExplained(t *testing.T) {
	for _, text := range []string{"missing A.2", "clock gone A.CLK", "inverted A.2", "swapped A.0/A.2", "swapped A.2/B.0"} {
		fs, err := ParseFaults(text)
		if err != nil {
			t.Fatal(err)
		}
		p, err := Render(TestPattern(64, 40), Link{2, 24, VESA}, fs)
		if err != nil {
			t.Fatal(err)
		}
		k, err := Describe(Link{2, 24, VESA}, fs)
		if err != nil || k.Picture == Stable || p.RGBAAt(1, 1) != (color.RGBA{0, 0, 0, 255}) || len(k.Notes) == 0 {
			t.Errorf("%s: picture %s, notes %q, %v", text, k.Picture, k.Notes, err)
		}
	}
	p, err := Render(TestPattern(64, 40), Link{2, 24, VESA}, []Fault{{Kind: Missing, Lane: Lane{1, 2}}})
	if err != nil || p.RGBAAt(1, 1) == (color.RGBA{0, 0, 0, 255}) {
		t.Errorf("pair 2 of channel B alone loses the picture: %v", err)
	}
}

func TestSpecksAreFewAndTheSame(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 256, 256))
	count := func() (n int) {
		p, err := Render(img, Link{1, 24, VESA}, []Fault{{Kind: Leg, Lane: Lane{0, 0}}})
		if err != nil {
			t.Fatal(err)
		}
		for i := range 256 * 256 {
			if p.RGBAAt(i%256, i/256) != (color.RGBA{0, 0, 0, 255}) {
				n++
			}
		}
		return n
	}
	n := count()
	if n < 256*256/64 || n > 256*256/16 || n != count() {
		t.Errorf("%d specks, then %d", n, count())
	}
}

func TestOnePairHasOneLevel(t *testing.T) {
	for text, bad := range map[string]bool{
		"missing A.0, missing A.0=low":        true,
		"missing A.0=low, A.0=high":           true,
		"missing A.0=low, stuck A.0=high":     true,
		"clock gone A.CLK, missing A=high":    true,
		"wrong depth=low, wrong depth=high":   true,
		"missing A.0, missing A.0=high":       true, // without a level it may be either
		"missing A.0, stuck A.0=high":         true,
		"missing A.0, missing A.0":            false,
		"missing A.0=low, A.1=high":           false,
		"missing A.0=low, B.0=high":           false,
		"missing A.0=low, stuck A.0=low":      false,
		"missing A.0=low, inverted A.0":       false,
		"missing A.3=low, wrong depth":        false, // the pair's own level counts
		"clock gone A.CLK, missing A.0=high":  false,
		"clock gone A.CLK=low, B.CLK=high":    false,
		"swapped A.0/A.1, swapped A.0/B.1":    false,
		"one channel=low, clock gone A.CLK=1": false,
	} {
		fs, err := ParseFaults(text)
		if err != nil {
			t.Fatal(err)
		}
		_, err = Describe(Link{2, 24, VESA}, fs)
		if (err != nil) != bad {
			t.Errorf("%q: %v", text, err)
		}
		if _, again := Render(TestPattern(8, 8), Link{2, 24, VESA}, fs); (again != nil) != bad {
			t.Errorf("%q is painted: %v", text, again)
		}
		if bad && err != nil && !strings.Contains(err.Error(), "leave one out") {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, l := range AllLinks() {
		for _, s := range Singles(l) {
			f.Add(s.String())
		}
	}
	f.Add("white=cyan black=black columns=second grey=light-blue")
	f.Add("missing B, wrong depth jeida=low; edp lane 0")
	f.Fuzz(func(t *testing.T, text string) {
		if fs, err := ParseFaults(text); err == nil {
			for _, x := range fs {
				again, err := ParseFaults(x.String())
				if err != nil || len(again) != 1 || again[0] != x {
					t.Errorf("%q gives %v, again %v %v", text, x, again, err)
				}
			}
			for _, l := range AllLinks() {
				if _, err := newWire(l, fs); err == nil {
					if _, err := Describe(l, fs); err != nil {
						t.Errorf("%q on %v: %v", text, l, err)
					}
				}
			}
		}
		if s, err := ParseSeen(text); err == nil {
			again, err := ParseSeen(s.String())
			if d := cmp.Diff(s, again); err != nil || d != "" {
				t.Errorf("%q: %v %s", text, err, d)
			}
		}
	})
}

// The target is well under a second for a full HD picture.
func BenchmarkRender(b *testing.B) {
	img := TestPattern(1920, 1080)
	fs := []Fault{{Kind: Missing, Lane: Lane{1, 0}}}
	for b.Loop() {
		if _, err := Render(img, Link{2, 24, VESA}, fs); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.N)*1920*1080/1e6/b.Elapsed().Seconds(), "Mpixel/s")
}
