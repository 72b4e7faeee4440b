package predict_test

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/walkback/boards"
	"example.org/walkback/netlist"
	"example.org/walkback/netlist/mistake"
	"example.org/walkback/trace/predict"
	"github.com/google/go-cmp/cmp"
)

// demo returns the predictor of a board that comes with the program.
func demo(t *testing.T, name string) *predict.Predictor {
	t.Helper()
	src, _ := boards.Source(name)
	b, problems := netlist.Read(name, src)
	if mistake.HasErrors(problems) {
		t.Fatal(problems)
	}
	return predict.NewPredictor(b)
}

func parseFaults(t *testing.T, p *predict.Predictor, texts ...string) []predict.Fault {
	t.Helper()
	var list []predict.Fault
	for _, x := range texts {
		f, err := p.ParseFault(x)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, f...)
	}
	return list
}

func sheet(t *testing.T, p *predict.Predictor, faults ...string) *predict.Sheet {
	t.Helper()
	s, err := p.Sheet(netlist.Condition{Setting: p.Board.Usual()}, parseFaults(t, p, faults...)...)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func text(t *testing.T, write func(io.Writer) error) string {
	t.Helper()
	var buf bytes.Buffer
	if err := write(&buf); err != nil {
		t.Fatal(err)
	}
	return buf.String()
}

// lineOf returns the first line that begins with a name, without its columns'
// padding.
func lineOf(text, name string) string {
	for l := range strings.Lines(text) {
		if f := strings.Fields(l); len(f) > 0 && f[0] == name {
			return strings.Join(f, " ")
		}
	}
	return ""
}

// rowOf returns the row of a name with the lines on which it goes on, deeper in.
func rowOf(text, name string) string {
	row, depth := "", 0
	for l := range strings.Lines(text) {
		in := len(l) - len(strings.TrimLeft(l, " "))
		f := strings.Fields(l)
		switch {
		case row != "" && (len(f) == 0 || in <= depth):
			return row
		case row != "":
			row += " " + strings.Join(f, " ")
		case len(f) > 0 && f[0] == name:
			row, depth = strings.Join(f, " "), in
		}
	}
	return row
}

// Every text of every board keeps its lines short enough for a terminal beside
// the bench, and no value in it is not a number.
func TestTextsFitATerminal(t *testing.T) {
	const columns = 120
	for _, name := range boards.Names() {
		p := demo(t, name)
		usual := netlist.Condition{Setting: p.Board.Usual()}
		reports, err := p.Reports(false)
		if err != nil {
			t.Fatal(err)
		}
		climb, err := p.Climb(usual, nil)
		if err != nil {
			t.Fatal(err)
		}
		texts := map[string]string{
			"healthy":    text(t, sheet(t, p).WriteText),
			"fuse":       text(t, sheet(t, p, "F3:open").WriteText),
			"states":     text(t, func(w io.Writer) error { return predict.WriteStates(w, reports, nil) }),
			"dictionary": text(t, func(w io.Writer) error { return p.Dictionary().WriteText(w, p.Simulator) }),
			"stages":     text(t, climb.WriteText),
		}
		for kind, s := range texts {
			if strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
				t.Errorf("%s, %s: a value is no number", name, kind)
			}
			for l := range strings.Lines(s) {
				if n := utf8.RuneCountInString(strings.TrimSuffix(l, "\n")); n > columns {
					t.Errorf("%s, %s: %d columns: %s", name, kind, n, l)
				}
			}
		}
	}
}

// What differs is marked by a sign, so that it is seen on paper and by people who
// do not tell red from green; colour comes on top and changes nothing else.
func TestMarksDoNotHangOnColour(t *testing.T) {
	p := demo(t, "larkspur13")
	s := sheet(t, p, "C34:short")
	plain := text(t, s.WriteText)
	if got := rowOf(plain, "VBL"); !strings.HasPrefix(got, "VBL TP7 top 31.5 V (") || !strings.HasSuffix(got, ") 0 V << quiet quiet") {
		t.Error(got)
	}
	if got := lineOf(plain, "V3_STAY"); strings.Contains(got, "<<") || got == "" {
		t.Errorf("marked or gone: %q", got)
	}
	s.Color = true
	colored := text(t, s.WriteText)
	if !strings.Contains(colored, "\x1b[") {
		t.Error("no colour")
	}
	if got := strings.NewReplacer("\x1b[1;31m", "", "\x1b[0m", "").Replace(colored); got != plain {
		t.Error(cmp.Diff(plain, got))
	}
}

// Nobody shall replace a fuse and switch on into the short.
func TestSheetTellsWhatBlewAFuse(t *testing.T) {
	got := text(t, sheet(t, demo(t, "larkspur13"), "C34:short").WriteText)
	if !strings.Contains(got, "blown     F3 opens: ") || !strings.Contains(got,
		"the cause is C34:short; do not replace F3 before that is gone") {
		t.Error(got)
	}
	if got := text(t, sheet(t, demo(t, "larkspur13"), "C34:short", "J2.8:open").WriteText); !strings.Contains(got,
		"the cause is among C34:short, J2.8:open;") {
		t.Error(got)
	}
	if got := text(t, sheet(t, demo(t, "larkspur13"), "F3:open").WriteText); strings.Contains(got, "blown") {
		t.Error("a fuse that fails of its own has no cause: " + got)
	}
}

