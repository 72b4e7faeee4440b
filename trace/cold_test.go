package trace

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/walkback/boards/boardtest"
	"example.org/walkback/netlist"
)

// fixed gives the same band for every probe.
func fixed(low, high float64) netlist.Healthy {
	return func(netlist.Probe) (float64, float64, bool) { return low, high, true }
}

// seen judges readings by the board file and by a band for what it does not declare.
func seen(t *testing.T, b *netlist.Board, healthy netlist.Healthy, line string) []netlist.Observation {
	t.Helper()
	var list []netlist.Observation
	for _, word := range strings.Fields(line) {
		r, err := b.ParseReading(word, b.Usual())
		if err != nil {
			t.Fatal(err)
		}
		o, err := b.Judge(r, healthy)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, o)
	}
	return list
}

// A reading with all power out tells of loads, bridges and opens, never of a missing
// supply. The suspects are what the board file puts on the points.
func TestReadingsWithAllPowerOut(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	for _, row := range []struct {
		seen          string
		low, high     float64 // of what the file does not declare, in Ω
		kind          AgainstKind
		must, mustNot []string
	}{
		{"VBL=ohms:0.1", 0, 0, Loaded, []string{"C34", "C35", "U9", "J2"}, []string{"F3", "Q5", "L4", "PS1", "TP7", "W1", "DS91"}},
		{"VBL=ohms:0.1@panel=in", 1, 30, Loaded, []string{"C34", "J2", "W1", "DS91"}, []string{"F3", "Q5"}},
		{"C_VBL=ohms:40k", math.Inf(1), math.Inf(1), Loaded, []string{"J2", "W1", "DS91"}, []string{"C34", "D6", "U9", "R36"}},
		{"V3_PNL=ohms:2", 0, 0, Loaded, []string{"U4", "C23", "J2"}, []string{"W1", "DS90"}},
		{"VBL=diode:0V", 0, 0, Loaded, []string{"C34", "C35", "U9"}, []string{"F3", "TP7"}},
		{"VMAIN=ohms:1", 0, 0, Loaded, []string{"C1", "U2", "F3", "Q5"}, []string{"C34", "C32", "R37"}},
		// Q5 is off, so nothing behind it is felt
		{"VBL=OL", 0, 0, Open, []string{"R36", "U9"}, []string{"C34", "C35", "F3", "J2"}},
		{"F3=OL", 0, 1, Open, []string{"F3"}, []string{"C34", "Q5"}},
		{"R36=ohms:10", 900e3, 1e6, Bridged, []string{"R36"}, []string{"F3"}},
		{"A0P_J/A0N_J=2ohm", 90, 110, Bridged, []string{"FL2", "D23", "J2"}, []string{"FL1"}},
		{"A0P_J/A0N_J=OL", 90, 110, Open, []string{"FL2"}, []string{"PS1", "J2"}},
		{"A0P_J/A0N_J=OL@panel=in", 90, 110, Open, []string{"FL2", "J2"}, []string{"PS1"}},
		{"J2.25=OL", 0, 1, Open, []string{"J2"}, []string{"W1"}},
	} {
		w, err := Run(b, b.Usual(), seen(t, b, fixed(row.low, row.high), row.seen))
		if err != nil {
			t.Errorf("%s: %v", row.seen, err)
			continue
		}
		if len(w.Against) != 1 || w.Against[0].Kind != row.kind {
			t.Errorf("%s: got %+v, want one of kind %s", row.seen, w.Against, row.kind)
			continue
		}
		names := w.partList(w.Against[0].Suspects)
		for _, name := range row.must {
			if !slices.Contains(names, name) {
				t.Errorf("%s: %s is no suspect among %v", row.seen, name, names)
			}
		}
		for _, name := range row.mustNot {
			if slices.Contains(names, name) {
				t.Errorf("%s: %s is a suspect", row.seen, name)
			}
		}
		for _, l := range w.Steps[0].Loads {
			if !slices.Contains(w.Against[0].Suspects, l.Part) {
				t.Errorf("%s: %s hangs on it and is no suspect", row.seen, b.Parts[l.Part].Name)
			}
		}
		// One step, and no source is said to be missing.
		if len(w.Steps) != 1 || len(w.Singles) != 0 || len(w.Sources) != 0 {
			t.Errorf("%s: %d steps, single points %v, sources %v", row.seen, len(w.Steps), w.Singles, w.Sources)
		}
		var text, j bytes.Buffer
		if err := errors.Join(WriteText(&text, w), WriteJSON(&j, w)); err != nil {
			t.Fatal(err)
		}
		plain := strings.Join(strings.Fields(text.String()), " ")
		if !strings.Contains(plain, w.Against[0].Seen) || !strings.Contains(plain, "than on a healthy board") ||
			strings.Contains(plain, "Not valid") {
			t.Errorf("%s: the text does not say what it means:\n%s", row.seen, text.String())
		}
		if !strings.Contains(j.String(), `"kind": "`+string(row.kind)+`"`) {
			t.Errorf("%s: the JSON does not say %s", row.seen, row.kind)
		}
	}
}

