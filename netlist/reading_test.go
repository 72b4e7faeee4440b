package netlist

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/netlist/mistake"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func larkspur(t testing.TB) *Board {
	t.Helper()
	b, problems := Read("larkspur13.board", boardSources(t)["larkspur13.board"])
	if mistake.HasErrors(problems) {
		t.Fatal(problems[0].Report())
	}
	return b
}

func TestEveryFormIsReadAsTheTableSays(t *testing.T) {
	b := larkspur(t)
	for _, form := range ReadingForms {
		for _, text := range append([]string{form.Text}, form.Also...) {
			r, err := b.ParseReading(text, b.Usual())
			var m mistake.Mistake
			switch {
			case err == nil && form.Says == "":
				t.Errorf("%s is understood as %s", text, b.SayReading(r))
			case err == nil:
				if got := b.SayReading(r); got != form.Says {
					t.Errorf("%s is understood as %s, not as %s", text, got, form.Says)
				}
			case form.Says != "":
				t.Errorf("%s is refused: %v", text, err)
			case !errors.As(err, &m) || m.Want == "" && m.Near == "":
				t.Errorf("%s is refused without a hint: %v", text, err)
			case m.Near != form.Near:
				t.Errorf("%s is refused with %q, not with %q: %s", text, m.Near, form.Near, m.Report())
			}
		}
		if form.Doc == "" || form.Says != "" && form.Near != "" {
			t.Errorf("%s: the row says too little or too much", form.Text)
		}
	}
}

func TestMistakesOfReadingsPointAtTheirLetters(t *testing.T) {
	b := larkspur(t)
	for text, want := range map[string][2]string{
		"VBL":                             {"VBL", "alone is no reading"},
		"drak":                            {"drak", `did you mean "dark"?`},
		"":                                {"", "there is no reading"},
		"=12V":                            {"=", "there is no point"},
		"VBL=":                            {"=", "there is no value"},
		"VBL=ohms:":                       {"ohms:", "no value behind the method"},
		"VLB=12V":                         {"VLB", `did you mean "VBL"?`},
		" VBL = 12X":                      {"12X", "not understood"},
		"VBL=12,2":                        {"12,2", `did you mean "12.2"?`},
		"VBL=1 2":                         {"1 2", `did you mean "12"?`},
		"VBL=99999999V":                   {"99999999V", "stands that high"},
		"VBL=-99999999V":                  {"-99999999V", "stands that high"},
		"VBL=ohms:40k@panel=in,power=run": {"power=run", "all power out"},
		"VBL=ohms:-4":                     {"-4", "less than nothing"},
		"VBL=ohm:4":                       {"ohm", `did you mean "ohms"?`},
		"VBL=volts:OL":                    {"OL", "tells no voltage"},
		"VBL=<1V":                         {"<1V", `did you mean "1V"?`},
		"VBL=>ohm":                        {"ohm", "no digits"},
		"VBL=>":                           {">", "no number"},
		"EDID=ohms:4":                     {"ohms", "no meter reads"},
		"EDID=redd":                       {"redd", `did you mean "read"?`},
		"F3=diode:0.4":                    {"diode", "only ohms"},
		"VBL=diode:12.6":                  {"12.6", "power is still in: switch off, take power and battery out"},
		"VBL=diode:31V":                   {"31V", "power is still in"},
		"U9=0V":                           {"U9", "without two ends"},
		"FL2=4ohm":                        {"FL2", "several channels"},
		"FL2.A0=4ohm":                     {"A0", `no channel "A0"`},
		"F3.1=4ohm":                       {"1", "F3 alone"},
		"GND=0V":                          {"GND", "is ground"},
		"VBL/VBL=4ohm":                    {"VBL/VBL", "one net twice"},
		"TP7/vbl=4ohm":                    {"TP7/vbl", "one net twice"},
		"VBL/LIGHT=4ohm":                  {"LIGHT", "is no net"},
		"VBL/BL_K9=4ohm":                  {"BL_K9", `did you mean "BL_K1"?`},
		"VBL=0V@lid=closed":               {"closed", `no value "closed"`},
		"VBL=0V@lid":                      {"lid", "is not a state"},
		"VBL=0V@":                         {"", "is not a state"},
		"VBL=0V@lip=shut":                 {"lip=shut", `did you mean "lid"?`},
		"VBL=0V VBL_F=0V":                 {" ", "one reading is taken at a time"},
		"dark VBL=0V":                     {" ", "one reading is taken at a time"},
	} {
		_, err := b.ParseReading(text, b.Usual())
		var m mistake.Mistake
		if !errors.As(err, &m) {
			t.Errorf("%s: %v is no mistake", text, err)
			continue
		}
		if got := pointed(m); got != want[0] {
			t.Errorf("%s: points at %q, not at %q", text, got, want[0])
		}
		if !strings.Contains(m.Report(), want[1]) {
			t.Errorf("%s: %q does not say %q", text, m.Report(), want[1])
		}
	}
}

