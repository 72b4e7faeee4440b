package power

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"
)

func TestWrongOrderWithoutAWindow(t *testing.T) {
	for _, tt := range []struct{ profile, args, want string }{
		{"lvds", "supply=50ms supply-off=5ms", "supply off came 45 ms BEFORE supply on; it should come after it"},
		{"lvds", "light=2s light-off=1s", "backlight off came 1 s BEFORE backlight on; it should come after it"},
		{"lvds", "data=50ms supply-off=5ms", "supply off came 45 ms BEFORE valid data; it should come after it"},
		{"edp", "hpd=10ms data=5ms", "valid data came 5 ms BEFORE hot-plug high; it should come after it"},
		{"edp", "backlight-supply=5ms backlight=4ms", "backlight on came 1 ms BEFORE backlight supply on; it should come after it"},
		{"edp", "hpd=10.1ms data=10.0ms", ""}, // no more than the last digit
		{"edp", "backlight-supply=0 backlight=4ms", ""},
		{"edp", "supply=0 T3=300ms", ""},
		{"edp", "data=120ms backlight=90ms", ""}, // T8 says it
		{"edp", "hpd=never supply=0 data=-1s", ""},
		{"lvds", "supply=0 supply-again=400ms", ""},
	} {
		p := named(t, tt.profile)
		r := Check(p, measured(t, p, tt.args))
		switch {
		case tt.want == "" && len(r.Order) > 0:
			t.Errorf("%s: %+v", tt.args, r.Order)
		case tt.want != "" && (len(r.Order) != 1 || r.Order[0].Says != tt.want || !r.Wrong()):
			t.Errorf("%s: %+v", tt.args, r.Order)
		}
	}
}

// rowsOf returns what the chart draws of each signal.
func rowsOf(r Report) map[string]string {
	list := map[string]string{}
	for _, m := range signalGroup.FindAllStringSubmatch(chartOf(r), -1) {
		list[m[1]] = m[2]
	}
	return list
}

var signalGroup = regexp.MustCompile(`(?s)<g[^>]*class="signal"[^>]*><title>([^<]*)</title>(.*?)</g>`)

// edges counts the edges of a row: upright or sloping lines.
func edges(row string) int {
	return strings.Count(row, `stroke-dasharray="3 2.4"`) + strings.Count(row, `stroke-width="2.6"`)
}

// After what never came a signal stays where it was, and so does what needs it.
func TestNothingIsDrawnAfterWhatNeverCame(t *testing.T) {
	for _, tt := range []struct {
		profile, args string
		flat          []Signal // never high
		works         []Signal // needs nothing of it
	}{
		{"lvds", "supply=never", []Signal{Supply, Data, Light}, []Signal{LightSupply, PWM}},
		{"edp", "supply=never hpd=never", []Signal{Supply, HPD, AUX, Link, Data, Light}, []Signal{LightSupply, PWM}},
		{"edp", "hpd=never", []Signal{HPD, AUX, Link, Data, Light}, []Signal{Supply, LightSupply, PWM}},
		{"edp", "data=never", []Signal{Data, Light}, []Signal{Supply, HPD, AUX, Link, LightSupply, PWM}},
		{"lvds", "light=never", []Signal{Light}, []Signal{Supply, Data, LightSupply, PWM}},
		{"lvds", "T5=never", []Signal{Light}, []Signal{Supply, Data, LightSupply, PWM}},
		{"lvds", "pwm=never", []Signal{PWM, Light}, []Signal{Supply, Data, LightSupply}},
	} {
		p := named(t, tt.profile)
		got := rowsOf(Check(p, measured(t, p, tt.args)))
		for _, s := range tt.flat {
			if row := got[s.String()]; row == "" || edges(row) > 0 {
				t.Errorf("%s: %s is drawn as %s", tt.args, s, row)
			}
		}
		for _, s := range tt.works {
			if row := got[s.String()]; edges(row) < 2 {
				t.Errorf("%s: %s is drawn as %s", tt.args, s, row)
			}
		}
	}
}

