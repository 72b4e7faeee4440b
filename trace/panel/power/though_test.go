package power

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What comes although an event before it never did is named, with what it means:
// common practice, no source.
func TestWhatCameAllTheSame(t *testing.T) {
	for _, tt := range []struct {
		profile, args string
		says          []string
		means         string // a part of the first
		not           string // what must not be said
	}{
		{"lvds", "supply=0 data=never light=300ms", []string{"backlight on came at 300 ms although valid data never came"}, "a white flash", ""},
		{"lvds", "supply=0 data=never light=-5ms", []string{"backlight on came at -5 ms although valid data never came"}, "a white flash", ""},
		{"edp", "supply=0 hpd=never data=100ms light=200ms", []string{"valid data came at 100 ms although hot-plug high never came"},
			"without waiting for hot-plug", "no backlight"},
		{"edp", "supply=0 hpd=never light=200ms", []string{"backlight on came at 200 ms although hot-plug high never came"},
			"a white flash", "no backlight"},
		{"edp", "hpd=0 aux=never link=100ms", []string{"link trained came at 100 ms although identity readable never came"}, "not ready",
			"no training"},
		{"lvds", "supply=0 supply-up=never data=40ms", []string{"valid data came at 40 ms although supply at 90 % never came"},
			"protection diodes", "nothing after it"},
		{"lvds", "supply=never data=40ms", []string{"valid data came at 40 ms although supply on never came"}, "latch up", ""},
		{"edp", "supply=never data=40ms", []string{"valid data came at 40 ms although supply on never came"}, "protection diodes", ""},
		{"lvds", "T2=never T5=5ms", nil, "", ""},
		{"lvds", "pwm=never data=never light=1s", []string{"backlight on came at 1 s although valid data never came",
			"backlight on came at 1 s although dimming on never came"}, "a white flash", ""},
		{"lvds", "supply-off=0 supply-down=never supply-again=1s",
			[]string{"supply on again came at 1 s although supply at 10 % never came"}, "reset may not act", ""},
		{"lvds", "data=never supply-off=1s", nil, "", ""},
		{"lvds", "supply=never supply-up=5ms", []string{"supply at 90 % came at 5 ms although supply on never came"}, "inrush", ""},
	} {
		t.Run(tt.profile+" "+tt.args, func(t *testing.T) {
			p := named(t, tt.profile)
			r := Check(p, measured(t, p, tt.args))
			var says, means []string
			for _, x := range r.Results {
				if x.Status == TooEarly && x.Value == nil {
					says, means = append(says, x.Says), append(means, x.Means)
					if x.Basis == "" || len(x.Look) == 0 {
						t.Errorf("%+v", x)
					}
				}
			}
			if diff := cmp.Diff(tt.says, says); diff != "" {
				t.Error(diff)
			}
			var b strings.Builder
			if err := Text(&b, r); err != nil {
				t.Fatal(err)
			}
			text := strings.Join(strings.Fields(b.String()), " ")
			if len(means) > 0 && (!strings.Contains(means[0], tt.means) || !strings.Contains(text, says[0]) || !strings.Contains(text, tt.means)) {
				t.Errorf("%s\n%s", means[0], text)
			}
			if tt.not != "" && strings.Contains(text, tt.not) {
				t.Errorf("it says %q: %s", tt.not, text)
			}
			if !r.Wrong() {
				t.Errorf("%s", r.Verdict)
			}
		})
	}
}