// What a part reads from end to end is told by its kind and by how much it is off; only a
// fuse is spoken of as one.
func TestOhmsAcrossAPartAreToldByKindAndSize(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	for line, want := range map[string][2]string{ // what is said, and what is not
		"F3=OL":       {"F3 does not conduct. Suspect it and its joints. It is a fuse", "if it is a fuse"},
		"F3=8":        {"F3 conducts, but not as well as it should. Suspect that its resistance has risen", "does not conduct"},
		"FL2.A0P=8":   {"FL2.A0P conducts, but not as well", "fuse"},
		"FL2.A0P=OL":  {"FL2.A0P does not conduct", "fuse"},
		"R36=900k":    {"a way beside it that is open", "fuse"},
		"R36=ohms:1":  {"something bridges R36", "its own resistance has fallen"},
		"R36=ohms:3k": {"a way beside R36 conducts that should not, or its own resistance has fallen", "something bridges"},
	} {
		low, high := 0.0, 4.0
		if strings.HasPrefix(line, "R36") {
			low, high = 70e3, 74e3
		}
		w, err := Run(b, b.Usual(), seen(t, b, fixed(low, high), line))
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		text := strings.Join(w.AgainstText(), " ")
		if !strings.Contains(text, want[0]) || strings.Contains(text, want[1]) {
			t.Errorf("%s: %q does not say %q, or says %q", line, text, want[0], want[1])
		}
	}
}

// A low rail that also reads low to ground is loaded: its loads explain both, and what
// brings it needs to be no suspect.
func TestALoadedRailNeedsNoMissingSupply(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	w, err := Run(b, b.Usual(), seen(t, b, nil, "LIGHT=no VBL=0V VBL=ohms:0.1"))
	if err != nil {
		t.Fatal(err)
	}
	common := w.partList(w.Common)
	if !slices.Contains(common, "C34") || slices.Contains(common, "F3") || slices.Contains(common, "Q5") {
		t.Errorf("common suspects %v", common)
	}
}

// What reads as on a healthy board clears: a net has no short, a part conducts.
func TestGoodReadingsWithAllPowerOutClear(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	loads := func(line string) (loads []string, w *Walk) {
		w, err := Run(b, b.Usual(), seen(t, b, fixed(0, 1), line))
		if err != nil {
			t.Fatal(err)
		}
		for i := range w.Steps {
			for _, l := range w.Steps[i].Loads {
				loads = append(loads, b.Parts[l.Part].Name)
			}
		}
		return loads, w
	}
	before, w := loads("VBL=0V")
	if !slices.Contains(before, "C34") || !slices.Contains(singles(w), "F3") {
		t.Fatalf("loads %v, single points %v", before, singles(w))
	}
	after, w := loads("VBL=0V VBL=40kohm F3=0.08")
	if slices.Contains(after, "C34") || slices.Contains(after, "C35") || !slices.Contains(after, "C36") {
		t.Errorf("with VBL free of shorts the loads are %v", after)
	}
	if slices.Contains(singles(w), "F3") || !slices.Contains(singles(w), "Q5") {
		t.Errorf("with F3 good the single points are %v", singles(w))
	}
	// A switch that reads as it should cold is not known to switch.
	if _, w := loads("VBL=0V Q5=0.5"); !slices.Contains(singles(w), "Q5") {
		t.Errorf("with Q5 read cold the single points are %v", singles(w))
	}
}

