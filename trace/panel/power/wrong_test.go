package power

import (
	"bytes"
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestContradictionsSayBothNumbers(t *testing.T) {
	for _, tt := range []struct {
		name, args string
		want       []string
	}{
		{"events", "hpd=0 aux=1s T4=3s", []string{"T4 was given as 3 s, and its events make it 1 s. It is judged by 3 s; measure again"}},
		{"a stretch", "T3=85ms supply=0 hpd=300ms", []string{"T3 was given as 85 ms, and its events make it 290 … 299.5 ms. It is judged by 85 ms; measure again"}},
		{"the slope", "T1=5ms supply=0 supply-up=100ms", []string{"T1 was given as 5 ms, and its events make it 100 ms. It is judged by 5 ms; measure again"}},
		{"an edge without the one before", "supply=never supply-up=5ms", []string{"supply on never came, and supply at 90 % came at 5 ms. Each is judged as it was given; measure again"}},
		{"an edge known by a window", "light=never T9=5ms", []string{"backlight on never came, and backlight off came. Each is judged as it was given; measure again"}},
		{"the same", "hpd=0 aux=3s T4=3s", nil},
		{"one end", "hpd=0 T4=3s", nil},
		{"a slope that fits", "T3=85ms supply=0 hpd=90ms", nil},
		{"a supply that hangs", "supply=0 supply-up=never supply-off=1s", nil},
		{"a rail that never empties", "supply-off=0 supply-down=never supply-again=1s", nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := named(t, "edp")
			r := Check(p, measured(t, p, tt.args))
			if diff := cmp.Diff(tt.want, r.Contradictions); diff != "" {
				t.Error(diff)
			}
			if len(tt.want) > 0 && !r.Wrong() {
				t.Error("not wrong")
			}
		})
	}
}

func TestStretchesOverMoreThanOneWindow(t *testing.T) {
	for _, tt := range []struct{ profile, args, want string }{
		{"lvds", "supply=50ms supply-off=5ms", "supply off came 45 ms BEFORE supply on; it should come after it. A supply that comes on once more is supply-again"},
		{"lvds", "light=2s light-off=1s", "backlight off came 1 s BEFORE backlight on; it should come after it"},
		{"lvds", "data=50ms supply-off=5ms", "supply off came 45 ms BEFORE valid data; it should come after it"},
		{"edp", "hpd=10ms data=5ms", "valid data came 5 ms BEFORE hot-plug high; it should come after it"},
		{"edp", "backlight-supply=0 backlight=4ms", "backlight on came 4 ms after backlight supply on, 6 ms too early: the windows between them ask for at least 10 ms"},
		{"edp", "backlight-supply=5ms backlight=4ms", "backlight on came 1 ms BEFORE backlight supply on; it should come after it"},
		{"edp", "supply=0 T3=300ms", ""},    // told by the window
		{"lvds", "supply=0 data=100ms", ""}, // T2 is known to be wrong
		{"edp", "supply=0 supply-off=20ms", ""},
		{"edp", "backlight-supply=0 backlight=10ms", ""},
		{"edp", "hpd=never supply=0 data=-1s", ""},     // T6 says it
		{"lvds", "supply=0 data=never light=-5ms", ""}, // T5 says it
		{"lvds", "supply=0 data=never light=1ms", ""},  // no length is told through what never came
		{"lvds", "light-off=0 supply-off=150ms", "supply off came 150 ms after backlight off, 50 ms too early: the windows between them ask for at least 200 ms"},
		{"lvds", "supply=0 supply-again=400ms", ""},
		{"lvds", "light=0 supply-off=150ms", ""}, // T6 asks for nothing where there was no data
	} {
		t.Run(tt.args, func(t *testing.T) {
			p := named(t, tt.profile)
			r := Check(p, measured(t, p, tt.args))
			if tt.want == "" {
				if len(r.Chains) > 0 {
					t.Errorf("%+v", r.Chains)
				}
				return
			}
			if len(r.Chains) != 1 || r.Chains[0].Says != tt.want || !r.Wrong() {
				t.Errorf("%+v", r.Chains)
			}
		})
	}
	p, problems := ParseProfile("x", "A hpd -> aux 0..5ms\nB aux -> data 0..5ms")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	r := Check(p, measured(t, p, "hpd=0 data=13ms"))
	if len(r.Chains) != 1 || r.Chains[0].Says != "valid data came 13 ms after hot-plug high, 3 ms too late: the windows between them allow 10 ms at most" {
		t.Errorf("%+v", r.Chains)
	}
}

// rowsOf returns the rows of the chart by their names, without the pause.
func rowsOf(t *testing.T, r Report) map[string]string {
	t.Helper()
	var b bytes.Buffer
	if err := Text(&b, r); err != nil {
		t.Fatal(err)
	}
	list := map[string]string{}
	for line := range strings.Lines(b.String()) {
		for _, s := range signalNames {
			if wave, ok := strings.CutPrefix(strings.TrimSuffix(line, "\n"), s+" "); ok && !strings.Contains(wave, ",") {
				list[s] = strings.ReplaceAll(wave, " ", "")
			}
		}
	}
	return list
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
		got := rowsOf(t, Check(p, measured(t, p, tt.args)))
		for _, s := range tt.flat {
			if row := got[s.String()]; row == "" || strings.ContainsAny(row, `/\~`) || !strings.ContainsAny(row, "x:") {
				t.Errorf("%s: %s is drawn as %s", tt.args, s, row)
			}
		}
		for _, s := range tt.works {
			if row := got[s.String()]; !regexp.MustCompile(`^_+/+~+\\+_+`).MatchString(row) {
				t.Errorf("%s: %s is drawn as %s", tt.args, s, row)
			}
		}
	}
}

