package power

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"example.org/walkback/netlist/mistake"
)

var update = flag.Bool("update", false, "write the golden files anew")

func measured(t *testing.T, p Profile, args ...string) Measured {
	t.Helper()
	m, problems := ParseMeasured(p, args)
	for _, x := range problems {
		t.Fatal(x.Report())
	}
	return m
}

func named(t *testing.T, name string) Profile {
	t.Helper()
	p, ok := Named(name)
	if !ok {
		t.Fatalf("no profile %q", name)
	}
	return p
}

func TestProfilesAreWellFormed(t *testing.T) {
	for _, name := range Names() {
		p := named(t, name)
		names, before := map[string]bool{}, (&Profile{}).order()
		for _, w := range p.Windows {
			_, event := eventNamed(w.Name)
			if names[w.Name] || event {
				t.Errorf("%s: %s is the name of something else", name, w.Name)
			}
			names[w.Name] = true
			if w.From == w.To || w.Min < 0 || w.Min > w.Max || before[w.To][w.From] {
				t.Errorf("%s: %s can never be kept", name, w.Name)
			}
			before.add(w.From, w.To)
			if w.Doc == "" || w.Source == "" {
				t.Errorf("%s: %s has no doc or no source", name, w.Name)
			}
			if w.Min > 0 {
				t.Run(name+"/"+w.Name, func(t *testing.T) { wantsWords(t, p, w, w.Min-1) })
			}
			if w.Max != Unlimited {
				t.Run(name+"/"+w.Name, func(t *testing.T) { wantsWords(t, p, w, w.Max+1) })
			}
		}
	}
	if _, ok := Named("vga"); ok {
		t.Error("a profile that is not there was found")
	}
	changed := named(t, "edp")
	changed.Windows[0].Name = "X"
	if named(t, "edp").Windows[0].Name == "X" {
		t.Error("a change in a copy changes the table")
	}
}

// wantsWords checks that a window just missed is explained.
func wantsWords(t *testing.T, p Profile, w Window, value Time) {
	t.Helper()
	m := Measured{Values: []Value{{Window: w.Name, Time: value}}}
	r := judge(&p, &m, p.order().stops(&m), w)
	if !r.Status.Wrong() || r.By != 1 || r.Means == "" || r.Basis == "" || len(r.Look) == 0 {
		t.Errorf("%s: %+v", value, r)
	}
}

func TestEveryRuleCanBeReached(t *testing.T) {
	for i, x := range rules {
		reached := false
		for _, name := range Names() {
			for _, w := range named(t, name).Windows {
				r := Result{Window: w, Status: x.side}
				r.explain(w.From)
				reached = reached || r.Means == x.means
			}
		}
		if !reached {
			t.Errorf("rule %d (%s to %s, %s) explains no window", i, x.from, x.to, x.side)
		}
	}
}