func TestSheetTellsOfUnsteadyPartsAndLiftedPoints(t *testing.T) {
	p := demo(t, "teasel14")
	s := sheet(t, p, "Q5:weak", "TP9:lifted")
	got := text(t, s.WriteText)
	for _, id := range s.Faulty.Unsteady {
		if !strings.Contains(lineOf(got, "unsteady"), p.Board.Parts[id].Name) {
			t.Errorf("%s is not named: %s", p.Board.Parts[id].Name, lineOf(got, "unsteady"))
		}
	}
	if len(s.Faulty.Unsteady) > 0 && !strings.Contains(lineOf(got, "unsteady"), "VBL_SW") {
		t.Error("no range: " + lineOf(got, "unsteady"))
	}
	if !strings.HasPrefix(lineOf(got, "lifted"), "lifted TP9 no longer touches BL_PWM") ||
		!strings.Contains(lineOf(got, "BL_PWM"), "TP9 bottom LIFTED") {
		t.Error(lineOf(got, "lifted"), lineOf(got, "BL_PWM"))
	}
}

// With --only-changes a row is there if and only if a reading differs.
func TestOnlyChangesKeepsWhatDiffers(t *testing.T) {
	p := demo(t, "siskin15")
	for _, fault := range []string{"C34:short", "L4:open", "J2.7:open", "U2:no-output"} {
		s := sheet(t, p, fault)
		s.Changes = true
		got := text(t, s.WriteText)
		for i, x := range s.Faulty.Nets {
			h := s.Healthy.Nets[i]
			differs := !x.Volts.Alike(h.Volts) || !x.Activity.Alike(h.Activity) || !x.Ohms.Alike(h.Ohms) || !x.Diode.Alike(h.Diode)
			name := p.Board.Nets[x.Net].Name
			if want := differs && predict.Reachable(p.Board, x.Net); want != (lineOf(got, name) != "") {
				t.Errorf("%s: %s shown is %v", fault, name, !want)
			}
		}
	}
}

func TestPick(t *testing.T) {
	p := demo(t, "larkspur13")
	pick, err := predict.NewPick(p.Board, []string{"TP7", "R37"})
	if err != nil {
		t.Fatal(err)
	}
	s := sheet(t, p)
	s.Pick = pick
	got := text(t, s.WriteText)
	for name, want := range map[string]bool{"VBL": true, "BL_FB": true, "VMAIN": false, "GND": false, "R37": true} {
		if (lineOf(got, name) != "") != want {
			t.Errorf("%s shown is %v:\n%s", name, !want, got)
		}
	}
	if _, err := predict.NewPick(p.Board, []string{"TP77"}); err == nil || !strings.Contains(err.Error(), `did you mean "TP7"?`) {
		t.Errorf("%v", err)
	}
}

// The columns of the table of states are the classes of states in which every
// row reads alike: sleep and off are one on a board whose rules ask for run only.
func TestStatesThatReadAlikeShareAColumn(t *testing.T) {
	p := demo(t, "larkspur13")
	list, err := p.Reports(false)
	if err != nil {
		t.Fatal(err)
	}
	got := text(t, func(w io.Writer) error { return predict.WriteStates(w, list, nil) })
	if want := "B power=sleep lid=open; power=off lid=open"; lineOf(got, "B") != want {
		t.Errorf("got %q, want %q", lineOf(got, "B"), want)
	}
	if want := "LIGHT yes no no no"; lineOf(got, "LIGHT") != want {
		t.Errorf("got %q, want %q", lineOf(got, "LIGHT"), want)
	}
	if lineOf(got, "V3_STAY") != "" {
		t.Error("V3_STAY is always there: " + lineOf(got, "V3_STAY"))
	}
	// With the lid shut the switch node rests at the level that is its mean.
	pick, err := predict.NewPick(p.Board, []string{"BL_LX"})
	if err != nil {
		t.Fatal(err)
	}
	got = text(t, func(w io.Writer) error { return predict.WriteStates(w, list, pick) })
	if f := strings.Fields(lineOf(got, "BL_LX")); len(f) != 8 || !strings.HasPrefix(f[3], "~") || f[1] != f[6] {
		t.Error(got)
	}
}