func TestWhatStopsOnTheWay(t *testing.T) {
	for _, tt := range []struct {
		args, signal, want string
	}{
		{"supply=0 supply-up=never", "panel supply", `^_+/-+x_+:_+:_+:_+$`},
		{"supply=0 supply-off=1s supply-down=never", "panel supply", `^_+/+~+\\-+x-+:-+$`},
		{"light=0 light-off=never", "backlight enable", `^_+/~+x~+$`},
		{"light=0 light-off=never", "picture data", `^_+/~+:~+$`},
		{"supply-off=0 supply-down=6ms supply-again=600ms", "panel supply", `^_+/+~+\\+_+/~+$`},
	} {
		p := named(t, "lvds")
		if row := rowsOf(t, Check(p, measured(t, p, tt.args)))[tt.signal]; !regexp.MustCompile(tt.want).MatchString(row) {
			t.Errorf("%s: %s is drawn as %s", tt.args, tt.signal, row)
		}
	}
}

// In the picture an edge that was not measured is a dashed line: the rows of a panel
// without supply have none, those of one of which nothing is known have them all.
func TestThePictureDrawsNoEdgeOfWhatNeverCame(t *testing.T) {
	signal := regexp.MustCompile(`(?s)<g[^>]*><title>([^<]*)</title>(.*?)</g>`)
	p := named(t, "lvds")
	for args, drawn := range map[string]bool{"": true, "supply=never": false} {
		rows := 0
		for _, m := range signal.FindAllStringSubmatch(chartOf(t, Check(p, measured(t, p, args))), -1) {
			if title, body := m[1], m[2]; title == Supply.String() || title == Data.String() || title == Light.String() {
				rows++
				if got := strings.Contains(body, "stroke-dasharray"); got != drawn {
					t.Errorf("%q: %s has an edge: %v\n%s", args, title, got, body)
				}
			}
		}
		if rows != 3 {
			t.Errorf("%d rows", rows)
		}
	}
}

func TestWhatCannotBeKeptSaysWhy(t *testing.T) {
	for text, want := range map[string]string{
		"T1 hpd -> data 1ms..5ms\nT2 hpd -> data 9ms..15ms":         "T2 can never be kept: it asks for 9 … 15 ms, and the windows before it in the file leave no such time",
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
		"": "nothing measured yet; the panel wants 1 window", "A=1ms": "1 window in range, 0 not measured", "A=3ms": "1 of 1 measured window wrong",
		"A=never": "valid data never came; 1 of 1 measured window wrong",
	} {
		if got := Check(p, measured(t, p, args)).Verdict; got != want {
			t.Errorf("%q: %q, want %q", args, got, want)
		}
	}
}

// A profile of which nothing tells when a signal falls says so, and draws no level to the
// end as if it were known; one that has all falls says nothing.
func TestSignalsWithoutAnEndAreNamed(t *testing.T) {
	up, problems := ParseProfile("up", "T1 supply -> data 0..50ms\nT2 data -> light 200ms..")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	for _, tt := range []struct {
		p    Profile
		open []string
	}{
		{up, []string{"panel supply", "picture data", "backlight enable"}},
		{named(t, "lvds"), nil},
		{named(t, "edp"), nil},
	} {
		r := Check(tt.p, Measured{})
		if diff := cmp.Diff(tt.open, open(rows(schedule(&tt.p, &Measured{})))); diff != "" {
			t.Errorf("%s: %s", tt.p.Name, diff)
		}
		for name, row := range rowsOf(t, r) {
			if got := strings.HasSuffix(row, "?"); got != slices.Contains(tt.open, name) {
				t.Errorf("%s: %s is drawn as %s", tt.p.Name, name, row)
			}
		}
		var b bytes.Buffer
		if err := Text(&b, r); err != nil {
			t.Fatal(err)
		}
		said := strings.Contains(b.String(), "No window here tells when these end")
		drawn := strings.Contains(chartOf(t, r), `stroke-dasharray="1 3"`)
		if want := len(tt.open) > 0; said != want || drawn != want {
			t.Errorf("%s: said %v, drawn %v, want %v", tt.p.Name, said, drawn, want)
		}
	}
}

func TestWrongAndItsOpposite(t *testing.T) {
	p := named(t, "edp")
	for args, want := range map[string]bool{
		"": false, "T3=85ms": false, "supply=0 hpd=205ms": false, "supply=0": false,
		"T3=201ms": false, "T3=202ms": true, "T8=49ms": false, "T8=48ms": true, "hpd=never": true, "T3=never": true, "T4=1s hpd=0 aux=2s": true, "data-off=0 data=1s": true,
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