func TestNamesInAnyCaseMustBeOne(t *testing.T) {
	b := buildClean(t, "board b \"B\"\nnet GND ground\nnet Va 3V\nnet VA 5V\nresistor R1 Va -> VA 1k\n")
	for text, want := range map[string]string{"Va=3V": "Va=3V", "VA=3V": "VA=3V", "r1=1k": "R1=1kohm"} {
		r, err := b.ParseReading(text, b.Usual())
		if err != nil || b.SayReading(r) != want {
			t.Errorf("%s is read as %v, %v", text, r, err)
		}
	}
	if _, err := b.ParseReading("va=3V", b.Usual()); err == nil || !strings.Contains(err.Error(), "differ only in capitals") {
		t.Errorf("va: %v", err)
	}
}

// A reading across one element of a network names it by the net that it has alone.
func TestReadingAcrossAChannel(t *testing.T) {
	b := buildClean(t, "board x \"X\"\nnet GND ground\nnet V3 3.3V\nresistor RN2 V3,V3 -> ID_CLK,ID_DAT 2k2\n")
	for channel, word := range []string{"RN2.ID_CLK=2k2", "rn2.id_dat=2.2 kΩ"} {
		r, err := b.ParseReading(word, b.Usual())
		if err != nil || r.Probe.Channel != channel || b.Parts[r.Probe.Part].Name != "RN2" || r.Value != 2200 {
			t.Errorf("%s: channel %d, %v", word, r.Probe.Channel, err)
		}
	}
	_, err := b.ParseReading("RN2.V3=2k2", b.Usual())
	var m mistake.Mistake
	if !errors.As(err, &m) || !strings.Contains(m.Msg, "V3 is on 2 channels of RN2") || !strings.Contains(m.Want, "RN2.ID_CLK, RN2.ID_DAT") ||
		pointed(m) != "V3" {
		t.Errorf("RN2.V3: %v", err)
	}
}

// checkSaid writes a reading and reads it back.
func checkSaid(t interface {
	Errorf(string, ...any)
}, b *Board, r Reading) {
	text := b.SayReading(r)
	back, err := b.ParseReading(text, b.Usual())
	if err != nil {
		t.Errorf("%q is written as %q, and that is refused: %v", r.Text, text, err)
		return
	}
	back.Text = r.Text
	if back.Seen != nil && r.Seen != nil {
		back.Seen.Word = r.Seen.Word // capitals
	}
	if diff := cmp.Diff(r, back); diff != "" {
		t.Errorf("%q is written as %q, and that is another reading:\n%s", r.Text, text, diff)
	}
}

// Every reading of every point of a board is understood as it was written.
func TestSaidReadingsAreReadBack(t *testing.T) {
	b := larkspur(t)
	rapid.Check(t, func(t *rapid.T) {
		r := Reading{Probe: anyProbe(t, b)}
		p := r.Probe
		r.Value = rapid.OneOf(rapid.Float64Range(0, 9e3), rapid.Float64Range(0, 1),
			rapid.SampledFrom([]float64{0, 0.1, 12.2, 4700, 22e6})).Draw(t, "value")
		if u := p.Method; u != Ohms && u != Across {
			r.Value = min(r.Value, 9e3)
		}
		if p.Method == Diode {
			r.Value = min(r.Value, mostDiode)
		}
		if p.Cold() && rapid.Bool().Draw(t, "open") {
			r.Value = math.Inf(1)
		}
		r.Text = b.Say(p, r.Value)
		back, err := b.ParseReading(r.Text, b.Usual())
		if err != nil {
			t.Fatalf("%s: %v", r.Text, err)
		}
		if p.Method == Look {
			if !back.Probe.Same(p) || back.Seen.Wrong != (r.Value == 0) {
				t.Fatalf("%s is read back as %+v", r.Text, back)
			}
			return
		}
		if diff := cmp.Diff(r, back); diff != "" {
			t.Fatalf("%s (-said +read):\n%s", r.Text, diff)
		}
	})
}

