package suspects

import (
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
)

// plain is a reading in words.
func plain(n *Narrower, r Reading) string {
	s := r.Probe.Method.String()
	if r.Seen != nil {
		s += " " + n.m.Board.TargetName(r.Seen.Target) + " " + r.Seen.Word
	} else {
		s += " " + sayPoint(n.m, r.Probe) + " " + valueText(r.Probe.Method, r.Value)
	}
	if !r.Probe.Cold() {
		s += ", " + n.m.Board.SettingText(r.Probe.State.Setting)
	}
	if r.Probe.State.Unplugged {
		s += ", panel out"
	}
	return s
}

func TestReadingsMean(t *testing.T) {
	n := &Narrower{m: model(t, "larkspur13")}
	const usual = ", power=run lid=open"
	for text, want := range map[string]string{
		"VBL=12.2V":                 "DC volts VBL 12.2 V" + usual,
		"VBL=12.2":                  "DC volts VBL 12.2 V" + usual,
		"TP7=volts:12V2":            "DC volts VBL 12.2 V" + usual,
		"VBL=ohms:40k":              "ohms to ground VBL 40 kΩ, panel out",
		"VBL=40kohm":                "ohms to ground VBL 40 kΩ, panel out",
		"VBL=40kΩ":                  "ohms to ground VBL 40 kΩ, panel out",
		"VBL=40kohms@panel=in":      "ohms to ground VBL 40 kΩ",
		"VBL=OL":                    "ohms to ground VBL OL, panel out",
		"VBL=diode:0.62":            "diode mode VBL 0.62 V, panel out",
		"VBL=diode:OL":              "diode mode VBL OL, panel out",
		"F3=80mohm":                 "ohms across F3 80 mΩ, panel out",
		"F3=open":                   "ohms across F3 OL, panel out",
		"F3=ohms:OL":                "ohms across F3 OL, panel out",
		"FL2.A0P=4":                 "ohms across FL2.A0P 4 Ω, panel out",
		"J2.7=0.1ohm@panel=in":      "ohms across J2.7 100 mΩ",
		"A0P_J/A0N_J=100ohm":        "ohms across A0P_J to A0N_J 100 Ω, panel out",
		"TP7/BL_K4=OL":              "ohms across VBL to BL_K4 OL, panel out",
		"BL_PWM=swing:3.3V":         "activity BL_PWM toggling, 3.3 V" + usual,
		"BL_PWM=quiet":              "activity BL_PWM quiet" + usual,
		"VBL=low":                   "DC volts VBL low" + usual,
		"VBL=floating":              "DC volts VBL floating" + usual,
		"A.0=quiet":                 "look A.0 quiet" + usual,
		"EDID=unread":               "look EDID unread" + usual,
		"LIGHT=no@lid=shut":         "look LIGHT no, power=run lid=shut",
		"VBL=0V@power=sleep":        "DC volts VBL 0 V, power=sleep lid=open",
		"VBL=0V@lid=shut,panel=out": "DC volts VBL 0 V, power=run lid=shut, panel out",
	} {
		r, err := Parse(n.m, text)
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		got := strings.Replace(plain(n, r), "A0P_J/A0N_J", "A0P_J to A0N_J", 1)
		got = strings.Replace(got, "VBL/BL_K4", "VBL to BL_K4", 1)
		if got != want {
			t.Errorf("%s is read as %q, not %q", text, got, want)
		}
	}
}

// TestReadingErrorsPoint shows each error with the letters that it means.
func TestReadingErrorsPoint(t *testing.T) {
	m := model(t, "larkspur13")
	for text, want := range map[string][2]string{
		"VBL":                             {"VBL", "there is no value"},
		"=12V":                            {"=", "there is no point"},
		"VBL=":                            {"=", "there is no value"},
		"VLB=12V":                         {"VLB", `did you mean "VBL"?`},
		"VBL=12X":                         {"12X", "not understood"},
		"VBL=12,2":                        {"12,2", `did you mean "12.2"?`},
		"VBL=40 k":                        {"40 k", `did you mean "40k"?`},
		"VBL=99999999V":                   {"99999999V", "stands that high"},
		"VBL=ohms:40k@panel=in,power=run": {"power=run", "all power out"},
		"VBL=ohms:12V":                    {"12V", "it is in V"},
		"VBL=ohms:-4":                     {"-4", "less than nothing"},
		"VBL=ohm:4":                       {"ohm", `did you mean "ohms"?`},
		"EDID=ohms:4":                     {"EDID", "no meter reads"},
		"EDID=redd":                       {"redd", `did you mean "read"?`},
		"F3=diode:0.4":                    {"diode", "only ohms"},
		"U9=0V":                           {"U9", "no two ends"},
		"FL2=4ohm":                        {"FL2", "several channels"},
		"FL2.A0=4ohm":                     {"A0", `no channel "A0"`},
		"GND=0V":                          {"GND", "is ground"},
		"VBL/VBL=4ohm":                    {"VBL/VBL", "one net twice"},
		"VBL/BL_K9=4ohm":                  {"BL_K9", `did you mean "BL_K1"?`},
		"VBL=0V@lid=closed":               {"lid=closed", `no value "closed"`},
		"VBL=0V@lip=shut":                 {"lip=shut", `did you mean "lid"?`},
	} {
		_, err := Parse(m, text)
		var re *ReadingError
		if !errors.As(err, &re) || !errors.Is(err, ErrReading) {
			t.Errorf("%s: %v is no ReadingError", text, err)
			continue
		}
		letters := []rune(text)
		if got := string(letters[re.From:min(re.From+re.Width, len(letters))]); got != want[0] {
			t.Errorf("%s: the error points at %q, not at %q", text, got, want[0])
		}
		if !strings.Contains(err.Error(), want[1]) {
			t.Errorf("%s: %q does not say %q", text, err, want[1])
		}
	}
}