// A supply that does not come to the end of its slope hangs between, and what follows is
// not drawn.
func TestWhatStopsOnTheWay(t *testing.T) {
	for args, want := range map[string]int{
		"supply=0 supply-up=never":                          1,
		"supply=0 supply-off=1s supply-down=never":          2,
		"supply-off=0 supply-down=6ms supply-again=600ms":   3,
		"supply=0 supply-off=1s supply-down=6s supply-up=0": 3,
	} {
		p := named(t, "lvds")
		if row := rowsOf(Check(p, measured(t, p, args)))["panel supply"]; edges(row) != want {
			t.Errorf("%s: %d edges, want %d: %s", args, edges(row), want, row)
		}
	}
}

func TestWhatCannotBeKeptSaysWhy(t *testing.T) {
	for text, want := range map[string]string{
		"T1 supply-up -> supply-on 0..5ms":                          "T1 can never be kept: supply on always comes before supply at 90 %",
		"A data-off -> pwm 0..\nB pwm -> data 0..":                  "B can never be kept: valid data always comes before dimming on",
		"A hpd -> data 0..2ms\nB data -> aux 0..\nC aux -> hpd 0..": "C can never be kept: hot-plug high always comes before identity readable",
	} {
		_, problems := ParseProfile("bench", text)
		if len(problems) != 1 || problems[0].Msg != want {
			t.Errorf("%v, want %q", problems, want)
		}
	}
}

func TestMessagesAreShortAndNameUnits(t *testing.T) {
	p := named(t, "edp")
	for _, arg := range []string{"T3=1e9s", "T3=1h", "T3=5", "T3=2days", "T3=4000s"} {
		_, problems := ParseMeasured(p, []string{arg})
		if len(problems) != 1 || !strings.HasSuffix(problems[0].Msg, "; write a plain number and s, ms or us, 3600s at most") {
			t.Errorf("%s: %v", arg, problems)
		}
	}
	_, measuredProblems := ParseMeasured(p, []string{"what=5ms"})
	_, fileProblems := ParseProfile("x", "T1 what -> hpd 0..5ms")
	for _, x := range append(measuredProblems, fileProblems...) {
		for line := range strings.Lines(x.Report()) {
			if len([]rune(line)) > 110 {
				t.Errorf("%d characters: %s", len([]rune(line)), line)
			}
		}
	}
	for word, want := range map[string]string{"ligth": "light", "ligth-off": "light-off", "suply": "supply", "pwn": "pwm", "zzzzzz": ""} {
		_, problems := ParseMeasured(p, []string{word + "=5ms"})
		if len(problems) != 1 || problems[0].Near != want {
			t.Errorf("%s: %v, want %q", word, problems, want)
		}
	}
}

func TestOneWindowIsNotWindows(t *testing.T) {
	p, problems := ParseProfile("x", "A hpd -> data 1ms..2ms")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	for args, want := range map[string]string{
		"": "nothing measured yet; the panel wants 1 window", "A=1ms": "1 window in range, 0 not measured",
		"A=3ms":   "1 of 1 measured window wrong",
		"A=never": "valid data never came; 1 of 1 measured window wrong",
	} {
		if got := Check(p, measured(t, p, args)).Verdict; got != want {
			t.Errorf("%q: %q, want %q", args, got, want)
		}
	}
}

func TestWrongAndItsOpposite(t *testing.T) {
	p := named(t, "edp")
	for args, want := range map[string]bool{
		"": false, "T3=85ms": false, "supply=0 hpd=205ms": false, "supply=0": false,
		"T3=201ms": false, "T3=202ms": true, "T8=49ms": false, "T8=48ms": true, "hpd=never": true, "T3=never": true, "data-off=0 data=1s": true,
	} {
		if r := Check(p, measured(t, p, args)); r.Wrong() != want {
			t.Errorf("%q: %v, %s", args, r.Wrong(), r.Verdict)
		}
	}
}

func TestJSONHasNoNullLists(t *testing.T) {
	list := reports(t)
	delete(list, "zero") // not from Check
	list["empty"] = Check(Profile{}, Measured{})
	for name, r := range list {
		b, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		// The one null is a time without a limit.
		if rest := strings.ReplaceAll(string(b), `"max_seconds":null`, ""); strings.Contains(rest, "null") {
			t.Errorf("%s: %s", name, rest)
		}
	}
}