func singles(w *Walk) []string {
	var names []string
	for _, u := range w.Singles {
		names = append(names, UnitText(w.Board, u))
	}
	return names
}

func TestReadingsNotValidInTheirState(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	for line, want := range map[string][]string{
		"LIGHT=no@lid=shut":              {"Not valid in this state: on a healthy board LIGHT is not there while lid=shut."},
		"LIGHT=no":                       nil,
		"VBL=ohms:3":                     nil,
		"V3_RUN=0V@power=sleep LIGHT=no": {"Not valid in this state: on a healthy board V3_RUN is not there while power=sleep."},
		"A.0=quiet@power=off LIGHT=no@lid=shut": {"Not valid in this state: on a healthy board A.0 is not there while power=off.",
			"Not valid in this state: on a healthy board LIGHT is not there while lid=shut."},
		"BL_ON_N=high@lid=shut VMAIN=12.6V":     nil,
		"LIGHT=no@lid=shut VBL=0V@lid=shut":     {"Not valid in this state: on a healthy board LIGHT is not there while lid=shut."},
		"V3_STAY=0V@power=sleep EDID=unread":    nil,
		"PICTURE=seen@power=off PICTURE=seen":   {"Not valid in this state: on a healthy board PICTURE is not there while power=off."},
		"F3=OL@panel=in A0P_J/A0N_J=2@panel=in": nil,
	} {
		var list []netlist.Reading
		for _, word := range strings.Fields(line) {
			r, err := b.ParseReading(word, b.Usual())
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, r)
		}
		if got := NotValid(b, list); !slices.Equal(got, want) {
			t.Errorf("%s: got %q, want %q", line, got, want)
		}
	}
}

// What is there though nothing should bring it has suspects, and no empty list.
func TestALevelThatNothingBringsHasSuspects(t *testing.T) {
	w := walkOf(t, boardtest.Demo(t, "siskin15"), "G2_BCKP=1.2V")
	text := strings.Join(w.AgainstText(), " ")
	if len(w.Against) != 1 || !slices.Contains(w.partList(w.Against[0].Suspects), "U21") ||
		!strings.Contains(text, "nothing in the board file should bring it in this state") {
		t.Errorf("%+v: %s", w.Against, text)
	}
}

func TestARailThatMovesIsWrong(t *testing.T) {
	w := walkOf(t, boardtest.Demo(t, "larkspur13"), "VMAIN=toggling")
	if len(w.Symptoms) != 1 || len(w.Against) != 0 {
		t.Errorf("symptoms %v, against %v", w.Symptoms, w.Against)
	}
	if _, err := Run(w.Board, w.Setting, seen(t, w.Board, nil, "VMAIN=quiet")); !errors.Is(err, ErrNoSymptom) {
		t.Errorf("a rail that rests is wrong: %v", err)
	}
}

// The mean of a line is there whether it moves or not, so it proves no signal; common
// practice, no source.
func TestTheMeanOfALineProvesNoSignal(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	w := walkOf(t, b, "A.CLK=quiet ACKP=1.2V")
	for i := range w.Steps {
		if s := &w.Steps[i]; s.Name == "ACKP" && s.Proven {
			t.Error("1.2 V proves that ACKP moves")
		}
	}
	if w := walkOf(t, b, "A.0=quiet ACKP=toggling"); !slices.ContainsFunc(w.Steps, func(s Step) bool { return s.Proven }) {
		t.Error("a clock that moves proves nothing")
	}
}

// A load that was read keeps power off, whatever else was read at its net, and in any order.
func TestALoadKeepsPowerOffBesideOtherReadings(t *testing.T) {
	b := boardtest.Demo(t, "larkspur13")
	for _, words := range []string{
		"VBL=ohms:0.1", "VBL=OL VBL=ohms:0.1@panel=in", "VBL/BL_K4=1 VBL=OL", "VBL=OL VBL/BL_K4=1", "VBL=0V VBL=ohms:0.1", "VBL=36V VBL=ohms:0.1",
	} {
		w, err := Run(b, b.Usual(), seen(t, b, fixed(20e3, math.Inf(1)), "LIGHT=no "+words))
		if err != nil {
			t.Fatalf("%s: %v", words, err)
		}
		if !w.PowerOff() {
			t.Errorf("%s: power may come: %s", words, strings.Join(w.AgainstText(), " "))
		}
	}
}