func TestReadingsFile(t *testing.T) {
	m := model(t, "larkspur13")
	list, problems := ParseFile(m, m.Board.Usual(), "r.txt", "# bench 2\n\n  dark # customer\r\n\tVBL=12.2V\nVLB=3V\n  VBL=ohms:4x # cold\nVBL = 3V\ndrak\n")
	var texts []string
	for _, r := range list {
		texts = append(texts, r.Text)
	}
	if diff := cmp.Diff([]string{"LIGHT=no", "PICTURE=seen", "VBL=12.2V"}, texts); diff != "" {
		t.Error(diff)
	}
	type place struct{ Line, Column, Width int }
	var got []place
	for _, p := range problems {
		got = append(got, place{p.Line, p.Column, p.Width})
		if p.File != "r.txt" || p.Severity != mistake.Error || !strings.Contains(p.Report(), "^") {
			t.Errorf("%s", p.Report())
		}
	}
	if diff := cmp.Diff([]place{{5, 1, 3}, {6, 12, 2}, {7, 4, 1}, {8, 1, 4}}, got); diff != "" {
		t.Error(diff)
	}
	if n := len(problems); n > 0 && problems[n-1].Near != "dark" {
		t.Errorf("drak: near %q", problems[n-1].Near)
	}
}

// TestSaidReadingsAreReadBack types every probe of the dictionary with a value of
// each sort.
func TestSaidReadingsAreReadBack(t *testing.T) {
	for _, name := range demos {
		n := demo(t, name)
		for _, p := range n.d.Probes {
			for _, v := range []float64{0, 1, 12.2, 4700, math.Inf(1)} {
				if math.IsInf(v, 1) && (p.Method == netlist.Activity || p.Method == netlist.Look) {
					continue
				}
				text := Say(n.m, p, v)
				r, err := Parse(n.m, text)
				if err != nil {
					t.Fatalf("%s: %v", text, err)
				}
				if r.Seen == nil && (probeKey(r.Probe) != probeKey(p) || r.Value != v) {
					t.Fatalf("%s %s is read back as another reading: %v", name, text, r)
				}
				if r.Seen != nil && !(p.Method == netlist.Look && r.Probe.Fact == p.Fact || math.IsInf(v, 1) && r.Probe.Net == p.Net) {
					t.Fatalf("%s %s is read back as another observation: %v", name, text, r)
				}
			}
		}
	}
}

func FuzzParseReading(f *testing.F) {
	m := model(f, "larkspur13")
	for _, s := range []string{"VBL=12.2V", "VBL=diode:OL", "F3=0.1ohm", "A0P_J/A0N_J=100ohms", "A.0=quiet", "LIGHT=no@lid=shut,panel=out", "J2.7=1", "=", "@", "a/b=c:d@e=f", "VBL=ohms:Ⱥohms"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := Parse(m, text)
		var re *ReadingError
		switch {
		case err == nil && r.Text != text:
			t.Errorf("%q is kept as %q", text, r.Text)
		case err == nil && r.Seen == nil && math.IsNaN(r.Value):
			t.Errorf("%q is no number", text)
		case err != nil && !errors.As(err, &re):
			t.Errorf("%q: %v is no ReadingError", text, err)
		case err != nil && (re.From < 0 || re.Width < 1 || re.From > len([]rune(text))):
			t.Errorf("%q: the error points at %d, %d", text, re.From, re.Width)
		}
	})
}