func TestTimes(t *testing.T) {
	for text, want := range map[string]Time{
		"0": 0, "85ms": 85 * Millisecond, "0.1ms": 100 * Microsecond, "10us": 10 * Microsecond, "10µs": 10 * Microsecond,
		"1.5s": 1500 * Millisecond, "-30ms": -30 * Millisecond, "+1s": Second, "3600s": maxTime,
	} {
		if got, _, err := ParseTime(text); err != nil || got != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "ms", "85", "85min", "1e3ms", "0x1ms", "inf", "nan", "1-2ms", "3601s", "99999999999999999999s",
		"85mss", "--1s", "1,5ms"} {
		if got, _, err := ParseTime(text); err == nil {
			t.Errorf("%q is read as %s", text, got)
		}
	}
	for want, s := range map[string]Span{
		"0 … 200 ms": span(0, 200), "0.5 … 10 ms": span(0.5, 10), "at least 500 ms": atLeast(500), "any time after": atLeast(0),
		"75 … 84.5 ms": span(75, 84.5), "120 ms": span(120, 120), "1 µs … 3600 s": span(0.001, 3600e3), "-30 … 2 ms": span(-30, 2),
		"1.2 s": span(1200, 1200), "0 ms": span(0, 0), "50 µs": span(0.05, 0.05),
	} {
		if got := s.String(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// A time may be off by one of its last digit, and a tenth at most; what was given on one
// time base was read on one scale, the finest of those given.
func TestTimesHaveATolerance(t *testing.T) {
	for text, want := range map[string]Time{
		"0": 0, "85ms": ms(1), "49.9ms": ms(0.1), "0.085s": ms(1), "200ms": ms(1), "1s": ms(100), "5ms": ms(0.5), "-30ms": ms(1),
		"10.00ms": ms(0.01), "0.1us": 10,
	} {
		if _, got, err := ParseTime(text); err != nil || got != want {
			t.Errorf("%q: %s, %v, want %s", text, got, err, want)
		}
	}
	m := measured(t, named(t, "edp"), "supply=0 hpd=85.2ms light=1s T8=60ms")
	want := Measured{
		Events: []At{{SupplyOn, 0, 0, false}, {HPDOn, ms(85.2), ms(0.1), false}, {LightOn, ms(1000), ms(0.1), false}},
		Values: []Value{{"T8", ms(60), ms(1)}},
	}
	if diff := cmp.Diff(want, m); diff != "" {
		t.Error(diff)
	}
}

func TestMeasuredIsRead(t *testing.T) {
	p := named(t, "edp")
	got := measured(t, p, "supply=0 hpd=85ms", "t12=never", "t9=5ms", "data=never", "backlight=-1.5ms")
	want := Measured{
		Events: []At{
			{SupplyOn, 0, 0, false}, {HPDOn, ms(85), ms(0.1), false}, {SupplyAgain, 0, 0, true}, {DataOn, 0, 0, true},
			{LightOn, ms(-1.5), ms(0.1), false},
		},
		Values: []Value{{"T9", ms(5), ms(0.5)}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	for _, tt := range []struct {
		arg, code, near string
		column          int
	}{
		{"T3", "measured", "", 1}, {"=5ms", "measured", "", 1}, {"T3=", "measured", "", 1}, {"T3=85", "time", "", 4},
		{"T3=nevr", "time", "never", 4}, {"hdp=3ms", "unknown", "hpd", 1}, {"T99=3ms", "unknown", "T9", 1},
		{"hpd=1ms hpd-on=2ms", "twice", "", 9}, {"T3=1ms t3=2ms", "twice", "", 8}, {"T3=never hpd=2ms", "twice", "", 10},
		{"hpd=0 aux=1s T4=3s", "twice", "", 14}, {"T4=3s hpd=0 aux=1s", "twice", "", 13},
	} {
		_, problems := ParseMeasured(p, []string{tt.arg})
		if len(problems) != 1 || problems[0].Code != tt.code || problems[0].Near != tt.near || problems[0].Column != tt.column {
			t.Errorf("%q: %+v", tt.arg, problems)
		}
	}
}

// verdicts returns the verdict of every window that was touched.
func verdicts(r Report) map[string]string {
	list := map[string]string{}
	for _, x := range r.Results {
		if x.Status != NotMeasured {
			list[x.Name] = x.Status.String()
		}
	}
	return list
}

// stoppedBy lists windows that cannot be judged.
func stoppedBy(windows string) map[string]string {
	list := map[string]string{}
	for _, w := range strings.Fields(windows) {
		list[w] = "cannot be judged"
	}
	return list
}

func with(list map[string]string, window, verdict string) map[string]string {
	list[window] = verdict
	return list
}

func TestVerdicts(t *testing.T) {
	for _, tt := range []struct {
		name, profile, args string
		want                map[string]string
		verdict             string
	}{
		{"nothing", "edp", "", map[string]string{}, "nothing measured yet; the panel wants 14 windows"},
		{"one event", "edp", "data=3ms", map[string]string{}, "no window can be judged by these events alone; measure both ends of one"},
		{"light before data", "edp", "supply=0 hpd=85ms data=120ms backlight=90ms",
			map[string]string{"T3": "in range", "T8": "too early"}, "1 of 2 measured windows wrong"},
		{"at the edge", "edp", "T1=10ms T3=200ms T8=50ms T12=500ms",
			map[string]string{"T1": "in range", "T3": "in range", "T8": "in range", "T12": "in range"}, "4 windows in range, 10 not measured"},
		{"just over the edge", "edp", "T1=10.002ms T3=200.002ms T8=49.998ms T12=499.998ms",
			map[string]string{"T1": "too late", "T3": "too late", "T8": "too early", "T12": "too early"}, "4 of 4 measured windows wrong"},
		{"over the edge by the last digit", "edp", "T1=10.001ms T3=201ms T8=49.9ms T12=499ms",
			map[string]string{"T1": "cannot tell", "T3": "cannot tell", "T8": "cannot tell", "T12": "cannot tell"},
			"0 of 4 measured windows in range, for the others measure more"},
		{"the digits of both ends", "edp", "data=10ms light=58ms backlight-off=1s pwm-off=1s",
			map[string]string{"T8": "cannot tell", "L3": "in range"}, "1 of 2 measured windows in range, for the others measure more"},
		// T1 is known to be 0.5 to 10 ms only, so that T3 is 195 to 204.5 ms.
		{"slope not measured", "edp", "supply=0 hpd=205ms", map[string]string{"T3": "cannot tell"},
			"0 of 1 measured window in range, for the others measure more"},
		{"slope measured as a window", "edp", "supply=0 T1=4ms hpd=206ms", map[string]string{"T1": "in range", "T3": "too late"},
			"1 of 2 measured windows wrong"},
		{"slope measured as an event", "edp", "supply=0 supply-up=6ms hpd=205ms", map[string]string{"T1": "in range", "T3": "in range"},
			"2 windows in range, 12 not measured"},
		{"hot-plug never", "edp", "supply=0 hpd=never", with(stoppedBy("T4 T5 T6 T8 T9 T10 L2 L3"), "T3", "never came"),
			"hot-plug high never came; 1 of 1 measured window wrong"},
		{"supply never", "lvds", "supply=never", stoppedBy("T1 T2 T5 T6 T3 T7 T4 L2 L3"), "supply on never came"},
		{"supply and hot-plug never", "edp", "supply=never hpd=never", stoppedBy("T1 T3 T4 T5 T6 T8 T9 T10 T11 T12 L2 L3"),
			"supply on, hot-plug high never came"},
		{"window never", "lvds", "T5=never", with(with(stoppedBy("T6 L3"), "T5", "never came"), "L2", "never came"),
			"backlight on never came; 2 of 2 measured windows wrong"},
		{"only what began is measured", "lvds", "supply=0 data=20ms light=never",
			with(with(with(stoppedBy("T6 L3"), "T5", "never came"), "L2", "never came"), "T2", "in range"),
			"backlight on never came; 2 of 3 measured windows wrong"},
		{"down never", "lvds", "data-off=0 supply-off=never", with(stoppedBy("T7 T4"), "T3", "never came"),
			"supply off never came; 1 of 1 measured window wrong"},
		{"not of this profile", "lvds", "hpd=never", map[string]string{}, "hot-plug high never came"},
		{"off before on", "lvds", "supply=50ms supply-off=5ms", map[string]string{}, "supply off came before supply on"},
		{"all right", "lvds", "T1=1ms T2=1ms T5=1s T6=1s T3=1ms T7=1ms T4=1s L1=1s L2=1s L3=1s L4=1s",
			map[string]string{"T1": "in range", "T2": "in range", "T5": "in range", "T6": "in range", "T3": "in range", "T7": "in range",
				"T4": "in range", "L1": "in range", "L2": "in range", "L3": "in range", "L4": "in range"}, "11 windows in range, 0 not measured"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := named(t, tt.profile)
			r := Check(p, measured(t, p, tt.args))
			if diff := cmp.Diff(tt.want, verdicts(r)); diff != "" {
				t.Error(diff)
			}
			if r.Verdict != tt.verdict {
				t.Errorf("%q, want %q", r.Verdict, tt.verdict)
			}
		})
	}
}

func TestWrongOrderIsNamed(t *testing.T) {
	p := named(t, "edp")
	r := Check(p, measured(t, p, "data=120ms backlight=90ms backlight-off=1s data-off=990ms"))
	want := []string{
		"backlight on came 30 ms BEFORE valid data; it should come at least 50 ms after it",
		"data off came 10 ms BEFORE backlight off; it should come after it",
	}
	var got []string
	for _, x := range r.Results {
		if x.Status == TooEarly {
			got = append(got, x.Says)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if by := r.Results[5].By; by != ms(80) {
		t.Errorf("T8 is %s too early, want 80 ms", by)
	}
}

func TestWhatNeverCameAndWhatItHolds(t *testing.T) {
	p := named(t, "edp")
	r := Check(p, measured(t, p, "supply=0 hpd=never"))
	if len(r.Missing) != 1 {
		t.Fatalf("%+v", r.Missing)
	}
	if m := r.Missing[0]; m.Event != HPDOn || !strings.HasPrefix(m.WaitsFor, "supply at 90 %; then the panel's own start") {
		t.Errorf("%+v", m)
	}
	// What was measured further on is judged all the same; T6 came although it cannot.
	got := verdicts(Check(p, measured(t, p, "hpd=never data=1s backlight=2s")))
	want := with(with(stoppedBy("T4 T5"), "T3", "never came"), "T6", "too early")
	want["T8"] = "in range"
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// reports are the reports that the renderers are tried with.
func reports(t *testing.T) map[string]Report {
	list := map[string]Report{}
	add := func(name string, p Profile, args string) { list[name] = Check(p, measured(t, p, args)) }
	add("edp", named(t, "edp"), "")
	add("edp_light_first", named(t, "edp"), "supply=0 hpd=85ms data=120ms backlight=90ms T12=120ms")
	add("lvds_no_data", named(t, "lvds"), "T1=12ms T4=120ms data=never")
	add("lvds_all", named(t, "lvds"), "supply=0 supply-up=3ms data=20ms backlight-supply=200ms pwm=215ms backlight=230ms "+
		"backlight-off=5s pwm-off=5.001s backlight-supply-off=5.02s data-off=5.21s supply-off=5.23s supply-down=5.236s supply-again=6s")
	add("edp_unsure", named(t, "edp"), "supply=0 hpd=205ms backlight-off=1s data-off=990ms")
	add("lvds_no_supply", named(t, "lvds"), "supply=never")
	add("lvds_slope", named(t, "lvds"), "supply=0 supply-up=never supply-off=1s supply-down=never")
	add("lvds_no_light", named(t, "lvds"), "data=0 light=never")
	add("lvds_off_first", named(t, "lvds"), "supply=50ms supply-off=5ms")
	add("lvds_off_time", named(t, "lvds"), "supply-off=0 supply-down=6ms supply-again=600ms")
	small := Profile{Name: "small", Title: "small", Windows: []Window{
		{Name: "A", From: LightSupplyOn, To: DataOn, Span: span(1, 2)}, {Name: "B", From: DataOn, To: HPDOn, Span: atLeast(0)},
	}}
	add("small", small, "data=3ms")
	full := Profile{Name: "full", Title: "full"}
	for i := range 64 {
		e := Event(i % int(eventCount-1))
		full.Windows = append(full.Windows, Window{Name: fmt.Sprintf("W%d", i), From: e, To: e + 1, Span: span(0.001, 3.6e6),
			Doc: strings.Repeat("x", 300)})
	}
	add("full", full, "")
	list["zero"] = Report{}
	return list
}

func TestTextKeepsItsWidth(t *testing.T) {
	for name, r := range reports(t) {
		var b bytes.Buffer
		if err := Text(&b, r); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > 100 {
				t.Errorf("%s: %d columns: %s", name, n, line)
			}
		}
	}
}

func TestTextGolden(t *testing.T) {
	for _, name := range []string{"edp_light_first", "lvds_no_data"} {
		var b bytes.Buffer
		if err := Text(&b, reports(t)[name]); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join("testdata", name+".txt")
		if *update {
			if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), b.String()); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("no space left") }

func TestWriteErrorsComeBack(t *testing.T) {
	if err := Text(fullDisk{}, Report{}); err == nil || !strings.HasSuffix(err.Error(), "no space left") {
		t.Error(err)
	}
}

func TestJSONHasSecondsAndNoLimitIsNull(t *testing.T) {
	p := Profile{Name: "x", Windows: []Window{{Name: "T8", From: DataOn, To: LightOn, Span: atLeast(50)}}}
	b, err := json.Marshal(Check(p, measured(t, p, "data=120ms backlight=90ms")).Results[0])
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(b, &got); err != nil {
		t.Fatal(err)
	}
	delete(got, "says")
	delete(got, "means")
	delete(got, "look_at")
	want := map[string]any{
		"name": "T8", "from": "data", "to": "backlight", "min_seconds": 0.05, "max_seconds": nil, "status": "too early",
		"value": map[string]any{"min_seconds": -0.03, "max_seconds": -0.03}, "by_seconds": 0.08, "basis": practice, "tolerance_seconds": 0.002,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Both words of an event lead to it, and no word to two.
func TestEventsHaveTheirNames(t *testing.T) {
	seen := map[string]Event{}
	for e := range eventCount {
		for _, word := range []string{events[e].name, events[e].alias} {
			if word == "" {
				continue
			}
			if other, ok := seen[word]; ok {
				t.Errorf("%q is %s and %s", word, e, other)
			}
			seen[word] = e
			if got, ok := eventNamed(word); !ok || got != e {
				t.Errorf("%q is %v", word, got)
			}
		}
		if events[e].label == "" || events[e].waits == "" {
			t.Errorf("%s has no words", e.Name())
		}
	}
	for word, want := range map[string]Event{"light": LightOn, "light-on": LightOn, "light-off": LightOff, "light-supply": LightSupplyOn} {
		if got, ok := eventNamed(word); !ok || got != want {
			t.Errorf("%q is %v", word, got)
		}
	}
	if near := mistake.Nearest("suply-on", EventNames()); near != "supply-on" {
		t.Errorf("%q", near)
	}
}