// A board with so many states that one table is too wide gets several.
func TestStatesBreakIntoTables(t *testing.T) {
	var b strings.Builder
	b.WriteString("board b1 \"A board\"\nstate s 0")
	for i := 1; i < 30; i++ {
		fmt.Fprintf(&b, " %d", i)
	}
	b.WriteString("\nnet GND ground\nnet VIN 5V 5%\nsupply PS1 -> VIN limit=1A\ncontroller U1 vdd=VIN gnd=GND\n")
	for i := range 30 {
		fmt.Fprintf(&b, "    drives S%d when s=%d\n", i, i)
	}
	board, problems := netlist.Read("wide", b.String())
	if mistake.HasErrors(problems) {
		t.Fatal(problems)
	}
	list, err := predict.NewPredictor(board).Reports(false)
	if err != nil {
		t.Fatal(err)
	}
	got := text(t, func(w io.Writer) error { return predict.WriteStates(w, list, nil) })
	rows := 0
	for l := range strings.Lines(got) {
		if n := utf8.RuneCountInString(l); n > 121 {
			t.Errorf("%d columns: %s", n, l)
		}
		if f := strings.Fields(l); len(f) > 1 && f[0] == "S29" {
			rows += len(f) - 1
		}
	}
	if rows < 30 || strings.Count(got, "  S29 ") < 2 {
		t.Errorf("%d fields of S29 in %d tables", rows, strings.Count(got, "  S29 "))
	}
}

// Every fault has its line, and a line without a sign is a fault that no probe
// sees.
func TestDictionaryTextNamesEveryFault(t *testing.T) {
	p := demo(t, "larkspur13")
	d := p.Dictionary()
	got := text(t, func(w io.Writer) error { return d.WriteText(w, p.Simulator) })
	_, signatures, _ := strings.Cut(got, "What each fault shows")
	for i, name := range d.Names {
		l := lineOf(signatures, name)
		if l == "" {
			t.Fatalf("%s is not there", name)
		}
		seen := !strings.Contains(l, "nothing that a probe on the board sees")
		for _, g := range d.Groups {
			for _, k := range g.Faults {
				if k == i && g.Detected != seen && len(d.Faults[i].Blown) == 0 {
					t.Errorf("detected is %v: %s", g.Detected, l)
				}
			}
		}
	}
	if !strings.HasPrefix(lineOf(signatures, "C34:short"), "C34:short VBL to ground 100 mΩ, not 40 kΩ; ") {
		t.Error(lineOf(signatures, "C34:short"))
	}
}

// A signature holds exactly the probes whose class is not that of the healthy
// board, and the reading that is printed is told apart from the healthy one.
func TestSignaturesAreWhatDiffers(t *testing.T) {
	p := demo(t, "teasel14")
	d := p.Dictionary()
	s := p.Signatures(d)
	for i := range d.Faults {
		want := 0
		for k := range d.Probes {
			if d.Classes[i][k] != d.Healthy[k] {
				want++
			}
		}
		if len(s.Faults[i]) != want {
			t.Errorf("%s: %d signs, not %d", d.Names[i], len(s.Faults[i]), want)
		}
		for _, x := range s.Faults[i] {
			if h := s.Healthy[x.Probe]; h.String() == x.Shows.String() {
				t.Errorf("%s: %s shows %s either way", d.Names[i], p.At(d.Probes[x.Probe]), h)
			}
		}
		if few := s.Clearest(p.Board, d, i, 3); len(few) > 3 || len(few) == 0 && want > 0 {
			t.Errorf("%s: %d of %d signs picked", d.Names[i], len(few), want)
		}
	}
}

func TestClimb(t *testing.T) {
	p := demo(t, "larkspur13")
	usual := netlist.Condition{Setting: p.Board.Usual()}
	climb := func(seen []string, faults ...string) *predict.Climb {
		t.Helper()
		var list []netlist.Observation
		for _, x := range seen {
			name, word, _ := strings.Cut(x, "=")
			o, err := p.Board.Observe(name, word, p.Board.Usual())
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, o)
		}
		c, err := p.Climb(usual, list, parseFaults(t, p, faults...)...)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	for _, c := range []struct {
		name  string
		climb *predict.Climb
		lines []string
	}{
		{"healthy", climb(nil), []string{"1 reached machine runs V3_RUN V1_RUN", "11 reached picture right PICTURE COLOUR"}},
		{"a fault", climb(nil, "FB2:open"), []string{"3 stops here << rail to the identity memory V3_ID", "4 not reached identity read EDID",
			"Stops at stage 3, rail to the identity memory:"}},
		{"seen", climb([]string{"V3_ID=ok", "EDID=unread"}), []string{"3 surely reached rail to the identity memory V3_ID",
			"4 surely not identity read EDID"}},
		{"right", climb([]string{"EDID=read"}), []string{"4 surely reached identity read EDID"}},
		{"against each other", climb([]string{"V3_RUN=0V", "EDID=read"}), []string{"4 unknown identity read EDID"}},
	} {
		got := text(t, c.climb.WriteText)
		for _, want := range c.lines {
			if l := lineOf(got, strings.Fields(want)[0]); l != want {
				t.Errorf("%s: got %q, want %q", c.name, l, want)
			}
		}
	}
	for want, c := range map[string]*predict.Climb{
		"agree with all of this, and so does the healthy board": climb([]string{"EDID=read"}),
		"No single fault agrees with all of this":               climb([]string{"V3_RUN=0V", "EDID=read"}),
		"single faults agree with all of this. Surely":          climb([]string{"V3_ID=ok", "EDID=unread"}),
	} {
		if got := text(t, c.WriteText); !strings.Contains(got, want) {
			t.Errorf("%q is not in %s", want, got)
		}
	}
}