// anyProbe draws a probe in any state of the board.
func anyProbe(t *rapid.T, b *Board) Probe {
	p := Probe{Net: None, Other: None, Part: None, Fact: None, State: Condition{Setting: b.Usual()}}
	net := rapid.Custom(func(t *rapid.T) NetID {
		return NetID(rapid.IntRange(0, len(b.Nets)-1).Filter(func(i int) bool { return !b.Nets[i].Ground }).Draw(t, "net"))
	})
	p.Method = rapid.SampledFrom([]Method{Volts, Activity, Ohms, Diode, Across, Look}).Draw(t, "method")
	switch {
	case p.Method == Look:
		p.Fact = rapid.IntRange(0, len(b.Facts)-1).Draw(t, "fact")
	case p.Method != Across:
		p.Net = net.Draw(t, "net")
	case rapid.Bool().Draw(t, "part"):
		p.Part = PartID(rapid.IntRange(0, len(b.Parts)-1).Filter(func(i int) bool { return len(b.Channels(PartID(i))) > 0 }).Draw(t, "part"))
		p.Channel = rapid.IntRange(0, len(b.Channels(p.Part))-1).Draw(t, "channel")
	default:
		p.Net = net.Draw(t, "one")
		p.Other = net.Filter(func(n NetID) bool { return n != p.Net }).Draw(t, "other")
	}
	p.State.Unplugged = rapid.Bool().Draw(t, "unplugged")
	if !p.Cold() {
		for i := range b.States {
			p.State.Setting[i] = rapid.IntRange(0, len(b.States[i].Values)-1).Draw(t, "state")
		}
	}
	return p
}

func TestFilesOfReadings(t *testing.T) {
	b := larkspur(t)
	list, problems := b.ParseReadings("r.txt",
		"# bench 2\n\n  dark # customer\r\n\tVBL=12.2V\nVLB=3V\n  VBL=ohms:4x # cold\nVBL = 3 V\ndrak\nVBL=0V LIGHT=no\n", b.Usual())
	var texts []string
	for _, r := range list {
		texts = append(texts, r.Text)
	}
	if diff := cmp.Diff([]string{"LIGHT=no", "PICTURE=seen", "VBL=12.2V", "VBL = 3 V"}, texts); diff != "" {
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
	if diff := cmp.Diff([]place{{5, 1, 3}, {6, 12, 2}, {8, 1, 4}, {9, 7, 1}}, got); diff != "" {
		t.Error(diff)
	}
	if len(problems) > 2 && problems[2].Near != "dark" {
		t.Errorf("drak: near %q", problems[2].Near)
	}
}

func TestSymptomLinesTakeEveryForm(t *testing.T) {
	const head = "board b \"B\"\nstate lid open shut\nnet GND ground\nnet V 12V 5% cold=10k diode=0.5V\nnet W 3V\nfuse F1 V -> W\nresistor " +
		"R1 W -> GND 1k\npoint TP1 V\n"
	b := buildClean(t, head+"symptom s \"S\" V=ohms:0.1 tp1=0V F1=OL V/W=1k5 V=diode:0 V=swing:1V W=0V@lid=shut,panel=out V=3kohm@panel=in\n")
	var got []string
	for _, r := range b.Symptoms[0].Readings {
		got = append(got, b.SayReading(r))
	}
	want := []string{"V=ohms:0.1", "V=0V", "F1=OL", "V/W=1.5kohm", "V=diode:0V", "V=swing:1V", "W=0V@lid=shut,panel=out", "V=ohms:3k@panel=in"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	// Of F1, of the two nets and of V with the panel in, the file says nothing.
	if n := len(b.Symptoms[0].Seen); n != 5 {
		t.Errorf("%d of the readings are judged by the file alone, not 5", n)
	}
	for line, at := range map[string]string{"symptom s \"S\" V=ohms:4x": "4x", "symptom s \"S\" VV=0V": "VV",
		"symptom s \"S\" V=0V@lip=shut": "lip=shut", "symptom s \"S\" V=0,1": "0,1", "symptom s \"S\" F1=0L": "0L"} {
		_, problems := Read("b.board", head+line+"\n")
		i := slices.IndexFunc(problems, func(m mistake.Mistake) bool { return m.Code == "observation" })
		if i < 0 || pointed(problems[i]) != at {
			t.Errorf("%s: %v", line, problems)
		}
	}
}

// A symptom line understands and refuses what every command does, but for blanks and >,
// which part words there.
func TestSymptomLinesUnderstandTheTable(t *testing.T) {
	src := boardSources(t)["larkspur13.board"]
	for _, form := range ReadingForms {
		if strings.ContainsAny(form.Text, " >") {
			continue
		}
		b, problems := Read("larkspur13.board", src+"\nsymptom extra \"E\" LIGHT=no "+form.Text+"\n")
		if form.Says == "" {
			_, err := larkspur(t).ParseReading(form.Text, b.Usual())
			var m mistake.Mistake
			if !errors.As(err, &m) || !slices.ContainsFunc(problems, func(p mistake.Mistake) bool {
				return p.Msg == m.Msg && p.Want == m.Want && p.Near == m.Near && pointed(p) == pointed(m)
			}) {
				t.Errorf("%s: %v, and not %v", form.Text, problems, err)
			}
			continue
		}
		if mistake.HasErrors(problems) {
			t.Errorf("%s: %s", form.Text, problems[0].Report())
			continue
		}
		if got := b.SayReading(b.Symptoms[len(b.Symptoms)-1].Readings[1]); got != form.Says {
			t.Errorf("%s is read as %s in a symptom line", form.Text, got)
		}
	}
}
