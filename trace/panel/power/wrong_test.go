package power

import (
	"encoding/json"
	"slices"
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

// comes reports for each event of a profile whether it may come.
func comes(p Profile, m Measured) map[Event]bool {
	list := map[Event]bool{}
	for _, k := range schedule(&p, &m) {
		list[k.Event] = !k.stopped && k.when() != "never" && k.when() != "does not come"
	}
	return list
}

// After what never came its signal stays where it was, and so does what needs it.
func TestNothingFollowsWhatNeverCame(t *testing.T) {
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
		for e, ok := range comes(p, measured(t, p, tt.args)) {
			up := events[e].rising && e != SupplyAgain
			if up && ok && slices.Contains(tt.flat, e.Signal()) {
				t.Errorf("%s: %s comes", tt.args, e)
			}
			if !ok && slices.Contains(tt.works, e.Signal()) {
				t.Errorf("%s: %s does not come", tt.args, e)
			}
		}
	}
}

// A supply that does not come to the end of its slope stops what follows on it.
func TestWhatStopsOnTheWay(t *testing.T) {
	for args, want := range map[string][]Event{
		"supply=0 supply-up=never":                          {SupplyUp, SupplyOff, SupplyDown, SupplyAgain},
		"supply=0 supply-off=1s supply-down=never":          {SupplyDown, SupplyAgain},
		"supply-off=0 supply-down=6ms supply-again=600ms":   nil,
		"supply=0 supply-off=1s supply-down=6s supply-up=0": nil,
	} {
		p := named(t, "lvds")
		var stopped []Event
		for e, ok := range comes(p, measured(t, p, args)) {
			if !ok && e.Signal() == Supply {
				stopped = append(stopped, e)
			}
		}
		slices.Sort(stopped)
		if !slices.Equal(stopped, want) {
			t.Errorf("%s: stopped are %v, want %v", args, stopped, want)
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
	for _, x := range measuredProblems {
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
	p := Profile{Name: "x", Windows: []Window{{Name: "A", From: HPDOn, To: DataOn, Span: span(1, 2)}}}
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
